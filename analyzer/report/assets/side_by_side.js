// Draws every box of charts on a page and lets each be read and zoomed on its own.
"use strict";

(function () {
  const boxes = [...document.querySelectorAll(".plots[data-box]")].map(open);

  function open(box) {
    const data = JSON.parse(document.getElementById(`box-${box.dataset.box}`).textContent);
    const plots = new Plots(box, chartSpecifications, data);
    plots.choose(data.findings[0]);
    const keys = [...box.querySelectorAll("[data-series]")].map((item) => ({
      name: item.dataset.series, unit: item.dataset.unit, value: item.querySelector(".value"),
    }));
    const out = box.previousElementSibling;
    const sweep = box.querySelector(".sweep");
    let moment = null, from = null;

    function read(t) {
      moment = t;
      plots.mark(t);
      for (const key of keys) {
        key.value.textContent = t === null ? "" : plots.spell(key.name, t, key.unit);
      }
      const occupied = t !== null && data.occupied.some(([a, b]) => a <= t && t < b);
      out.textContent = t === null ? "" : `${plots.clock.read(t)} · ${occupied ? "occupied" : "unoccupied"}`;
    }

    const x = (event) => event.clientX - box.getBoundingClientRect().left;
    box.addEventListener("pointerdown", (event) => {
      if (event.pointerType === "mouse" && event.button === 0) from = x(event);
      else read(plots.timeAt(x(event)));
    });
    box.addEventListener("pointermove", (event) => {
      read(plots.timeAt(x(event)));
      if (from === null) return;
      sweep.hidden = Math.abs(x(event) - from) < 6;
      sweep.style.transform = `translateX(${Math.min(from, x(event))}px)`;
      sweep.style.width = `${Math.abs(x(event) - from)}px`;
    });
    window.addEventListener("pointerup", (event) => {
      if (from === null) return;
      const [a, b] = [from, x(event)].sort((p, q) => p - q);
      from = null;
      sweep.hidden = true;
      if (b - a >= 6) plots.show([plots.timeAt(a), plots.timeAt(b)]);
    });
    box.addEventListener("dblclick", () => plots.show(plots.whole));
    box.addEventListener("pointerleave", () => from === null && read(null));

    const acts = {
      "+": () => plots.zoom(0.5, moment ?? undefined), "=": () => plots.zoom(0.5, moment ?? undefined),
      "-": () => plots.zoom(2, moment ?? undefined), 0: () => plots.show(plots.whole),
      PageUp: () => plots.shift(-0.5), PageDown: () => plots.shift(0.5),
    };
    box.addEventListener("keydown", (event) => {
      const step = (plots.span[1] - plots.span[0]) / (event.shiftKey ? 12 : 100);
      const now = moment ?? (plots.span[0] + plots.span[1]) / 2;
      if (event.key === "ArrowLeft") read(Math.max(now - step, plots.span[0]));
      else if (event.key === "ArrowRight") read(Math.min(now + step, plots.span[1]));
      else if (event.key === "Escape") read(null);
      else if (acts[event.key]) acts[event.key]();
      else return;
      event.preventDefault();
    });
    return { box, plots, read };
  }

  function draw(width, height) {
    for (const { box, plots } of boxes) {
      plots.fit(width ?? box.clientWidth, height);
      plots.show();
    }
  }

  window.addEventListener("beforeprint", () => {
    for (const { read } of boxes) read(null);
    draw(boxes.length > 1 && document.querySelector(".sides.two") ? 335 : 690, 88);
  });
  window.addEventListener("afterprint", () => draw(undefined, 120));
  let timer = 0;
  window.addEventListener("resize", () => {
    clearTimeout(timer);
    timer = setTimeout(() => draw(undefined, 120), 80);
  });
  draw(undefined, 120);
  document.documentElement.dataset.drawn = "true";
})();
