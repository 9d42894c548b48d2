"""Terminals by rule, and the same summed per rule and per air handler."""

from __future__ import annotations

import math
from collections import Counter, defaultdict

import numpy as np

from analyzer.findings import SEVERITIES, TERMINAL_SCOPE
from analyzer.report.building import Building


def matrix_grid(building: Building) -> dict:
    """Return the matrix of terminals by rule, compact: a string of letters for each terminal.

    Returns
    -------
    dict
        ``columns`` [[rule id, title]], ``handlers`` [name], ``rows`` [[terminal, page, handler's number, floor, kind,
        letters]], the letters being those of ``building.VERDICT_LETTERS``, ``worst`` a letter of ``worst_marks`` for
        each row, and ``own`` {air handler: [page, letters]}.
    """
    handlers = {handler: i for i, handler in enumerate(building.air_handlers)}
    rows = [
        [place.terminal, place.page, handlers[place.air_handler], place.floor, place.kind, "".join(letters)]
        for place, letters in zip(building.places.values(), building.letters.tolist(), strict=True)
    ]
    columns = [[rule.id, rule.title] for rule in building.results.rules.values()]
    own = {
        place.terminal: [place.page, "".join(letters)]
        for place, letters in zip(building.handler_places.values(), building.handler_letters.tolist(), strict=True)
    }
    return {
        "columns": columns,
        "handlers": building.air_handlers,
        "rows": rows,
        "worst": "".join(worst_marks(building)),
        "own": own,
    }


def worst_marks(building: Building) -> list[str]:
    """Return a letter for each terminal, as in ``building.places``: its most severe finding, "c" clear, "n" not judged.

    A finding's letter is the first of its severity: urgent, high, medium or low.
    """
    judged = (building.letters == "C").any(axis=1)
    return [
        building.worst_of[terminal][0] if terminal in building.worst_of else "c" if clear else "n"
        for terminal, clear in zip(building.places, judged.tolist(), strict=True)
    ]


def rule_rows(building: Building) -> list[dict]:
    """Return a row for each rule that found a fault, in rank: how many terminals, and where."""
    by_rule = defaultdict(list)
    for finding in building.counted:
        by_rule[finding.rule].append(finding)
    judged = building.results.verdicts.query("verdict != 'not-judged'")["rule"].value_counts()
    rows = []
    for rule, own in by_rule.items():
        severity = Counter(finding.severity for finding in own)
        rows.append({
            "rule": rule,
            "title": own[0].title,
            "impact": own[0].impact,
            "severity": next(level for level in SEVERITIES if severity[level]),
            "firm": sum(finding.confidence != "marginal" for finding in own),
            "marginal": sum(finding.confidence == "marginal" for finding in own),
            "following": sum(finding.under is not None for finding in own),
            "of_handlers": all(finding.scope != TERMINAL_SCOPE for finding in own),
            "judged": int(judged.get(rule, 0)),
            "hours": sum(finding.fault_hours for finding in own),
            "handlers": _handlers(building, own),
        })  # fmt: skip
    return rows


def _handlers(building: Building, findings) -> list[tuple[str, int]]:
    places = building.places
    return Counter(
        places[f.terminal].air_handler if f.terminal in places else f.air_handler or building.no_handler
        for f in findings
    ).most_common(3)


def air_handler_rows(building: Building, coverage: np.ndarray) -> list[dict]:
    """Return a row for each air handler: its terminals, what was found and judged there, how complete its trends are.

    Parameters
    ----------
    building : Building
    coverage : float array, shape (terminals, points)
        Share of samples present, NaN where a point is not trended; terminals as in ``building.places``.
    """
    handler_of = np.array([place.air_handler for place in building.places.values()], dtype=object)
    letters = building.letters
    rows = []
    for handler, places in building.by_air_handler.items():
        here = handler_of == handler
        tags = {place.terminal for place in places}
        own = [finding for finding in building.findings_of.get(handler, []) if finding.air_handler == handler]
        found = [*own, *(finding for tag in tags - {handler} for finding in building.findings_of.get(tag, []))]
        severity = Counter(finding.severity for finding in found)
        verdicts = letters[here]
        applicable = np.count_nonzero(verdicts != "-")
        trended = coverage[here]
        rows.append({
            "handler": handler,
            "page": building.handler_places[handler].page if handler in building.handler_places else None,
            "terminals": len(places),
            "faulty": len({finding.terminal for finding in found} & tags),
            "severity": [(level, severity[level]) for level in SEVERITIES],
            "not_judged": np.count_nonzero(verdicts == "N") / applicable if applicable else None,
            "coverage": math.floor(np.nanmean(trended) * 100 + 1e-9) if np.isfinite(trended).any() else None,
        })  # fmt: skip
    return rows
