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
    row, own: row, gone: false, joined: false, element: null, chosen: Object.fromEntries(FIELDS.map((name) => [name, row[place[name]]])),
  }));
  let all = false;

  Draft.gone = () => terminals.filter((each) => each.gone).map((each) => each.row[place.terminal]);
  Draft.files["terminals.csv"] = function () {
    return csvText([header, ...terminals.filter((each) => !each.gone && !each.joined).map(written)]);
  };

  // One terminal under two tags: the exports' row holds what the schedule says besides, and the schedule's row goes.
  Draft.join = function (scheduled, exported, one) {
    const [from, to] = [scheduled, exported].map((tag) => terminals.find((each) => each.own[place.terminal] === tag));
    const before = to.row;
    from.joined = one;
    to.row = one ? withScheduled(to.own, from.own) : to.own;
    for (const name of FIELDS) {
      if (to.chosen[name].trim() === before[place[name]]) to.chosen[name] = to.row[place[name]];
    }
    if (form) apply();
  };

  // What was inferred gives way to what the schedule says; what was given before does not.
  function withScheduled(own, scheduled) {
    const row = [...own];
    for (const name of FIELDS) {
      if (!scheduled[place[name]] || own[because(name)] === "the schedule says so") continue;
      row[place[name]] = scheduled[place[name]];
      row[because(name)] = scheduled[because(name)];
    }
    header.forEach((name, n) => {
      if (!name.startsWith("observed ") && !row[n]) row[n] = scheduled[n];
    });
    return row;
  }

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
    terminal.element = element;
    return element;
  }

  function show(terminal, n) {
    const element = terminal.element || make(terminal, n);
    for (const name of FIELDS) element.querySelector(`.${name}`).value = terminal.chosen[name];
    FIELDS.forEach((name, at) => (element.cells[at + 1].querySelector("small").textContent = terminal.row[because(name)]));
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
    return terminals.filter((each) => {
      if (each.joined) return false;
      const text = [each.row[place.terminal], ...Object.values(each.chosen)].join(" ").toLowerCase();
      return words.every((word) => text.includes(word));
    });
  }

  function apply() {
    const fits = fitting();
    const shown = all ? fits : fits.slice(0, most);
    const place = new Map(terminals.map((each, n) => [each, n]));
    body.replaceChildren(...shown.map((each) => show(each, place.get(each))));
    const count = terminals.filter((each) => !each.joined).length;
    const total = `${count.toLocaleString("en")} terminal${count === 1 ? "" : "s"}`;
    found.textContent = fits.length === count ? total : `${fits.length.toLocaleString("en")} of ${total}`;
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
