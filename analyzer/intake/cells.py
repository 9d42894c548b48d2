"""Every value cell of a table as one long column, grouped by point: the form in which the rest of the reader works."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.layout import Layout
from analyzer.intake.stamps import Stamps
from analyzer.intake.tables import RawTable
from analyzer.intake.unit_text import no_unit
from analyzer.intake.value_text import FLAG, FLAGGED, GOOD, NOTHING, NUMBER, UNREADABLE, WORD, ValueTexts


@dataclass
class Entry:
    """One point of a table: its name as the file spells it, and what else the table says of it.

    ``owner`` is the tag that stands apart from the name; ``unit`` what a units row or unit column says.
    """

    column: str
    owner: str | None = None
    unit: str | None = None


@dataclass
class Cells:
    """The value cells of a table, those of one point together, in the file's order within a point.

    Attributes
    ----------
    point : ndarray of int32
        Which entry each cell belongs to.
    row : ndarray of int32
        The row in which it stood.
    number : ndarray of float64
        Its number; 1 or 0 for a status word.
    kind : ndarray of int8
        ``NUMBER``, ``NOTHING``, ``UNREADABLE``, ``FLAG`` or ``WORD``.
    text : ndarray of int32
        Place in ``texts`` of cells that are not bare numbers, -1 for the others.
    texts, units : list
        Those cells' spellings, and the unit that each holds beside its number (or None).
    """

    point: np.ndarray
    row: np.ndarray
    number: np.ndarray
    kind: np.ndarray
    text: np.ndarray
    texts: list[str] = field(default_factory=list)
    units: list[str | None] = field(default_factory=list)

    def take(self, which: np.ndarray) -> Cells:
        """Return some of the cells: a mask, or an order."""
        arrays = (self.point, self.row, self.number, self.kind, self.text)
        return Cells(*(array[which] for array in arrays), self.texts, self.units)


@dataclass
class Log:
    """A table whose layout and stamps are known and whose points are listed."""

    table: RawTable
    layout: Layout
    stamps: Stamps
    entries: list[Entry]
    code: np.ndarray | None = None  # long and tidy: which entry, or which owner, each row has


def list_entries(table: RawTable, layout: Layout, stamps: Stamps, hint: str) -> Log:
    """List the points of a table."""
    if layout.kind == "long":
        code, entries = _long_entries(table, layout)
        return Log(table, layout, stamps, entries, code)
    if layout.kind == "tidy":
        owners = _coded(table.columns[layout.names[0]])
        tags = owners.dictionary.to_pylist()
        entries = [
            Entry(table.names[n], tag or "", table.units[n])
            for n in layout.values
            for tag in [str(t) for t in tags] + [""]
        ]
        return Log(table, layout, stamps, entries, _codes(owners))
    unit = _only_text(table, layout.unit)
    entries = [Entry(_wide_name(table, layout, n), hint, table.units[n] or unit) for n in layout.values]
    return Log(table, layout, stamps, entries)


def _wide_name(table: RawTable, layout: Layout, n: int) -> str:
    """Name a point by its column; the only column of a file that holds one point is named by the file."""
    from analyzer.intake.layout import VALUE_WORDS, fold

    if len(layout.values) == 1 and (fold(table.names[n]) in VALUE_WORDS or table.names[n].startswith("column ")):
        return table.stem
    return table.names[n]


def _only_text(table: RawTable, n: int | None) -> str | None:
    if n is None:
        return None
    texts = [text for text in pc.unique(table.columns[n].cast(pa.string())).to_pylist() if text]
    return texts[0] if len(texts) == 1 else None


def _coded(column: pa.ChunkedArray) -> pa.DictionaryArray:
    if not pa.types.is_dictionary(column.type):
        column = column.cast(pa.string()).dictionary_encode()
    whole = column.unify_dictionaries().combine_chunks()
    return whole.chunk(0) if isinstance(whole, pa.ChunkedArray) else whole


def _codes(coded: pa.DictionaryArray) -> np.ndarray:
    """Return the codes; empty cells get the code after the last."""
    return pc.fill_null(coded.indices.cast(pa.int32()), len(coded.dictionary)).to_numpy(zero_copy_only=False)


def _long_entries(table: RawTable, layout: Layout) -> tuple[np.ndarray, list[Entry]]:
    """Number the points of a long table: by name, owner and unit, so that a point has one unit."""
    keys = [_coded(table.columns[n]) for n in layout.names]
    if layout.unit is not None:
        keys.append(_coded(table.columns[layout.unit]))
    code = _codes(keys[0]).astype(np.int64)
    for key in keys[1:]:
        code = code * (len(key.dictionary) + 1) + _codes(key)
    used = np.unique(code) if len(keys) > 1 else np.arange(len(keys[0].dictionary) + 1)
    if len(keys) > 1:
        code = np.searchsorted(used, code)
    texts = [[str(text) for text in key.dictionary.to_pylist()] + [""] for key in keys]
    parts = []
    left = used
    for key in reversed(texts):
        parts.insert(0, [key[n] for n in left % len(key)])
        left = left // len(key)
    units = parts.pop() if layout.unit is not None else [""] * len(used)
    names = parts[-1]
    owners = parts[0] if len(parts) > 1 else [None] * len(used)
    entries = [
        Entry(f"{owner} {name}" if owner else name, owner, None if no_unit(unit) else unit)
        for name, owner, unit in zip(names, owners, units, strict=True)
    ]
    return code.astype(np.int32), entries


def gather(log: Log, wanted: np.ndarray) -> tuple[Cells, np.ndarray]:
    """Read the cells of the wanted points; count the cells of every point.

    Parameters
    ----------
    wanted : ndarray of bool
        Which entries are to be read; the cells of the others are only counted.

    Returns
    -------
    Cells, ndarray of int64
        The cells, and the number of cells of each entry.
    """
    if log.layout.kind == "long":
        return _gather_long(log, wanted)
    if log.layout.kind == "tidy":
        return _gather_tidy(log, wanted)
    return _gather_wide(log, wanted)


def _gather_wide(log: Log, wanted: np.ndarray) -> tuple[Cells, np.ndarray]:
    rows = log.table.rows
    kept = np.flatnonzero(wanted)
    cells = _empty(len(kept) * rows)
    for place, entry in enumerate(kept.tolist()):
        n = log.layout.values[entry]
        part = slice(place * rows, (place + 1) * rows)
        _decode(log.table.columns[n], log.table.decimal, cells, part)
        flag = log.layout.flags.get(n, log.layout.flag)
        if flag is not None:
            _apply_flags(log.table.columns[flag], cells, part)
    cells.point[:] = np.repeat(kept, rows)
    cells.row[:] = np.tile(np.arange(rows, dtype=np.int32), len(kept))
    return cells, np.full(len(log.entries), rows)


def _gather_tidy(log: Log, wanted: np.ndarray) -> tuple[Cells, np.ndarray]:
    rows, owners = log.table.rows, len(log.entries) // max(1, len(log.layout.values))
    order = _grouping(log.code)
    code = log.code[order] if order is not None else log.code
    kept = [n for n in range(len(log.layout.values)) if wanted[n * owners : (n + 1) * owners].any()]
    cells = _empty(len(kept) * rows)
    for place, n in enumerate(kept):
        part = slice(place * rows, (place + 1) * rows)
        column = log.table.columns[log.layout.values[n]]
        _decode(column if order is None else column.take(pa.array(order)), log.table.decimal, cells, part)
        if log.layout.flag is not None:
            flags = log.table.columns[log.layout.flag]
            _apply_flags(flags if order is None else flags.take(pa.array(order)), cells, part)
        cells.point[part] = code + n * owners
        cells.row[part] = np.arange(rows) if order is None else order
    counts = np.tile(np.bincount(log.code, minlength=owners), len(log.layout.values))
    return _only(cells, wanted), counts


def _gather_long(log: Log, wanted: np.ndarray) -> tuple[Cells, np.ndarray]:
    rows = log.table.rows
    cells = _empty(rows)
    _decode(log.table.columns[log.layout.values[0]], log.table.decimal, cells, slice(0, rows))
    if log.layout.flag is not None:
        _apply_flags(log.table.columns[log.layout.flag], cells, slice(0, rows))
    cells.point[:] = log.code
    cells.row[:] = np.arange(rows, dtype=np.int32)
    counts = np.bincount(log.code, minlength=len(log.entries))
    order = _grouping(log.code)
    if order is not None:
        cells = cells.take(order)
    return _only(cells, wanted), counts


def _grouping(code: np.ndarray) -> np.ndarray | None:
    """Return the order that puts each group's rows together, the file's order kept; None where they already are."""
    if len(code) < 2 or (np.diff(code) >= 0).all():
        return None
    if len(code) and code.max() < 2**16:
        return np.argsort(code.astype(np.uint16), kind="stable")  # a radix sort: linear in the rows
    return np.argsort(code, kind="stable")


def _only(cells: Cells, wanted: np.ndarray) -> Cells:
    keep = wanted[cells.point]
    if keep.all():
        return cells
    return cells.take(keep)


def _empty(size: int) -> Cells:
    return Cells(
        np.empty(size, np.int32),
        np.empty(size, np.int32),
        np.empty(size),
        np.zeros(size, np.int8),
        np.full(size, -1, np.int32),
    )


def _decode(column: pa.ChunkedArray, decimal: str, cells: Cells, part: slice) -> None:
    """Read a column's cells into their part of the whole."""
    kind = column.type
    if pa.types.is_boolean(kind):
        cells.number[part] = pc.fill_null(column.cast(pa.float64()), np.nan).to_numpy()
        cells.kind[part] = np.where(np.isnan(cells.number[part]), NOTHING, WORD)
    elif pa.types.is_integer(kind) or pa.types.is_floating(kind):
        number = column.cast(pa.float64(), safe=False).to_numpy()  # null becomes NaN
        cells.number[part] = number
        gone = np.isnan(number)
        if gone.any():
            cells.kind[part][gone] = NOTHING
    elif pa.types.is_string(kind) or pa.types.is_dictionary(kind):
        coded = _coded(column)
        code = _codes(coded)
        read = ValueTexts(coded.dictionary, decimal)
        number, sort = np.append(read.number, np.nan), np.append(read.kind, NOTHING)
        cells.number[part], cells.kind[part] = number[code], sort[code]
        spoken = np.append(read.kind != NUMBER, False)
        spoken[list(read.unit)] = True
        if spoken.any():
            known = {text: n for n, text in enumerate(cells.texts)}
            place = np.full(len(spoken), -1, np.int32)
            for at in np.flatnonzero(spoken).tolist():
                text = coded.dictionary[at].as_py()
                if text not in known:
                    known[text] = len(cells.texts)
                    cells.texts.append(text)
                    cells.units.append(read.unit.get(at))
                place[at] = known[text]
            cells.text[part] = place[code]
    else:
        cells.number[part], cells.kind[part] = np.nan, UNREADABLE
    odd = np.isinf(cells.number[part])
    if odd.any():
        cells.kind[part][odd], cells.number[part][odd] = UNREADABLE, np.nan


def _apply_flags(column: pa.ChunkedArray, cells: Cells, part: slice) -> None:
    """Set aside the cells whose flag says so; a flag that says neither good nor bad leaves its cell alone."""
    coded = _coded(column.cast(pa.string()) if not pa.types.is_dictionary(column.type) else column)
    bad = np.array([_is_bad(str(text)) for text in coded.dictionary.to_pylist()] + [False])
    hit = bad[_codes(coded)] & (cells.kind[part] != NOTHING)
    cells.kind[part][hit] = FLAG


def _is_bad(text: str) -> bool:
    plain = " ".join(text.lower().split())
    if plain in GOOD:
        return False
    return any(word.strip(" {}") in FLAGGED for word in (plain, *plain.replace(";", ",").split(",")))
