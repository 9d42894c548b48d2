"""The accounts that a report owes its reader: cells read, the table's contract, the limits that were used."""

from __future__ import annotations

import math
import re
from collections import Counter
from pathlib import PurePosixPath

import pandas as pd

from analyzer.engine import Limit
from analyzer.findings import Results
from analyzer.ledger import Ledger
from analyzer.quantities import TERMINAL, shown_unit, to_shown
from analyzer.report import words
from analyzer.site import Site

# More files than these are told by folder and kind, and one by one only when asked for. Judgement: a screen.
MOST_FILES = 8
PACKED = (".gz", ".bz2", ".xz", ".zst")


def ledger_account(ledger: Ledger) -> dict:
    """Return the ledger as the index shows it: totals, and what was set aside and why.

    ``files`` are all of them; ``groups`` what is seen at first: many files are summed by folder and kind.
    """
    aside = ledger.set_aside
    files = [
        {
            "file": file.file,
            "read": file.cells_read,
            "used": file.cells_used,
            "aside": list(file.set_aside.items()),
            "lines": list(file.not_data_lines.items()),
            "columns": len(file.columns),
        }
        for file in ledger.files
    ]
    return {
        "read": ledger.cells_read,
        "used": ledger.cells_used,
        "aside": aside,
        "aside_total": sum(aside.values()),
        "balances": ledger.cells_read == ledger.cells_used + sum(aside.values()),
        "not_data_lines": ledger.not_data_lines,
        "files": files,
        "groups": _groups(files) if len(files) > MOST_FILES else files,
    }


def _groups(files: list[dict]) -> list[dict]:
    """Sum the accounts of files by folder and kind, in the order of their first file; a file alone keeps its name."""
    alike: dict[tuple[str, str], list[dict]] = {}
    for file in files:
        folder, _, name = file["file"].rpartition("/")
        alike.setdefault((folder, _kind(name)), []).append(file)
    return [own[0] if len(own) == 1 else _summed(folder, kind, own) for (folder, kind), own in alike.items()]


def _kind(name: str) -> str:
    """The ending of a file's name; of a packed one with that of what is packed."""
    *_, before, last = ("", "", *PurePosixPath(name.lower()).suffixes)
    return before + last if last in PACKED else last


def _summed(folder: str, kind: str, files: list[dict]) -> dict:
    aside: Counter[str] = Counter()
    lines: Counter[str] = Counter()
    for file in files:
        aside.update(dict(file["aside"]))
        lines.update(dict(file["lines"]))
    named = f"{len(files):,} files{f' ({kind})' if kind else ''}"
    return {
        "file": f"{folder}/: {named}" if folder else named,
        "read": sum(file["read"] for file in files),
        "used": sum(file["used"] for file in files),
        "aside": list(aside.items()),
        "lines": list(lines.items()),
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


NUMBERS = ("count", "1")  # units of what is only a number: "3", not "3 count"


def _shown(limit, units: str) -> str:
    """The limit in the site's units; as its file writes it where these have none of their own for it."""
    if limit.dimension == "fraction":
        return words.amount(limit.value * 100, "%")
    written = str(limit.shown).strip()
    if limit.unit in NUMBERS:
        return written.removesuffix(f" {limit.unit}")
    if limit.unit and not written.endswith(limit.unit):
        written = f"{written} {limit.unit}"
    unit = shown_unit(limit.dimension, units)
    if not unit or limit.dimension in ("percent", "time") or not math.isfinite(limit.value):
        return written
    value = float(to_shown(limit.value, limit.dimension, units))
    # A limit of a few pascals is none of zero.
    rounded_away = value and not words.number(value, unit).strip("−0.")
    return f"{value:.1g}\u202f{words.sign(unit)}" if rounded_away else words.amount(value, unit)
