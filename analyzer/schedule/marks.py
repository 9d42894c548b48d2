"""What became of the cells of a grid: used for a value, or set aside for a named reason."""

from __future__ import annotations

from analyzer.schedule.cells import Grid, Place
from analyzer.schedule.facts import Aside, Source

STRUCK = "struck through"


class Marks:
    """The account of a grid's cells while it is read.

    Attributes
    ----------
    used : set of Place
        Cells that gave a value or a tag, as in the file.
    asides : dict of Place to Aside
    """

    def __init__(self, grid: Grid):
        self.grid = grid
        self.used: set[Place] = set()
        self.asides: dict[Place, Aside] = {}

    def source(self, row: int, column: int) -> Source:
        """Return where a cell stands."""
        at = self.grid.origin(row, column)
        return Source(self.grid.file, self.grid.sheet, self.grid.place(*at))

    def is_struck(self, row: int, column: int) -> bool:
        """Tell whether a cell's text is struck through."""
        return self.grid.origin(row, column) in self.grid.struck

    def use(self, row: int, column: int) -> None:
        """Note that a cell gave a value."""
        self.used.add(self.grid.plain(*self.grid.origin(row, column)))

    def aside(self, row: int, column: int, why: str, tag: str = "", heading: str = "") -> None:
        """Note why a cell gave none."""
        at = self.grid.origin(row, column)
        text = self.grid.text(*at)
        if text:
            self.asides.setdefault(self.grid.plain(*at), Aside(self.source(row, column), text, why, tag, heading))

    def all_aside(self, row: int, left: int, right: int, why: str) -> None:
        """Note why all cells of a row between two columns gave none."""
        for cell in self.grid.filled(row, left, right):
            self.aside(*cell, why)
