// Orders the ranked terminals by any column, and shows more of them; the page holds the first, a script file all.
"use strict";

(function () {
  const table = document.getElementById("worst-table");
  const AT_ONCE = 20, MORE = 100;
  const FIELDS = ["rank", "terminal", "href", "where", "finding", "hours", "severity", "safety", "ventilation", "comfort",
    "kwh", "kwh_range", "cost", "cost_range", "impact"];
  const LEVELS = ["urgent", "high", "medium", "low", ""];
  const LABELS = { safety: "Safety", ventilation: "Ventilation", comfort: "Comfort" };
  const heads = [...table.tHead.rows[0].cells];
  const shown = document.getElementById("worst-shown"), more = document.getElementById("worst-more");
  const currency = heads[heads.length - 1].textContent.split("/")[0];
  let asked = null, limit = AT_ONCE, by = "rank", down = false;

  function rows() {
    asked = asked || new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = "assets/terminals_ranked.js";
      script.onload = () => resolve(terminalsRanked.map((row) => Object.fromEntries(FIELDS.map((name, i) => [name, row[i]]))));
      script.onerror = () => reject(new Error("assets/terminals_ranked.js is missing; terminals_ranked.csv holds the same"));
      document.head.append(script);
    });
    return asked;
  }

  // A column's own order: the worst first where it has a worst, blanks last.
  function key(row) {
    if (by in LABELS) return LEVELS.indexOf(row[by]);
    if (by === "kwh" || by === "cost") return row[by] === null ? Infinity : -row[by];
    if (by === "hours") return -hoursOf(row.hours);
    return row[by];
  }

  // Hours as they are told: "4.5 h", "1,204.0 h" or "50 min".
  function hoursOf(told) {
    const number = parseFloat(told.replace(/,/g, ""));
    return Number.isNaN(number) ? -1 : /min/.test(told) ? number / 60 : number;
  }

  const natural = new Intl.Collator("en", { numeric: true });

  function compare(a, b) {
    const [x, y] = [key(a), key(b)];
    const order = typeof x === "string" ? natural.compare(x, y) : x === y ? 0 : x - y;
    return (down ? -order : order) || a.rank - b.rank;
  }

  // The same row as templates/index.html writes.
  function drawn(row) {
    const line = make("tr"), name = make("th", { scope: "row" });
    name.append(row.href ? make("a", { href: row.href }, row.terminal) : row.terminal, " ", make("small", {}, row.where));
    const what = make("td", { class: "what" }, row.finding);
    if (row.impact) what.append(" ", make("small", {}, row.impact));
    line.append(make("td", { class: "figure" }, row.rank), name, what);
    line.append(make("td", { class: "figure spare", "data-label": "Fault" }, row.hours));
    for (const [harm, label] of Object.entries(LABELS)) {
      const cell = make("td", { "data-label": label });
      if (row[harm]) cell.append(make("span", { class: `severity ${row[harm]}` }, row[harm]));
      line.append(cell);
    }
    line.append(figure("kWh/yr", row.kwh, row.kwh_range), figure(`${currency}/yr`, row.cost, row.cost_range));
    rolesOf(line);
    return line;
  }

  function figure(label, value, range) {
    const cell = make("td", { class: "figure", "data-label": label });
    if (value !== null) cell.append(`${value.toLocaleString("en")} `, make("small", {}, range));
    return cell;
  }

  async function draw() {
    const all = [...await rows()].sort(compare);
    table.tBodies[0].replaceChildren(...all.slice(0, limit).map(drawn));
    for (const head of heads) {
      if (head.dataset.sort === by) head.setAttribute("aria-sort", down ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    }
    if (!more) return;
    const count = Math.min(limit, all.length);
    shown.textContent = `${count.toLocaleString("en")} of ${all.length.toLocaleString("en")} terminals with a finding of their own`;
    more.hidden = count === all.length;
  }

  for (const head of heads) {
    const button = make("button", { type: "button" }, head.textContent);
    button.addEventListener("click", () => {
      down = head.dataset.sort === by && !down;
      by = head.dataset.sort;
      draw();
    });
    head.replaceChildren(button);
  }
  if (more) {
    more.hidden = false;
    more.addEventListener("click", () => {
      limit += MORE;
      draw();
    });
  }
})();
