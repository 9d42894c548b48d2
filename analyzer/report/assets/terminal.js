// Wires a terminal page: episodes in the words zoom the plots, a line reads all values, the address holds the view.
"use strict";

(function () {
  const data = JSON.parse(document.getElementById("trend-data").textContent);
  const box = document.getElementById("plots");
  if (!box) return;
  const section = document.getElementById("charts");
  const sweep = box.querySelector(".sweep");
  const readout = document.getElementById("reading");
  const plots = new Plots(box, chartSpecifications, data);
  const keys = [...box.querySelectorAll("[data-series]")].map((item) => ({
    name: item.dataset.series, unit: item.dataset.unit, value: item.querySelector(".value"), label: item.dataset.label,
  }));
  let moment = null;

  // ---- size -----------------------------------------------------------------------------------------------------
  const beside = window.matchMedia("(min-width: 1100px)");

  function panelHeight() {
    if (!beside.matches) return 120;
    const others = section.offsetHeight - plots.panels.reduce((sum, panel) => sum + panel.canvas.offsetHeight, 0);
    const strip = plots.panels.find((panel) => panel.name === "episodes");
    const fixed = others + 26 * plots.panels.length + (strip ? 18 * data.findings.length : 0);
    const shared = plots.panels.length - (strip ? 1 : 0);
    return Math.max(76, Math.min(150, Math.floor((window.innerHeight - 24 - fixed) / shared)));
  }

  function fit(width = box.clientWidth, height = panelHeight()) {
    plots.fit(width, height);
  }

  function stick() {
    section.style.setProperty("--stick", `${Math.min(12, window.innerHeight - section.offsetHeight - 12)}px`);
  }

  // ---- reading --------------------------------------------------------------------------------------------------
  function read(t, aloud) {
    moment = t;
    plots.mark(t);
    const told = [];
    for (const key of keys) {
      key.value.textContent = t === null ? "" : plots.spell(key.name, t, key.unit);
      if (key.value.textContent !== "–") told.push(`${key.label} ${key.value.textContent}`);
    }
    if (t === null) {
      readout.textContent = "";
      return;
    }
    const at = data.occupied.some(([a, b]) => a <= t && t < b) ? "occupied" : "unoccupied";
    const out = plots.leftOut().filter(({ a, b }) => a <= t && t < b).map(({ why }) => ` · ${why}`);
    readout.textContent = `${plots.clock.read(t)} · ${at}${out.join("")}`;
    if (aloud) document.getElementById("reading-aloud").textContent = `${readout.textContent}: ${told.join(", ")}`;
  }

  // ---- findings -------------------------------------------------------------------------------------------------
  const links = [...document.querySelectorAll("a[data-finding]")];

  function choose(index, episode, move) {
    const finding = data.findings[index];
    plots.choose(finding);
    for (const link of links) {
      const here = +link.dataset.finding === index && +link.dataset.episode === episode;
      if (here) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
    for (const card of document.querySelectorAll("article[data-finding]")) {
      card.classList.toggle("chosen", +card.dataset.finding === index);
    }
    if (!finding || episode === null) {
      plots.show();
      return;
    }
    const [from, to] = finding.episodes[episode];
    const around = Math.max((to - from) * 0.5, 2 * HOUR);
    plots.show([from - around, to + around]);
    read((from + to) / 2);
    if (move && !beside.matches) section.scrollIntoView();
  }

  function fromAddress(move) {
    const wanted = new URLSearchParams(location.hash.slice(1));
    const index = data.findings.findIndex((finding) => finding.rule === wanted.get("rule"));
    if (index < 0) {
      choose(data.findings.length ? 0 : -1, null, false);
      return;
    }
    const episodes = data.findings[index].episodes.length;
    const episode = Math.min(Math.max(parseInt(wanted.get("episode") || "1", 10) || 1, 1), episodes) - 1;
    choose(index, episode, move);
    if (beside.matches) document.querySelector(`article[data-finding="${index}"]`).scrollIntoView({ block: "nearest" });
    else section.scrollIntoView();
  }

  for (const link of links) {
    link.addEventListener("click", (event) => {
      event.preventDefault();
      history.replaceState(null, "", link.getAttribute("href"));
      choose(+link.dataset.finding, +link.dataset.episode, true);
    });
  }
  window.addEventListener("hashchange", () => fromAddress(true));

  // ---- pointer and keys -----------------------------------------------------------------------------------------
  let from = null;
  const x = (event) => event.clientX - box.getBoundingClientRect().left;

  box.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "mouse" && event.button === 0) from = x(event);
    else if (event.pointerType !== "mouse") read(plots.timeAt(x(event)));
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
  box.addEventListener("pointerleave", (event) => event.pointerType === "mouse" && from === null && read(null));

  const acts = {
    in: () => plots.zoom(0.5, moment ?? undefined),
    out: () => plots.zoom(2, moment ?? undefined),
    earlier: () => plots.shift(-0.5),
    later: () => plots.shift(0.5),
    all: () => plots.show(plots.whole),
  };
  for (const button of section.querySelectorAll("button[data-act]")) {
    button.addEventListener("click", () => acts[button.dataset.act]());
  }
  const pressed = { "+": "in", "=": "in", "-": "out", 0: "all", PageUp: "earlier", PageDown: "later" };
  box.addEventListener("keydown", (event) => {
    const step = (plots.span[1] - plots.span[0]) / (event.shiftKey ? 12 : 100);
    const now = moment ?? (plots.span[0] + plots.span[1]) / 2;
    if (event.key === "ArrowLeft") read(Math.max(now - step, plots.span[0]), true);
    else if (event.key === "ArrowRight") read(Math.min(now + step, plots.span[1]), true);
    else if (pressed[event.key]) acts[pressed[event.key]]();
    else return;
    event.preventDefault();
  });

  plots.listeners.push(() => {
    section.querySelector(".span-shown").textContent = `${plots.clock.read(plots.span[0])} – ${plots.clock.read(plots.span[1])}`;
    if (moment !== null) read(moment >= plots.span[0] && moment <= plots.span[1] ? moment : null);
  });

  // ---- paper ----------------------------------------------------------------------------------------------------
  // So that the charts stand on the first page with what the terminal is.
  function paperHeight() {
    const drawn = plots.panels.filter(({ name }) => name !== "episodes").length;
    return Math.max(48, Math.min(110, Math.floor((550 - 20 * data.findings.length) / drawn) - 56));
  }

  let resting = null;
  window.addEventListener("beforeprint", () => {
    resting = plots.span;
    read(null);
    plots.fit(690, paperHeight());
    plots.show();
  });
  window.addEventListener("afterprint", () => {
    fit();
    plots.show(resting);
  });

  let timer = 0;
  window.addEventListener("resize", () => {
    clearTimeout(timer);
    timer = setTimeout(() => {
      fit();
      plots.show();
      stick();
    }, 80);
  });
  fit();
  fromAddress(location.hash.includes("rule="));
  stick();
  document.documentElement.dataset.drawn = "true";
})();
