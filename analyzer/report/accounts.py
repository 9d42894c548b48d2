"""The accounts that a report owes its reader: cells read, the table's contract, the limits that were used."""

from __future__ import annotations

import math
import re

import pandas as pd

from analyzer.engine import Limit
from analyzer.findings import Results
from analyzer.ledger import Ledger
from analyzer.quantities import TERMINAL, shown_unit, to_shown
from analyzer.report import words
from analyzer.site import Site


def ledger_account(ledger: Ledger) -> dict:
    """Return the ledger as the index shows it: totals, and per file what was set aside and why."""
    aside = ledger.set_aside
    return {
        "read": ledger.cells_read,
        "used": ledger.cells_used,
        "aside": aside,
        "aside_total": sum(aside.values()),
        "balances": ledger.cells_read == ledger.cells_used + sum(aside.values()),
        "not_data_lines": ledger.not_data_lines,
        "files": [
            {
                "file": file.file,
                "read": file.cells_read,
                "used": file.cells_used,
                "aside": [(reason, count) for reason, count in file.set_aside.items()],
                "lines": [(kind, count) for kind, count in file.not_data_lines.items()],
                "columns": len(file.columns),
            }
            for file in ledger.files
        ],
    }


def ledger_columns(ledger: Ledger) -> list[list[list]]:
    """Return every column's account, per file: [column, terminal, quantity, unit, used, {reason: count}]."""
    return [
        [[c.column, c.terminal, c.quantity, c.unit, c.cells_used, c.set_aside] for c in file.columns]
        for file in ledger.files
    ]


def contract_account(contract: dict, site: Site) -> dict:
    """Return the data checks as the index shows them: how many passed, and the rows that break the others."""
    if not contract:
        return {"sentence": "Data checks: not run.", "failed": []}
    checks, failed = contract["expectations"], [_failed(one, site) for one in contract["broken"]]
    sentence = f"Data checks: {checks - len(failed)} of {checks} passed."
    return {"sentence": sentence, "failed": failed}


def _failed(broken: dict, site: Site) -> dict:
    """Say a data check that failed in the site's units and by its clock."""
    quantity = TERMINAL[broken["column"]]

    def spelled(value: float) -> str:
        if quantity.state or not math.isfinite(value):
            return f"{value:g}"
        return words.shown(value, quantity.dimension, site.units)

    rows = [
        f"{row['terminal']}, {words.moment(pd.Timestamp(row['time']), site.time_zone)}: {spelled(float(row['value']))}"
        for row in broken["rows"]
    ]
    return {
        "quantity": quantity.meaning,
        "expected": "0 or 1" if quantity.state else f"{spelled(quantity.low)} to {spelled(quantity.high)}",
        "count": broken["count"],
        "rows": rows,
        "more": broken["count"] - len(rows),
    }


def limits_in_force(results: Results) -> list[dict]:
    """Return every rule with its limits in the site's units, their sources, and whether the site file moved them."""
    return [
        {
            "id": rule.id,
            "title": rule.title,
            "impact": rule.impact,
            "severity": rule.severity,
            "why_it_matters": rule.text.why_it_matters,
            "retest": rule.text.retest,
            "limits": [limit_in_force(limit, results.site.units) for limit in rule.limits.values()],
        }
        for rule in results.rules.values()
    ]


def limit_in_force(limit: Limit, units: str) -> dict:
    """Return a limit as the report shows it: in the site's units, with its source, and whether the site moved it."""
    return {
        "name": limit.name,
        "value": _shown(limit, units),
        "moved": limit.moved,
        "source": origin(limit.source),
        "reason": limit.reason.replace("degF", "°F").replace("degC", "°C"),
    }


# What the owner's report says of a limit that no standard gives; where it comes from stands in the rule file.
DEFAULT = "default of this tool; change it in the site file"
_CLAUSES = re.compile(
    r"ASHRAE Guideline 36, [\d.]+(?: and [\d.]+)?|ASHRAE 90\.1(?:-\d{4})?, [\d.]+(?: exception \d)?|ASHRAE 62\.1"
    r"|(?:California )?Title 24(?: Part 6)?, [\w.()]+|IECC C[\d.]+|ISO \d+|EN \d+|UFC [\d-]+, [\d-]+|UFGS \d+, [\d.]+"
)


def origin(source: str) -> str:
    """Return the clause of the standard that was read for a limit; or that the limit is a default of the tool."""
    of_its_own = source.startswith(("judgement", "default of this tool", "common practice"))
    clauses = [] if of_its_own or "from memory" in source else _CLAUSES.findall(source)
    return "; ".join(dict.fromkeys(clauses)) or DEFAULT


def _shown(limit, units: str) -> str:
    """The limit in the site's units; as its file writes it where these have none of their own for it."""
    if limit.dimension == "fraction":
        return words.amount(limit.value * 100, "%")
    written = str(limit.shown).strip()
    if limit.unit and limit.unit != "count" and not written.endswith(limit.unit):
        written = f"{written} {limit.unit}"
    unit = shown_unit(limit.dimension, units)
    if not unit or limit.dimension in ("percent", "time") or not math.isfinite(limit.value):
        return written
    return words.amount(float(to_shown(limit.value, limit.dimension, units)), unit)
