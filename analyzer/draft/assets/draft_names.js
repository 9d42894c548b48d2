// What each name means: a choice of quantity and unit, of codes, of leaving it out; as rows of points.csv.
"use strict";

(function () {
  const { header, rows, first, quantities, most } = Draft.data.names;
  const place = Object.fromEntries(header.map((name, n) => [name, n]));
  const meanings = new Map(quantities.map((each) => [each.name, each]));
  const table = document.querySelector("table.names");
  const filter = document.getElementById("names-filter");
  const left = document.getElementById("names-left");
  const names = [...table.querySelectorAll("tr[data-at]")].map(read);

  function read(element) {
    const part = (selector) => element.querySelector(selector);
    const row = rows[first + Number(element.dataset.at)];
    const codes = part(".codes");
    return {
      element, row, codes,
      quantity: part(".quantity"), unit: part(".unit"), ignore: part(".ignore"), confirm: part(".confirm"),
      doubtful: "doubtful" in element.dataset,
      told: "told" in part(".unit").dataset,
      text: element.textContent.toLowerCase(), built: false,
    };
  }

  // ---- choices ----

  function build(name) {
    if (name.built) return;
    name.built = true;
    const chosen = name.quantity.value;
    const groups = ["Terminal", "Air handler"].map((of) => {
      const group = document.createElement("optgroup");
      group.label = of;
      group.append(...quantities.filter((each) => each.of === of).map((each) => new Option(each.meaning, each.name)));
      return group;
    });
    name.quantity.replaceChildren(new Option("not used", ""), ...groups);
    name.quantity.value = chosen;
    offerUnits(name);
    offerCodes(name);
  }

  // The unit that a file states is believed, so there is nothing to choose as long as it is one of the quantity's.
  function offerUnits(name) {
    const meaning = meanings.get(name.quantity.value);
    const drafted = name.row[place.unit];
    const before = meanings.get(name.row[place.quantity]);
    const same = meaning && before && meaning.dimension === before.dimension;
    const units = meaning ? [...meaning.units] : [];
    if (same && drafted && !units.includes(drafted)) units.unshift(drafted);
    const current = units.includes(name.unit.value) ? name.unit.value : same ? drafted : "";
    fillOptions(name.unit, [["", units.length ? "as read" : "–"], ...units.map((unit) => [unit, unit])], current);
    name.unit.hidden = !units.length;
    name.unit.disabled = name.ignore.checked || !units.length || (name.told && Boolean(same));
    name.unit.title = name.told && same ? "Its file says so, and is followed." : "";
  }

  function offerCodes(name) {
    if (!name.codes) return;
    const meaning = meanings.get(name.quantity.value);
    name.codes.hidden = !(meaning && meaning.state) || name.ignore.checked;
    if (name.codes.hidden || name.codes.childElementCount) return;
    const [on, off] = name.quantity.value === "occupied" ? ["occupied", "unoccupied"] : ["on", "off"];
    for (const code of name.codes.dataset.codes.split("\x1f")) {
      const label = document.createElement("label");
      const select = document.createElement("select");
      select.dataset.code = code;
      fillOptions(select, [["", "?"], ["on", on], ["off", off]], "");
      label.append(`${code} = `, select);
      name.codes.append(label);
    }
  }

  function states(name) {
    if (!name.codes || name.codes.hidden) return "";
    const told = [...name.codes.querySelectorAll("select")].filter((select) => select.value);
    return told.map((select) => `${select.dataset.code}=${select.value}`).join(";");
  }

  // ---- the file ----

  function written(name) {
    const row = [...name.row];
    if (name.ignore.checked) {
      row[place.ignore] = "yes";
      return row;
    }
    row[place.quantity] = name.quantity.value;
    row[place.unit] = name.unit.disabled && name.told ? row[place.unit] : name.unit.value;
    row[place.states] = states(name);
    if (name.confirm && name.confirm.checked && !changed(name)) row[place.proposed] = "";
    return row;
  }

  function changed(name) {
    const unit = name.unit.disabled && name.told ? name.row[place.unit] : name.unit.value;
    return name.ignore.checked || name.quantity.value !== name.row[place.quantity] || unit !== name.row[place.unit] || states(name) !== "";
  }

  Draft.files["points.csv"] = function () {
    const said = rows.slice(0, first);
    const gone = (Draft.gone || (() => []))().map((tag) => header.map((column) => ({ column: "*", terminal: tag, ignore: "yes", why: "left out on the draft's page" })[column] || ""));
    return csvText([header, ...said, ...gone, ...names.map(written)]);
  };

  // ---- what is shown ----

  function settled(name) {
    return changed(name) || (name.confirm && name.confirm.checked);
  }

  function tell() {
    const doubtful = names.filter((name) => name.doubtful);
    const open = doubtful.filter((name) => !settled(name)).length;
    left.textContent = !doubtful.length ? "" : open ? `${open} of ${doubtful.length} doubtful names are still to be looked at; what stays "not used" is left out.` : "All doubtful names are settled.";
    for (const name of names) {
      name.element.classList.toggle("changed", changed(name));
      name.element.classList.toggle("gone", name.ignore.checked);
    }
  }

  function apply() {
    const words = filter.elements.q.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const body of table.tBodies) {
      let count = 0;
      const mine = names.filter((name) => name.element.parentElement === body);
      for (const name of mine) {
        const fit = words.every((word) => name.text.includes(word));
        count += fit;
        name.element.hidden = !fit || (count > most && !("all" in body.dataset));
        if (!name.element.hidden) build(name);
      }
      body.hidden = !count;
      const more = body.querySelector("tr.more");
      more.hidden = count <= most || "all" in body.dataset;
      more.querySelector("button").textContent = `Show all ${count}`;
    }
  }

  table.addEventListener("change", (event) => {
    const name = names.find((each) => each.element.contains(event.target));
    if (!name) return;
    if (event.target === name.quantity || event.target === name.ignore) {
      name.quantity.disabled = name.ignore.checked;
      offerUnits(name);
      offerCodes(name);
    }
    if (name.confirm) name.confirm.disabled = changed(name);
    tell();
    Draft.touch();
  });
  table.addEventListener("click", (event) => {
    if (!event.target.closest("tr.more button")) return;
    const body = event.target.closest("tbody");
    const next = names.find((name) => name.element.parentElement === body && name.element.hidden);
    body.dataset.all = "";
    apply();
    if (next) next.quantity.focus();
  });
  filter.addEventListener("input", apply);
  filter.addEventListener("submit", (event) => event.preventDefault());
  apply();
  tell();
})();
