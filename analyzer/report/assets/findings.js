// Filters, searches and orders the findings; the state of it all is in the address.
"use strict";

(function () {
  const form = document.getElementById("filters");
  if (!form) return;
  const facets = JSON.parse(document.getElementById("facets-data").textContent);
  const names = Object.keys(facets);
  const body = document.querySelector("table.findings tbody");
  const found = document.getElementById("found");
  const more = document.getElementById("more");
  const most = facets.most;
  names.splice(names.indexOf("most"), 1);
  // On a phone the table is laid out as a list; its roles keep it a table for those who hear it.
  body.parentElement.setAttribute("role", "table");
  for (const group of [body, body.parentElement.tHead]) group.setAttribute("role", "rowgroup");
  for (const row of body.parentElement.rows) {
    row.setAttribute("role", "row");
    for (const cell of row.cells) cell.setAttribute("role", cell.tagName === "TH" ? "columnheader" : "cell");
  }

  const rows = [...body.rows].map((element, rank) => {
    const [severity, terminal, hours, since] = element.dataset.s.split(",").map(Number);
    return { element, rank, severity, terminal, hours, since, keys: element.dataset.k.split(",").map(Number), text: null };
  });
  const orders = {
    terminal: (a, b) => a.terminal - b.terminal || a.rank - b.rank,
    hours: (a, b) => b.hours - a.hours || a.rank - b.rank,
    since: (a, b) => a.since - b.since || a.rank - b.rank,
  };
  let order = "";
  let all = false;

  function apply(state) {
    for (const control of form.elements) if (control.name) control.value = state[control.name] || "";
    const wanted = names.map((name) => (state[name] ? facets[name].indexOf(state[name]) : null));
    const words = (state.q || "").toLowerCase().split(/\s+/).filter(Boolean);
    const fits = (row) => {
      if (wanted.some((position, i) => position !== null && row.keys[i] !== position)) return false;
      if (!words.length) return true;
      row.text = row.text ?? row.element.textContent.toLowerCase();
      return words.every((word) => row.text.includes(word));
    };
    if ((state.sort || "") !== order) {
      order = state.sort || "";
      rows.sort(orders[order] || ((a, b) => a.rank - b.rank));
      body.append(...rows.map((row) => row.element));
    }
    let count = 0;
    for (const row of rows) {
      const fit = fits(row);
      count += fit;
      row.element.hidden = !fit || (!all && count > most);
    }
    const shown = all ? count : Math.min(count, most);
    const total = `${rows.length.toLocaleString("en")} finding${rows.length === 1 ? "" : "s"}`;
    found.textContent = count === rows.length ? total : `${count.toLocaleString("en")} of ${total}`;
    if (shown < count) found.textContent += `, the first ${shown} shown`;
    more.hidden = shown === count;
    more.firstElementChild.textContent = `Show all ${count.toLocaleString("en")}`;
  }

  function state() {
    return Object.fromEntries([...form.elements].filter((c) => c.name).map((c) => [c.name, c.value]));
  }

  form.addEventListener("input", () => Address.write(state()));
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", (event) => {
    event.preventDefault();
    Address.write({});
  });
  more.firstElementChild.addEventListener("click", () => {
    all = true;
    apply(Address.read());
  });
  Address.listeners.push(apply);
  apply(Address.read());
  window.addEventListener("hashchange", () => {
    if (location.hash.includes("=")) document.getElementById("findings").scrollIntoView();
  });
  if (Object.keys(Address.read()).length) document.getElementById("findings").scrollIntoView();
})();
