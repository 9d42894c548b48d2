"""The drafted point list: a row a name, and a row for one terminal only where it differs."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from analyzer.draft.names import Name
from analyzer.intake.points.looks import Look
from analyzer.intake.points.patterns import is_pattern
from analyzer.intake.points.point_list import COLUMNS, PROPOSED, SHOWN, Row, proposal

HEADER = [*COLUMNS, PROPOSED, *SHOWN]
_MINUTES = 24 * 60


def point_rows(names: Sequence[Name], listed: Iterable[Row]) -> list[list[str]]:
    """Return the cells of the drafted point list, below its header.

    Parameters
    ----------
    listed : iterable of Row
        What the user said already: it stands as it was said.
    """
    said = [_listed(row) for row in listed]
    tails = tails_of([file for name in names for file in name.files])
    return said + [_drafted(name, tails) for name in names if name.certainty != "point list"]


def _drafted(name: Name, tails: dict[str, str]) -> list[str]:
    row = {
        "file": tails.get(name.file, ""),
        "column": name.column,
        "terminal": name.terminal,
        "quantity": name.quantity,
        "unit": name.unit,
        PROPOSED: proposal(name.terminal, name.quantity, name.unit),
        "certainty": name.certainty,
        "why": name.why,
        "files": str(len(name.files)),
        "example": example(name, tails),
        "range": span(name.look),
        "changes": changes(name.look),
    }
    return [row.get(column, "") for column in HEADER]


def _listed(row: Row) -> list[str]:
    cells = {
        "file": row.file, "column": row.column, "terminal": row.terminal, "quantity": row.quantity, "unit": row.unit,
        "states": ";".join(f"{code}={'on' if state else 'off'}" for code, state in row.states.items()),
        "ignore": "yes" if row.ignore else "", "certainty": "point list", "why": "the point list says so",
    }  # fmt: skip
    return [cells.get(column, "") for column in HEADER]


def example(name: Name, tails: dict[str, str]) -> str:
    """Say which point of a name was looked at, and its last value."""
    file, column = name.look.example
    general = not name.terminal or is_pattern(name.terminal)  # of a single terminal nothing was looked at
    if not general:
        file, column = name.points[0].file, name.points[0].column
    value = f" = {number(name.look.last)}" if general and math.isfinite(name.look.last) else ""
    return f"{column}{value} ({tails.get(file, file)})"


def span(look: Look) -> str:
    """Say between which numbers a name's cells lie, as the files spell them."""
    if math.isnan(look.low):
        return f"no number: {', '.join(look.words)}" if look.words else "no value"
    words = f"; also {', '.join(look.words)}" if look.words else ""
    return (number(look.low) if look.low == look.high else f"{number(look.low)} to {number(look.high)}") + words


def changes(look: Look) -> str:
    """Say how often a name's values change.

    Examples
    --------
    >>> changes(Look(changes=96, days=1))
    'every 15 min'
    """
    if math.isnan(look.low) and not look.changes:
        return ""
    if not look.changes:
        return "never"
    a_day = look.changes / max(look.days, 1e-9)
    if a_day >= 24:
        return f"every {max(1, round(_MINUTES / a_day))} min"
    return (
        f"{a_day:.0f} times a day" if a_day >= 1.5 else "once a day" if a_day >= 0.7 else f"every {1 / a_day:.0f} days"
    )


def number(value: float) -> str:
    """Spell a number as short as it can be told."""
    return f"{value:.4g}" if abs(value) < 10_000 else f"{value:.0f}"


def tails_of(files: Iterable[str]) -> dict[str, str]:
    """Shorten every file's path to the end by which no other file is meant."""
    parts = {file: file.replace("\\", "/").split("/") for file in dict.fromkeys(files)}
    tails: dict[str, str] = {}
    size = 1
    while len(tails) < len(parts):
        ends = {file: "/".join(of_file[-size:]) for file, of_file in parts.items() if file not in tails}
        counts = Counter("/".join(of_file[-size:]) for of_file in parts.values())
        tails |= {file: end for file, end in ends.items() if counts[end] == 1 or size >= len(parts[file])}
        size += 1
    return tails
