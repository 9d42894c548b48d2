"""Cells of a sheet or a page as text, each with its place: what every sort of file is made into first."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

Place = tuple[int, int]


@dataclass(frozen=True)
class Grid:
    """The cells of one sheet, page or table.

    Attributes
    ----------
    file, sheet : str
        The file's name; the sheet's title, or "page 2", or "" for a text file.
    rows : list of list of str
        All of one length; "" where a cell is empty.
    spans : dict
        Each cell of a merged block to the block's first cell.
    struck : set
        Cells whose text is struck through.
    loose : tuple of str
        Text on the page that stands in no cell: titles and notes of a PDF.
    above : tuple of str
        Lines of ``loose`` that stand right over this table and speak of it alone.
    lettered : bool
        Whether its columns have letters, as in a workbook.
    turned : bool
        Whether rows stand for columns; places are told as in the file all the same.
    first_row : int
        The file's number of the first row.
    borrowed : int
        How many of its first rows are the headings of the page before.
    unread : str
        Why the page was not read.
    """

    file: str
    sheet: str
    rows: list[list[str]]
    spans: dict[Place, Place] = field(default_factory=dict)
    struck: frozenset[Place] = frozenset()
    loose: tuple[str, ...] = ()
    above: tuple[str, ...] = ()
    lettered: bool = True
    turned: bool = False
    first_row: int = 1
    borrowed: int = 0
    unread: str = ""

    @property
    def height(self) -> int:
        """How many rows it has."""
        return len(self.rows)

    @property
    def width(self) -> int:
        """How many columns it has."""
        return len(self.rows[0]) if self.rows else 0

    def origin(self, row: int, column: int) -> Place:
        """Return the first cell of the merged block that a cell is part of; itself where it is part of none."""
        return self.spans.get((row, column), (row, column))

    def text(self, row: int, column: int) -> str:
        """Return a cell's text; a merged block has its text in each of its cells."""
        at = self.origin(row, column)
        return self.rows[at[0]][at[1]]

    def filled(self, row: int, begin: int = 0, end: int | None = None) -> list[Place]:
        """Return the first cells, once each, of what stands in a row between two columns."""
        end = self.width if end is None else end
        found = dict.fromkeys(self.origin(row, c) for c in range(begin, end) if self.text(row, c))
        return list(found)

    def transposed(self) -> Grid:
        """Return the grid with its rows as columns."""
        rows = [list(column) for column in zip(*self.rows, strict=True)]
        spans = {(c, r): (oc, orow) for (r, c), (orow, oc) in self.spans.items()}
        struck = frozenset((c, r) for r, c in self.struck)
        return replace(self, rows=rows, spans=spans, struck=struck, turned=not self.turned)

    def without_lone_lines(self) -> tuple[Grid, frozenset[Place]]:
        """Return the grid without the rows that hold one text alone, titles and notes, which are kept as loose lines.

        What stands over all else speaks of it all.
        The second value is the cells of these lines, as in the file.
        """
        lone = {row: filled[0] for row in range(self.height) if len(filled := self.filled(row)) == 1}
        lone = {row: cell for row, cell in lone.items() if cell[0] == row and not self._reaches_below(cell)}
        rows = [[""] * self.width if n in lone else list(row) for n, row in enumerate(self.rows)]
        spans = {at: first for at, first in self.spans.items() if at[0] not in lone}
        full = min((row for row in range(self.height) if row not in lone and any(self.rows[row])), default=0)
        above = (*self.above, *(self.rows[r][c] for row, (r, c) in lone.items() if row < full))
        loose = (*self.loose, *(self.rows[r][c] for r, c in lone.values()))
        grid = replace(self, rows=rows, spans=spans, loose=loose, above=above)
        return grid, frozenset(self.plain(*cell) for cell in lone.values())

    def _reaches_below(self, cell: Place) -> bool:
        return any(at[0] > cell[0] for at, first in self.spans.items() if first == cell)

    def place(self, row: int, column: int) -> str:
        """Return where a cell stands as the file's reader finds it: ``"F17"``, or ``"row 17, column 6"``."""
        if self.turned:
            row, column = column, row
        if self.lettered:
            return f"{letters(column)}{row + self.first_row}"
        return f"row {row + self.first_row}, column {column + 1}"

    def plain(self, row: int, column: int) -> Place:
        """Return a cell's row and column as in the file, whichever way round the grid is."""
        return (column, row) if self.turned else (row, column)

    def all_filled(self) -> list[Place]:
        """Return every cell that holds something, as in the file."""
        cells = [(r, c) for r, row in enumerate(self.rows) for c, text in enumerate(row) if text and r >= self.borrowed]
        return [self.plain(*cell) for cell in cells]


def letters(column: int) -> str:
    """Return the letters of a column, counted from 0: A, B .. Z, AA."""
    name = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(65 + rest) + name
    return name


def continued(grid: Grid, before: Grid, header: list[int]) -> Grid:
    """Return a page's grid under the headings of the page before it."""
    at = {row: n for n, row in enumerate(header)}
    spans = {
        (at[r], c): (at[first[0]], first[1]) for (r, c), first in before.spans.items() if r in at and first[0] in at
    }
    count = len(header)
    spans |= {(r + count, c): (first[0] + count, first[1]) for (r, c), first in grid.spans.items()}
    rows = [*(before.rows[row] for row in header), *grid.rows]
    above = grid.above or before.above
    return replace(grid, rows=rows, spans=spans, above=above, first_row=grid.first_row - count, borrowed=count)


def squared(rows: list[list[str]]) -> list[list[str]]:
    """Fill rows up to one length, leaving out what is empty at the end."""
    while rows and not any(rows[-1]):
        rows = rows[:-1]
    width = max((len(row) for row in rows), default=0)
    rows = [row + [""] * (width - len(row)) for row in rows]
    used = max((n + 1 for row in rows for n, text in enumerate(row) if text), default=0)
    return [row[:used] for row in rows]
