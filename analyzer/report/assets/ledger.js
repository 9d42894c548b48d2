// The ledger's columns are many and seldom asked for: they are loaded when the first file is opened.
"use strict";

(function () {
  let asked = null;

  function columns() {
    asked = asked || new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = "assets/ledger_columns.js";
      script.onload = () => resolve(ledgerColumns);
      script.onerror = () => reject(new Error("assets/ledger_columns.js is missing; ledger.json holds the same"));
      document.head.append(script);
    });
    return asked;
  }

  function draw(box, rows) {
    const table = make("table");
    const head = make("tr");
    for (const name of ["Column", "Terminal", "Quantity", "Unit", "Used", "Rejected"]) {
      head.append(make("th", { scope: "col" }, name));
    }
    table.append(make("thead"), make("tbody"));
    table.tHead.append(head);
    for (const [column, terminal, quantity, unit, used, aside] of rows) {
      const row = make("tr");
      const told = Object.entries(aside).map(([reason, count]) => `${reason} ${count.toLocaleString("en")}`).join(", ");
      row.append(make("th", { scope: "row" }, column));
      for (const text of [terminal ?? "–", quantity ?? "–", unit ?? "–"]) row.append(make("td", {}, text));
      row.append(make("td", { class: "figure" }, used.toLocaleString("en")), make("td", {}, told || "nothing"));
      table.tBodies[0].append(row);
    }
    box.replaceChildren(table);
  }

  for (const details of document.querySelectorAll("details.columns")) {
    details.addEventListener("toggle", () => {
      const box = details.lastElementChild;
      if (!details.open || box.childElementCount) return;
      columns().then((files) => draw(box, files[+details.dataset.file]), (error) => box.replaceChildren(error.message));
    });
  }
})();
