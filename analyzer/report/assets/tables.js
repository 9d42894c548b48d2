// What the scripts of the index share: making elements, and tables that are laid out as lists on a phone.
"use strict";

function make(name, attributes = {}, text) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text !== undefined) element.textContent = text;
  return element;
}

// Laid out as a list, a table is none to those who hear it, unless its parts say their roles.
function rolesOf(row) {
  row.setAttribute("role", "row");
  for (const cell of row.cells) {
    const heads = cell.scope === "col" ? "columnheader" : "rowheader";
    cell.setAttribute("role", cell.tagName === "TH" ? heads : "cell");
  }
}

for (const table of document.querySelectorAll("table.stack")) {
  table.setAttribute("role", "table");
  for (const group of [table.tHead, ...table.tBodies]) group.setAttribute("role", "rowgroup");
  for (const row of table.rows) rolesOf(row);
}
