"""The value cells of a table as arrays: columns of numbers over shared rows, cut into runs that belong to one owner.

A wide table is many columns over one run; a tidy one a few columns over a run per terminal; a long one a single column
over a run per point. One column within one run is one log: a point of the exports.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pyarrow as pa

from analyzer.intake.coded import as_coded, codes
from analyzer.intake.entries import Log
from analyzer.intake.value_text import FLAG, FLAGGED, GOOD, NOTHING, NUMBER, UNREADABLE, WORD, read_values


@dataclass
class Block:
    """Cells of one table.

    Attributes
    ----------
    entry : ndarray of int, shape (columns, runs)
        The point of the table in each column and run; -1 where it is not wanted.
    begin : ndarray of int, shape (runs + 1,)
        Where each run begins among the rows, and the end.
    row : ndarray of int or None
        The table's row behind each row here; None where it is the same.
    number : ndarray of float64, shape (columns, rows)
        The numbers as the file spells them; 1 or 0 for a status word.
    kind : ndarray of int8, shape (columns, rows)
        ``NUMBER``, ``NOTHING``, ``UNREADABLE``, ``FLAG`` or ``WORD``.
    place : dict of int to ndarray of int32
        For columns with cells that are no bare numbers: where in ``texts`` each cell is, or -1.
    texts, units : list
        Those cells' spellings, and the unit that each holds beside its number (or None).
    """

    entry: np.ndarray
    begin: np.ndarray
    row: np.ndarray | None
    number: np.ndarray
    kind: np.ndarray
    place: dict[int, np.ndarray] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)
    units: list[str | None] = field(default_factory=list)

    @property
    def lengths(self) -> np.ndarray:
        return np.diff(self.begin)


def gather(log: Log, wanted: np.ndarray, *, spelled: bool) -> tuple[Block, np.ndarray]:
    """Read the cells of the wanted points; count the cells of every point.

    Parameters
    ----------
    wanted : ndarray of bool
        Which entries are to be read; the cells of the others are only counted.
    spelled : bool
        Whether the spelling of words matters: the point list spells states.

    Returns
    -------
    Block, ndarray of int64
        The cells, and the number of cells of each entry.
    """
    rows = log.table.rows
    values = log.layout.values
    if log.layout.kind == "wide":
        kept = np.flatnonzero(wanted)
        block = _empty(kept[:, None], np.array([0, rows]), None)
        _read_columns(log, block, spelled, [values[n] for n in kept.tolist()])
        return block, np.full(len(log.entries), rows)
    runs = len(log.entries) // len(values)
    entry = np.arange(len(log.entries)).reshape(len(values), runs)
    entry = np.where(wanted[entry], entry, -1)
    counts = np.bincount(log.code, minlength=runs)
    columns, used = np.flatnonzero((entry >= 0).any(axis=1)), (entry >= 0).any(axis=0)
    order = _grouping(log.code, used)
    kept = np.flatnonzero(used)
    begin = np.r_[0, np.cumsum(counts[kept])]
    block = _empty(entry[np.ix_(columns, kept)], begin, order)
    _read_columns(log, block, spelled, [values[n] for n in columns.tolist()])
    return block, np.tile(counts, len(values))


def _empty(entry: np.ndarray, begin: np.ndarray, row: np.ndarray | None) -> Block:
    shape = (len(entry), int(begin[-1]))
    return Block(entry, begin, row, np.empty(shape), np.zeros(shape, np.int8))


def _grouping(code: np.ndarray, used: np.ndarray) -> np.ndarray | None:
    """Return the rows of the used runs, run by run in the file's order; None where they all stand like that already."""
    head = code[:10_000]
    if used.all() and (head[1:] >= head[:-1]).all() and (code[1:] >= code[:-1]).all():
        return None
    # Sixteen bits are sorted by radix: linear in the rows.
    order = np.argsort(code.astype(np.uint16) if len(used) < 2**16 else code, kind="stable")
    return order if used.all() else order[used[code[order]]]


def _read_columns(log: Log, block: Block, spelled: bool, columns: list[int]) -> None:
    flag = log.layout.flag
    for at, n in enumerate(columns):
        _decode(log.table.columns[n], log.table.decimal, block, at, spelled)
        flagged = log.layout.flags.get(n, flag)
        if flagged is not None:
            _apply_flags(log.table.columns[flagged], block, at)


def _decode(column: pa.ChunkedArray, decimal: str, block: Block, at: int, spelled: bool) -> None:
    """Read a column's cells into its place in the block."""
    kind = column.type
    if pa.types.is_boolean(kind) or pa.types.is_integer(kind) or pa.types.is_floating(kind):
        number = (column if kind == pa.float64() else column.cast(pa.float64(), safe=False)).to_numpy()  # null: NaN
        block.number[at] = number if block.row is None else number[block.row]
        block.kind[at] = WORD if pa.types.is_boolean(kind) else NUMBER
        gone = np.isnan(block.number[at])
        if gone.any():
            block.kind[at][gone] = NOTHING
    elif pa.types.is_string(kind) or pa.types.is_dictionary(kind):
        _decode_texts(column, decimal, block, at, spelled)
    else:
        block.number[at], block.kind[at] = np.nan, UNREADABLE
    odd = np.isinf(block.number[at])
    if odd.any():
        block.kind[at][odd], block.number[at][odd] = UNREADABLE, np.nan


def _decode_texts(column: pa.ChunkedArray, decimal: str, block: Block, at: int, spelled: bool) -> None:
    """Read a column of text through its distinct spellings."""
    whole = as_coded(column)
    code = codes(whole)
    code = code if block.row is None else code[block.row]
    read = read_values(whole.dictionary, decimal)
    block.number[at] = np.append(read.number, np.nan)[code]
    if read.kind.any() or whole.null_count:
        block.kind[at] = np.append(read.kind, NOTHING).astype(np.int8)[code]
    spoken = np.append((read.kind != NUMBER) & spelled, False)
    spoken[list(read.unit)] = True
    if spoken.any():
        place = np.full(len(spoken), -1, np.int32)
        named = np.flatnonzero(spoken)
        place[named] = len(block.texts) + np.arange(len(named))
        block.texts += whole.dictionary.take(pa.array(named)).to_pylist()
        block.units += [read.unit.get(n) for n in named.tolist()]
        block.place[at] = place[code]


def _apply_flags(column: pa.ChunkedArray, block: Block, at: int) -> None:
    """Set aside the cells whose flag says so; a flag that says neither good nor bad leaves its cell alone."""
    whole = as_coded(column)
    bad = np.array([_is_bad(str(text)) for text in whole.dictionary.to_pylist()] + [False])
    if bad.any():
        code = codes(whole)
        hit = bad[code if block.row is None else code[block.row]] & (block.kind[at] != NOTHING)
        block.kind[at][hit] = FLAG


def _is_bad(text: str) -> bool:
    plain = " ".join(text.lower().split())
    if plain in GOOD:
        return False
    return any(word.strip(" {}") in FLAGGED for word in (plain, *plain.replace(";", ",").split(",")))
