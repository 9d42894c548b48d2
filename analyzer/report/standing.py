"""When the faults stood: per rule and hour, at how many terminals, for the chart on the index."""

from __future__ import annotations

import numpy as np

from analyzer.report import words
from analyzer.report.building import Building
from analyzer.report.chart_data import clock_changes, log_ended
from analyzer.report.sequence import pack

MOST_RULES = 30
MOST_BINS = 400
HOUR = 3600


def faults_over_time(building: Building, rules: list[dict]) -> dict:
    """Count, for each rule of ``rollups.rule_rows``, the terminals at fault in each bin of the period.

    Returns
    -------
    dict
        ``origin`` [s], ``length`` [s], ``clock``, ``bin`` [s], and ``rows``: [{"title", "most", "when", "counts"}],
        the counts packed, one a bin.
    """
    start, end = building.results.period
    origin = int(start.timestamp())
    length = max(int(end.timestamp()) - origin, HOUR)
    width = HOUR * max(1, -(-length // (HOUR * MOST_BINS)))
    counted = _counts(building, [rule["rule"] for rule in rules[:MOST_RULES]], origin, width, -(-length // width))
    zone = building.results.site.time_zone
    rows = []
    for rule, counts in zip(rules, counted, strict=False):
        at = start + np.timedelta64(int(counts.argmax()) * width, "s")
        rows.append({
            "title": rule["title"],
            "most": int(counts.max()),
            "when": words.moment(at, zone),
            "counts": pack(counts),
            "ended": _ended(building, rule["rule"], origin, length),
        })  # fmt: skip
    clock = clock_changes(start.tz_convert("UTC"), end.tz_convert("UTC"), zone)
    return {"origin": origin, "length": length, "clock": clock, "bin": width, "rows": rows}


def _ended(building: Building, rule: str, origin: int, length: int) -> int | None:
    """Return when the last log of a rule's findings ended [s after origin]; None where one goes on to the end."""
    own = [found for found in building.results.findings if found.rule == rule]
    ends = [found.logged_until.timestamp() for found in own if found.logged_until is not None]
    if not ends or len(ends) < len(own):
        return None
    end = round(max(ends)) - origin
    return end if log_ended(end, length) else None


def _counts(building: Building, rules: list[str], origin: int, width: int, bins: int) -> np.ndarray:
    """Terminals at fault, shape (rules, bins); a terminal counts once in a bin, however often it came and went."""
    counts = np.zeros((len(rules), bins), dtype=np.int64)
    row = {rule: i for i, rule in enumerate(rules)}
    for finding in building.counted:
        if finding.rule not in row:
            continue
        edges = finding.episodes.seconds - origin
        first = np.clip(edges[:, 0] // width, 0, bins - 1).astype(np.int64)
        last = np.clip(np.ceil(edges[:, 1] / width), first + 1, bins).astype(np.int64)
        steps = np.zeros(bins + 1, dtype=np.int64)
        np.add.at(steps, first, 1)
        np.add.at(steps, last, -1)
        counts[row[finding.rule]] += np.cumsum(steps[:-1]) > 0
    return counts
