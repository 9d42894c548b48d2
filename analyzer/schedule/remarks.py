"""Figures that a balancer writes into the remarks: ``min: design 100, final 105 cfm``."""

from __future__ import annotations

import re
from dataclasses import replace

from analyzer.schedule.facts import Fact
from analyzer.schedule.figures import read_figure
from analyzer.schedule.meaning import DESIGN, FINAL, meaning_of
from analyzer.schedule.words import read_heading

_STAGED = re.compile(
    r"\b(?P<name>MIN(?:IMUM)?|MAX(?:IMUM)?|COOLING|HEATING|HTG)\.?\s*(?:FLOW|AIRFLOW)?\s*[:=]\s*"
    r"(?:DESIGN|REQUIRED|SPECIFIED)\s*(?P<design>[\d,.]+)\s*(?P<own>CFM|L/S|M3/H)?\s*[,;/]?\s*"
    r"(?:FINAL|ACTUAL|MEASURED)\s*(?P<final>[\d,.]+)\s*(?P<unit>CFM|L/S|M3/H)",
    re.IGNORECASE,
)


def of_remarks(facts: list[Fact]) -> list[Fact]:
    """Return the design and final flows that the remarks among a row's facts name, each with its unit."""
    found = []
    for fact in facts:
        if fact.column != "remarks":
            continue
        for match in _STAGED.finditer(fact.text):
            name = meaning_of(read_heading(f"{match['name']} {match['unit']}")).name
            for stage, text in ((DESIGN, match["design"]), (FINAL, match["final"])):
                unit = (stage == DESIGN and match["own"]) or match["unit"]
                figure = read_figure(f"{text.rstrip('.,')} {unit}", "flow", ())
                if not figure.problem:
                    found.append(replace(fact, column=name, value=figure.value, stage=stage, note="of a remark"))
    return found
