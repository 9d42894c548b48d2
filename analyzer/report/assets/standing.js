// Draws when the faults stood: a strip per rule, the darker the more terminals.
"use strict";

(function () {
  const box = document.getElementById("standing");
  if (!box) return;
  const data = JSON.parse(document.getElementById("standing-data").textContent);
  const clock = new WallClock(data.origin, data.clock);
  const counts = data.rows.map((row) => expandSequence(row.counts));
  const ROW = 34, LABEL = 15, LEFT = 30, RIGHT = 30;
  const compiled = vegaBundle.compile(chartSpecifications.standing).spec;
  const canvas = box.querySelector(".canvas");
  const view = new vegaBundle.View(vegaBundle.parse(compiled, null, { ast: true }), {
    container: canvas.firstElementChild, renderer: "svg", hover: false, tooltip: () => {}, expr: vegaBundle.expressionInterpreter,
  });

  // Stretches of equal counts; a bin without a fault leaves paper.
  function stretches(row, i) {
    const rects = [];
    for (let from = 0, to; from < row.length; from = to) {
      for (to = from + 1; to < row.length && row[to] === row[from]; to++);
      if (!row[from]) continue;
      const share = row[from] / Math.max(...row);
      rects.push({ a: from * data.bin, b: to * data.bin, share, top: i * ROW + LABEL, bottom: (i + 1) * ROW - 6 });
    }
    return rects;
  }

  view.data("stretches", counts.flatMap(stretches));
  view.data("left_out", data.rows.flatMap(({ ended }, i) =>
    ended === null ? [] : [{ a: ended, b: data.length, top: i * ROW + LABEL, bottom: (i + 1) * ROW - 6 }]));
  view.signal("span", [0, data.length]).height(data.rows.length * ROW);

  let width = 0;
  function draw(whole) {
    width = whole - LEFT - RIGHT;
    const { ticks, labels } = clock.ticks([0, data.length], width / 84);
    view.data("titles", data.rows.map(({ title, most }, i) => ({ title: fitting(title, most), top: i * ROW + LABEL - 4 })));
    view.width(width).signal("ticks", ticks).signal("labels", labels).run();
  }

  // A name as long as its strip, at about 6 px a letter; the count goes first where there is no room for both.
  function fitting(title, most) {
    const room = Math.floor(width / 5.8), whole = `${title} (at most ${most} at once)`;
    if (whole.length <= room) return whole;
    return title.length <= room ? title : `${title.slice(0, room - 1)}…`;
  }

  const reading = box.querySelector("output");
  canvas.addEventListener("pointermove", (event) => {
    const share = (event.clientX - canvas.getBoundingClientRect().left - LEFT) / width;
    const bin = Math.floor((share * data.length) / data.bin);
    const there = data.rows.filter((_, i) => counts[i][bin]).map((row) => `${row.title} at ${counts[data.rows.indexOf(row)][bin]}`);
    const at = share * data.length;
    there.push(...data.rows.filter(({ ended }) => ended !== null && ended <= at).map(({ title }) => `${title}: not judged, log ended`));
    reading.textContent = share < 0 || share > 1 ? "" : `${clock.read(bin * data.bin)}: ${there.join("; ") || "no fault"}`;
  });
  canvas.addEventListener("pointerleave", () => (reading.textContent = ""));

  let timer = 0;
  window.addEventListener("resize", () => {
    clearTimeout(timer);
    timer = setTimeout(() => draw(canvas.clientWidth), 80);
  });
  window.addEventListener("beforeprint", () => draw(690));
  window.addEventListener("afterprint", () => draw(canvas.clientWidth));
  draw(canvas.clientWidth);
})();
