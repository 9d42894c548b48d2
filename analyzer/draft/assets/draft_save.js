// Saving: each file by itself, or all of them into a folder where the browser can write there.
"use strict";

(function () {
  const state = document.getElementById("save-state");
  const buttons = [...document.querySelectorAll("[data-save]")];
  const into = document.getElementById("save-all");
  const names = buttons.map((button) => button.dataset.save);
  const saved = new Map(); // what was saved last of each file

  function tell(done = "") {
    const wrong = Draft.wrong();
    for (const button of [...buttons, into]) button.disabled = Boolean(wrong);
    const changed = names.filter((name) => Draft.dirty && saved.get(name) !== Draft.files[name]());
    const todo = Draft.todo();
    const parts = [done];
    if (wrong) parts.push(`Not to be saved yet: ${wrong}`);
    else if (todo.length) parts.push(`Still to choose: ${todo.join(", ")}.`);
    if (!wrong && Draft.dirty) parts.push(changed.length ? "" : "All files are saved as they are here.");
    state.textContent = parts.filter(Boolean).join(" ");
    if (!changed.length) Draft.dirty = false;
    for (const box of document.querySelectorAll("details.preview[open]")) preview(box);
  }

  function preview(box) {
    box.querySelector("pre").textContent = Draft.files[box.dataset.file]();
  }

  function download(name) {
    const text = Draft.files[name]();
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text], { type: "application/octet-stream" }));
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    saved.set(name, text);
    tell(`${name} is saved.`);
  }

  async function saveAll() {
    let folder;
    try {
      folder = await window.showDirectoryPicker({ mode: "readwrite" });
    } catch {
      return; // no folder was chosen
    }
    try {
      for (const name of names) {
        const text = Draft.files[name]();
        const file = await (await folder.getFileHandle(name, { create: true })).createWritable();
        await file.write(text);
        await file.close();
        saved.set(name, text);
      }
    } catch (error) {
      tell(`The folder ${folder.name} could not be written (${error.message}). Save the files one by one.`);
      return;
    }
    tell(`All ${names.length === 4 ? "four" : "three"} are saved into the folder ${folder.name}.`);
  }

  for (const button of buttons) button.addEventListener("click", () => download(button.dataset.save));
  if ("showDirectoryPicker" in window) {
    into.hidden = false;
    into.addEventListener("click", saveAll);
  }
  for (const box of document.querySelectorAll("details.preview")) box.addEventListener("toggle", () => preview(box));
  window.addEventListener("beforeunload", (event) => {
    if (Draft.dirty) event.preventDefault();
  });
  Draft.listeners.push(() => tell());
  tell();
  document.documentElement.dataset.drawn = "";
})();
