// The terminals: kind, air handler, reheat, or none at all; as rows of terminals.csv. Rows are made when they are shown.
"use strict";

(function () {
  const { header, rows, most } = Draft.data.terminals;
  const place = Object.fromEntries(header.map((name, n) => [name, n]));
  const form = document.getElementById("terminals-filter");
  const found = document.getElementById("terminals-found");
  const more = document.getElementById("terminals-more");
  const FIELDS = ["kind", "air_handler", "reheat"];
  const because = (name) => place[`observed ${name.replace("_", " ")} because`];
  const terminals = rows.map((row) => ({
    row, gone: false, element: null, chosen: Object.fromEntries(FIELDS.map((name) => [name, row[place[name]]])),
  }));
  let all = false;

  Draft.gone = () => terminals.filter((each) => each.gone).map((each) => each.row[place.terminal]);
  Draft.files["terminals.csv"] = function () {
    return csvText([header, ...terminals.filter((each) => !each.gone).map(written)]);
  };

  function written(terminal) {
    const row = [...terminal.row];
    for (const name of FIELDS) {
      const value = terminal.chosen[name].trim();
      if (value === row[place[name]]) continue;
      row[place[name]] = value;
      row[because(name)] = "chosen on the draft's page";
    }
    return row;
  }

  if (!form) return;
  const body = document.querySelector("table.terminals tbody");
  const made = [...body.rows];
  made.forEach((element, n) => (terminals[n].element = element));

  // A row like the first one, for another terminal.
  function make(terminal, n) {
    const tag = terminal.row[place.terminal];
    const first = made[0];
    const element = first.cloneNode(true);
    element.dataset.at = n;
    element.cells[0].textContent = tag;
    for (const control of element.querySelectorAll("[aria-label]")) {
      const label = control.getAttribute("aria-label");
      control.setAttribute("aria-label", label.replace(rows[0][place.terminal], () => tag));
    }
    FIELDS.forEach((name, at) => (element.cells[at + 1].querySelector("small").textContent = terminal.row[because(name)]));
    terminal.element = element;
    return element;
  }

  function show(terminal, n) {
    const element = terminal.element || make(terminal, n);
    for (const name of FIELDS) element.querySelector(`.${name}`).value = terminal.chosen[name];
    element.querySelector(".gone").checked = terminal.gone;
    mark(terminal);
    return element;
  }

  function mark(terminal) {
    terminal.element.classList.toggle("gone", terminal.gone);
    const changed = FIELDS.some((name) => terminal.chosen[name].trim() !== terminal.row[place[name]]);
    terminal.element.classList.toggle("changed", changed);
  }

  function fitting() {
    const words = form.elements.q.value.toLowerCase().split(/\s+/).filter(Boolean);
    if (!words.length) return terminals;
    return terminals.filter((each) => {
      const text = [each.row[place.terminal], ...Object.values(each.chosen)].join(" ").toLowerCase();
      return words.every((word) => text.includes(word));
    });
  }

  function apply() {
    const fits = fitting();
    const shown = all ? fits : fits.slice(0, most);
    const place = new Map(terminals.map((each, n) => [each, n]));
    body.replaceChildren(...shown.map((each) => show(each, place.get(each))));
    const total = `${terminals.length.toLocaleString("en")} terminal${terminals.length === 1 ? "" : "s"}`;
    found.textContent = fits.length === terminals.length ? total : `${fits.length.toLocaleString("en")} of ${total}`;
    if (shown.length < fits.length) found.textContent += `, the first ${shown.length} shown`;
    more.hidden = shown.length === fits.length;
    more.firstElementChild.textContent = `Show all ${fits.length.toLocaleString("en")}`;
    return fits;
  }

  body.addEventListener("input", (event) => {
    const terminal = terminals[Number(event.target.closest("tr").dataset.at)];
    for (const name of FIELDS) if (event.target.classList.contains(name)) terminal.chosen[name] = event.target.value;
    if (event.target.classList.contains("gone")) terminal.gone = event.target.checked;
    mark(terminal);
    Draft.touch();
  });
  form.elements.q.addEventListener("input", apply);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const wanted = FIELDS.map((name) => [name, form.elements[name].value.trim()]).filter(([, value]) => value);
    const fits = fitting();
    for (const each of fits) for (const [name, value] of wanted) each.chosen[name] = value;
    apply();
    found.textContent += wanted.length ? `; set for ${fits.length.toLocaleString("en")}` : "; choose first what to set";
    if (wanted.length) Draft.touch();
  });
  more.firstElementChild.addEventListener("click", () => {
    const next = body.rows.length;
    all = true;
    apply();
    body.rows[next]?.querySelector("select").focus();
  });
  apply();
})();
