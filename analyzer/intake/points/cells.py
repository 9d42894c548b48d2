"""The numbers of single points, at their moments: for what has to compare the logs of a few."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from analyzer.intake.points.blocks import Block
from analyzer.intake.points.entries import Log
from analyzer.intake.points.point import Point
from analyzer.intake.tables.stamps import GOOD


class Opened(Protocol):
    """A table whose points are mapped."""

    log: Log
    points: list[Point]
    block: Block


def log_of_each(opened: Opened) -> list[int]:
    """Return which log of its table's block each point is, counted column by column; -1 for none."""
    entry = opened.block.entry.ravel()
    there = np.flatnonzero(entry >= 0)
    log = np.full(len(opened.points), -1)
    log[entry[there]] = there
    return log.tolist()


def cells_of(opened: Opened, log: int) -> tuple[np.ndarray, np.ndarray]:
    """Return the moments [us, UTC] and the numbers of a log, as the file spells them; empty cells are left out."""
    block, stamps = opened.block, opened.log.stamps
    if log < 0:
        return np.zeros(0, np.int64), np.zeros(0)
    column, run = divmod(log, block.entry.shape[1])
    part = slice(block.begin[run], block.begin[run + 1])
    code, value = block.stamp[part], block.number[column, part]
    good = (stamps.reason[code] == GOOD) & ~np.isnan(value)
    return stamps.first[code[good]], value[good]


class Cells:
    """Finds the cells of any point of a reading; what was found once is kept."""

    def __init__(self, logs: Sequence[Opened]):
        self._place = {
            id(point): (opened, log)
            for opened in logs
            for point, log in zip(opened.points, log_of_each(opened), strict=True)
        }
        self._found: dict[int, tuple[np.ndarray, np.ndarray]] = {}

    def of(self, point: Point) -> tuple[np.ndarray, np.ndarray]:
        """Return the moments and the numbers of a point."""
        if id(point) not in self._found:
            self._found[id(point)] = cells_of(*self._place[id(point)])
        return self._found[id(point)]

    def rows(self, point: Point) -> int:
        """Return how many cells a point has, empty ones too."""
        opened, log = self._place[id(point)]
        run = log % opened.block.entry.shape[1]
        return int(opened.block.lengths[run]) if log >= 0 else 0
