"""Findings made up for tests of how they are gathered and ordered."""

from __future__ import annotations

import pandas as pd

from analyzer.engine.rulebook import read_rules
from analyzer.findings.results import Episode, Finding, Measure
from analyzer.findings.rules_used import ranking
from analyzer.places import rule_book

RULES = read_rules([rule_book()])
START = pd.Timestamp("2026-01-12 14:00", tz="UTC")


def made(terminal: str, rule: str, *, size: float = 1.0, hours: float = 5.0, **other) -> Finding:
    """Make a finding of a shipped rule; ``size`` is the figure by which the rule ranks."""
    told, ranked = RULES[rule], ranking(RULES[rule])
    end = START + pd.Timedelta(hours=hours)
    plain = {
        "id": f"{terminal}/{rule}",
        "terminal": terminal,
        "air_handler": "AHU-1",
        "rule": rule,
        "title": told.title,
        "severity": told.severity,
        "impact": told.impact,
        "confidence": "firm",
        "start": START,
        "end": end,
        "fault_hours": hours,
        "judged_hours": 50.0,
        "episodes": (Episode(START, end),),
        "measures": {ranked["measure"]: Measure(size, "")} if ranked else {},
        "summary": f"{terminal} is short by {size:g}.",
        "why_it_matters": "",
        "likely_causes": (),
        "next_steps": (),
        "retest": "",
    }
    return Finding(**plain | other)


def verdicts_of(rule: str, terminals: list[str], faulty: list[str]) -> pd.DataFrame:
    """Make the verdicts of one rule: fault for some terminals, clear for the others."""
    return pd.DataFrame(
        {
            "terminal": terminals,
            "rule": rule,
            "verdict": ["fault" if tag in faulty else "clear" for tag in terminals],
        }
    )
