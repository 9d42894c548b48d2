"""The terminals in the order of what to do first, as the first table of the index; all of them in a script file."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import quote

import pandas as pd

from analyzer.findings import (
    TERMINAL_SCOPE,
    Finding,
    Range,
    Results,
    Yearly,
    ranked_terminals,
    summed,
    yearly_of_findings,
    yearly_of_terminals,
)
from analyzer.report import words
from analyzer.report.building import Building
from analyzer.report.frame import write_script

MOST_WORST = 20  # that stand in the page: what a first screen holds
WORST_FILE = "terminals_ranked.js"
MOST_FIRST = 5  # causes elsewhere than at a terminal that are named above the table


class WorstTerminals:
    """The ranked terminals as rows of the index: those that a visit helps.

    A terminal that only suffers from a cause elsewhere (its air handler's, the building's) is counted: its cause is
    named above the table, and one cause is one line.

    Parameters
    ----------
    building : Building
    """

    def __init__(self, building: Building):
        self.building = building
        table = ranked_terminals(building.results)
        self.impacts = {found.id: found.impact for found in building.results.findings}
        own = table["findings"] > 0
        self.rows = [self._row(row) for row in table[own].to_dict("records")]
        self.elsewhere = int((~own & (table["caused_elsewhere"] > 0)).sum())

    def _row(self, row: dict) -> dict:
        place = self.building.places.get(row["terminal"])
        page = place.page if place else None
        return {
            "rank": row["rank"],
            "terminal": row["terminal"],
            "href": f"terminals/{quote(page)}#rule={quote(row['worst_rule'])}&episode=1" if page else None,
            "where": " · ".join(filter(None, [row["air_handler"], row["floor"] and f"floor {row['floor']}"])),
            "finding": row["worst_finding"],
            "hours": words.hours(row["fault_hours"]),
            "severity": row["severity"],
            "safety": row["safety"],
            "ventilation": row["ventilation"],
            "comfort": row["comfort"],
            "kwh": _given(row["kwh_year"]),
            "kwh_range": _range(row["kwh_year_low"], row["kwh_year_high"]),
            "cost": _given(row["cost_year"]),
            "cost_range": _range(row["cost_year_low"], row["cost_year_high"]),
            "impact": self._impact(row),
        }

    def _impact(self, row: dict) -> str:
        """What a row's finding harms and how severe it is, where no column of the table says so."""
        if row["safety"] or row["ventilation"] or row["comfort"] or not pd.isna(row["kwh_year"]):
            return ""
        return f"{self.impacts[row['terminal'] + '/' + row['worst_rule']]}, {row['severity']}"

    def write(self, assets: Path) -> None:
        """Write all rows into the folder of what pages load."""
        write_script(assets / WORST_FILE, "terminalsRanked", [list(row.values()) for row in self.rows])

    def first(self) -> list[dict]:
        """Return the rows that stand in the page."""
        return self.rows[:MOST_WORST]

    def context(self) -> dict:
        """Return what the template of the index needs."""
        results = self.building.results
        return {
            "worst": self.first(),
            "ranked": len(self.rows),
            "elsewhere": self.elsewhere,
            "currency": results.site.tariff.currency,
            "tariff": results.site.tariff,
            "beforehand": _beforehand(results),
            "low_elsewhere": _low_elsewhere(results),
            "yearly": _in_all(results),
        }


def _beforehand(results: Results) -> list[str]:
    """Name the causes that no single terminal has, which are corrected before anyone climbs a ladder."""
    own = [found for found in _elsewhere(results) if found.severity != "low"]
    named = [_named(found) for found in own[:MOST_FIRST]]
    return [*named, f"{len(own) - MOST_FIRST} more"] if len(own) > MOST_FIRST else named


def _low_elsewhere(results: Results) -> list[str]:
    """Name those of low severity, which wait for nobody and hold nobody up."""
    return [_named(found) for found in _elsewhere(results) if found.severity == "low"]


def _elsewhere(results: Results) -> list[Finding]:
    return [found for found in results.findings if found.scope != TERMINAL_SCOPE and not found.under]


def _named(found: Finding) -> str:
    if found.scope == "building" or found.terminal in found.title:
        return found.title.removesuffix(" of the building")
    return f"{found.terminal}: {found.title}"


def _in_all(results: Results) -> str | None:
    """Say what the findings cost in a year, all terminals together; nothing where none can be priced."""
    total = summed(yearly_of_terminals(results, yearly_of_findings(results)).values())
    return told(total, results.site.tariff.currency) if total else None


def told(yearly: Yearly, currency: str) -> str:
    """Spell an estimate with its range."""
    return f"{_spelled(yearly.energy, 'kWh')} and {_spelled(yearly.cost, currency)} a year"


def _spelled(estimate: Range, unit: str) -> str:
    amount = f"{unit} {_rough(estimate.value):,}" if unit.isupper() else f"{_rough(estimate.value):,}\u202f{unit}"
    return f"about {amount} ({_range(estimate.low, estimate.high, ' to ')})"


def _given(value) -> int | None:
    return None if pd.isna(value) else _rough(value)


def _range(low, high, between: str = "–") -> str:
    return "" if pd.isna(low) else f"{_rough(low):,}{between}{_rough(high):,}"


def _rough(value: float) -> int:
    """Round to two digits: an estimate knows no more."""
    return round(float(f"{value:.2g}"))
