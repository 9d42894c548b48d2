"""The findings as the index lists them: the first in the page itself, all of them in script files, loaded by part.

From the file system a page can load nothing but scripts. What filters and orders need is one small file of columns; the
words stand in parts of ``PART`` findings each, which are loaded for a search or where their findings come into view. A
part is one text, a line a finding, its fields set apart by tabs: a browser reads that several times faster than lists.
"""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import quote

import numpy as np
import pandas as pd

from analyzer.findings import BUILDING_SCOPE, IMPACTS, SEVERITIES, Finding
from analyzer.report import words
from analyzer.report.building import AIR_HANDLER, NO_HANDLER, Building
from analyzer.report.frame import write_script
from analyzer.report.rounds_told import answered
from analyzer.report.sequence import pack

MOST_SHOWN = 150  # findings that stand in the page; the page's script shows the others when asked
PART = 2500  # findings in a script file: about 1 MB
COLUMNS_FILE, PART_FILE = "findings_columns.js", "findings_{}.js"
_SEPARATORS = re.compile(r"[\t\n\r]")
_FACETS = ("severity", "handler", "floor", "kind", "impact", "rule", "confidence")


def page_of(finding: Finding, building: Building) -> str | None:
    """Where a finding's evidence is, from the index: its episode on its terminal's page, or its air handler's row."""
    if finding.scope == BUILDING_SCOPE:
        return None
    place = building.every_place.get(finding.terminal)
    if place is None:
        return f"#handler={quote(finding.terminal)}"
    return f"terminals/{quote(place.page)}#rule={quote(finding.rule)}&episode=1"


class FindingRows:
    """The findings as rows of the index, in rank.

    Parameters
    ----------
    building : Building
    """

    def __init__(self, building: Building):
        self.building = building
        self.findings = building.results.findings
        self.facets = _facets(building)

    def first(self) -> list[dict]:
        """Return the rows that stand in the page."""
        return [self.row(rank, finding) for rank, finding in enumerate(self.findings[:MOST_SHOWN], 1)]

    def row(self, rank: int, finding: Finding) -> dict:
        """Return a finding as the index says it."""
        building, place = self.building, self.building.every_place.get(finding.terminal)
        handler = place.air_handler if place else finding.air_handler
        where = [
            handler if handler != finding.terminal else _of_handler(finding),
            f"floor {place.floor}" if place and place.floor else None,
            place.kind_told if place and place.kind != AIR_HANDLER else None,
        ]
        return {
            "rank": rank,
            "terminal": "Whole building" if finding.scope == BUILDING_SCOPE else finding.terminal,
            "href": page_of(finding, building),
            "where": " · ".join(filter(None, where)),
            "severity": finding.severity,
            "title": finding.title,
            "summary": finding.summary,
            "window": words.window(finding.start, finding.end, building.results.site.time_zone),
            "under": building.told_under(finding),
            "answer": answered(finding.answer),
            "impact": finding.impact,
            "confidence": finding.confidence,
            "hours": words.hours(finding.fault_hours),
        }

    def write(self, assets: Path) -> None:
        """Write the columns and the parts into the folder of what pages load."""
        write_script(assets / COLUMNS_FILE, "findingsColumns", self.columns())
        for part, first in enumerate(range(0, len(self.findings), PART)):
            lines = [
                "\t".join(_field(value) for value in self.row(first + at, finding).values())
                for at, finding in enumerate(self.findings[first : first + PART], 1)
            ]
            write_script(assets / PART_FILE.format(part), f"findings_{part}", "\n".join(lines))

    def columns(self) -> dict:
        """Return what filters and orders need of all findings: their number, and packed columns of whole numbers.

        ``facets`` gives the position of each finding's value among those that the facet offers, or -1.
        """
        order = {terminal: i for i, terminal in enumerate(self.building.every_place)}
        values = [self._values(finding) for finding in self.findings]
        at = {name: {value: i for i, (value, _) in enumerate(self.facets[name])} for name in _FACETS}
        return {
            "count": len(self.findings),
            "part": PART,
            "offered": {name: [value for value, _ in self.facets[name]] for name in _FACETS},
            "facets": {name: _packed(at[name].get(own[name], -1) for own in values) for name in _FACETS},
            "orders": {
                "terminal": _packed(order.get(finding.terminal, -1) for finding in self.findings),
                "hours": _packed(round(finding.fault_hours * 60) for finding in self.findings),
                "since": _packed(int(pd.Timestamp(finding.start).timestamp()) for finding in self.findings),
            },
        }

    def _values(self, finding: Finding) -> dict:
        place = self.building.every_place.get(finding.terminal)
        return {
            "severity": finding.severity,
            "handler": place.air_handler if place else finding.air_handler,
            "floor": place.floor if place else None,
            "kind": place.kind if place else None,
            "impact": finding.impact,
            "rule": finding.rule,
            "confidence": finding.confidence,
        }


def _of_handler(finding: Finding) -> str:
    """What stands below the tag of an air handler; of one that is not known, how many terminals it is for."""
    return words.plural(len(finding.terminals), "terminal") if finding.terminal == NO_HANDLER else "air handler"


def _field(value) -> str:
    return "" if value is None else _SEPARATORS.sub(" ", str(value))


def _packed(numbers) -> dict:
    return pack(np.fromiter(numbers, dtype=np.int64))


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
