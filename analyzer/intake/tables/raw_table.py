"""A file as a table of columns, before anything is known about what they mean."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.limits import LONGEST_NAME
from analyzer.intake.words.wording import Remark

_HANDFUL = 8  # distinct words of a column that are all looked at


@dataclass
class RawTable:
    """A table as it stands in its file.

    Attributes
    ----------
    label, stem : str
        How the ledger names it, and its file name without suffix (which may be a terminal's tag or a point's name).
    names : list of str
        The columns' headers; one may be empty or stand twice.
    columns : list of ChunkedArray
        Numbers, booleans, timestamps, or text as it stands.
    units : list of str or None
        The units row's cell of each column.
    preamble : list of str
        The lines above the header.
    not_data : dict
        Lines that are no data, by kind.
    assumptions : list of Remark
        What had to be taken as given to read it.
    decimal : str
        The decimal sign of numbers that stand as text.
    folders : tuple of str
        The folders in which its file lies, outermost first.
    lists : list
        The rows of sheets beside it that hold no stamps: a legend, perhaps.
    proven : bool
        Whether its numbers prove the decimal sign.
    notes : list of str
        The sentences of the sheets beside it that hold no stamps.
    """

    label: str
    stem: str
    names: list[str]
    columns: list[pa.ChunkedArray]
    units: list[str | None]
    preamble: list[str] = field(default_factory=list)
    not_data: dict[str, int] = field(default_factory=dict)
    assumptions: list[Remark] = field(default_factory=list)
    decimal: str = "."
    folders: tuple[str, ...] = ()
    lists: list[list[list[str]]] = field(default_factory=list)
    proven: bool = True
    notes: list[str] = field(default_factory=list)

    def assume(self, sentence: str, detail: str | int = "") -> None:
        """Take note of what had to be taken as given; see :class:`Remark`."""
        self.assumptions.append(Remark(self.label, sentence, detail))

    def put_column(self, at: int, column: pa.ChunkedArray) -> None:
        """Put another column in the place of one."""
        self.columns[at] = column

    def put_together(self, parts: list[int], column: pa.ChunkedArray, name: str) -> None:
        """Put one column in the place of the first of several that are parts of it."""
        self.columns[parts[0]], self.names[parts[0]], self.units[parts[0]] = column, name, None
        for at in sorted(parts[1:], reverse=True):
            del self.columns[at], self.names[at], self.units[at]

    def count_not_data(self, counts: dict[str, int]) -> None:
        """Count more lines that are no data, by kind."""
        self.not_data = {kind: self.not_data.get(kind, 0) + counts.get(kind, 0) for kind in {**self.not_data, **counts}}

    def lies_in(self, folders: tuple[str, ...]) -> None:
        """Take note of the folders in which its file lies."""
        self.folders = folders

    def keep_lists(self, lists: list[list[list[str]]]) -> None:
        """Keep the rows of sheets that hold no stamps."""
        self.lists = lists

    def keep_notes(self, notes: list[str]) -> None:
        """Keep the sentences of sheets that hold no stamps."""
        self.notes = notes

    def add_column(self, name: str, text: str) -> None:
        """Add a column with one text in all rows."""
        code = pa.array(np.zeros(self.rows, np.int32))
        self.put_beside(name, pa.chunked_array([pa.DictionaryArray.from_arrays(code, pa.array([text]))]))

    def put_beside(self, name: str, column: pa.ChunkedArray) -> None:
        """Add a column behind the others."""
        self.names.append(name)
        self.columns.append(column)
        self.units.append(None)

    def name_after(self, stem: str) -> None:
        """Name it otherwise than its file does."""
        self.stem = stem

    def fill_units(self, unit: str) -> None:
        """Give a unit to the columns that have none."""
        self.units[:] = [unit if each is None else each for each in self.units]

    def put_unit(self, at: int, unit: str) -> None:
        """Give a unit to one column."""
        self.units[at] = unit

    def let_go(self) -> None:
        """Hold the columns no longer, once they are read: a large building need not be held twice."""
        self.columns.clear()

    @property
    def rows(self) -> int:
        return len(self.columns[0]) if self.columns else 0


def text_column(texts: list[str]) -> pa.ChunkedArray:
    """Make a column of coded text."""
    return pa.chunked_array([pa.array(texts, pa.string()).dictionary_encode()])


def texts_of(column: pa.ChunkedArray, most: int = 1000) -> list[str]:
    """Return the first distinct texts of a column, for looking at; of a column with a handful of words all of them."""
    if pa.types.is_dictionary(column.type) and column.num_chunks == 1 and len(column.chunk(0).dictionary) <= _HANDFUL:
        return [str(word)[:LONGEST_NAME] for word in column.chunk(0).dictionary.to_pylist() if word is not None][:most]
    head = column.slice(0, 5 * most)
    if pa.types.is_dictionary(head.type):
        parts = [part.dictionary.take(part.indices.unique()).to_pylist() for part in head.chunks]
        values = dict.fromkeys(value for part in parts for value in part)
    else:
        values = pc.unique(head).to_pylist()
    return [str(value)[:LONGEST_NAME] for value in list(values)[:most] if value is not None]
