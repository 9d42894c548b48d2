"""Tables that stand one below another in one file or sheet, each under a header of its own."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.header import STAMP_AMONG, holds_stamp, is_sum, is_units_row, looks_like_number
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.words.vocabulary import TIME_WORDS, fold

_NAMED = 0.5  # share of a row of data's cells that a header above it names. Judgement


def several_headers(rows: Sequence[list[str]], header: int | None) -> bool:
    """Tell whether another header than that of a table begins a table among the rows."""
    known = rows[header] if header is not None else []
    return any(n != header and cells != known and _begins_table(n, rows) for n, cells in enumerate(rows))


def table_begins(count: int, cells_of: Callable[[int], list[str]]) -> list[int]:
    """Return the rows with which the second and every further table begins, the lines above its header with it.

    Parameters
    ----------
    count : int
        How many rows there are.
    cells_of : callable
        Returns the cells of a row.
    """
    rows = _Rows(count, cells_of)
    begins: list[int] = []
    known: list[str] | None = None
    last = 0
    for n in range(count):
        cells = rows[n]
        if not _is_header(cells) or cells == known or not _begins_table(n, rows):
            continue
        above = n
        while above > last and _is_title(rows[above - 1]):
            above -= 1
        if known is not None or any(holds_stamp(rows[m]) for m in range(last, above)):
            begins.append(above)
        known, last = cells, n + 1
    return begins


def holds_other_header(column: pa.ChunkedArray, name: str) -> bool:
    """Tell whether a column of stamps holds the heading of another: a cell without a number that names a time."""
    if not pa.types.is_dictionary(column.type):
        return False
    for chunk in column.chunks:
        words = chunk.dictionary.filter(pc.invert(pc.match_substring_regex(chunk.dictionary, r"^\W*\d")))
        if any(text == name or fold(text) in TIME_WORDS for text in words.to_pylist() if text):
            return True
    return False


def one_below_another(tables: list[RawTable]) -> list[RawTable]:
    """Say that tables stand in one file."""
    tables[0].assume("{detail} tables stand one below another, each under a header of its own.", len(tables))
    return tables


class _Rows(Sequence):
    """Rows whose cells are made as they are asked for."""

    def __init__(self, count: int, cells_of: Callable[[int], list[str]]):
        self._count, self._cells_of = count, cells_of

    def __len__(self) -> int:
        return self._count

    def __getitem__(self, n):
        return self._cells_of(n)


def _is_header(cells: list[str]) -> bool:
    """Tell a row that names columns, one of them a time."""
    if len(cells) < 2 or not any(
        cell and not cell[0].isdigit() and fold(cell) in TIME_WORDS for cell in cells[:STAMP_AMONG]
    ):
        return False
    return not holds_stamp(cells) and not any(map(looks_like_number, filter(None, cells[:STAMP_AMONG])))


def _begins_table(n: int, rows: Sequence[list[str]]) -> bool:
    """Tell a header with a row of data below it, perhaps under one of units, that has as many cells as it names."""
    cells = rows[n]
    if not _is_header(cells):
        return False
    below = next((m for m in range(n + 1, len(rows)) if any(rows[m])), None)
    if below is not None and is_units_row(rows[below], len(cells)):
        below = next((m for m in range(below + 1, len(rows)) if any(rows[m])), None)
    if below is None or not holds_stamp(rows[below]):
        return False
    return sum(map(bool, cells)) >= max(2, _NAMED * len(rows[below]))


def _is_title(cells: list[str]) -> bool:
    """Tell a line that may stand above a header: blank, or words alone that sum up nothing."""
    filled = [cell for cell in cells if cell]
    if not filled:
        return True
    return not holds_stamp(cells) and not any(map(looks_like_number, filled)) and not is_sum(filled)
