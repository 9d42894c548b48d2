// Draws a terminal's panels on one time axis: zoom, choose a finding, read all values at a moment.
"use strict";

const PADDING = { left: 56, right: 26 };
const LETTER = 6.2; // px, of the text on a chart
const LINE = 12; // px, of a line of that text
const LIMITS = { limits: "air", inlet_limits: "outdoor_air" }; // the scheduled flows of which panel
const SMALL_LETTER = 5.6; // px, of the words on a stretch that was left out
const SHORT = [
  ["balanced ", "bal. "], ["maximum", "max"], ["minimum", "min"], ["ventilation", "vent."], ["outdoor-air inlet", "OA inlet"],
  ["heating", "htg"], ["outdoor air", "OA"],
];

class Plots {
  constructor(box, specifications, data) {
    this.box = box;
    this.data = data;
    this.clock = new WallClock(data.origin, data.clock);
    this.whole = [0, data.length];
    this.span = this.whole;
    this.series = {};
    this.runs = {};
    for (const [name, packed] of Object.entries(data.series)) {
      this.series[name] = expandSeries(packed);
      this.runs[name] = packed.runs && expandSequence(packed.runs);
    }
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
    if (LIMITS[name]) return this.apart(name).map(({ v, label }) => ({ v, label: this.fitted(label) }));
    if (name === "starts") return this.data.starts.map(([t, n]) => ({ t, n }));
    if (name === "left_out") return this.leftOut();
    if (name === "fault") return this.chosen ? this.chosen.episodes.map(pair) : [];
    if (name === "episodes") {
      return this.data.findings.flatMap((finding, i) =>
        finding.episodes.map(([a, b]) => ({ a, b, row: i + 1, chosen: finding === this.chosen })));
    }
    return null;
  }

  // The scheduled flows of a chart, by value; where it is so low that two names would overprint, they share one line.
  apart(name) {
    const rows = this.data[name].map(([v, label]) => ({ v, label })).sort((a, b) => a.v - b.v);
    const [low, high] = this.data.reach[LIMITS[name]] || [0, 1];
    let below = null;
    for (const row of rows.filter(({ label }) => label)) {
      if (below && (row.v - below.v) * this.height < LINE * (high - low)) {
        row.label = `${below.label.replace(/ \S+$/, "")} · ${row.label}`; // its unit is told once
        below.label = "";
      }
      below = row;
    }
    return rows;
  }

  // The name of a scheduled flow as it fits the chart: in short forms where it is narrow, the last ones left out where
  // these do not fit either.
  fitted(label) {
    const most = (this.width - 8) / LETTER;
    if (!(label.length > most)) return label;
    const parts = SHORT.reduce((text, [long, short]) => text.replaceAll(long, short), label).split(" · ");
    const all = parts.length;
    while (parts.length > 1 && parts.join(" · ").length + (parts.length < all ? 4 : 0) > most) parts.pop();
    return parts.join(" · ") + (parts.length < all ? " · …" : "");
  }

  // What was not judged: windows of the site file, and what follows the end of the chosen finding's log.
  leftOut() {
    const rows = (this.data.excluded || []).map(([a, b, why]) => ({ a, b, why }));
    const ended = this.chosen && this.chosen.ended;
    if (ended) rows.push({ a: ended[0], b: ended[1], why: "not judged: log ended" });
    return rows.map((row, i) => ({ ...row, ...this.placed(row), line: i % 3 }));
  }

  // Where the words of a stretch begin, within the chart; their first part alone where all of them are too wide for it.
  placed({ a, why }) {
    const [from, to] = this.span, second = (to - from) / this.width;
    const most = (this.width - 8) / SMALL_LETTER;
    const told = why.length > most ? why.split(": ")[0] : why;
    const last = to - (told.length * SMALL_LETTER + 8) * second;
    return { why: told, at: a < to ? Math.max(from, Math.min(Math.max(a, from), last)) : a };
  }

  // Marks a finding's episodes; drawn with the next show().
  choose(finding) {
    this.chosen = finding || null;
    for (const { view, name } of this.panels) {
      if (name === "episodes") view.data("episodes", this.rowsOf("episodes"));
      else view.data("fault", this.rowsOf("fault"));
    }
  }

  // Fits the panels to a width and a height; drawn with the next show().
  fit(width, height) {
    this.width = width - PADDING.left - PADDING.right;
    this.height = height;
    for (const { view, name } of this.panels) {
      view.width(this.width).height(name === "episodes" ? 18 * this.data.findings.length : height);
      if (name === "air") view.data("limits", this.rowsOf("limits"));
      if (name === "outdoor_air") view.data("inlet_limits", this.rowsOf("inlet_limits"));
    }
  }

  show([from, to] = this.span) {
    const shortest = Math.min(900, this.whole[1]);
    if (to - from < shortest) [from, to] = [(from + to - shortest) / 2, (from + to + shortest) / 2];
    const length = Math.min(to - from, this.whole[1]);
    from = Math.max(0, Math.min(from, this.whole[1] - length));
    this.span = [from, from + length];
    const { ticks, labels } = this.clock.ticks(this.span, this.width / 70);
    for (const { view } of this.panels) {
      view.data("left_out", this.leftOut());
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

  // What a line reads at a moment: [lowest, highest], the same twice where one value is in force; null where none is.
  // In force is the last sample at or before the moment, until the next one, and across a gap for one interval. Of a
  // series that is drawn by the extremes of its runs only the run's range is known.
  readAt(name, t) {
    const rows = this.series[name], { interval } = this.data.series[name];
    let low = lastAtOrBefore(rows, t, (row) => row.t);
    if (low < 0) return null;
    if (rows[low].v === null) low -= 1;
    const next = rows[low + 1];
    if ((!next || next.v === null) && t - rows[low].t > interval) return null;
    return this.runs[name] ? this.rangeOfRun(name, t) : [rows[low].v, rows[low].v];
  }

  rangeOfRun(name, t) {
    const rows = this.series[name], runs = this.runs[name];
    const run = lastAtOrBefore(runs, t, (start) => start);
    const values = [];
    for (let i = lastAtOrBefore(rows, runs[run], (row) => row.t); i < rows.length; i++) {
      if (i < 0 || rows[i].t < runs[run] || rows[i].v === null) continue;
      if (run + 1 < runs.length && rows[i].t >= runs[run + 1]) break;
      values.push(rows[i].v);
    }
    return [Math.min(...values), Math.max(...values)];
  }

  // The reading as words, with its unit; "–" where there is none.
  spell(name, t, unit) {
    const found = this.readAt(name, t);
    if (found === null) return "–";
    if (unit === "state") return found[0] > 0.5 ? "on" : "off";
    const told = [...new Set(found.map((value) => decimal(value, unit, this.data.series[name].scale)))];
    return `${told.join(" to ")} ${unit}`.trim();
  }
}

function decimal(value, unit, scale) {
  const drawn = Math.round(Math.log10(scale));
  const digits = unit === "L/s" ? 0 : unit === "in. w.c." ? drawn : Math.min(1, drawn);
  return value.toLocaleString("en", { minimumFractionDigits: digits, maximumFractionDigits: digits });
}

// The position of the last entry that lies at or before a moment; -1 where all lie after it.
function lastAtOrBefore(entries, t, time) {
  let low = -1, high = entries.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (time(entries[middle]) <= t) low = middle;
    else high = middle - 1;
  }
  return low;
}
