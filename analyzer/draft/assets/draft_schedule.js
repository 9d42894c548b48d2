// Pairs of tags that the user knows to be one terminal: its row takes over what the schedule says, and so do the sources.
"use strict";

(function () {
  if (!Draft.data.schedule) return;
  const { pairs, sources } = Draft.data.schedule;
  const joined = new Map(); // a tag of the schedule -> the exports' tag

  Draft.files["sources.csv"] = function () {
    const [header, ...rows] = sources;
    return csvText([header, ...rows.map(([tag, ...rest]) => [joined.get(tag) || tag, ...rest])]);
  };

  for (const box of document.querySelectorAll("[data-pair]")) {
    box.checked = false; // a browser that goes back may remember ticks, and the files not
    box.addEventListener("change", () => {
      const [scheduled, exported] = pairs[Number(box.dataset.pair)];
      if (box.checked) joined.set(scheduled, exported);
      else joined.delete(scheduled);
      Draft.join(scheduled, exported, box.checked);
      Draft.touch();
    });
  }
})();
