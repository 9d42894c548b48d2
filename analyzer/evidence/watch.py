"""What a reading saw of the points that a finding rests on: their cells' stamps, names and values."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import pyarrow as pa

from analyzer.evidence.raw_rows import spelled
from analyzer.intake.points.blocks import Block
from analyzer.intake.points.entries import Log
from analyzer.intake.points.looks import Looks
from analyzer.intake.points.point import Point
from analyzer.intake.tables.stamps import GOOD


@dataclass(frozen=True)
class Cells:
    """The cells of one point between two moments.

    Attributes
    ----------
    label, header : str
        The table, and the heading of the column of values.
    stamp : list of tuple of str
        For each cell, the text of its stamp (or of its date and its time of day).
    names : tuple of str
        What stands beside the values and names the point, in a long or tidy table.
    time : ndarray of int64
        Moments [us, UTC].
    value : ndarray of float64
        SI, as it was used; NaN where the cell was rejected.
    """

    point: Point
    label: str
    header: str
    stamp: list[tuple[str, ...]]
    names: tuple[str, ...]
    time: np.ndarray
    value: np.ndarray


@dataclass(frozen=True)
class _Seen:
    """A table that holds a wanted tag, before its columns are let go."""

    log: Log
    points: Sequence[Point]
    block: Block
    times: list[pa.ChunkedArray]
    beside: list[pa.ChunkedArray]


class Watch(Looks):
    """Keeps, while files are read, what is needed to find the cells of some tags again."""

    def __init__(self, tags: Collection[str]):
        super().__init__()
        self._tags = set(tags)
        self._seen: list[_Seen] = []

    def see(self, log: Log, points: Sequence[Point], block: Block) -> None:
        """Take note of a table that holds a point of the tags."""
        if any(point.tag in self._tags for point in points):
            columns, layout = log.table.columns, log.layout
            beside = [*layout.names, *([layout.key] if layout.key is not None else [])]
            times, names = ([columns[n] for n in which] for which in (layout.time, beside))
            self._seen.append(_Seen(log, points, block, times, names))

    def cells(self, keys: Collection[tuple[bool, str, str]], windows: list[tuple[int, int]]) -> list[Cells]:
        """Return the cells of some points, by (air handler or not, tag, quantity), within windows [us, UTC].

        With the last one before each window: it is in force as the window begins.
        """
        return [
            _cells(seen, n, point, windows)
            for seen in self._seen
            for n, point in enumerate(seen.points)
            if point.mapped and point.key in keys and (seen.block.entry == n).any()
        ]


def _cells(seen: _Seen, n: int, point: Point, windows: list[tuple[int, int]]) -> Cells:
    log, block = seen.log, seen.block
    column, run = np.argwhere(block.entry == n)[0].tolist()
    part = slice(block.begin[run], block.begin[run + 1])
    code = block.stamp[part]
    time = log.stamps.first[code]
    good = log.stamps.reason[code] == GOOD
    kept = np.zeros(len(time), bool)
    for begin, end in windows:
        kept |= good & (time >= begin) & (time <= end)
        if (before := good & (time < begin)).any():
            kept |= before & (time == time[before].max())
    values, entries = log.layout.values, len(log.entries)
    runs = 1 if log.layout.kind == "wide" else entries // len(values)
    spelling = {
        one: tuple(spelled(each[row].as_py()) for each in seen.times)
        for one, row in zip(*np.unique(log.stamps.code, return_index=True), strict=True)
        if one in set(code[kept].tolist())
    } if len(code[kept]) else {}  # fmt: skip
    names: tuple[str, ...] = ()
    if log.code is not None:
        row = int(np.flatnonzero(log.code == n % runs)[0])
        names = tuple(filter(None, (spelled(each[row].as_py()) for each in seen.beside)))
    return Cells(
        point, log.table.label, log.table.names[values[n // runs]], [spelling[one] for one in code[kept].tolist()],
        names, time[kept], block.number[column, part][kept],
    )  # fmt: skip
