"""What the page of a functional test says."""

from __future__ import annotations

from typing import Any

import pandas as pd

from analyzer.engine import Limit
from analyzer.findings import Results
from analyzer.functional.responses import FAIL, NOT_JUDGED, NOTHING_EXPECTED, PASS, minutes
from analyzer.functional.table import Outcome, by_terminal, counts
from analyzer.report import functional_test_place, limit_in_force, page_name, words
from analyzer.report.trend_box import TrendBox
from analyzer.site.model import FunctionalTest

# How a result is marked, by the class of the style sheet.
MARKS = {PASS: "pass", FAIL: "fail", NOT_JUDGED: "unjudged", NOTHING_EXPECTED: "idle"}


def page_context(
    results: Results, test: FunctionalTest, found: list[Outcome], charts: dict[str, TrendBox], limits: dict[str, Limit]
) -> dict[str, Any]:
    """Return everything that the template of a functional test's page needs."""
    site, places = results.site, set(results.trends.tags)
    terminals = by_terminal(found)
    return {
        "name": test.name,
        "window": words.window(test.start, test.end, site.time_zone),
        "summary": _summary(test, found, terminals),
        "terminals": [
            {
                "tag": tag,
                "anchor": functional_test_place(tag),
                "page": page_name(tag) if tag in places else None,
                "zone": _zone(results, tag),
                "counts": [(result, count) for result, count in _in_order(own)],
                "mark": MARKS[_worst(own)],
                "told": _heading(own),
                "rows": [_row(outcome, site.time_zone) for outcome in own],
                "box": charts.get(tag),
                "plots": f"plots-{number}",
            }
            for number, (tag, own) in enumerate(terminals, 1)
        ],
        "undrawn": sum(tag in places and tag not in charts for tag, _ in terminals),
        "marks": MARKS,
        "limits": [limit_in_force(limit, site.units) for limit in limits.values()],
    }


def _zone(results: Results, tag: str) -> str:
    schedule = results.site.schedule
    zone = schedule["zone"].get(tag) if tag in schedule.index else None
    return zone if isinstance(zone, str) else ""


def _summary(test: FunctionalTest, found: list[Outcome], terminals: list[Any]) -> list[tuple[str, str]]:
    count = counts(found)
    told = [("Result", _in_words(count[PASS], count[FAIL], count[NOT_JUDGED]))]
    failed = [tag for tag, own in terminals if any(outcome.result == FAIL for outcome in own)]
    if failed:
        told.append(("Failed at", words.listed(failed, 12) + "."))
    steps = {(own.terminal, own.time, own.kind) for own in found if own.time is not None}
    idle = f"; after {count[NOTHING_EXPECTED]} of them nothing has to move" if count[NOTHING_EXPECTED] else ""
    told.append((
        "Steps", f"{words.plural(len(steps), 'step')} at {words.plural(len(terminals), 'terminal')}{idle}."
    ))  # fmt: skip
    if test.steps:
        told.append(("Expected", f"At each terminal: {words.listed(test.steps, 9)}."))
    return told


def _in_words(passed: int, failed: int, unjudged: int) -> str:
    responses = words.plural(passed + failed + unjudged, "response")
    return f"{responses}: {passed} pass, {failed} fail, {unjudged} not judged."


def _in_order(own: list[Outcome]) -> list[tuple[str, int]]:
    count = counts(own)
    return [(result, count[result]) for result in (PASS, FAIL, NOT_JUDGED)]


def _worst(own: list[Outcome]) -> str:
    results = {outcome.result for outcome in own}
    return next(result for result in (FAIL, NOT_JUDGED, PASS, NOTHING_EXPECTED) if result in results)


def _heading(own: list[Outcome]) -> str:
    """What came of a terminal, the worst first; of one after whose steps nothing has to move, that."""
    count = counts(own)
    told = [f"{count[result]} {result}" for result in (FAIL, NOT_JUDGED, PASS) if count[result]]
    return ", ".join(told) or NOTHING_EXPECTED


def _row(own: Outcome, zone: str) -> dict[str, Any]:
    return {
        "when": _clock(own.time, zone),
        "step": own.step,
        "follows": f"{own.quantity} {own.expected}".strip(),
        "limit": minutes(own.limit) if own.limit == own.limit else "",
        "took": own.took,
        "overshoot": f"{own.overshoot:.0f}\u202f%" if own.overshoot == own.overshoot else "",
        "result": own.result,
        "reason": own.reason,
    }


def _clock(time: pd.Timestamp | None, zone: str) -> str:
    return "–" if time is None else f"{time.tz_convert(zone):%H:%M:%S}".removesuffix(":00")
