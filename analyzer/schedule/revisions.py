"""Figures that a later revision of the drawings replaced: PREVIOUS beside CURRENT, DRAWING beside REVISED PER RFI."""

from __future__ import annotations

import re
from dataclasses import replace

from analyzer.schedule.cells import Grid
from analyzer.schedule.columns import Column
from analyzer.schedule.figures import is_missing
from analyzer.schedule.meaning import DESIGN, FINAL, FOUND
from analyzer.schedule.words import fold, read_heading

_NUMBERED = re.compile(r"\b(?:TEST|READING|READ|TRIAL|PASS) (?:NO )?\d\b")
SUPERSEDED = "superseded by a later revision"


def with_earlier_readings(columns: list[Column]) -> list[Column]:
    """Return the columns, numbered readings as earlier ones where a column headed FINAL or the like stands beside."""
    numbered = [bool(_NUMBERED.search(fold(column.heading))) for column in columns]
    last = {_holds(column) for column, earlier in zip(columns, numbered, strict=True) if not earlier}
    return [
        replace(column, parts=tuple(replace(part, stage=FOUND) for part in column.parts))
        if earlier and column.parts[0].stage == FINAL and _holds(column) in last
        else column
        for column, earlier in zip(columns, numbered, strict=True)
    ]


def with_old_and_new(columns: list[Column]) -> list[Column]:
    """Return the columns, those headed NEW as what holds where OLD stands beside and nothing was measured.

    One headed ORIGINAL is no reading where one headed REVISED stands beside it.

    A balancer's old and new figures stand beside design figures, or are flow coefficients.
    """
    if any("REVISED" in fold(column.heading).split() for column in columns):
        columns = [_as_design(column) if "ORIGINAL" in fold(column.heading).split() else column for column in columns]
    final = [column for column in columns if any(part.stage == FINAL for part in column.parts)]
    stages = {part.stage for column in columns for part in column.parts}
    new = all("NEW" in fold(column.heading).split() for column in final)
    old = any({"OLD", "EXISTING", "EXIST"} & set(fold(column.heading).split()) for column in columns)
    if not (final and new and old) or DESIGN in stages or any(column.name == "flow_coefficient" for column in final):
        return columns
    return [_as_design(column) if column in final else column for column in columns]


def _as_design(column: Column) -> Column:
    return replace(column, parts=tuple(replace(part, stage=None) for part in column.parts))


class Revisions:
    """Tells which figures of a table no longer hold.

    Those of a column headed PREVIOUS never do; those of one beside a column headed REVISED do where this one is blank.
    """

    def __init__(self, grid: Grid, columns: list[Column]):
        self._grid = grid
        told = {column.at: set(read_heading(column.heading.replace(" / ", "\n")).concepts) for column in columns}
        self._previous = {at for at, words in told.items() if "PREVIOUS" in words}
        revised = {_holds(column): column.at for column in columns if "REVISED" in told[column.at]}
        self._revised = {
            column.at: at for column in columns
            if column.name and (at := revised.get(_holds(column), column.at)) != column.at
        }  # fmt: skip

    def supersede(self, row: int, at: int) -> bool:
        """Tell whether a row's cell gives way to a later one, or says itself that it is of an earlier revision."""
        later = self._revised.get(at)
        return at in self._previous or later is not None and not is_missing(self._grid.text(row, later))


def _holds(column: Column) -> tuple[tuple[str, str], ...]:
    return tuple((part.name, part.stage or DESIGN) for part in column.parts)
