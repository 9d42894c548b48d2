// Expands the packed columns that analyzer/report/sequence.py writes.
"use strict";

function expandSequence(packed) {
  const numbers = [];
  let sum = 0;
  if (packed.r) {
    for (let i = 0; i < packed.r.length; i += 2) {
      for (let times = packed.r[i + 1]; times > 0; times--) numbers.push((sum += packed.r[i]));
    }
  } else {
    for (const difference of packed.d) numbers.push((sum += difference));
  }
  return numbers;
}

// Rows {t, v} for a chart; a row without a value breaks the line where the samples leave a gap.
function expandSeries(packed) {
  const times = expandSequence(packed.times);
  const values = expandSequence(packed.values);
  const breaks = new Set(packed.breaks);
  const rows = [];
  for (let i = 0; i < times.length; i++) {
    if (breaks.has(i)) rows.push({ t: times[i - 1] + 1, v: null });
    rows.push({ t: times[i], v: values[i] / packed.scale });
  }
  return rows;
}
