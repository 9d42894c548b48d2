"""The account of a reading while it runs: every point's cells, used and set aside, as whole arrays."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np

from analyzer.intake.points.blocks import Block
from analyzer.intake.points.entries import Log
from analyzer.intake.points.point import Point
from analyzer.intake.values.reasons import REASON, USED
from analyzer.intake.words.units import unit_of
from analyzer.ledger import REASONS, ColumnLedger, FileLedger
from analyzer.quantities import Unit


class Account:
    """Counts cells by point and reason, and numbers what the points fill.

    Attributes
    ----------
    points : list of Point
        Every point of every table: a source.
    target_of : ndarray of int32
        For each source, the quantity of a terminal that it fills; -1 where it is not mapped.
    targets : list of tuple
        Air handler or not, tag, quantity.
    tabled : list of bool
        For each source, whether it stands in a table with common stamps.
    """

    def __init__(self):
        self.points: list[Point] = []
        self.target_of = np.zeros(0, np.int32)
        self.targets: list[tuple[bool, str, str]] = []
        self.tabled: list[bool] = []
        self._number: dict[tuple, int] = {}
        self._tables: list[tuple[str, dict[str, int], int, int]] = []
        self._counts = np.zeros((0, len(REASONS) + 1), np.int64)

    @property
    def units(self) -> list[Unit]:
        """The unit in which each source's file holds it."""
        plain = Unit("", 1.0)
        return [
            (unit_of(point.unit, point.meaning.dimension) if point.mapped and point.unit else None) or plain
            for point in self.points
        ]

    def open(self, log: Log, points: list[Point], cells: np.ndarray) -> int:
        """Open the account of a table's points; return the number of the first."""
        first = len(self.points)
        self.points += points
        self.tabled += [log.layout.common_stamps] * len(points)
        self._tables.append((log.table.label, log.table.not_data, first, len(self.points)))
        self.target_of = np.r_[self.target_of, np.array([self._target(point) for point in points], np.int32)]
        counts = np.zeros((len(points), len(REASONS) + 1), np.int64)
        for at, point in enumerate(points):
            if not point.mapped:
                counts[at, REASON["ignored by the point list" if point.ignored else "unmapped column"]] = cells[at]
        self._counts = np.concatenate([self._counts, counts])
        return first

    def _target(self, point: Point) -> int:
        if not point.mapped:
            return -1
        key = point.key
        number = self._number.setdefault(key, len(self.targets))
        if number == len(self.targets):
            self.targets.append(key)
        return number

    def another(self, target: int) -> int:
        """Number a second log of what a target holds."""
        self.targets.append(self.targets[target])
        return len(self.targets) - 1

    def count(self, block: Block, reason: np.ndarray, first: int) -> None:
        """Count a block's cells by point and reason.

        Parameters
        ----------
        reason : ndarray of uint8, shape (columns, rows)
        first : int
            The number of the table's first point.
        """
        column, run = np.nonzero(block.entry >= 0)
        point = block.entry[column, run] + first
        self._counts[point, USED] += block.lengths[run]
        aside = np.zeros((len(REASONS) + 1, *block.entry.shape), np.int64)
        some = np.flatnonzero(reason.any(axis=1))
        for number in REASON.values():
            of_this = reason[some] == number
            if of_this.any():
                aside[number, some] = _counts(of_this, block.begin)
        aside = aside[:, column, run].T
        self._counts[point] += aside
        self._counts[point, USED] -= aside.sum(axis=1)

    def move(self, source: np.ndarray, reason: str) -> None:
        """Move cells of the sources from used to a reason."""
        moved = np.bincount(source, minlength=len(self.points))
        self._counts[:, USED] -= moved
        self._counts[:, REASON[reason]] += moved

    def files(self) -> list[FileLedger]:
        """Close the account: one ledger per file, sheets of a workbook each their own."""
        files: dict[str, FileLedger] = {}
        for label, not_data, first, end in self._tables:
            file = files.get(label) or FileLedger(label)
            lines = Counter(file.not_data_lines) + Counter(not_data)
            files[label] = replace(file, not_data_lines=dict(lines), columns=file.columns + self._columns(first, end))
        return list(files.values())

    def _columns(self, first: int, end: int) -> list[ColumnLedger]:
        counts = self._counts[first:end]
        every = []
        for point, used in zip(self.points[first:end], counts[:, USED].tolist(), strict=True):
            mapped = point.mapped
            every.append(
                ColumnLedger(
                    point.column,
                    point.tag if mapped else None,
                    point.quantity if mapped else None,
                    (point.unit or point.meaning.unit or None) if mapped else None,
                    used,
                )
            )
        for at, reason in np.argwhere(counts[:, 1:]).tolist():
            every[at].put_aside(REASONS[reason], counts[at, 1 + reason])
        return [every[at] for at in np.flatnonzero(counts.any(axis=1)).tolist()]


def _counts(cells: np.ndarray, begin: np.ndarray) -> np.ndarray:
    """Count what is true within each run of every column."""
    if len(begin) == 2:
        return np.count_nonzero(cells, axis=1)[:, None]
    return np.add.reduceat(cells, begin[:-1], axis=1, dtype=np.int64)
