// Draws the two large tables, terminals by rule and terminals by point: air handlers first, their terminals on demand,
// so that thousands of terminals stay readable and quick.
"use strict";

const OPEN_AT_ONCE = 160; // terminals: up to here every air handler starts open
const ROWS_AT_ONCE = 100;

class Grid {
  // cells(row, i) -> {text, kind, spoken, href}; sums(rows, i, air handler) -> the same, for the air handler's own row.
  constructor(box, data, cells, sums) {
    Object.assign(this, { box, data, cells, sums, filter: () => true });
    this.groups = data.handlers.map((name, i) => ({ name, rows: data.rows.filter((row) => row[2] === i) }));
    this.open = new Set(data.rows.length <= OPEN_AT_ONCE ? this.groups : []);
    this.limit = new Map();
    this.draw();
  }

  draw() {
    const table = make("table");
    table.append(this.head());
    for (const group of this.groups) table.append(this.group(group));
    this.box.replaceChildren(table);
  }

  head() {
    const row = make("tr");
    row.append(make("th", { scope: "col" }, "Terminal"));
    for (const [name, title] of this.data.columns) {
      const cell = make("th", { scope: "col", class: "tall", title });
      cell.append(make("span", {}, name.replaceAll("_", " ")));
      row.append(cell);
    }
    const head = make("thead");
    head.append(row);
    return head;
  }

  group(group) {
    const body = make("tbody");
    const rows = group.rows.filter(this.filter);
    if (!rows.length) return body;
    const open = this.open.has(group);
    const button = make("button", { type: "button", "aria-expanded": String(open) }, `${group.name} `);
    button.append(make("small", {}, `${rows.length} terminal${rows.length === 1 ? "" : "s"}`));
    button.addEventListener("click", () => {
      if (open) this.open.delete(group);
      else this.open.add(group);
      const drawn = this.group(group);
      body.replaceWith(drawn);
      drawn.querySelector("button").focus();
    });
    const sum = make("tr", { class: "sum" });
    const name = make("th", { scope: "rowgroup" });
    name.append(button);
    sum.append(name, ...this.data.columns.map((_, i) => this.cell(this.sums(rows, i, group.name))));
    body.append(sum);
    if (open) this.rows(body, group, rows);
    return body;
  }

  rows(body, group, rows) {
    const limit = this.limit.get(group) || ROWS_AT_ONCE;
    for (const row of rows.slice(0, limit)) {
      const line = make("tr");
      const name = make("th", { scope: "row" });
      name.append(make("a", { href: `terminals/${encodeURIComponent(row[1])}` }, row[0]));
      const cells = this.data.columns.map((_, i) => this.cells(row, i));
      line.append(name, ...cells.map((cell) => this.cell(cell)));
      if (cells.every(({ kind }) => kind === "full" || kind === "-")) line.className = "complete";
      body.append(line);
    }
    if (rows.length <= limit) return;
    const more = make("button", { type: "button" }, `Show the next ${Math.min(ROWS_AT_ONCE, rows.length - limit)}`);
    more.addEventListener("click", () => {
      this.limit.set(group, limit + ROWS_AT_ONCE);
      const drawn = this.group(group);
      body.replaceWith(drawn);
      drawn.rows[limit + 1].querySelector("a").focus();
    });
    const line = make("tr");
    const cell = make("td", { colspan: this.data.columns.length + 1 });
    cell.append(more);
    line.append(cell);
    body.append(line);
  }

  cell({ text, kind, spoken, href }) {
    const cell = make("td");
    const mark = make(href ? "a" : "span", { class: `cell ${kind}` }, text);
    if (href) mark.href = href;
    if (spoken) {
      mark.title = spoken;
      mark.setAttribute("aria-label", spoken);
      if (!href) mark.setAttribute("role", "img");
    }
    if (text || spoken) cell.append(mark);
    return cell;
  }
}

(function () {
  const read = (id) => JSON.parse(document.getElementById(id).textContent);
  const matrix = read("matrix-data"), coverage = read("coverage-data");
  const WORDS = { F: "fault, firm", M: "fault, marginal", N: "not judged", C: "clear", "-": "does not apply" };
  const SIGNS = { F: "F", M: "m", N: "?", C: "✓" };

  function verdict(tag, page, letter, i) {
    if (letter === "-") return { text: "", kind: "-" };
    const [rule, title] = matrix.columns[i];
    const href = letter === "F" || letter === "M"
      ? `terminals/${encodeURIComponent(page)}#rule=${encodeURIComponent(rule)}&episode=1` : null;
    return { text: SIGNS[letter], kind: letter, spoken: `${tag}, ${title}: ${WORDS[letter]}`, href };
  }

  const verdicts = new Grid(document.getElementById("matrix-grid"), matrix, (row, i) => {
    return verdict(row[0], row[1], row[5][i], i);
  }, (rows, i, handler) => {
    const own = matrix.own[handler];
    if (own && own[1][i] !== "-") return verdict(handler, own[0], own[1][i], i);
    const faults = rows.filter((row) => row[5][i] === "F" || row[5][i] === "M").length;
    const judged = faults + rows.filter((row) => row[5][i] === "C").length;
    return { text: faults || "", kind: "count", spoken: faults ? `${faults} at fault of ${judged} judged` : "" };
  });

  const shares = new Grid(document.getElementById("coverage-grid"), coverage, ([terminal, , , , , percents], i) => {
    const percent = percents[i];
    if (percent === null) return { text: "", kind: "-" };
    const kind = percent >= 95 ? "full" : percent >= 70 ? "most" : "few";
    return { text: percent, kind, spoken: `${terminal}, ${coverage.columns[i][1]}: ${percent} %` };
  }, (rows, i) => {
    const there = rows.map((row) => row[5][i]).filter((percent) => percent !== null);
    if (!there.length) return { text: "", kind: "-" };
    const mean = Math.floor(there.reduce((a, b) => a + b, 0) / there.length);
    return { text: mean, kind: "count", spoken: `${there.length} of ${rows.length} terminals have it, ${mean} % present` };
  });

  const only = document.getElementById("only-faults");
  function apply(state) {
    const handler = state.handler ? matrix.handlers.indexOf(state.handler) : null;
    const here = (row) => (handler === null || row[2] === handler) && (!state.floor || row[3] === state.floor)
      && (!state.kind || row[4] === state.kind);
    verdicts.filter = (row) => here(row) && (!only.checked || /[FM]/.test(row[5]));
    shares.filter = here;
    verdicts.draw();
    shares.draw();
  }
  only.addEventListener("change", () => apply(Address.read()));
  Address.listeners.push(apply);
  if (["handler", "floor", "kind"].some((name) => Address.read()[name])) apply(Address.read());
  document.documentElement.dataset.drawn = "true";
})();
