
// The slider: every gap judged anew in this page, as the command judges it.
const MOST_NAMES = 40;
const ELSEWHERE = -1, OPEN = 0, TIGHT = 1, TRIMMED = 2, AT_LIMIT = 3, JOINED = 4;
const FATE = [
  null,
  { state: "marginal", label: "!", says: "open at the nominal cut only" },
  { state: "marginal", label: "b", says: "open only by biting into copper" },
  { state: "marginal", label: "?", says: "at the limit" },
  { state: "not-makeable", label: "×", says: "stay shut" },
];

function fateOf(gaps, row, stop) {
  const fit = gaps.fits[row], bite = gaps.bitten[row] ?? fit;
  if (bite < stop.shut) return JOINED;
  if (bite < stop.limit) return AT_LIMIT;
  if (fit < stop.shut) return TRIMMED;
  return fit < stop.tight ? TIGHT : OPEN;
}

function fatesAt(gaps, stop) {
  return gaps.census.map((census, row) => (census && census !== stop.census ? ELSEWHERE : fateOf(gaps, row, stop)));
}

// Union-find: which nets hang together through these gaps.
function joinedBy(gaps, rows) {
  const parent = new Map();
  const root = (net) => {
    if (!parent.has(net)) parent.set(net, net);
    while (parent.get(net) !== net) {
      parent.set(net, parent.get(parent.get(net)));
      net = parent.get(net);
    }
    return net;
  };
  for (const row of rows) {
    const [low, high] = [root(gaps.one[row]), root(gaps.other[row])].sort((a, b) => a - b);
    parent.set(high, low);
  }
  const groups = new Map();
  for (const net of [...parent.keys()].sort((a, b) => a - b)) {
    const key = root(net);
    if (!groups.has(key)) groups.set(key, []);
    groups.get(key).push(net);
  }
  return [...groups.values()].sort((a, b) => b.length - a.length || a[0] - b[0]);
}

class Slider {
  constructor(sheet) {
    this.sheet = sheet;
    this.data = sheet.data;
    this.stops = this.data.stops;
    this.at = this.data.own;
    const report = sheet.report, id = report.dataset.report;
    this.place = report.querySelector(".setting");
    this.place.hidden = false;
    report.querySelector(".try").hidden = false;
    const deep = this.data.what === "depth";
    this.word = deep ? "depth" : this.data.tool ? "cut" : "least gap";
    this.range = make("input", { type: "range", min: 0, max: this.stops.length - 1, step: 1, value: this.at, id: `range-${id}`, oninput: () => this.set(Number(this.range.value)) });
    this.readout = make("div", { class: "readout" });
    this.verdict = make("span", { class: "verdict-here", role: "status" });
    this.fates = make("ul", { class: "fates" });
    this.more = make("div", {});
    this.back = make("button", { type: "button", onclick: () => this.set(this.data.own) }, "Back to the profile's");
    this.span = make("p", { class: "span" });
    this.gauge = make("svg:svg", { class: "gauge", "aria-hidden": "true" });
    this.place.append(make("h2", {}, make("label", { for: `range-${id}` }, `Try another ${this.word === "cut" ? "width of the cut" : this.word}`)),
      this.readout, this.range, this.gauge, this.span, this.fates, this.more);
    new ResizeObserver(() => this.drawGauge()).observe(this.gauge);
    this.set(this.at);
  }

  get stop() {
    return this.stops[this.at];
  }

  set(index) {
    this.at = index;
    this.range.value = index;
    const { stop, data } = this, own = index === data.own;
    this.fate = fatesAt(data.gaps, stop);
    this.range.setAttribute("aria-valuetext", `${upper(this.word)} ${mm(stop.value)} mm, ${spoken(stop.verdict)}`);
    this.tellReadout(stop, own);
    this.tellVerdict(stop);
    this.tellFates(stop);
    this.tellMore(stop);
    this.tellCauses(own);
    this.mark(own);
    this.crops(stop, own);
    this.drawGauge();
    this.sheet.remains?.set(stop, own);
    this.place.dataset.at = index;
  }

  tellReadout(stop, own) {
    this.readout.replaceChildren(
      make("span", { class: "value" }, `${upper(this.word)} ${mm(stop.value)} mm`), this.verdict,
      make("span", {}, this.data.what === "depth" ? `cut ${mm(stop.nominal)} mm, ${mm(stop.least)} to ${mm(stop.most)} at the worst` : `${mm(stop.least)} to ${mm(stop.most)} mm at the worst`),
      own ? make("span", { class: "own-here" }, "as the profile sets it") : this.back);
  }

  tellVerdict(stop) {
    this.verdict.replaceChildren(signIcon(stop.verdict, ""), " ",
      make("span", { class: `state ${stop.verdict}` }, upper(spoken(stop.verdict))), stop.partly ? " judged by its gaps alone" : " judged by every rule");
  }

  tellFates(stop) {
    const number = [0, 0, 0, 0, 0];
    for (const fate of this.fate) if (fate !== ELSEWHERE) number[fate] += 1;
    this.number = number;
    const lines = [JOINED, AT_LIMIT, TRIMMED, TIGHT].map((fate) =>
      make("li", { "data-fate": fate }, signIcon(FATE[fate].state, FATE[fate].label), `${number[fate]} ${FATE[fate].says}`));
    lines.push(make("li", { "data-fate": OPEN }, signIcon("makeable", ""), `${number[OPEN]} narrow gaps open`));
    this.worn = this.wornAt(stop);
    if (this.data.minimum != null)
      lines.push(make("li", { "data-necks": this.worn.length }, signIcon("remark", "n"), `${counted(this.worn.length, "neck")} left below ${mm(this.data.minimum)} mm at the worst`));
    if (stop.eaten != null) {
      lines.push(make("li", { class: "eaten" }, `Eaten at the worst: ${stop.eaten.toFixed(1)} mm²`));
      lines.push(make("li", { class: "thinnest" }, `Thinnest copper left: ${stop.beyond ? "at least " : ""}${mm(stop.thinnest)} mm`));
    }
    this.fates.replaceChildren(...lines);
  }

  tellMore(stop) {
    const { gaps, nets, sides } = this.data;
    const shut = [];
    this.fate.forEach((fate, row) => fate === JOINED && shut.push(row));
    const groups = sides.flatMap((side, index) => joinedBy(gaps, shut.filter((row) => gaps.side[row] === index)).map((group) => [side, group]));
    const told = new Set(groups.map(([, group]) => group.join()));
    for (const group of joinedBy(gaps, shut)) if (!told.has(group.join())) groups.push(["all sides", group]);
    this.groups = groups;
    const list = groups.slice(0, 12).map(([side, group]) => {
      const names = group.slice(0, MOST_NAMES).map((net) => nets[net]).join("; ");
      const rest = group.length > MOST_NAMES ? ` and ${group.length - MOST_NAMES} more` : "";
      return make("li", {}, make("button", { type: "button", onclick: () => this.showNets(side, group) }, "Show"), ` ${side}: ${names}${rest}`);
    });
    const open = new Set([...this.more.querySelectorAll("details[open]")].map((details) => details.className));
    const blocks = [];
    if (groups.length) {
      if (groups.length > 12) list.push(make("li", {}, `and ${counted(groups.length - 12, "more group")}`));
      blocks.push(this.block("nets", `Nets in one piece: ${counted(groups.length, "group")}`, make("ul", {}, ...list), open));
    }
    blocks.push(this.block("rules", "What each rule finds here", this.rules(stop), open));
    this.more.replaceChildren(...blocks);
  }

  block(name, title, content, open) {
    return make("details", { class: name, open: open.has(name) }, make("summary", {}, title), content);
  }

  // Necks that come out narrower than copper survives, where the cut is as wide as it may be.
  wornAt(stop) {
    const { necks, minimum } = this.data, worn = [];
    if (minimum != null) necks.width.forEach((wide, row) => wide - 2 * stop.off < minimum && worn.push(row));
    return worn;
  }

  rules(stop) {
    const own = this.stops[this.data.own];
    const names = [...new Set([...Object.keys(stop.counts), ...Object.keys(own.counts)])].sort();
    if (!names.length) return make("p", {}, "Nothing.");
    const told = (one, name) => String(one.counts[name] ?? (one.partly ? "-" : 0));
    const rows = names.map((name) => make("tr", { "data-rule": name }, make("td", {}, name), make("td", { class: "n" }, told(stop, name)), make("td", { class: "n" }, told(own, name))));
    return make("table", {}, make("thead", {}, make("tr", {}, make("th", { scope: "col" }, "Rule"), make("th", { scope: "col", class: "n" }, "Here"), make("th", { scope: "col", class: "n" }, "By the profile"))), make("tbody", {}, ...rows));
  }

  showNets(side, group) {
    const index = this.data.sides.indexOf(side);
    if (index >= 0) this.sheet.showSide(index);
    this.sheet.marks.light(group);
    this.sheet.fit();
    this.sheet.now.replaceChildren(`In one piece on ${side}: ${group.slice(0, MOST_NAMES).map((net) => this.data.nets[net]).join("; ")}`);
  }

  // What a cause's gaps do at this setting, beside what the command said of them.
  tellCauses(own) {
    const { findings } = this.data;
    this.byCause ??= findings.gap.reduce((map, gap, row) => {
      if (gap >= 0) map.set(findings.cause[row], [...(map.get(findings.cause[row]) ?? []), gap]);
      return map;
    }, new Map());
    this.articles ??= [...this.sheet.report.querySelectorAll(".cause")];
    for (const [cause, gaps] of this.byCause) {
      const article = this.articles[cause];
      let line = article.querySelector(".here-now");
      if (own) {
        line?.remove();
        article.classList.remove("at-rest");
        continue;
      }
      if (!line) article.querySelector(".facts").after((line = make("p", { class: "here-now" })));
      const fates = gaps.map((gap) => fateOf(this.data.gaps, gap, this.stop));
      const left = fates.filter((fate) => fate !== OPEN).length, shut = fates.filter((fate) => fate === JOINED).length;
      line.textContent = left ? `At ${mm(this.stop.value)} mm: ${shut} of ${gaps.length} shut, ${left - shut} doubtful` : `At ${mm(this.stop.value)} mm: all ${gaps.length} open`;
      article.classList.toggle("at-rest", !left);
    }
  }

  // At the profile's setting the marks are the findings; elsewhere they are the gaps and necks.
  mark(own) {
    const { data, sheet } = this;
    if (own) return sheet.marks.set(data.findings.id.map((_, row) => sheet.places.own(row)));
    this.findingOf ??= new Map(data.findings.gap.flatMap((gap, row) => (gap >= 0 ? [[gap, row]] : [])));
    const items = [];
    for (const fate of [JOINED, AT_LIMIT, TRIMMED, TIGHT]) {
      const { state, label, says } = FATE[fate];
      this.fate.forEach((one, row) => {
        if (one !== fate) return;
        const { gaps, nets } = data;
        items.push({ side: gaps.side[row], x: gaps.x[row], y: gaps.y[row], state, label, cut: this.stop.nominal, least: !data.tool, gap: row, finding: this.findingOf.get(row),
          says: `Gap ${mm(gaps.gap[row] / 1e4)} mm, a cut of ${mm(gaps.fits[row])} mm passes: ${nets[gaps.one[row]]} and ${nets[gaps.other[row]]}, ${says}` });
      });
    }
    const { necks } = data;
    for (const row of this.worn)
      items.push({ side: necks.side[row], x: necks.x[row], y: necks.y[row], state: "remark", label: "n",
        says: `Copper drawn ${mm(necks.width[row])} mm wide, ${mm(Math.max(0, necks.width[row] - 2 * this.stop.off))} mm left at the worst` });
    sheet.marks.set(items);
  }

  // The disc and its dimension in every crop of a gap.
  crops(stop, own) {
    this.drawn ??= this.articles.map((article) => article.querySelector(".crop svg.gap"));
    this.drawn.forEach((svg, cause) => {
      if (!svg) return;
      const disc = svg.querySelector(".cutter"), dim = svg.querySelector(".dimension.cut"), text = dim.querySelector("text");
      const cut = this.stops[this.data.own].nominal;
      svg.original ??= { path: dim.querySelector("path").getAttribute("d"), text: text.textContent };
      for (const circle of [disc, svg.querySelector(".bitten")]) circle.setAttribute("r", stop.nominal * 500);
      svg.querySelector(".stays")?.toggleAttribute("hidden", !own);
      svg.querySelector(".stays-here")?.remove();
      this.near ??= new IntersectionObserver((entries) => entries.forEach((entry) => this.inView(entry)), { rootMargin: "200px" });
      if (!svg.watched) this.near.observe(svg);
      svg.watched = true;
      svg.stale = !own && stop.clears != null;
      if (svg.stale && svg.seen) this.remains(svg);
      text.textContent = own ? svg.original.text : svg.original.text.replace(/[\d.]+$/, mm(stop.nominal));
      dim.querySelector("path").setAttribute("d", own ? svg.original.path : this.widened(svg.original.path, (stop.nominal - cut) * 500));
    });
  }

  inView(entry) {
    entry.target.seen = entry.isIntersecting;
    if (entry.isIntersecting && entry.target.stale) this.remains(entry.target);
  }

  remains(svg) {
    svg.stale = false;
    svg.querySelector(".copper").after(cropRemains(svg, this.stop));
  }

  // A dimension's path is lines of two ends and heads of three points; each half moves outwards.
  widened(path, by) {
    const points = path.match(/-?\d+/g).map(Number);
    const [ax, ay, bx, by2] = [points[0], points[1], points[4], points[5]];
    const long = Math.hypot(bx - ax, by2 - ay) || 1, ux = (bx - ax) / long, uy = (by2 - ay) / long;
    const mid = ((ax + bx) / 2) * ux + ((ay + by2) / 2) * uy;
    return path.replace(/(-?\d+) (-?\d+)/g, (_, x, y) => {
      const sign = Number(x) * ux + Number(y) * uy < mid ? -1 : 1;
      return `${Math.round(Number(x) + sign * by * ux)} ${Math.round(Number(y) + sign * by * uy)}`;
    });
  }

  // The gauge under the slider: every setting, the window, the profile's own.
  drawGauge() {
    const wide = this.gauge.clientWidth, n = this.stops.length - 1, values = this.stops.map((stop) => stop.value);
    if (!wide) return;
    this.gauge.setAttribute("viewBox", `0 0 ${wide} ${this.gauge.clientHeight}`);
    const x = (index) => 8 + (index / Math.max(1, n)) * (wide - 16);
    // Settings need not be evenly spaced: a length stands between the two settings round it.
    const at = (value) => {
      if (value <= values[0]) return x(0);
      if (value >= values[n]) return x(n);
      const i = values.findIndex((one) => one >= value);
      return x(i - 1 + (value - values[i - 1]) / (values[i] - values[i - 1]));
    };
    const parts = [];
    const every = Math.ceil((values.length * 46) / wide);
    values.forEach((value, index) => {
      parts.push(make("svg:path", { class: "tick", d: `M${x(index)} 4v${index % every ? 5 : 9}` }));
      if (index % every === 0) parts.push(make("svg:text", { x: x(index), y: 26 }, mm(value, value < 1 && this.data.what === "depth" ? 2 : 3)));
    });
    const span = this.data.what === "depth" ? this.data.window : null;
    let told = null;
    if (span) {
      const [least, most] = span.nominal_mm ?? [];
      const whole = (deepest) => deepest ?? values[n];
      if (least != null) parts.push(make("svg:rect", { class: "nominal", x: at(least), y: 32, width: Math.max(1, at(whole(most)) - at(least)), height: 6 }));
      if (!span.empty) parts.push(make("svg:rect", { class: "sure", x: at(span.shallowest_mm), y: 32, width: Math.max(1, at(whole(span.deepest_mm)) - at(span.shallowest_mm)), height: 6 }));
      told = least == null ? "No depth goes through the foil and opens every gap, even if nothing errs." : span.empty ? "Bar: depths that do if nothing errs; none surely does." : "Filled bar: depths that surely do; outlined: that do if nothing errs.";
    } else {
      const sure = this.stops.filter((stop) => stop.verdict === "makeable"), any = this.stops.filter((stop) => stop.verdict !== "not-makeable");
      for (const [name, list] of [["nominal", any], ["sure", sure]])
        if (list.length) parts.push(make("svg:rect", { class: name, x: at(list[0].value) - 2, y: 32, width: at(list[list.length - 1].value) - at(list[0].value) + 4, height: 6 }));
      told = any.length ? "Filled bar: makeable; outlined: marginal too." : "No width looked at here makes the board.";
    }
    parts.push(make("svg:path", { class: "own", d: `M${x(this.data.own)} 41l5 8h-10z` }), make("svg:path", { class: "now-at", d: `M${x(this.at)} 0v40` }));
    const short = this.data.own === n ? " Nothing wider is looked at: thousands of gaps are too narrow already." : "";
    this.span.textContent = told + short;
    this.gauge.replaceChildren(...parts);
  }
}
