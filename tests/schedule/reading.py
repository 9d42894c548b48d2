"""What a case says that is to be read, and what was read, both as tables of SI values and words."""

from __future__ import annotations

import re
from pathlib import Path

from analyzer.quantities import known_unit
from analyzer.schedule import read_schedules
from analyzer.schedule.facts import Account
from analyzer.schedule.merged import Merged, merge
from analyzer.site.model import SCHEDULE
from tests.schedule.writing import described

_HEADING = re.compile(r"(\w+)(?:\s*\[(.*)\])?$")


def expected(text: str) -> dict[str, dict[str, float | str]]:
    """Return the table that a case expects: terminal -> column -> SI value or word."""
    head, *rows = described(text)
    columns = [_HEADING.match(cell).groups() for cell in head]
    found = {}
    for row in rows:
        values = {}
        for (name, unit), cell in zip(columns[1:], row[1:], strict=True):
            if cell:
                dimension = SCHEDULE[name]
                values[name] = cell if dimension == "text" else float(cell)
                if dimension not in ("text", "number"):
                    values[name] = known_unit(unit, dimension).to_si(float(cell))
        found[row[0]] = values
    return found


def read(*paths: Path) -> tuple[Merged, object]:
    """Return what was read of files, and the reading itself."""
    reading = read_schedules(paths)
    return merge(reading), reading


def values(merged: Merged) -> dict[str, dict[str, float | str]]:
    """Return what was read in the shape of ``expected``."""
    return {tag: {column: fact.value for column, fact in of.items()} for tag, of in merged.values.items()}


def differences(told: dict, found: dict) -> list[str]:
    """Return how two tables differ, a line each."""
    lines = []
    for tag in sorted({*told, *found}):
        if tag not in found or tag not in told:
            lines.append(f"{tag}: {'not read' if tag not in found else 'read, and not expected: ' + str(found[tag])}")
            continue
        for column in sorted({*told[tag], *found[tag]}):
            one, other = told[tag].get(column), found[tag].get(column)
            if not _same(one, other):
                lines.append(f"{tag}, {column}: expected {one}, read {other}")
    return lines


def _same(one: float | str | None, other: float | str | None) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= 0.006 * max(abs(one), abs(other), 0.01)
    return one == other


def adds_up(account: Account) -> bool:
    """Tell whether every cell is used, rejected or no value at all."""
    return account.cells == account.used + account.not_data + sum(account.set_aside.values())
