"""The terminals in the order of what to do first: what endangers, then what harms people, then what costs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

import pandas as pd

from analyzer.findings.order import CONFIDENCES
from analyzer.findings.results import SEVERITIES, TERMINAL_SCOPE, Finding, Results
from analyzer.findings.yearly import YEAR_COLUMNS, year_columns, yearly_of_findings, yearly_of_terminals

_SCHEDULED = ("air_handler", "floor", "zone")
HARMS = ("safety", "ventilation", "comfort")
COLUMNS = [
    "rank", "terminal", *_SCHEDULED, "worst_finding", "worst_rule", "severity", "confidence", "fault_hours",
    *HARMS, "findings", "caused_elsewhere", *YEAR_COLUMNS, "currency",
]  # fmt: skip
_AT_THE_TERMINAL, _ELSEWHERE, _NOTHING_FOUND = range(3)
_NONE = (len(SEVERITIES), len(CONFIDENCES))


def ranked_terminals(results: Results) -> pd.DataFrame:
    """Return a row for each terminal, ``COLUMNS``, the one to go to first at the top.

    Terminals with a cause of their own come before those that only suffer from one elsewhere (their air handler's, the
    building's, a neighbor's): no ladder at these helps. Then the most severe safety finding, firm before marginal;
    then the most severe of ventilation and comfort; then cost a year; then the order of the findings. A harm is the
    severity of the worst such finding that has its cause at the terminal, or empty. ``fault_hours`` are those of the
    worst finding. Cost and energy a year are of all findings of the terminal; missing where none can be worked out.
    """
    yearly = yearly_of_terminals(results, yearly_of_findings(results))
    own, elsewhere = _by_cause(results)
    schedule = results.site.schedule[[*_SCHEDULED]].to_dict("index")
    place = {finding.id: number for number, finding in enumerate(results.findings)}
    rows, keys = [], []
    for tag in _terminals(results):
        here, there = own.get(tag, []), elsewhere.get(tag, [])
        harms = {harm: _worst(f for f in here if f.impact == harm) for harm in HARMS}
        worst = here[0] if here else there[0] if there else None
        row = {
            "terminal": tag,
            **_words(schedule.get(tag, {})),
            "worst_finding": worst.title if worst else "",
            "worst_rule": worst.rule if worst else "",
            "severity": worst.severity if worst else "",
            "confidence": worst.confidence if worst else "",
            "fault_hours": round(worst.fault_hours, 2) if worst else None,
            **{harm: found.severity if found else "" for harm, found in harms.items()},
            "findings": len(here),
            "caused_elsewhere": len(there),
            **year_columns(yearly.get(tag)),
            "currency": results.site.tariff.currency,
        }
        rows.append(row)
        suffered = _worst(found for name in HARMS[1:] if (found := harms[name]))
        tier = _AT_THE_TERMINAL if here else _ELSEWHERE if there else _NOTHING_FOUND
        cost = float(f"{yearly[tag].cost.value:.6g}") if tag in yearly else 0.0
        keys.append((tier, _grade(harms["safety"]), _grade(suffered), -cost, place[worst.id] if worst else 0, tag))
    order = sorted(range(len(rows)), key=keys.__getitem__)
    table = pd.DataFrame([rows[at] | {"rank": rank} for rank, at in enumerate(order, 1)], columns=COLUMNS)
    return table.astype(dict.fromkeys(YEAR_COLUMNS, "Int64"))


def _by_cause(results: Results) -> tuple[dict[str, list[Finding]], dict[str, list[Finding]]]:
    """The findings of each terminal: those whose first cause lies at it, and those whose cause lies elsewhere."""
    by_id = {finding.id: finding for finding in results.findings}
    own: dict[str, list[Finding]] = defaultdict(list)
    elsewhere: dict[str, list[Finding]] = defaultdict(list)
    for finding in results.findings:
        if finding.scope != TERMINAL_SCOPE:
            continue
        first, passed = finding, {finding.id}
        while (cause := by_id.get(first.under or "")) and cause.id not in passed:
            first = cause
            passed.add(cause.id)
        (own if first.terminal == finding.terminal else elsewhere)[finding.terminal].append(finding)
    return own, elsewhere


def _terminals(results: Results) -> list[str]:
    """The terminals that were trended or judged; air handlers, which are judged as well, are none."""
    trended = set(results.trends.tags)
    handlers = {*results.trends.air_handler_tags, *results.site.schedule["air_handler"].dropna()}
    judged = set(results.verdicts["terminal"].unique())
    return sorted(trended | (judged - handlers) | (judged & set(results.site.schedule.index)))


def _worst(findings: Iterable[Finding]) -> Finding | None:
    return min(findings, key=_grade, default=None)


def _grade(finding: Finding | None) -> tuple[int, int]:
    if finding is None:
        return _NONE
    return SEVERITIES.index(finding.severity), CONFIDENCES.index(finding.confidence)


def _words(row: dict) -> dict[str, str]:
    return {name: row[name] if isinstance(row.get(name), str) else "" for name in _SCHEDULED}
