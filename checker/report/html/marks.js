
// Marks on the drawing: what is in view, one per patch of the screen, the worst on top.
const PATCH = 27; // pixels
const CROWD = 1.8; // and so many times that where marks would cover the board

class Marks {
  constructor(sheet) {
    this.sheet = sheet;
    this.items = [];
    this.chosen = null;
    this.lit = [];
    sheet.marks = this;
    sheet.painters.push(() => this.nets(), () => this.paint());
    sheet.view.addEventListener("click", (event) => this.clicked(event));
  }

  // Items worst first: {side, x, y, state, label, says, cut, finding, gap}.
  set(items) {
    this.items = items;
    if (this.chosen && !items.includes(this.chosen)) this.chosen = null;
    this.sheet.ask();
  }

  paint() {
    const { sheet } = this;
    const { side } = sheet;
    const size = PATCH * (this.crowded ? CROWD : 1);
    const columns = Math.ceil(sheet.wide / size) + 3;
    const patches = new Map();
    const key = (x, y) => (Math.floor(y / size) + 1) * columns + Math.floor(x / size) + 1;
    const first = this.chosen ? [this.chosen] : [];
    this.shown = [];
    for (const items of [first, this.items]) for (const item of items) {
      if (item.x == null || (item.side !== side && item.side !== -1)) continue;
      if (item === this.chosen && items !== first) continue;
      const [x, y] = sheet.pixel(item.x, item.y);
      if (x < -PATCH || y < -PATCH || x > sheet.wide + PATCH || y > sheet.high + PATCH) continue;
      const at = key(x, y);
      let near = null;
      for (const row of [0, -columns, columns]) for (const by of [0, -1, 1]) {
        const other = patches.get(at + row + by);
        if (other && (row + by === 0 || Math.hypot(other.x - x, other.y - y) < size)) near ??= other;
      }
      if (near) near.count += 1;
      else {
        const patch = { item, x, y, count: 1 };
        patches.set(at, patch);
        this.shown.push(patch);
      }
    }
    const crowded = this.shown.length > (this.crowded ? 12 : 45);
    if (crowded !== Boolean(this.crowded)) {
      this.crowded = crowded;
      if (crowded) return this.paint();
    }
    const discs = [], signs = [], counts = [];
    for (const { item, x, y, count } of [...this.shown].reverse()) {
      const radius = (item.cut ?? 0) * 500 * sheet.at.scale;
      const aside = radius > 7;
      if (aside) {
        discs.push(make("svg:circle", { class: item.least ? "cutter least" : "cutter", cx: x, cy: y, r: radius }),
          make("svg:path", { class: "centre", d: `M${x} ${y}L${x + radius * 0.7 + 14} ${y - radius * 0.7 - 14}` }));
      }
      const [mx, my] = aside ? [x + radius * 0.7 + 14, y - radius * 0.7 - 14] : [x, y];
      const mark = sign(item.state, item.label);
      mark.setAttribute("transform", `translate(${mx} ${my})`);
      mark.item = item;
      if (item === this.chosen) {
        discs.push(make("svg:circle", { class: "chosen back", cx: mx, cy: my, r: 17 }), make("svg:circle", { class: "chosen", cx: mx, cy: my, r: 17 }));
      }
      signs.push(mark);
      if (count > 1) counts.push(make("svg:text", { class: "count", x: mx + 11, y: my + 12 }, `+${count - 1}`));
    }
    return [...discs, ...signs, ...counts];
  }

  clicked(event) {
    if (this.sheet.dragged >= 4) return;
    const item = event.target.closest?.(".sign")?.item;
    if (item) return this.choose(item, true);
    const copper = event.target.closest?.(".copper > path");
    if (!copper) return this.light([]);
    const { data, side, now } = this.sheet;
    const net = data.islands[side][[...copper.parentNode.children].indexOf(copper)];
    this.light([net]);
    now.replaceChildren(`Net: ${data.nets[net]}`);
  }

  // Draw the copper of these nets anew, on top.
  light(nets) {
    this.lit = nets;
    this.sheet.ask();
  }

  nets() {
    const { sheet } = this;
    if (!this.lit.length) return [];
    const paths = sheet.shapes("copper");
    const wanted = new Set(this.lit);
    const scale = sheet.at.scale;
    const flip = sheet.mirrored ? ` translate(${sheet.width} 0) scale(-1 1)` : "";
    const group = make("svg:g", { class: "net", transform: `translate(${sheet.wide / 2 - sheet.at.x * scale} ${sheet.high / 2 - sheet.at.y * scale}) scale(${scale})${flip}` });
    sheet.data.islands[sheet.side].forEach((net, index) => {
      if (wanted.has(net)) group.append(paths[index].cloneNode());
    });
    return [group];
  }

  choose(item, tellRow = false) {
    this.chosen = item;
    this.sheet.places?.mark(item, tellRow);
    if (!item) {
      this.sheet.now.replaceChildren();
      return this.sheet.ask();
    }
    const row = item.finding == null ? null : this.sheet.places.rowId(item.finding);
    this.sheet.now.replaceChildren(signIcon(item.state, item.label), ` ${item.says} `,
      row ? make("a", { href: `#${row}`, onclick: (event) => { event.preventDefault(); this.toRow(); } }, "its row") : "");
    this.sheet.ask();
  }

  go(item) {
    this.choose(item);
    if (item.x != null) this.sheet.go(item.side, item.x, item.y, item.cut || 0.6);
  }

  step(by) {
    const placed = this.items.filter((item) => item.x != null);
    if (!placed.length) return;
    const at = placed.indexOf(this.chosen);
    this.go(placed[at < 0 ? (by > 0 ? 0 : placed.length - 1) : (at + by + placed.length) % placed.length]);
  }

  toRow() {
    if (this.chosen?.finding != null) this.sheet.places.toRow(this.chosen.finding);
  }
}
