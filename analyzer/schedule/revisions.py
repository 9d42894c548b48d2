"""Figures that a later revision of the drawings replaced: PREVIOUS beside CURRENT, DRAWING beside REVISED PER RFI."""

from __future__ import annotations

from analyzer.schedule.cells import Grid
from analyzer.schedule.columns import Column
from analyzer.schedule.figures import is_missing
from analyzer.schedule.meaning import DESIGN
from analyzer.schedule.words import read_heading

SUPERSEDED = "superseded by a later revision"


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
