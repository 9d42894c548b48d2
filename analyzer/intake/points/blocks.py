"""The value cells of a table as arrays: columns of numbers over shared rows, cut into runs that belong to one owner.

A wide table is many columns over one run; a tidy one a few columns over a run per terminal; a long one a single column
over a run per point. One column within one run is one log: a point of the exports.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pyarrow as pa

from analyzer.intake.points.entries import Log
from analyzer.intake.points.point import Point
from analyzer.intake.points.row_order import RowOrder, as_it_stands, run_by_run
from analyzer.intake.tables.coded import as_coded, codes, is_text, spread
from analyzer.intake.words.flags import read_flags
from analyzer.intake.words.values import FLAG, NOTHING, NUMBER, UNREADABLE, WORD, read_values
from analyzer.intake.words.wording import some


@dataclass
class Block:
    """Cells of one table.

    Attributes
    ----------
    entry : ndarray of int, shape (columns, runs)
        The point of the table in each column and run; -1 where it is not wanted.
    begin : ndarray of int, shape (runs + 1,)
        Where each run begins among the rows, and the end.
    stamp : ndarray of int, shape (rows,)
        Which of the table's distinct stamps each row has.
    number : ndarray of float64, shape (columns, rows)
        The numbers as the file spells them; 1 or 0 for a status word.
    kind : ndarray of int8, shape (columns, rows)
        ``NUMBER``, ``WORD``, ``NOTHING``, ``UNREADABLE`` or ``FLAG``.
    low, high : ndarray of float64, shape (columns, runs)
        The least and the greatest number of each log; NaN where no cell holds one.
    worst : ndarray of int8, shape (columns, runs)
        The greatest kind of each log.
    place : dict of int to ndarray of int32
        For columns with cells that are no bare numbers: where in ``texts`` each cell is, or -1.
    texts, units : list
        Those cells' spellings, and the unit that each holds beside its number (or None).
    """

    entry: np.ndarray
    begin: np.ndarray
    stamp: np.ndarray
    number: np.ndarray
    kind: np.ndarray
    low: np.ndarray = field(init=False)
    high: np.ndarray = field(init=False)
    worst: np.ndarray = field(init=False)
    place: dict[int, np.ndarray] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)
    units: list[str | None] = field(default_factory=list)

    @property
    def lengths(self) -> np.ndarray:
        return np.diff(self.begin)

    def greatest(self, values: np.ndarray, find: np.ufunc = np.maximum) -> np.ndarray:
        """Return the greatest value (or the least) of each log; nothing is asked of a table without rows."""
        if not values.size:
            return np.zeros(self.entry.shape, values.dtype)
        return find.reduceat(values, self.begin[:-1], axis=1)

    def run_as_columns(self, stamp: np.ndarray) -> Block:
        """Return the block with a column for each log and one run, where all runs have the same stamps in one order."""
        rows, logs = len(stamp), self.entry.size
        place = {
            column * self.entry.shape[1] + run: cells
            for column, whole in self.place.items()
            for run, cells in enumerate(whole.reshape(-1, rows))
        }
        block = Block(
            self.entry.reshape(logs, 1),
            np.array([0, rows]),
            stamp,
            self.number.reshape(logs, rows),
            self.kind.reshape(logs, rows),
            place,
            self.texts,
            self.units,
        )
        block.low, block.high, block.worst = (each.reshape(logs, 1) for each in (self.low, self.high, self.worst))
        return block

    def tell_bounds(self, points: list[Point]) -> None:
        """Tell each point of the table its least and its greatest number."""
        lists = (each.ravel().tolist() for each in (self.entry, self.low, self.high))
        for n, low, high in zip(*lists, strict=True):
            if n >= 0:
                points[n].bound(low, high)

    def drop(self, wanted: np.ndarray) -> None:
        """Leave out the points that are not wanted any more (a bool for each point of the table)."""
        self.entry = np.where((self.entry >= 0) & wanted[self.entry], self.entry, -1)


def gather(log: Log, points: Sequence[Point], wanted: np.ndarray | None = None) -> tuple[Block, np.ndarray]:
    """Read the cells of the points that are mapped; count the cells of every point.

    Parameters
    ----------
    wanted : ndarray of bool, optional
        Others to read instead, a bool for each point of the table.

    Returns
    -------
    Block, ndarray of int64
        The cells, and how many each point has, mapped or not.
    """
    if wanted is None:
        wanted = np.array([point.mapped for point in points], bool)
    spelled = any(point.states for point in points)  # then the spelling of words matters
    values = log.layout.values
    if log.layout.kind == "wide":
        columns = np.flatnonzero(wanted)
        entry, order = columns[:, None], as_it_stands(log.table.rows)
        counts = np.full(len(log.entries), log.table.rows)
    else:
        runs = len(log.entries) // len(values)
        entry = np.arange(len(log.entries)).reshape(len(values), runs)
        entry = np.where(wanted[entry], entry, -1)
        assert log.code is not None and log.rows is not None, "cells below each other have an owner a row"
        columns, used = np.flatnonzero((entry >= 0).any(axis=1)), np.asarray((entry >= 0).any(axis=0))
        entry, order = entry[np.ix_(columns, used)], run_by_run(log.code, log.rows, used)
        counts = np.tile(log.rows, len(values))
    shape = (len(entry), int(order.begin[-1]))
    shared = order.shared(log.stamps.code)
    stamp = order.take(log.stamps.code) if shared is None else shared
    block = Block(entry, order.begin, stamp, np.empty(shape), np.zeros(shape, np.int8))
    _read_columns(log, block, order, spelled, [values[n] for n in columns.tolist()])
    return block if shared is None else block.run_as_columns(shared), counts


def _read_columns(log: Log, block: Block, order: RowOrder, spelled: bool, columns: list[int]) -> None:
    of_table = [log.table.columns[n] for n in columns]
    numbers = [at for at, column in enumerate(of_table) if _is_number(column.type)]
    order.put_numbers([_as_float(of_table[at]) for at in numbers], block.number, numbers)
    for at, column in enumerate(of_table):
        if pa.types.is_boolean(column.type):
            block.kind[at] = WORD
        elif is_text(column):
            _decode_texts(column, log.table.decimal, block, order, at, spelled)
        elif not _is_number(column.type):
            block.number[at], block.kind[at] = np.nan, UNREADABLE
    block.low, block.high = block.greatest(block.number, np.minimum), block.greatest(block.number)
    _mark_what_is_no_number(block)
    for at, n in enumerate(columns):
        flagged = log.layout.flags.get(n, log.layout.flag)
        if flagged is not None:
            _apply_flags(log, flagged, block, order, at)
    block.worst = block.greatest(block.kind)


def _is_number(kind: pa.DataType) -> bool:
    return pa.types.is_floating(kind) or pa.types.is_integer(kind) or pa.types.is_boolean(kind)


def _as_float(column: pa.ChunkedArray) -> pa.ChunkedArray:
    return column if column.type == pa.float64() else column.cast(pa.float64(), safe=False)


def _mark_what_is_no_number(block: Block) -> None:
    """Mark the empty and the infinite among the numbers; what is left bounds their logs."""
    finite = np.isfinite(block.low) & np.isfinite(block.high)
    for at in np.flatnonzero(~finite.all(axis=1)).tolist():
        number, kind = block.number[at], block.kind[at]
        kind[np.isnan(number) & (kind <= WORD)] = NOTHING
        low, high = _bounds(number, block.begin)
        if np.isinf(low).any() or np.isinf(high).any():
            odd = np.isinf(number)
            kind[odd], number[odd] = UNREADABLE, np.nan
            low, high = _bounds(number, block.begin)
        block.low[at], block.high[at] = low, high


def _bounds(number: np.ndarray, begin: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the least and the greatest number of each log, the empty cells left out."""
    return np.fmin.reduceat(number, begin[:-1]), np.fmax.reduceat(number, begin[:-1])


def _decode_texts(column: pa.ChunkedArray, decimal: str, block: Block, order: RowOrder, at: int, spelled: bool) -> None:
    """Read a column of text through its distinct spellings."""
    whole = as_coded(column)
    code = order.take(codes(whole))
    read = read_values(whole.dictionary, decimal)
    spread(np.append(read.number, np.nan), code, block.number[at])
    if read.kind.any() or whole.null_count:
        spread(np.append(read.kind, np.int8(NOTHING)), code, block.kind[at])
    spoken = np.append(((read.kind != NUMBER) & spelled) | (read.kind == UNREADABLE), False)
    spoken[list(read.unit)] = True
    if spoken.any():
        place = np.full(len(spoken), -1, np.int32)
        named = np.flatnonzero(spoken)
        place[named] = len(block.texts) + np.arange(len(named))
        block.texts += whole.dictionary.take(pa.array(named)).to_pylist()
        block.units += [read.unit.get(n) for n in named.tolist()]
        block.place[at] = spread(place, code)


def _apply_flags(log: Log, n: int, block: Block, order: RowOrder, at: int) -> None:
    """Set aside the cells whose flag is bad; say of a flag that is neither good nor bad that its cells were used."""
    whole = as_coded(log.table.columns[n])
    bad, neither = read_flags([str(text) for text in whole.dictionary.to_pylist()])
    if any(bad):
        hit = spread(np.array([*bad, False]), order.take(codes(whole))) & (block.kind[at] != NOTHING)
        block.kind[at][hit] = FLAG
    if neither:
        log.table.assume(
            "{detail} say neither good nor bad; the values beside them were used.",
            f"{some([repr(flag) for flag in neither])} in column {log.table.names[n]!r}",
        )
