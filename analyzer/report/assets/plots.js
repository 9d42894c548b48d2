// Draws a terminal's panels on one time axis: zoom, choose a finding, read all values at a moment.
"use strict";

const PADDING = { left: 56, right: 26 };

class Plots {
  constructor(box, specifications, data) {
    this.box = box;
    this.data = data;
    this.clock = new WallClock(data.origin, data.clock);
    this.whole = [0, data.length];
    this.span = this.whole;
    this.series = {};
    for (const [name, packed] of Object.entries(data.series)) this.series[name] = expandSeries(packed);
    this.panels = [...box.querySelectorAll("figure[data-panel]")].map((figure) => this.panel(figure, specifications));
    this.chosen = null;
    this.listeners = [];
  }

  panel(figure, specifications) {
    const name = figure.dataset.panel;
    const canvas = figure.querySelector(".canvas");
    const line = document.createElement("div");
    line.className = "reading-line";
    line.hidden = true;
    canvas.after(line);
    const compiled = vegaBundle.compile(specifications[name]).spec;
    const view = new vegaBundle.View(vegaBundle.parse(compiled, null, { ast: true }), {
      container: canvas.firstElementChild, renderer: "svg", hover: false, tooltip: () => {}, expr: vegaBundle.expressionInterpreter,
    });
    for (const source of compiled.data) this.fill(view, source.name);
    view.signal("reach", this.data.reach[name]);
    return { name, figure, canvas, line, view };
  }

  fill(view, name) {
    const rows = this.series[name] || this.rowsOf(name);
    if (rows) view.data(name, rows);
  }

  rowsOf(name) {
    const pair = ([a, b]) => ({ a, b });
    if (name === "occupied") return this.data.occupied.map(pair);
    if (name === "limits") return this.data.limits.map(([v, label]) => ({ v, label }));
    if (name === "starts") return this.data.starts.map(([t, n]) => ({ t, n }));
    if (name === "left_out") return this.leftOut();
    if (name === "fault") return this.chosen ? this.chosen.episodes.map(pair) : [];
    if (name === "episodes") {
      return this.data.findings.flatMap((finding, i) =>
        finding.episodes.map(([a, b]) => ({ a, b, row: i + 1, chosen: finding === this.chosen })));
    }
    return null;
  }

  // What was not judged: windows of the site file, and what follows the end of the chosen finding's log.
  leftOut() {
    const rows = (this.data.excluded || []).map(([a, b, why]) => ({ a, b, why }));
    const ended = this.chosen && this.chosen.ended;
    if (ended) rows.push({ a: ended[0], b: ended[1], why: "not judged: log ended" });
    return rows.map((row, i) => ({ ...row, line: i % 3 }));
  }

  // Marks a finding's episodes; drawn with the next show().
  choose(finding) {
    this.chosen = finding || null;
    for (const { view, name } of this.panels) {
      view.data("left_out", this.leftOut());
      if (name === "episodes") view.data("episodes", this.rowsOf("episodes"));
      else view.data("fault", this.rowsOf("fault"));
    }
  }

  // Fits the panels to a width and a height; drawn with the next show().
  fit(width, height) {
    this.width = width - PADDING.left - PADDING.right;
    for (const { view, name } of this.panels) {
      view.width(this.width).height(name === "episodes" ? 18 * this.data.findings.length : height);
    }
  }

  show([from, to] = this.span) {
    const shortest = Math.min(900, this.whole[1]);
    if (to - from < shortest) [from, to] = [(from + to - shortest) / 2, (from + to + shortest) / 2];
    const length = Math.min(to - from, this.whole[1]);
    from = Math.max(0, Math.min(from, this.whole[1] - length));
    this.span = [from, from + length];
    const { ticks, labels } = this.clock.ticks(this.span, this.width / 78);
    for (const { view } of this.panels) {
      view.signal("span", this.span).signal("ticks", ticks).signal("labels", labels).run();
    }
    for (const listener of this.listeners) listener();
  }

  // Zooms about a moment; `by` under 1 shows less.
  zoom(by, about = (this.span[0] + this.span[1]) / 2) {
    const [from, to] = this.span;
    this.show([about - (about - from) * by, about + (to - about) * by]);
  }

  shift(share) {
    const step = (this.span[1] - this.span[0]) * share;
    this.show([this.span[0] + step, this.span[1] + step]);
  }

  timeAt(x) {
    const share = Math.max(0, Math.min(1, (x - PADDING.left) / this.width));
    return this.span[0] + share * (this.span[1] - this.span[0]);
  }

  xAt(t) {
    return PADDING.left + ((t - this.span[0]) / (this.span[1] - this.span[0])) * this.width;
  }

  // Draws the reading line at a moment, through every panel; null takes it away.
  mark(t) {
    for (const { line, canvas } of this.panels) {
      line.hidden = t === null;
      if (t === null) continue;
      line.style.transform = `translateX(${this.xAt(t)}px)`;
      line.style.height = `${canvas.offsetHeight}px`;
    }
  }

  // The value that a line shows at a moment: in force for setpoints and states, the nearest sample for the rest.
  valueAt(name, t) {
    const rows = this.series[name];
    let low = 0, high = rows.length - 1;
    if (t < rows[0].t) return null;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (rows[middle].t <= t) low = middle;
      else high = middle - 1;
    }
    const next = rows[low + 1];
    if (!this.data.series[name].held && next && next.v !== null && next.t - t < t - rows[low].t) return next.v;
    return next ? rows[low].v : t - rows[low].t <= this.data.hold ? rows[low].v : null;
  }
}
