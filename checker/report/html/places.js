
// The rows of each cause, a page at a time, and the way from a row to its mark and back.
const PAGE = 20;

class Places {
  constructor(sheet) {
    this.sheet = sheet;
    this.report = sheet.report;
    this.findings = sheet.data.findings;
    sheet.places = this;
    this.first = [];
    this.findings.cause.forEach((cause, row) => { this.first[cause] ??= row; });
    this.lists = [...this.report.querySelectorAll("ol.places")];
    this.page = this.lists.map(() => -1);
    this.lists.forEach((list, cause) => {
      const details = list.closest("details");
      details.querySelector("summary").textContent = this.count(cause) === 1 ? "The place" : `The ${this.count(cause)} places`;
      details.addEventListener("toggle", () => details.open && this.page[cause] < 0 && this.show(cause, 0));
      if (details.open) this.show(cause, 0);
    });
    this.report.addEventListener("click", (event) => {
      const link = event.target.closest("a.show");
      if (!link) return;
      event.preventDefault();
      const row = Number(link.closest("li").dataset.row);
      const item = this.item(row);
      if (item) this.sheet.marks.go(item);
      const view = this.sheet.view.getBoundingClientRect();
      if (view.bottom < 80 || view.top > innerHeight - 80) this.sheet.view.scrollIntoView({ block: "center" });
    });
    const crops = this.report.querySelectorAll(".cause");
    crops.forEach((article, cause) => {
      const crop = article.querySelector(".crop");
      crop?.append(make("button", { type: "button", onclick: () => this.sheet.marks.go(this.item(this.first[cause])) }, "Show on the board"));
    });
  }

  count(cause) {
    return Number(this.lists[cause].dataset.count);
  }

  rowId(row) {
    return `f${this.report.dataset.report}-${this.findings.id[row]}`;
  }

  item(row) {
    return this.sheet.marks.items.find((item) => item.finding === row) || this.own(row);
  }

  // The mark of a finding as the command told it.
  own(row) {
    const f = this.findings, gap = f.gap[row], { data } = this.sheet;
    return {
      finding: row, side: typeof f.side[row] === "number" ? f.side[row] : -2, x: f.x[row], y: f.y[row], state: f.state[row],
      label: f.cause[row] + 1, says: f.message[row], gap, cut: gap >= 0 ? data.stops[data.own].nominal : null, least: !data.tool,
    };
  }

  where(row) {
    const f = this.findings, [left, top] = this.sheet.data.frame, side = f.side[row];
    const name = typeof side === "string" ? side : side < 0 ? "board" : this.sheet.data.sides[side];
    if (f.x[row] == null) return name;
    return `${name} ${mm(left + f.x[row] / 1000)}, ${mm(top - f.y[row] / 1000)}`;
  }

  show(cause, page) {
    const list = this.lists[cause], count = this.count(cause), first = this.first[cause];
    const pages = Math.ceil(count / PAGE), f = this.findings;
    this.page[cause] = page;
    const rows = [];
    for (let row = first + page * PAGE; row < Math.min(first + count, first + (page + 1) * PAGE); row++) {
      rows.push(make("li", { id: this.rowId(row), "data-row": row },
        make("a", { class: "show", href: `#board-${this.report.dataset.report}` }, this.where(row)), " ",
        make("span", {}, f.message[row]), count > 1 ? make("span", { class: "to-do" }, upper(f.remedy[row])) : null));
    }
    list.replaceChildren(...rows);
    list.nextElementSibling?.remove();
    if (pages > 1) {
      const turn = (to) => { this.show(cause, to); const buttons = list.nextElementSibling.querySelectorAll("button:enabled"); buttons[to > page ? buttons.length - 1 : 0].focus(); };
      list.after(make("p", { class: "pager" },
        make("button", { type: "button", class: "previous", disabled: page === 0, onclick: () => turn(page - 1) }, "Previous"),
        make("span", {}, `${page * PAGE + 1} to ${Math.min(count, (page + 1) * PAGE)} of ${count}`),
        make("button", { type: "button", class: "next", disabled: page === pages - 1, onclick: () => turn(page + 1) }, "Next")));
    }
  }

  reveal(row) {
    const cause = this.findings.cause[row], page = Math.floor((row - this.first[cause]) / PAGE);
    const details = this.lists[cause].closest("details");
    if (this.page[cause] !== page) this.show(cause, page);
    details.open = true;
    return document.getElementById(this.rowId(row));
  }

  mark(item, scroll) {
    for (const lit of this.report.querySelectorAll(".places .lit")) lit.classList.remove("lit");
    if (item?.finding == null) return;
    const cause = this.findings.cause[item.finding];
    if (!scroll && !this.lists[cause].closest("details").open) return;
    const row = this.reveal(item.finding);
    row.classList.add("lit");
    if (scroll && matchMedia("(min-width: 60rem)").matches) row.scrollIntoView({ block: "center" });
  }

  toRow(row) {
    const line = this.reveal(row);
    line.classList.add("lit");
    line.scrollIntoView({ block: "center" });
    line.querySelector("a").focus({ preventScroll: true });
  }
}
