// Filters, searches and orders all findings; the state of it all is in the address. The first findings stand in the page,
// the others in script files that are loaded by part: for a search all of them, else those that come into view.
"use strict";

(function () {
  const form = document.getElementById("filters");
  if (!form) return;
  const AT_ONCE = 150;
  const FIELDS = ["rank", "terminal", "href", "where", "severity", "title", "summary", "window", "under", "answer", "impact",
    "confidence", "hours"];
  const { count, part, offered } = findingsColumns;
  const facets = mapped(findingsColumns.facets), orders = mapped(findingsColumns.orders);
  const body = document.querySelector("table.findings tbody");
  const found = document.getElementById("found");
  const more = document.getElementById("more");
  const elements = [...body.rows]; // by rank; those that stand in the page, then those that were made
  const parts = [], texts = [];
  let limit = AT_ONCE, last = "", turn = 0;

  function mapped(columns) {
    return Object.fromEntries(Object.entries(columns).map(([name, packed]) => [name, expandSequence(packed)]));
  }

  // ---- parts ----------------------------------------------------------------------------------------------------
  function load(number) {
    parts[number] = parts[number] || new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = `assets/findings_${number}.js`;
      script.onload = () => resolve(window[`findings_${number}`].split("\n"));
      script.onerror = () => reject(new Error(`assets/findings_${number}.js is missing; findings.csv holds the same`));
      document.head.append(script);
    });
    return parts[number];
  }

  function loadAll() {
    return Promise.all(Array.from({ length: Math.ceil(count / part) }, (_, number) => load(number)));
  }

  async function search(words) {
    const loaded = await loadAll();
    for (let number = texts.length; number < loaded.length; number++) texts.push(loaded[number].map((line) => line.toLowerCase()));
    return (i) => words.every((word) => texts[Math.floor(i / part)][i % part].includes(word));
  }

  // Loads what a search needs while the page has nothing else to do, a part at a time.
  async function beforehand(number = 0) {
    if (number * part >= count) return;
    const lines = await load(number);
    if (texts.length === number) texts.push(lines.map((line) => line.toLowerCase()));
    whenIdle(() => beforehand(number + 1));
  }

  function whenIdle(act) {
    if (window.requestIdleCallback) requestIdleCallback(() => act().catch(() => {}));
    else setTimeout(() => act().catch(() => {}), 50);
  }

  // ---- rows -----------------------------------------------------------------------------------------------------
  async function element(i) {
    if (!elements[i]) {
      const number = Math.floor(i / part), values = (await load(number))[i - number * part].split("\t");
      elements[i] = drawn(Object.fromEntries(FIELDS.map((name, at) => [name, values[at]])));
    }
    return elements[i];
  }

  // Figures keep their units, and tags stay in one piece, as words.whole has it.
  const WHOLE = /(\(?(?:± )?[−-]?\d[\d,.]* (?:%|°[FC](?:·h)?|in\. w\.c\.|[A-Za-z]+\/[A-Za-z]+|cfm·h|cfm|kWh|kW|Pa|K|ppm|hours|h|min)(?![A-Za-z])[).,;:]*|[A-Za-z]+[\w.]*-[\w.-]*\d[,.;:]?)/;

  function whole(text) {
    return text.split(WHOLE).map((part, i) => (i % 2 ? make("span", { class: "nowrap" }, part) : part));
  }

  // The same row as templates/index.html writes.
  function drawn(row) {
    const line = make("tr", row.under ? { class: "follows" } : {});
    const place = row.href ? make("a", { href: row.href }, row.terminal) : row.terminal;
    const told = [make("b", {}, row.title), " ", ...whole(row.summary), make("small", {}, row.window)];
    if (row.under) told.push(make("small", {}, `Follows from: ${row.under}.`));
    if (row.answer) told.push(make("small", {}, `Issue log: ${row.answer}`));
    line.append(
      cell({}, row.rank), cell({ class: `severity ${row.severity}` }, row.severity), cell({}, place, make("small", {}, row.where)),
      cell({}, ...told), cell({}, row.impact, make("small", { class: row.confidence }, row.confidence)), cell({ "data-label": "Fault" }, row.hours),
    );
    rolesOf(line);
    return line;
  }

  function cell(attributes, ...parts) {
    const made = make("td", attributes);
    made.append(...parts);
    return made;
  }

  // ---- the view -------------------------------------------------------------------------------------------------
  async function apply(state) {
    const mine = ++turn;
    for (const control of form.elements) if (control.name) control.value = state[control.name] || "";
    const wanted = Object.keys(facets).filter((name) => state[name]).map((name) => [facets[name], offered[name].indexOf(state[name])]);
    const words = (state.q || "").toLowerCase().split(/\s+/).filter(Boolean);
    if (JSON.stringify(state) !== last) limit = AT_ONCE;
    last = JSON.stringify(state);
    const table = body.parentElement;
    table.setAttribute("aria-busy", "true");
    let fits = [];
    for (let i = 0; i < count; i++) if (wanted.every(([column, position]) => column[i] === position)) fits.push(i);
    try {
      if (words.length) fits = fits.filter(await search(words));
      if (mine !== turn) return;
      inOrder(fits, state.sort);
      const rows = await Promise.all(fits.slice(0, limit).map(element));
      if (mine !== turn) return;
      body.replaceChildren(...rows);
      tell(fits.length);
    } catch (error) {
      found.textContent = error.message;
    }
    table.removeAttribute("aria-busy");
  }

  function inOrder(fits, sort) {
    const by = orders[sort];
    if (!by) return;
    const sign = sort === "hours" ? -1 : 1;
    fits.sort((a, b) => sign * (by[a] - by[b]) || a - b);
  }

  function tell(fitting) {
    const number = (n) => n.toLocaleString("en");
    const total = `${number(count)} finding${count === 1 ? "" : "s"}`;
    found.textContent = fitting === count ? total : `${number(fitting)} of ${total}`;
    if (limit < fitting) found.textContent += `, the first ${number(limit)} shown`;
    more.hidden = limit >= fitting;
    more.firstElementChild.textContent = `Show ${number(Math.min(AT_ONCE, fitting - limit))} more`;
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
    limit += AT_ONCE;
    apply(Address.read());
  });
  Address.listeners.push(apply);
  apply(Address.read());
  whenIdle(beforehand);
  window.addEventListener("hashchange", () => {
    if (location.hash.includes("=")) document.getElementById("findings").scrollIntoView();
  });
  if (Object.keys(Address.read()).length) document.getElementById("findings").scrollIntoView();
})();
