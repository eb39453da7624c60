
// The copper that is left between the nets once the cut is made. At the profile's setting it is the
// exact shape that the page carries; at any other, and where there is none, it is worked out for
// what is in view, to a pixel: where can the middle of the tool go, and what does it sweep from there?
const MOST_PIXELS = 1.2e6;

// Squared distance of every pixel to the nearest marked one, exact; one pass per axis.
function distances(marked, width, height) {
  const far = 1e12, field = new Float64Array(width * height);
  for (let i = 0; i < field.length; i++) field[i] = marked[i] ? 0 : far;
  const most = Math.max(width, height);
  const line = new Float64Array(most), hull = new Int32Array(most), edge = new Float64Array(most + 1);
  const pass = (start, step, count) => {
    for (let q = 0; q < count; q++) line[q] = field[start + q * step];
    let k = 0;
    hull[0] = 0;
    edge[0] = -far;
    edge[1] = far;
    for (let q = 1; q < count; q++) {
      let cross;
      do {
        const v = hull[k];
        cross = (line[q] + q * q - line[v] - v * v) / (2 * (q - v));
      } while (cross <= edge[k] && --k >= 0);
      k += 1;
      hull[k] = q;
      edge[k] = cross;
      edge[k + 1] = far;
    }
    k = 0;
    for (let q = 0; q < count; q++) {
      while (edge[k + 1] < q) k += 1;
      field[start + q * step] = (q - hull[k]) ** 2 + line[hull[k]];
    }
  };
  for (let x = 0; x < width; x++) pass(x, width, height);
  for (let y = 0; y < height; y++) pass(y * width, 1, width);
  return field;
}

// Which pixels keep their copper though none is drawn there: a mask, from a mask of drawn copper
// and one of the blank, the radius of the tool and the width cleared, in pixels.
function keeping(copper, blank, width, height, radius, cleared) {
  const apart = distances(copper, width, height), middle = new Uint8Array(width * height);
  const outer = Math.max(radius + 1, cleared - radius);
  for (let i = 0; i < middle.length; i++) {
    const d = Math.sqrt(apart[i]) - 0.5;
    middle[i] = d >= radius && d <= outer ? 1 : 0;
  }
  const swept = distances(middle, width, height), reach = (radius + 0.25) ** 2, left = new Uint8Array(width * height);
  for (let i = 0; i < left.length; i++) left[i] = blank[i] && !copper[i] && swept[i] > reach ? 1 : 0;
  return left;
}

function maskOf(context, width, height) {
  const { data } = context.getImageData(0, 0, width, height), mask = new Uint8Array(width * height);
  for (let i = 0; i < mask.length; i++) mask[i] = data[4 * i + 3] > 127 ? 1 : 0;
  return mask;
}

const CROP_PIXELS = 300; // of a crop's width

// The copper that stays in a crop at another setting, hatched. Copper is drawn beyond its edge too.
function cropRemains(svg, stop) {
  const [, , wide, high] = svg.getAttribute("viewBox").split(" ").map(Number), scale = CROP_PIXELS / wide;
  const radius = stop.nominal * 500 * scale, cleared = stop.clears * 1000 * scale;
  const inner = CROP_PIXELS, tall = Math.round(high * scale), rim = Math.ceil(cleared + radius) + 1;
  const width = inner + 2 * rim, height = tall + 2 * rim, blank = new Uint8Array(width * height).fill(1);
  const context = new OffscreenCanvas(width, height).getContext("2d");
  context.setTransform(scale, 0, 0, scale, rim, rim);
  context.fill(new Path2D(svg.querySelector(".copper").getAttribute("d")), "evenodd");
  const copper = maskOf(context, width, height);
  const left = keeping(copper, blank, width, height, radius, cleared);
  const canvas = make("canvas", { width: inner, height: tall }), picture = new ImageData(inner, tall), words = new Uint32Array(picture.data.buffer);
  for (let y = 0; y < tall; y++) for (let x = 0; x < inner; x++)
    if (left[(y + rim) * width + x + rim]) words[y * inner + x] = (x + y) % 12 < 5 ? 0xff2c528a : 0xff3c69a8;
  canvas.getContext("2d").putImageData(picture, 0, 0);
  return make("svg:image", { class: "stays-here", width: wide, height: high, href: canvas.toDataURL() });
}

class Remains {
  constructor(sheet) {
    this.sheet = sheet;
    this.on = false;
    this.paths = new Map();
    sheet.remains = this;
    const drawn = make("button", { type: "button", "aria-pressed": "true", onclick: () => this.turn(false) }, "As drawn");
    const cut = make("button", { type: "button", "aria-pressed": "false", onclick: () => this.turn(true) }, "After the cut");
    this.buttons = [drawn, cut];
    sheet.layers.before(make("fieldset", {}, make("legend", {}, "Copper"), drawn, cut));
    sheet.painters.push(() => (this.later(), []));
  }

  turn(on) {
    this.on = on;
    this.buttons[0].setAttribute("aria-pressed", String(!on));
    this.buttons[1].setAttribute("aria-pressed", String(on));
    this.set(this.stop, this.own);
    this.sheet.now.replaceChildren(on ? "Darker: copper that stays between the nets, led for the nominal cut. A gap that is filled is not cut." : "");
  }

  set(stop, own) {
    this.stop = stop;
    this.own = own;
    const exact = this.on && own;
    for (const svg of this.sheet.sides) svg.querySelector(".left")?.toggleAttribute("hidden", !exact);
    this.sheet.view.classList.toggle("after", this.on);
    this.sheet.canvas.hidden = true;
    this.later();
  }

  later() {
    clearTimeout(this.timer);
    const { sheet } = this;
    const exact = this.own && sheet.sides[sheet.side].querySelector(".left");
    if (!this.on || exact) {
      sheet.canvas.hidden = true;
      return;
    }
    const moved = this.seen && ["x", "y", "scale"].some((name) => this.seen[name] !== sheet.at[name]);
    if (moved || this.seenSide !== sheet.side) sheet.canvas.hidden = true;
    this.timer = setTimeout(() => this.draw(), 150);
  }

  path(name) {
    const { sheet } = this, key = `${sheet.side} ${name}`;
    if (!this.paths.has(key)) this.paths.set(key, sheet.shapes(name).map((path) => path.getAttribute("d")));
    return this.paths.get(key);
  }

  draw() {
    const { sheet, stop } = this, { at, wide, high } = sheet;
    const fine = Math.max(1, Math.min(3, Math.sqrt(MOST_PIXELS / (wide * high))));
    const scale = at.scale * fine, radius = stop.nominal * 500 * scale, cleared = stop.clears * 1000 * scale;
    const rim = Math.min(400, Math.ceil(cleared + radius)), width = Math.round(wide * fine) + 2 * rim, height = Math.round(high * fine) + 2 * rim;
    const context = new OffscreenCanvas(width, height).getContext("2d", { willReadFrequently: true });
    const place = () => {
      const turn = sheet.mirrored ? -1 : 1, x = sheet.mirrored ? sheet.width - at.x : at.x;
      context.setTransform(turn * scale, 0, 0, scale, width / 2 - turn * x * scale, height / 2 - at.y * scale);
    };
    place();
    context.fill(new Path2D(this.path("copper").join("")), "evenodd");
    const copper = maskOf(context, width, height);
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, width, height);
    place();
    context.fill(new Path2D(this.path("outline").join("")), "evenodd");
    context.globalCompositeOperation = "destination-out";
    this.drill(context);
    const blank = maskOf(context, width, height);
    const left = keeping(copper, blank, width, height, radius, cleared);
    const { canvas } = sheet;
    canvas.width = Math.round(wide * fine);
    canvas.height = Math.round(high * fine);
    const picture = new ImageData(canvas.width, canvas.height), words = new Uint32Array(picture.data.buffer);
    const [r, g, b] = getComputedStyle(sheet.view).getPropertyValue("--left").trim().match(/[\da-f]{2}/gi).map((two) => parseInt(two, 16));
    const colour = (255 << 24) | (b << 16) | (g << 8) | r;
    for (let y = 0; y < canvas.height; y++) {
      for (let x = 0; x < canvas.width; x++) {
        if (left[(y + rim) * width + x + rim]) words[y * canvas.width + x] = colour;
      }
    }
    canvas.getContext("2d").putImageData(picture, 0, 0);
    canvas.hidden = false;
    this.seen = { ...at };
    this.seenSide = sheet.side;
  }

  drill(context) {
    context.lineCap = "round";
    context.lineJoin = "round";
    for (const path of this.sheet.shapes("holes")) {
      const wide = Number(path.getAttribute("stroke-width"));
      for (const one of path.getAttribute("d").split("M").slice(1)) {
        const points = one.match(/-?\d+/g).map(Number);
        context.beginPath();
        if (points.length === 4 && points[0] === points[2] && points[1] === points[3]) {
          context.arc(points[0], points[1], wide / 2, 0, 2 * Math.PI);
          context.fill();
        } else {
          context.lineWidth = wide;
          context.moveTo(points[0], points[1]);
          for (let i = 2; i < points.length; i += 2) context.lineTo(points[i], points[i + 1]);
          context.stroke();
        }
      }
    }
  }
}
