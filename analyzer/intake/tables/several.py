"""Tables that stand one below another in one file or sheet, each under a header of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.errors import ExportError
from analyzer.intake.tables.header import STAMP_AMONG, holds_stamp, is_sum, is_units_row, looks_like_number
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.words.vocabulary import TIME_WORDS, fold

_ABOVE = 3  # rows of data above a header; a heading has a stamp or two. Judgement
_NAMED = 0.5  # share of a row of data's cells that a header above it names. Judgement


def several_headers(rows: Sequence[list[str]], header: int | None) -> bool:
    """Tell whether another header than that of a table, or the same over other units, begins a table among the rows."""
    known = _Header.at(header, rows) if header is not None else None
    return any(
        _Header.at(n, rows) != known for n, cells in enumerate(rows) if n != header and _begins_table(n, rows, known)
    )


def table_begins(
    count: int, cells_of: Callable[[int], list[str]], names: Sequence[str] = (), may: Iterable[int] | None = None
) -> list[int]:
    """Return the rows with which the second and every further table begins, the lines above its header with it.

    Parameters
    ----------
    count : int
        How many rows there are.
    cells_of : callable
        Returns the cells of a row.
    names : sequence of str
        Of the columns of one of the tables: a header that has no word for time is known by them.
    may : iterable of int, optional
        The rows that may be headers, where that is known of others that they are none.
    """
    rows = _Rows(count, cells_of)
    like = _Header(tuple(names), ())
    begins: list[int] = []
    known: _Header | None = None
    last = 0
    for n in range(count) if may is None else may:
        if not _begins_table(n, rows, known or like):
            continue
        found = _Header.at(n, rows)
        # A header that is printed again on each page may leave out the units that stand under the first.
        if known is not None and found.names == known.names and found.units in ((), known.units):
            continue
        above = n
        while above > last and _is_title(rows[above - 1]):
            above -= 1
        if known is not None or any(_is_data(rows[m]) for m in range(last, above)):
            begins.append(above)
        known, last = found, n + 1
    return begins


def _is_data(cells: list[str]) -> bool:
    """Tell a row with a stamp and something beside it; a line such as ``Exported 1/23/2026`` is none."""
    return sum(map(bool, cells)) > 1 and holds_stamp(cells)


def holds_other_header(column: pa.ChunkedArray, name: str) -> bool:
    """Tell whether a column of stamps may hold the heading of another: a cell without a figure, or one named alike."""
    if not pa.types.is_dictionary(column.type):
        return False
    for chunk in column.chunks:
        words = chunk.dictionary.filter(pc.invert(pc.match_substring_regex(chunk.dictionary, r"\d")))
        if pc.index(chunk.dictionary, name).as_py() >= 0 or any(text or not name for text in words.to_pylist()):
            return True
    return False


def refuse_rows_above(rows: Sequence[list[str]], end: int, label: str, place: str) -> None:
    """Refuse a table above whose header rows of data stand that no header begins.

    Parameters
    ----------
    end : int
        The row of the header, or the first of the data where there is none.

    Raises
    ------
    ExportError
    """
    found = sum(len(cells) > 1 and holds_stamp(cells) and any(map(looks_like_number, cells)) for cells in rows[:end])
    if found >= _ABOVE:
        raise ExportError(
            label,
            f"{found} rows with stamps and values stand above the header, where none tells what they are",
            "Export each table into a file of its own, its header first.",
            place=place,
        )


@dataclass(frozen=True)
class _Header:
    """The names of a table's columns, and the units in a row under them."""

    names: tuple[str, ...]
    units: tuple[str, ...]

    @cached_property
    def words(self) -> frozenset[str]:
        """The names that are there."""
        return frozenset(filter(None, self.names))

    @staticmethod
    def at(n: int, rows: Sequence[list[str]]) -> _Header:
        names = rows[n]
        below = next((m for m in range(n + 1, len(rows)) if any(rows[m])), n)
        return _Header(tuple(names), tuple(rows[below]) if is_units_row(rows[below], len(names)) else ())


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


def _is_header(cells: list[str], known: _Header | None) -> bool:
    """Tell a row that names columns: one of them a time, or one that another header names as well."""
    if len(cells) < 2 or cells[0][:1].isdigit():
        return False  # as most rows of data are, and no header
    first = cells[:STAMP_AMONG]
    named = any(cell and not cell[0].isdigit() and fold(cell) in TIME_WORDS for cell in first)
    if not named and (known is None or known.words.isdisjoint(cells)):
        return False
    return not holds_stamp(cells) and not any(map(looks_like_number, filter(None, first)))


def _begins_table(n: int, rows: Sequence[list[str]], known: _Header | None) -> bool:
    """Tell a header with a row of data below it, perhaps under one of units, that has as many cells as it names."""
    cells = rows[n]
    if not _is_header(cells, known):
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
