"""Findings and verdicts as files: ``findings.json``, ``findings.csv``, ``verdicts.csv`` and their like."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from textwrap import indent
from typing import NamedTuple

import pandas as pd

from analyzer.engine import who_acts
from analyzer.findings.ranked import ranked_terminals
from analyzer.findings.results import TERMINAL_SCOPE, VERDICT_COLUMNS, Answer, Finding, Results
from analyzer.findings.rules_used import limits_used, ranking
from analyzer.findings.yearly import YEAR_COLUMNS, year_columns, yearly_of_findings
from analyzer.formulas import FORMULA

FORMAT = "trendwright-findings/1"
# What the status of a finding may be in the issue log. A new one is open.
OPEN = "open"
STATUSES = (OPEN, "answered", "corrected", "accepted as is", "not agreed")
# What the commissioning agent may decide of it.
DECISIONS = ("verified", "not corrected", "accepted as is", "withdrawn")
# How the issue log heads a finding's number, and the columns that are named otherwise in tables.
NUMBER = "no."
HEADINGS = {"decision": "agent's decision", "decided": "decided on"}


def findings_told(results: Results) -> dict:
    """Return what ``findings.json`` holds; times are ISO 8601 with the site's offset."""
    zone = results.site.time_zone
    first, last = results.period
    counts = results.verdicts["verdict"].value_counts()
    return {
        "format": FORMAT,
        "site": results.site.name,
        "period": {"from": first.isoformat(), "to": last.isoformat()},
        "verdicts": {verdict: int(counts.get(verdict, 0)) for verdict in ("fault", "clear", "not-judged")},
        "rules": {rule.id: limits_used(rule) for rule in results.rules.values()},
        "ranking": {rule.id: found for rule in results.rules.values() if (found := ranking(rule))},
        "not_judged": results.not_judged,
        "findings": [_told(finding, results.numbers, zone) for finding in results.findings],
    }


def write_findings(results: Results, path: Path) -> None:
    """Write ``findings.json``, one finding after another: those of a year have millions of episodes."""
    zone = results.site.time_zone
    with path.open("w", encoding="utf-8") as file:
        file.write(_json(findings_told(replace(results, findings=[]))).removesuffix("[]\n}"))
        for number, finding in enumerate(results.findings):
            file.write(("," if number else "[") + "\n" + indent(_json(_told(finding, results.numbers, zone)), "  "))
        file.write("\n ]\n}" if results.findings else "[]\n}")


def _json(told: dict) -> str:
    return json.dumps(told, indent=1, ensure_ascii=False)


def _told(finding: Finding, numbers: dict[str, int], zone: str) -> dict:
    return {
        "id": finding.id,
        "number": numbers.get(finding.id),
        "terminal": finding.terminal,
        "air_handler": finding.air_handler,
        "rule": finding.rule,
        "title": finding.title,
        "severity": finding.severity,
        "impact": finding.impact,
        "confidence": finding.confidence,
        "from": _iso(finding.start, zone),
        "to": _iso(finding.end, zone),
        "fault_hours": finding.fault_hours,
        "judged_hours": finding.judged_hours,
        "episodes": [{"from": _iso(e.start, zone), "to": _iso(e.end, zone)} for e in finding.episodes],
        "measures": {
            name: {"value": round(m.value, 4), "unit": m.unit, "label": m.label} for name, m in finding.measures.items()
        },
        "summary": finding.summary,
        "why_it_matters": finding.why_it_matters,
        "likely_causes": list(finding.likely_causes),
        "supported_causes": list(finding.supported_causes),
        "next_steps": list(finding.next_steps),
        "retest": finding.retest,
        "caution": finding.caution,
        "under": finding.under,
        "scope": finding.scope,
        "terminals": list(finding.terminals) or ([finding.terminal] if finding.scope == TERMINAL_SCOPE else []),
        "answer": finding.answer and vars(finding.answer),
        "logged_until": finding.logged_until and _iso(finding.logged_until, zone),
    }


def findings_table(results: Results) -> pd.DataFrame:
    """Return the findings as a table, ranked, with columns for the contractor's answer: what was carried, or empty."""
    zone, schedule = results.site.time_zone, results.site.schedule
    yearly = yearly_of_findings(results)
    rows = [
        {
            "id": finding.id,
            "number": results.numbers.get(finding.id),
            "terminal": finding.terminal,
            "air_handler": finding.air_handler or "",
            "scope": finding.scope,
            "terminals": " ".join(finding.terminals),
            "floor": _scheduled(schedule, finding.terminal, "floor"),
            "zone": _scheduled(schedule, finding.terminal, "zone"),
            "rule": finding.rule,
            "finding": finding.title,
            "summary": finding.summary,
            "severity": finding.severity,
            "impact": finding.impact,
            "confidence": finding.confidence,
            "from": _iso(finding.start, zone),
            "to": _iso(finding.end, zone),
            "fault_hours": finding.fault_hours,
            "judged_hours": finding.judged_hours,
            "likely_causes": "; ".join(finding.likely_causes),
            "supported_causes": "; ".join(finding.supported_causes),
            "action": "; ".join(finding.next_steps),
            "retest": finding.retest,
            "caution": finding.caution or "",
            "follows_from": finding.under or "",
            "who_acts": who_acts(results.rules.get(finding.rule), finding.impact),
            **year_columns(yearly.get(finding.id)),
            "currency": results.site.tariff.currency if finding.id in yearly else "",
            **vars(finding.answer or Answer()),
        }
        for finding in results.findings
    ]
    table = pd.DataFrame(rows, columns=FINDING_COLUMNS)
    table["status"] = table["status"].replace("", OPEN)
    # Whole units, and blank where there is none.
    return table.astype(dict.fromkeys(("number", *YEAR_COLUMNS), "Int64"))


def findings_frame(results: Results) -> pd.DataFrame:
    """Return the findings for further work: times in the site's zone, and a column per measure and unit."""
    zone, table = results.site.time_zone, findings_table(results)
    for name, moments in (("from", [f.start for f in results.findings]), ("to", [f.end for f in results.findings])):
        table[name] = pd.DatetimeIndex(moments, dtype="datetime64[us, UTC]").tz_convert(zone)
    measures = [
        {f"{name} [{m.unit}]" if m.unit else name: m.value for name, m in finding.measures.items()}
        for finding in results.findings
    ]
    columns = list(dict.fromkeys(name for row in measures for name in row))
    return pd.concat([table, pd.DataFrame(measures, columns=columns, index=table.index, dtype=float)], axis=1)


FINDING_COLUMNS = [
    "id", "number", "terminal", "air_handler", "scope", "terminals", "floor", "zone", "rule", "finding", "summary",
    "severity", "impact", "confidence", "from", "to", "fault_hours", "judged_hours", "likely_causes",
    "supported_causes", "action", "retest", "caution", "follows_from", "who_acts", *YEAR_COLUMNS, "currency",
    "response", "date", "status", "decision", "decided", "initials",
]  # fmt: skip


def verdicts_table(results: Results) -> pd.DataFrame:
    """Return the verdicts with times as ISO 8601 text in the site's zone."""
    zone = results.site.time_zone
    table = results.verdicts[VERDICT_COLUMNS].copy()
    for name in ("first_seen", "last_seen"):
        moments = table[name].dropna()
        table[name] = (
            moments.map({moment: _iso(moment, zone) for moment in moments.unique()})
            .reindex(table.index)
            .astype(object)
            .fillna("")
        )
    return table


def neutralised(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table in which no text can be taken for a formula by a spreadsheet: such a text gets an apostrophe."""
    table = table.copy()
    for name in table.columns[[not pd.api.types.is_numeric_dtype(kind) for kind in table.dtypes]]:
        text = table[name].astype(object)
        risky = text.map(lambda value: isinstance(value, str) and value.startswith(FORMULA))
        table[name] = text.where(~risky, "'" + text.astype(str))
    return table


def write_tables(results: Results, folder: Path) -> None:
    """Write the tables of a review into a folder."""
    write_findings(results, folder / "findings.json")
    for name, table in TABLES.items():
        neutralised(table.of(results)).to_csv(folder / name, index=False)
    (folder / "ledger.json").write_text(
        json.dumps(results.trends.ledger.to_dict(), indent=1, ensure_ascii=False), "utf-8"
    )


def requests_table(results: Results) -> pd.DataFrame:
    """Return the trend request with its terminals in words: their tags, or that it is all of them."""
    every = set(results.trends.tags)
    told = [terminals_told(tags, every) for tags in results.requests["terminal"]]
    return results.requests.assign(terminal=pd.Series(told, index=results.requests.index, dtype=object))


def terminals_told(tags: tuple[str, ...], every: set[str]) -> str:
    """Say which terminals a line is for."""
    return f"all {len(every)} terminals" if len(every) > 1 and every <= set(tags) else ", ".join(tags)


class Table(NamedTuple):
    """A table that is handed over: what the report's index says of it, and what works it out."""

    holds: str
    of: Callable[[Results], pd.DataFrame]


TABLES: dict[str, Table] = {
    "findings.csv": Table("the findings, one row each", findings_table),
    "terminals_ranked.csv": Table("the terminals by priority, with energy and cost per year", ranked_terminals),
    "verdicts.csv": Table("every verdict with its reason", verdicts_table),
    "trend_request.csv": Table("the trends still needed, and the checks each would settle", requests_table),
}


def _scheduled(schedule: pd.DataFrame, terminal: str, name: str) -> str:
    value = schedule[name].get(terminal)
    return value if isinstance(value, str) else ""


def _iso(moment: pd.Timestamp, zone: str) -> str:
    return moment.tz_convert(zone).isoformat(timespec="seconds")
