"""The rows of a table brought together: those of one owner, or of one point, run by run."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

_COUNTED = 4096  # runs that Arrow sorts by counting them; more it would compare
_LOOKED_AT = 10_000  # first rows, which tell most tables that are in another order


class RowOrder:
    """How a table's rows come to stand run by run, in the file's order within each run.

    Attributes
    ----------
    begin : ndarray of int, shape (runs + 1,)
        Where each run begins among the rows, and the end.
    """

    def __init__(self, begin: np.ndarray, *, turned: np.ndarray | None = None, listed: pa.Array | None = None):
        self.begin = begin
        self._turned, self._listed = turned, listed

    def take(self, column: np.ndarray) -> np.ndarray:
        """Return a column of the table in this order; the column itself where it stands like that already."""
        if self._turned is not None:
            rounds = column.reshape(-1, len(column) // self._rounds)
            return np.ascontiguousarray(rounds.T if self._turned.all() else rounds[:, self._turned].T).reshape(-1)
        if self._listed is None:
            return column
        return pc.take(pa.array(column), self._listed, boundscheck=False).to_numpy()

    def put_numbers(self, columns: list[pa.ChunkedArray], out: np.ndarray, at: list[int]) -> None:
        """Put columns of numbers of the table into those rows of ``out`` in this order; null becomes NaN."""
        stands = self._turned is None and self._listed is None
        for row, column in zip(at, columns, strict=True):
            if stands:
                _put(column, out[row])
            else:
                out[row] = self.take(column.to_numpy())

    def shared(self, stamp: np.ndarray) -> np.ndarray | None:
        """Return the stamps of one run, where there are several and all have the same in the same order; else None."""
        rows = np.diff(self.begin)
        if len(rows) < 2 or (rows != rows[0]).any() or not rows[0]:
            return None
        if self._turned is not None:
            rounds = stamp.reshape(rows[0], -1)
            same = (rounds[:8] == rounds[:8, :1]).all() and (rounds == rounds[:, :1]).all()
            return rounds[:, 0].copy() if same else None
        runs = self.take(stamp).reshape(len(rows), -1)
        return runs[0] if (runs[:2] == runs[0]).all() and (runs == runs[0]).all() else None

    @property
    def _rounds(self) -> int:
        return int(self.begin[1] - self.begin[0])


def _put(column: pa.ChunkedArray, out: np.ndarray) -> None:
    begin = 0
    for chunk in column.chunks:
        out[begin : begin + len(chunk)] = chunk.to_numpy(zero_copy_only=False)  # null is NaN
        begin += len(chunk)


def as_it_stands(rows: int) -> RowOrder:
    """Return the order of a table that is one run."""
    return RowOrder(np.array([0, rows]))


def run_by_run(code: np.ndarray, counts: np.ndarray, used: np.ndarray) -> RowOrder:
    """Find the order that brings the rows of each run together.

    Parameters
    ----------
    code : ndarray of int
        The run of each row.
    counts : ndarray of int
        The rows of each run.
    used : ndarray of bool
        Of each run, whether it is wanted.
    """
    begin = np.r_[0, np.cumsum(counts[used])]
    if used.all() and _both(code, lambda part: bool((part[1:] >= part[:-1]).all())):
        return RowOrder(begin)
    if used.any() and _takes_turns(code, len(counts)):
        return RowOrder(begin, turned=used)
    order = _sorted(code, len(used))
    return RowOrder(begin, listed=order if used.all() else order.filter(pa.array(used[code[order.to_numpy()]])))


def _sorted(code: np.ndarray, runs: int) -> pa.Array:
    """Return the rows in the order of their runs; those of one run stay in theirs. Linear in the rows."""
    if runs <= _COUNTED:
        return pc.array_sort_indices(pa.array(code))
    # Sixteen bits are sorted by radix.
    return pa.array(np.argsort(code.astype(np.uint16) if runs < 2**16 else code, kind="stable").view(np.uint64))


def _takes_turns(code: np.ndarray, runs: int) -> bool:
    """Tell rows that come round in one order, one of every run each time: then no sorting is needed."""
    first = code[:runs]
    if len(code) % runs or (first[1:] <= first[:-1]).any():
        return False
    return _both(code, lambda part: bool((part[runs:] == part[:-runs]).all()), at_least=2 * runs)


def _both(code: np.ndarray, test, at_least: int = 0) -> bool:
    """Tell whether the first rows, and then all, pass a test."""
    return test(code[: max(_LOOKED_AT, at_least)]) and test(code)
