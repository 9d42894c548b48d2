// The building as one mark a terminal, air handler by air handler or floor by floor: shape and letter before colour.
"use strict";

(function () {
  const matrix = JSON.parse(document.getElementById("matrix-data").textContent);
  const box = document.getElementById("picture-rows"), by = document.getElementById("picture-by");
  const SIGNS = { u: "U", h: "H", m: "M", l: "L", c: "✓", n: "?" };
  const WORDS = { u: "urgent", h: "high", m: "medium", l: "low", c: "no finding", n: "not judged" };
  const UNKNOWN = ["air handler not assigned", "floor not given"];
  const natural = new Intl.Collator("en", { numeric: true });
  const floors = new Set(matrix.rows.map((row) => row[3]));
  if (floors.size < 2) by.parentElement.hidden = true;

  // Groups of positions in the matrix, by what they are called.
  function groups() {
    const name = by.value === "floor"
      ? (row) => (row[3] === null ? UNKNOWN[1] : `floor ${row[3]}`) : (row) => matrix.handlers[row[2]];
    const found = new Map();
    matrix.rows.forEach((row, i) => {
      if (!found.has(name(row))) found.set(name(row), []);
      found.get(name(row)).push(i);
    });
    // What is not known is no air handler and no floor: it stands last.
    const unknown = (name) => UNKNOWN.includes(name);
    return [...found].sort(([a], [b]) => unknown(a) - unknown(b) || natural.compare(a, b));
  }

  function mark(i) {
    const [tag, page] = matrix.rows[i], letter = matrix.worst[i];
    const told = `${tag}: ${WORDS[letter]}`;
    return make("a", { class: `mark ${letter}`, href: `terminals/${encodeURIComponent(page)}`, title: told, "aria-label": told }, SIGNS[letter]);
  }

  function draw() {
    box.replaceChildren(...groups().map(([name, positions]) => {
      const row = make("div", { class: "picture-row" }), marks = make("div", { class: "marks" });
      const faulty = positions.filter((i) => "uhml".includes(matrix.worst[i])).length;
      const heading = make("p", UNKNOWN.includes(name) ? { class: "unknown" } : {}, name);
      heading.append(" ", make("small", {}, `${faulty} of ${positions.length} with a finding`));
      marks.append(...positions.map(mark));
      row.append(heading, marks);
      return row;
    }));
  }

  by.addEventListener("change", draw);
  draw();
})();
