
// The drawing that one walks in: sides, layers, pan and zoom. Coordinates are um, as seen.
class Sheet {
  constructor(report, data) {
    this.report = report;
    this.data = data;
    this.view = report.querySelector(".view");
    this.now = report.querySelector(".now");
    this.width = Number(this.view.dataset.width);
    this.height = Number(this.view.dataset.height);
    this.sides = [...this.view.querySelectorAll("svg.side")];
    this.side = 0;
    this.painters = [];
    this.over = make("svg:svg", { class: "over", "aria-hidden": "true" });
    this.canvas = make("canvas", { hidden: true, "aria-hidden": "true" });
    this.view.classList.add("live");
    this.view.append(this.canvas, this.over);
    this.heavy = this.view.querySelectorAll(".copper path").length > 1500;
    this.at = { x: this.width / 2, y: this.height / 2, scale: 1 };
    this.drawn = { ...this.at };
    this.pointers = new Map();
    this.tools();
    this.listen();
    this.showSide(Math.max(0, data.findings.side.find((side) => side >= 0) ?? 0));
    new ResizeObserver(() => this.resized()).observe(this.view);
    this.fit();
  }

  // The paths of a layer of the side shown, which an earlier report of the board may hold.
  shapes(name) {
    const group = this.sides[this.side].querySelector(`.${name}`);
    const use = group?.firstElementChild?.tagName === "use" && group.firstElementChild;
    const holder = use ? document.querySelector(use.getAttribute("href")) : group;
    return holder ? [...holder.children] : [];
  }

  get mirrored() {
    return this.data.sides[this.side] === "bottom";
  }

  // The drawing's own coordinates to pixels of the view.
  pixel(x, y) {
    const seen = this.mirrored ? this.width - x : x;
    return [(seen - this.at.x) * this.at.scale + this.wide / 2, (y - this.at.y) * this.at.scale + this.high / 2];
  }

  um(left, top) {
    const seen = (left - this.wide / 2) / this.at.scale + this.at.x;
    return [this.mirrored ? this.width - seen : seen, (top - this.high / 2) / this.at.scale + this.at.y];
  }

  fit() {
    const most = Math.max(260, innerHeight * (innerWidth < 960 ? 0.6 : 0.44));
    this.view.style.height = `${Math.round(Math.min(most, Math.max(220, ((this.view.clientWidth || 600) * this.height) / this.width)))}px`;
    this.wide = this.view.clientWidth || 600;
    this.high = this.view.clientHeight || 400;
    this.least = Math.min(this.wide / this.width, this.high / this.height);
    this.move(this.width / 2, this.height / 2, this.least);
  }

  resized() {
    if (matchMedia("print").matches) return;
    const fitted = Math.abs(this.at.scale - this.least) < 1e-9;
    const { x, y, scale } = this.at;
    this.fit();
    if (!fitted) this.move(x, y, scale);
  }

  move(x, y, scale) {
    const most = 0.6; // pixels per um
    this.at.scale = Math.min(most, Math.max(this.least * 0.8, scale));
    this.at.x = Math.min(this.width, Math.max(0, x));
    this.at.y = Math.min(this.height, Math.max(0, y));
    this.ask();
  }

  zoom(by, left = this.wide / 2, top = this.high / 2) {
    const { x, y, scale } = this.at;
    const next = Math.min(0.6, Math.max(this.least * 0.8, scale * by));
    const dx = (left - this.wide / 2) * (1 / scale - 1 / next);
    const dy = (top - this.high / 2) * (1 / scale - 1 / next);
    this.move(x + dx, y + dy, next);
  }

  ask() {
    if (this.frame) return;
    this.frame = requestAnimationFrame(() => {
      this.frame = 0;
      this.draw();
    });
  }

  // A heavy board is shifted as a picture while it moves and drawn anew when it rests.
  draw() {
    const svg = this.sides[this.side];
    clearTimeout(this.rest);
    if (this.heavy && this.settled) {
      const k = this.at.scale / this.drawn.scale;
      const dx = (this.drawn.x - this.at.x) * this.at.scale + (this.wide / 2) * (1 - k);
      const dy = (this.drawn.y - this.at.y) * this.at.scale + (this.high / 2) * (1 - k);
      svg.style.transform = `translate(${dx}px, ${dy}px) scale(${k})`;
      this.rest = setTimeout(() => this.commit(svg), 120);
    } else this.commit(svg);
    this.paint();
  }

  commit(svg) {
    const w = this.wide / this.at.scale, h = this.high / this.at.scale;
    svg.style.transform = "";
    svg.setAttribute("viewBox", `${this.at.x - w / 2} ${this.at.y - h / 2} ${w} ${h}`);
    this.drawn = { ...this.at };
    this.settled = true;
  }

  paint() {
    this.over.setAttribute("viewBox", `0 0 ${this.wide} ${this.high}`);
    const layers = this.painters.flatMap((painter) => painter());
    this.over.replaceChildren(...layers, this.scaleBar());
  }

  scaleBar() {
    const long = [10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 1e4, 2e4, 5e4].filter((um) => um * this.at.scale < 110).pop() || 10;
    const px = long * this.at.scale, y = this.high - 14;
    const d = `M12 ${y - 5}v5h${px}v-5`;
    return make("svg:g", { class: "scale" }, make("svg:path", { class: "back", fill: "none", d, stroke: "#14191d" }), make("svg:path", { d }),
      make("svg:text", { x: 18 + px, y }, `${long / 1000} mm`));
  }

  showSide(index) {
    const old = this.sides[this.side];
    const [x] = [this.at.x];
    const was = this.mirrored;
    this.side = index;
    if (was !== this.mirrored && old !== this.sides[index]) this.at.x = this.width - x;
    this.sides.forEach((svg, i) => svg.toggleAttribute("hidden", i !== index));
    this.settled = false;
    for (const button of this.report.querySelectorAll(".tools [data-side]"))
      button.setAttribute("aria-pressed", String(Number(button.dataset.side) === index));
    if (this.wide) this.ask();
  }

  // What stands round a place, large enough to see a cut of that width (mm).
  go(side, x, y, wide = 0.2) {
    if (side >= 0 && side !== this.side) this.showSide(side);
    const scale = Math.min(this.wide, this.high) / (1000 * Math.max(1.6, 9 * wide));
    this.move(this.mirrored ? this.width - x : x, y, Math.max(this.at.scale, scale));
  }

  tools() {
    const tools = this.report.querySelector(".tools");
    tools.hidden = false;
    const sides = make("fieldset", {}, make("legend", {}, "Side"));
    this.data.sides.forEach((side, index) => {
      sides.append(make("button", { type: "button", "data-side": index, "aria-pressed": "false", onclick: () => this.showSide(index) },
        side === "bottom" ? "Bottom, from below" : upper(side)));
    });
    const layers = make("fieldset", {}, make("legend", {}, "Layers"));
    for (const [name, text] of Object.entries({ copper: "copper", holes: "holes", outline: "outline", mask: "mask openings", legend: "legend" })) {
      const groups = this.sides.map((svg) => svg.querySelector(`.${name}`)).filter(Boolean);
      if (!groups.length) continue;
      const on = name !== "mask";
      const box = make("input", { type: "checkbox", checked: on, "data-layer": name });
      const apply = () => groups.forEach((group) => group.toggleAttribute("hidden", !box.checked));
      box.addEventListener("change", apply);
      apply();
      layers.append(make("label", {}, box, text));
    }
    this.layers = layers;
    const zoom = make("fieldset", {}, make("legend", {}, "View"),
      make("button", { type: "button", "aria-label": "Zoom in", onclick: () => this.zoom(1.5) }, "+"),
      make("button", { type: "button", "aria-label": "Zoom out", onclick: () => this.zoom(1 / 1.5) }, "−"),
      make("button", { type: "button", onclick: () => this.fit() }, "Whole board"));
    if (this.sides.length > 1) tools.append(sides);
    tools.append(zoom, layers);
    this.report.querySelector(".hold").append(make("p", { class: "keys", id: `keys-${this.report.dataset.report}` },
      "On the drawing: drag or arrow keys move, wheel, pinch or + and − zoom, 0 shows all, n and p go from place to place, Enter goes to its row, b turns the board over."));
    this.view.tabIndex = 0;
    this.view.setAttribute("role", "group");
    this.view.setAttribute("aria-label", "Drawing of the board");
    this.view.setAttribute("aria-describedby", `keys-${this.report.dataset.report}`);
  }

  listen() {
    const view = this.view;
    view.addEventListener("wheel", (event) => {
      event.preventDefault();
      const box = view.getBoundingClientRect();
      this.zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0016)), event.clientX - box.left, event.clientY - box.top);
    }, { passive: false });
    view.addEventListener("pointerdown", (event) => {
      if (event.button > 0) return;
      this.pointers.set(event.pointerId, [event.clientX, event.clientY]);
      this.dragged = this.pointers.size > 1 ? 99 : 0;
    });
    view.addEventListener("pointermove", (event) => this.pointed(event));
    for (const name of ["pointerup", "pointercancel"])
      view.addEventListener(name, (event) => {
        this.pointers.delete(event.pointerId);
        if (!this.pointers.size) view.classList.remove("drag");
      });
    view.addEventListener("keydown", (event) => this.key(event));
  }

  pointed(event) {
    const before = this.pointers.get(event.pointerId);
    if (!before) return;
    const here = [event.clientX, event.clientY];
    const other = [...this.pointers].find(([id]) => id !== event.pointerId)?.[1];
    this.dragged += Math.abs(here[0] - before[0]) + Math.abs(here[1] - before[1]);
    if (this.dragged < 4) return;
    if (!this.view.hasPointerCapture(event.pointerId)) this.view.setPointerCapture(event.pointerId);
    this.view.classList.add("drag");
    this.pointers.set(event.pointerId, here);
    const half = other ? 0.5 : 1;
    this.move(this.at.x - (half * (here[0] - before[0])) / this.at.scale, this.at.y - (half * (here[1] - before[1])) / this.at.scale, this.at.scale);
    if (other) {
      const apart = (point) => Math.hypot(point[0] - other[0], point[1] - other[1]) || 1;
      const box = this.view.getBoundingClientRect();
      this.zoom(apart(here) / apart(before), (here[0] + other[0]) / 2 - box.left, (here[1] + other[1]) / 2 - box.top);
    }
  }

  key(event) {
    if (event.target !== this.view || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = 0.12 * Math.min(this.wide, this.high) / this.at.scale;
    const { x, y, scale } = this.at;
    const actions = {
      ArrowLeft: () => this.move(x - step, y, scale), ArrowRight: () => this.move(x + step, y, scale),
      ArrowUp: () => this.move(x, y - step, scale), ArrowDown: () => this.move(x, y + step, scale),
      "+": () => this.zoom(1.4), "=": () => this.zoom(1.4), "-": () => this.zoom(1 / 1.4), "0": () => this.fit(),
      b: () => this.showSide((this.side + 1) % this.sides.length),
      n: () => this.marks.step(1), p: () => this.marks.step(-1), Enter: () => this.marks.toRow(), Escape: () => this.marks.choose(null),
    };
    const action = actions[event.key];
    if (!action) return;
    event.preventDefault();
    action();
  }
}
