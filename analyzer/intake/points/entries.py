"""The points of a table: listed by name before any of their values is read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.points.layout import Layout
from analyzer.intake.tables.coded import AT_A_TIME, as_coded, codes, count, spread
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.stamps import Stamps
from analyzer.intake.words.units import no_unit, take_unit
from analyzer.intake.words.vocabulary import VALUE_WORDS, fold

_LISTED = 10_000_000  # combinations of texts that are counted one by one


@dataclass
class Entry:
    """One point of a table: its name as the file spells it, and what else the table says of it.

    ``owner`` is the tag that stands apart from the name; ``unit`` the unit that does, and ``unit_from`` what tells it;
    ``about`` what names the quantity where the name does not: that of the file, or a folder's. ``key`` tells logs of
    one name apart: the instrument. ``given`` says that the owner stands in a column of tags. Where a
    legend explains a coded name, ``spelled`` is that name, and ``column`` what it stands for. ``told_unit`` and
    ``told_from`` are a unit that something else tells beside that of the name or of the table.
    """

    column: str
    owner: str | None = None
    unit: str | None = None
    unit_from: str = "units row"
    about: str = ""
    key: str = ""
    given: bool = False
    spelled: str = ""
    told_unit: str | None = None
    told_from: str = ""

    @property
    def shown(self) -> str:
        """Its name as the point list spells it."""
        name = self.spelled or self.column
        return f"{name} [{self.key}]" if self.key else name


@dataclass
class Log:
    """A table whose layout and stamps are known and whose points are listed."""

    table: RawTable
    layout: Layout
    stamps: Stamps
    entries: list[Entry]
    code: np.ndarray | None = None  # long and tidy: which entry, or which owner, each row has
    rows: np.ndarray | None = None  # and how many rows each has

    def name_owners(self, entries: list[Entry]) -> None:
        """Take its points with the owners that their names were found to hold."""
        self.entries = entries


def list_entries(table: RawTable, layout: Layout, stamps: Stamps, hint: str, about: str = "") -> Log:
    """List the points of a table.

    Parameters
    ----------
    hint, about : str
        What the names of its file and folders say: whose its points are, and what they measure.
    """
    _put_place_before_tag(table, layout)
    if layout.kind == "long":
        code, rows, entries = _long_entries(table, layout)
        return Log(table, layout, stamps, entries, code, rows)
    if layout.kind == "tidy":
        keys = [layout.names[0]] if layout.key is None else [layout.names[0], layout.key]
        code, rows, texts = _distinct([as_coded(table.columns[n]) for n in keys])
        owners = list(zip(texts[0], texts[1] if layout.key is not None else [""] * len(texts[0]), strict=True))
        entries = [
            Entry(table.names[n], tag, table.units[n], key=key, given=True)
            for n in layout.values
            for tag, key in owners
        ]
        return Log(table, layout, stamps, entries, code, rows)
    unit = _only_text(table, layout.unit)
    entries = [_wide_entry(table, layout, n, hint, unit, about) for n in layout.values]
    return Log(table, layout, stamps, entries)


def _put_place_before_tag(table: RawTable, layout: Layout) -> None:
    """Where a tag stands in several buildings, floors or air handlers of a table, put these before it."""
    for n in layout.places:
        place, at = as_coded(table.columns[n]), layout.names[0]
        if len(place.dictionary) < 2:
            continue
        code, _, (places, tags) = _distinct([place, as_coded(table.columns[at])])
        if len(set(tags)) == len(tags):
            continue
        texts = pa.array([f"{place} {tag}".strip() for place, tag in zip(places, tags, strict=True)], pa.string())
        table.put_column(at, pa.chunked_array([pa.DictionaryArray.from_arrays(pa.array(code), texts)]))
        named = [tag for tag in tags if tag]
        said = (
            f"{table.names[at]!r} holds the same tags for several {table.names[n]!r}; the tags were told apart by it."
        )
        if len(set(named)) == len(named):
            said = f"rows without a {table.names[at]!r} were taken for those of the {table.names[n]!r} beside it."
        table.assume(said)


def names_by_file(table: RawTable, layout: Layout) -> bool:
    """Tell whether a table holds one point that its header does not name."""
    if layout.kind != "wide" or len(layout.values) != 1:
        return False
    header = take_unit(table.names[layout.values[0]])[0]
    return fold(header) in VALUE_WORDS or header.startswith("column ")


def _wide_entry(table: RawTable, layout: Layout, n: int, hint: str, unit: str | None, about: str) -> Entry:
    """Name a point by its column; the only column of a file that holds one point is named by the file."""
    if names_by_file(table, layout):
        in_header = take_unit(table.names[n])[1]
        for told, by in ((in_header, "header"), (table.units[n], "units row"), (unit, "unit column")):
            if told:
                return Entry(table.stem, hint, told, by, about=about)
        return Entry(table.stem, hint, about=about)
    told_by = "units row" if table.units[n] else "unit column"
    return Entry(table.names[n], hint, table.units[n] or unit, told_by, about=about)


def _only_text(table: RawTable, n: int | None) -> str | None:
    if n is None:
        return None
    texts = [text for text in pc.unique(table.columns[n].cast(pa.string())).to_pylist() if text]
    return texts[0] if len(texts) == 1 else None


def _long_entries(table: RawTable, layout: Layout) -> tuple[np.ndarray, np.ndarray, list[Entry]]:
    """Number the points of a long table: by name, owner and unit, so that a point has one unit."""
    keys = [as_coded(table.columns[n]) for n in layout.names]
    if layout.unit is not None:
        keys.append(as_coded(table.columns[layout.unit]))
    if layout.key is not None:
        keys.append(as_coded(table.columns[layout.key]))
    code, rows, texts = _distinct(keys)
    instruments = texts.pop() if layout.key is not None else [""] * len(texts[0])
    units = texts.pop() if layout.unit is not None else [""] * len(texts[0])
    names = texts[-1]
    owners = texts[0] if len(texts) > 1 else [None] * len(names)
    entries = [
        Entry(
            f"{owner} {name}" if owner else name,
            owner,
            None if no_unit(unit) else unit,
            "unit column",
            key=key,
            given=bool(owner),
        )
        for name, owner, unit, key in zip(names, owners, units, instruments, strict=True)
    ]
    return code, rows, entries


def _paired(code: np.ndarray, other: np.ndarray, size: int, kind: type) -> np.ndarray:
    """Number the pairs of two codes, of which the second is less than ``size``."""
    pairs: np.ndarray = np.empty(len(code), kind)
    for begin in range(0, len(code), AT_A_TIME):
        part = slice(begin, begin + AT_A_TIME)
        np.multiply(code[part], size, out=pairs[part], dtype=kind)
        pairs[part] += other[part]
    return pairs


def _distinct(keys: list[pa.DictionaryArray]) -> tuple[np.ndarray, np.ndarray, list[list[str]]]:
    """Number the combinations of coded texts that occur.

    Returns
    -------
    ndarray of int32, ndarray of int, list of list of str
        Each row's number; how many rows each number has, and its texts, key by key.
    """
    code = codes(keys[0])
    size = len(keys[0].dictionary) + 1
    for key in keys[1:]:
        size *= len(key.dictionary) + 1
        code = _paired(code, codes(key), len(key.dictionary) + 1, np.int32 if size < 2**31 else np.int64)
    if size <= _LISTED:
        every = count(code, size)
        used = np.flatnonzero(every)
        rows, first = every[used], used // (size // (len(keys[0].dictionary) + 1))
        if np.array_equal(first, np.arange(len(used))):
            code = codes(keys[0])  # with each of its texts the others have one
        else:
            code = spread((np.cumsum(every > 0) - 1).astype(np.int32), code)
    else:
        used, code, rows = np.unique(code, return_inverse=True, return_counts=True)
    texts: list[list[str]] = []
    left = used
    for key in reversed(keys):
        words = [str(text) for text in key.dictionary.to_pylist()] + [""]
        texts.insert(0, [words[n] for n in left % len(words)])
        left = left // len(words)
    return code.astype(np.int32, copy=False), rows, texts
