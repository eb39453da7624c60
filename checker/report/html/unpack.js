
"use strict";
// What the page carries: JSON, deflated, in base64. Nothing is fetched.
async function unpack(text) {
  const bytes = Uint8Array.from(atob(text.trim()), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  return JSON.parse(await new Response(stream).text());
}

const SVG = "http://www.w3.org/2000/svg";

// An element with attributes and children; text is always text, never markup.
function make(name, attributes = {}, ...children) {
  const svg = name.startsWith("svg:");
  const node = svg ? document.createElementNS(SVG, name.slice(4)) : document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else if (value === true) node.setAttribute(key, "");
    else if (value !== false && value != null) node.setAttribute(key, value);
  }
  node.append(...children.filter((child) => child != null));
  return node;
}

function sign(state, label) {
  const children = [make("svg:use", { href: `#sign-${state}` })];
  if (label !== "") children.push(make("svg:text", { y: 4 }, String(label)));
  return make("svg:g", { class: `sign ${state}` }, ...children);
}

function signIcon(state, label) {
  const inside = sign(state, label);
  const icon = make("svg:svg", { class: `sign ${state}`, viewBox: "-12 -12 24 24", "aria-hidden": "true" });
  icon.append(...inside.childNodes);
  return icon;
}

const mm = (value, digits = 3) => value.toFixed(digits);
const upper = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);
const spoken = (state) => state.replace("-", " ");
const counted = (number, what) => `${number} ${what}${number === 1 ? "" : "s"}`;
