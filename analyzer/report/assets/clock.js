// The site's wall clock: times in the pages are seconds after the page's origin, UTC; readers see local time.
"use strict";

const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const MINUTE = 60, HOUR = 3600, DAY = 86400;
const STEPS = [1, 5, 10, 15, 30].map((n) => n * MINUTE)
  .concat([1, 2, 3, 6, 12].map((n) => n * HOUR), [1, 2, 3, 7, 14, 28, 91, 182, 365].map((n) => n * DAY));

class WallClock {
  // changes: [[from when (s, UTC), offset (s)], ...], the first in force at the start.
  constructor(origin, changes) {
    this.origin = origin;
    this.changes = changes;
  }

  offset(t) {
    let offset = this.changes[0][1];
    for (const [from, seconds] of this.changes) if (this.origin + t >= from) offset = seconds;
    return offset;
  }

  local(t) {
    return this.origin + t + this.offset(t);
  }

  // The moment at which the wall clock shows `local`, or null where it never does.
  moment(local) {
    for (const [, offset] of this.changes) {
      const t = local - offset - this.origin;
      if (this.local(t) === local) return t;
    }
    return null;
  }

  read(t, withDay = true) {
    const date = new Date(this.local(t) * 1000);
    const clock = `${pad(date.getUTCHours())}:${pad(date.getUTCMinutes())}`;
    return withDay ? `${dayName(date)}, ${clock}` : clock;
  }

  // Ticks at round wall-clock times within a span: {ticks, labels}.
  ticks([from, to], most) {
    const step = STEPS.find((seconds) => (to - from) / seconds <= most) || STEPS[STEPS.length - 1];
    const monday = step >= 7 * DAY ? 4 * DAY : 0;
    const ticks = [], labels = [];
    for (let local = Math.ceil((this.local(from) - monday) / step) * step + monday; ; local += step) {
      const t = this.moment(local);
      if (t === null) continue;
      if (t > to) break;
      ticks.push(t);
      labels.push(tickLabel(new Date(local * 1000), step));
    }
    return { ticks, labels };
  }
}

function tickLabel(date, step) {
  if (step >= DAY || (date.getUTCHours() === 0 && date.getUTCMinutes() === 0)) {
    return `${DAYS[date.getUTCDay()]} ${date.getUTCDate()} ${MONTHS[date.getUTCMonth()]}`;
  }
  return `${pad(date.getUTCHours())}:${pad(date.getUTCMinutes())}`;
}

function dayName(date) {
  return `${DAYS[date.getUTCDay()]} ${date.getUTCDate()} ${MONTHS[date.getUTCMonth()]}`;
}

function pad(number) {
  return String(number).padStart(2, "0");
}
