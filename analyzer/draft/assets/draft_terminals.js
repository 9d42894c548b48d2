// The terminals: kind, air handler, reheat, or none at all; as rows of terminals.csv.
"use strict";

(function () {
  const { header, rows, most } = Draft.data.terminals;
  const place = Object.fromEntries(header.map((name, n) => [name, n]));
  const form = document.getElementById("terminals-filter");
  const found = document.getElementById("terminals-found");
  const more = document.getElementById("terminals-more");
  const FIELDS = ["kind", "air_handler", "reheat"];
  const because = (name) => place[`observed ${name.replace("_", " ")} because`];
  const terminals = [...document.querySelectorAll("table.terminals tr[data-at]")].map((element) => ({
    element, row: rows[Number(element.dataset.at)], gone: element.querySelector(".gone"), text: null,
    fields: Object.fromEntries(FIELDS.map((name) => [name, element.querySelector(`.${name}`)])),
  }));
  let all = false;

  Draft.gone = () => terminals.filter((each) => each.gone.checked).map((each) => each.row[place.terminal]);
  Draft.files["terminals.csv"] = function () {
    const kept = terminals.filter((each) => !each.gone.checked);
    return csvText([header, ...kept.map(written)]);
  };

  function written(terminal) {
    const row = [...terminal.row];
    for (const name of FIELDS) {
      const value = terminal.fields[name].value.trim();
      if (value === row[place[name]]) continue;
      row[place[name]] = value;
      row[because(name)] = "chosen on the draft's page";
    }
    return row;
  }

  function fitting() {
    const words = form.elements.q.value.toLowerCase().split(/\s+/).filter(Boolean);
    if (!words.length) return terminals;
    return terminals.filter((each) => {
      const chosen = FIELDS.map((name) => each.fields[name].value).join(" ");
      const text = `${each.row[place.terminal]} ${chosen}`.toLowerCase();
      return words.every((word) => text.includes(word));
    });
  }

  function apply() {
    const fits = fitting();
    const shown = new Set(all ? fits : fits.slice(0, most));
    for (const each of terminals) each.element.hidden = !shown.has(each);
    const total = `${terminals.length.toLocaleString("en")} terminal${terminals.length === 1 ? "" : "s"}`;
    found.textContent = fits.length === terminals.length ? total : `${fits.length.toLocaleString("en")} of ${total}`;
    if (shown.size < fits.length) found.textContent += `, the first ${shown.size} shown`;
    more.hidden = shown.size === fits.length;
    more.firstElementChild.textContent = `Show all ${fits.length.toLocaleString("en")}`;
  }

  function tell() {
    for (const each of terminals) {
      each.element.classList.toggle("gone", each.gone.checked);
      each.element.classList.toggle("changed", FIELDS.some((name) => each.fields[name].value.trim() !== each.row[place[name]]));
    }
  }

  if (!form) return;
  document.querySelector("table.terminals").addEventListener("input", () => {
    tell();
    Draft.touch();
  });
  form.elements.q.addEventListener("input", apply);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const wanted = FIELDS.map((name) => [name, form.elements[name].value.trim()]).filter(([, value]) => value);
    const fits = fitting();
    for (const each of fits) for (const [name, value] of wanted) each.fields[name].value = value;
    tell();
    if (wanted.length) Draft.touch();
    apply();
    found.textContent += wanted.length ? `; set for ${fits.length.toLocaleString("en")}` : "; choose first what to set";
  });
  more.firstElementChild.addEventListener("click", () => {
    all = true;
    apply();
  });
  apply();
})();
