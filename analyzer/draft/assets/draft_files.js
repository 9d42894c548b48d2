// What the page holds, and how the files are spelled: nothing changed, they are the drafted ones byte for byte.
"use strict";

const Draft = {
  data: JSON.parse(document.getElementById("draft-data").textContent),
  files: {}, // what writes each file, by its name
  checks: [], // each returns a sentence where a choice cannot be saved, or ""
  listeners: [],
  dirty: false,

  touch() {
    this.dirty = true;
    for (const listener of this.listeners) listener();
  },

  wrong() {
    return this.checks.map((check) => check()).find(Boolean) || "";
  },
};

// A text that a spreadsheet would take for a formula is kept a text by an apostrophe, as in every table of ours.
function asText(cell) {
  return /^[=+\-@\t\r]/.test(cell) ? `'${cell}` : cell;
}

function csvText(rows) {
  const spell = (cell) => (/[",\n\r]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);
  return rows.map((row) => row.map((cell) => spell(asText(cell))).join(",") + "\n").join("");
}

// JSON spells a text as TOML does, but for one sign, and for halves of a pair that are no text at all.
function tomlText(text) {
  const whole = text.replace(/[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g, "\ufffd");
  return JSON.stringify(whole).replaceAll("\u007f", "\\u007f");
}

// Options of a select: [value, text] each.
function fillOptions(select, options, chosen) {
  select.replaceChildren(...options.map(([value, text]) => new Option(text, value, false, value === chosen)));
  select.value = chosen;
}
