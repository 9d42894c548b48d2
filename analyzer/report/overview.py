"""What the index says: the summary in words, the findings in rank, and the tables behind them."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pandas as pd

from analyzer.findings.results import BUILDING_SCOPE, IMPACTS, SEVERITIES, Finding
from analyzer.report import words
from analyzer.report.accounts import contract_account, ledger_account, limits_in_force
from analyzer.report.building import VERDICT_LETTERS, Building
from analyzer.report.coverage import coverage_grid
from analyzer.report.rollups import air_handler_rows, matrix_grid, rule_rows
from analyzer.report.rounds_told import answered, history_rows
from analyzer.report.standing import faults_over_time

MOST_LISTED = 4000  # so that the page stays under 3 MB; the rest is told of
MOST_SHOWN = 150  # findings drawn at first; the page's script shows the rest when asked
FILES = {
    "findings.csv": "the findings, a row each",
    "issue_log.xlsx": "the issue log, for the contractor's answers",
    "site_checklist.html": "what to look at on site, to print and tick",
    "verdicts.csv": "every verdict with its reason",
    "trend_request.csv": "the trends still missing, and what each would settle",
    "findings.json": "the findings, for other programs",
    "ledger.json": "the data accounting: every value that was read",
    "trends.parquet": "the normalized trends",
}


def index_context(building: Building, folder: Path) -> dict:
    """Return everything that the template of the index needs; of the other files, what lies in the folder is linked."""
    results = building.results
    order = {terminal: i for i, terminal in enumerate(building.every_place)}
    listed = results.findings[:MOST_LISTED]
    facets = _facets(building)
    coverage, share = coverage_grid(building)
    by_rule = rule_rows(building)
    standing = faults_over_time(building, by_rule)
    return {
        "summary": _summary(building),
        "by_rule": by_rule,
        "standing": standing["rows"],
        "standing_data": words.embedded(standing),
        "findings": [_row(rank, finding, building, facets, order) for rank, finding in enumerate(listed, 1)],
        "unlisted": len(results.findings) - len(listed),
        "facets": facets,
        "facets_data": words.embedded(
            {name: [value for value, _ in facet] for name, facet in facets.items()} | {"most": MOST_SHOWN}
        ),
        "most_shown": MOST_SHOWN,
        "letters": VERDICT_LETTERS,
        "matrix": words.embedded(matrix_grid(building)),
        "handlers": air_handler_rows(building, share),
        "coverage": words.embedded(coverage),
        "without_trends": building.scheduled_without_trends,
        "ledger": ledger_account(results.trends.ledger),
        "contract": contract_account(results.contract),
        "assumptions": results.assumptions,
        "limits": limits_in_force(results),
        "files": {name: holds for name, holds in FILES.items() if (folder / name).exists()},
        "history": history_rows(results),
        "earlier_answers": [(found, answered(answer)) for found, answer in results.earlier_answers.items()],
    }


# ---- the summary ---------------------------------------------------------------------------------------------------


def _summary(building: Building) -> list[tuple[str, str]]:
    return [
        ("Reviewed", _reviewed(building)),
        ("Matters most", _matters(building)),
        ("Not judged", _unjudged(building)),
    ]


def _reviewed(building: Building) -> str:
    results = building.results
    zone, verdicts = results.site.time_zone, results.verdicts["verdict"].value_counts()
    handlers = [handler for handler in building.air_handlers if handler != building.no_handler]
    on = f" on {words.plural(len(handlers), 'air handler')}" if handlers else ""
    checks = ", ".join(
        f"{verdicts.get(verdict, 0):,} {word}"
        for verdict, word in (("fault", "faults"), ("clear", "clear"), ("not-judged", "not judged"))
    )
    return (
        f"{words.plural(len(building.places), 'terminal')}{on} of {results.site.name}, "
        f"{words.window(*results.period, zone)} ({zone}). {words.plural(len(results.rules), 'rule')}, "
        f"{words.plural(len(results.verdicts), 'check')}: {checks}."
    )


def _matters(building: Building) -> str:
    findings = building.results.findings
    if not findings:
        return "No fault was found in what could be judged."
    worst = findings[0]
    own = [finding for finding in findings if not finding.under]
    counts = Counter(finding.severity for finding in own)
    told = words.listed([f"{counts[level]} {level}" for level in SEVERITIES if counts[level]])
    terminals = len({finding.terminal for finding in findings} & set(building.places))
    split = f": {len(own)} root, {len(findings) - len(own)} consequential" if len(own) < len(findings) else ""
    same = sum(finding.rule == worst.rule for finding in own)
    also = f" and {same - 1} more of the kind" if same > 1 else ""
    return (
        f"{words.plural(len(findings), 'finding')} at {words.plural(terminals, 'terminal')}{split}. "
        f"To correct: {told}. Most severe: “{building.title_of(worst.id)}”{also}."
    )


def _unjudged(building: Building) -> str:
    results = building.results
    verdicts = results.verdicts
    unjudged = verdicts[verdicts["verdict"] == "not-judged"]
    if not len(unjudged):
        return "Nothing: every check that applies was judged."
    rules = unjudged["rule"].value_counts()
    most = results.rules[rules.index[0]].title if rules.index[0] in results.rules else rules.index[0]
    asked = len(results.requests)
    ask = f" trend_request.csv lists the trends needed ({words.plural(asked, 'request')})." if asked else ""
    return (
        f"{len(unjudged):,} of {words.plural(len(verdicts), 'check')} not judged, most often "
        f"“{most}” ({rules.iloc[0]:,}).{ask}"
    )


# ---- findings ------------------------------------------------------------------------------------------------------


def _facets(building: Building) -> dict[str, list[tuple[str, str]]]:
    """The values by which findings can be filtered: facet to (value, label), in a fixed order."""
    places, findings = building.places.values(), building.results.findings
    used = {
        name: {getattr(finding, name) for finding in findings} for name in ("severity", "impact", "confidence", "rule")
    }

    def same(names) -> list[tuple[str, str]]:
        return [(name, name) for name in names]

    floors = sorted({place.floor for place in places if place.floor}, key=building.natural)
    kinds = [kind for kind in words.KINDS if any(place.kind == kind for place in places)]
    titles = {finding.rule: finding.title for finding in findings}
    return {
        "severity": same(level for level in SEVERITIES if level in used["severity"]),
        "handler": same(building.air_handlers),
        "floor": same(floors),
        "kind": [(kind, words.KINDS[kind]) for kind in kinds],
        "impact": same(impact for impact in IMPACTS if impact in used["impact"]),
        "rule": [(rule, titles[rule]) for rule in dict.fromkeys([*building.results.rules, *titles]) if rule in titles],
        "confidence": same(level for level in ("firm", "marginal") if level in used["confidence"]),
    }


def _row(rank: int, finding: Finding, building: Building, facets: dict, order: dict) -> dict:
    place = building.every_place.get(finding.terminal)
    handler = place.air_handler if place else finding.air_handler
    values = {
        "severity": finding.severity,
        "handler": handler,
        "floor": place.floor if place else None,
        "kind": place.kind if place else None,
        "impact": finding.impact,
        "rule": finding.rule,
        "confidence": finding.confidence,
    }
    positions = [_position(facets[name], values[name]) for name in facets]
    where = [
        handler if handler != finding.terminal else "air handler",
        f"floor {place.floor}" if place and place.floor else None,
        words.KINDS.get(place.kind or "") if place else None,
    ]
    return {
        "rank": rank,
        "finding": finding,
        "page": place.page if place else None,
        "whole": finding.scope == BUILDING_SCOPE,
        "where": " · ".join(filter(None, where)),
        "under": building.title_of(finding.under),
        "answer": answered(finding.answer),
        "facets": ",".join(map(str, positions)),
        "sort": f"{SEVERITIES.index(finding.severity)},{order.get(finding.terminal, -1)},{finding.fault_hours:.2f},"
        f"{int(pd.Timestamp(finding.start).timestamp())}",
        "hours": words.hours(finding.fault_hours),
        "window": words.window(finding.start, finding.end, building.results.site.time_zone),
    }


def _position(facet: list[tuple[str, str]], value) -> int:
    return next((i for i, (known, _) in enumerate(facet) if known == value), -1)
