"""Which of the terminals' slots are rows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.intake.grid.clocks import Clock
from analyzer.intake.grid.lanes import Lanes

_MOST_SLOTS = 100_000_000
NEVER = np.iinfo(np.int64).min


@dataclass
class Grid:
    """The rows of a table.

    Attributes
    ----------
    owner, time : ndarray
        Of each row: which terminal, and the moment [us, UTC]; sorted.
    base : ndarray of int64
        For each owner, what turns its slots into places among the slots of all.
    keys : ndarray of int64
        Of each row: its place among the slots of all.
    rank : ndarray or None
        Of each place: how many rows stand before it; None where there are too many to list.
    """

    owner: np.ndarray
    time: np.ndarray
    base: np.ndarray
    keys: np.ndarray
    rank: np.ndarray | None

    def row_of(self, owner: np.ndarray, slot: np.ndarray) -> np.ndarray:
        """Return the row at a slot, or the first row after it."""
        return self.row_at(slot + self.base[owner])

    def row_at(self, place: np.ndarray) -> np.ndarray:
        """Return the row at a place, or the first row after it."""
        return np.searchsorted(self.keys, place) if self.rank is None else self.rank[place]


@dataclass
class Spans:
    """Stretches of slots: whose, and from which to which."""

    owner: np.ndarray
    first: np.ndarray
    last: np.ndarray

    def take(self, which: np.ndarray) -> Spans:
        """Return some of them."""
        return Spans(self.owner[which], self.first[which], self.last[which])

    def next_after(self, owner: np.ndarray, slot: np.ndarray) -> np.ndarray:
        """Return the first slot of an owner's next stretch after a slot, or a slot far away; they are in order."""
        after = np.full(len(slot), np.iinfo(np.int64).max)
        if not len(self.owner):
            return after
        low = min(self.first.min(), slot.min())
        size = max(self.first.max(), slot.max()) - low + 1
        at = np.searchsorted(self.owner * size + (self.first - low), owner * size + (slot - low), side="right")
        there = np.minimum(at, len(self.owner) - 1)
        found = (at < len(self.owner)) & (self.owner[there] == owner)
        after[found] = self.first[there[found]]
        return after

    def places(self, base: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the first and last place of each among the slots of all; ``base`` as in a ``Grid``."""
        return self.first + base[self.owner], self.last + base[self.owner]

    def without(self, keys: np.ndarray, base: np.ndarray) -> np.ndarray:
        """Return the places that lie within none of them; they are in order, and so are these."""
        begin, end = self.places(base)
        if not len(begin):
            return keys
        before = np.searchsorted(begin, keys, side="right") - 1
        return keys[(before < 0) | (keys > end[before])]


def lay_rows(clock: Clock, lanes: list[Lanes], standing: Spans, silences: Spans) -> Grid:
    """Lay the rows: wherever an interval log has a stamp, or a change-of-value log a value in force.

    Parameters
    ----------
    standing : Spans
        The slots over which changed values stand.
    silences : Spans
        Those over which they do not, for all that.
    """
    owner, first, until = standing.owner, standing.first, standing.last
    owners = len(clock.step)
    low, high = np.full(owners, np.iinfo(np.int64).max), np.full(owners, NEVER)
    for lane in lanes:
        np.minimum.at(low, lane.owner, lane.first)
        np.maximum.at(high, lane.owner, lane.last)
    np.minimum.at(low, owner, first)
    np.maximum.at(high, owner, until)
    empty = high < low
    low, size = np.where(empty, 0, low), np.where(empty, 0, high - low + 1)
    place = np.r_[0, np.cumsum(size)]
    base = place[:-1] - low
    if _without_a_gap(lanes, low, high):
        keys = rank = np.arange(place[-1])
    else:
        keys, rank = _taken_places(lanes, standing, silences, base, int(place[-1]))
    rows = np.diff(np.searchsorted(keys, place))
    return Grid(np.repeat(np.arange(owners), rows), clock.moments(keys, base, rows), base, keys, rank)


def _taken_places(lanes: list[Lanes], standing: Spans, silences: Spans, base: np.ndarray, size: int):
    """Return the places that are rows, and of each place how many rows stand before it (``keys``, ``rank``)."""
    whole = [Spans(lane.owner, lane.first, lane.last).take(lane.straight).places(base) for lane in lanes]
    begin, end = (np.concatenate(ends) for ends in zip(standing.places(base), *whole, strict=True))
    if size > _MOST_SLOTS:
        # A clock that jumped by years leaves a few rows far apart: list them, not the years between.
        length = end - begin + 1
        taken = [np.repeat(begin - np.cumsum(length) + length, length) + np.arange(length.sum())]
        taken += [lane.places(base) for lane in lanes]
        return silences.without(np.unique(np.concatenate(taken)), base), None
    rows = _covered(begin, end, size)
    if len(silences.owner):
        rows &= ~_covered(*silences.places(base), size)
    for lane in lanes:
        rows[lane.places(base)] = True
    return np.flatnonzero(rows), np.cumsum(rows) - rows


def _without_a_gap(lanes: list[Lanes], low: np.ndarray, high: np.ndarray) -> bool:
    """Tell whether every owner has an interval log without a gap from its first slot to its last."""
    whole = np.zeros(len(low), bool)
    for lane in lanes:
        spans = lane.straight & (lane.first == low[lane.owner]) & (lane.last == high[lane.owner])
        whole[lane.owner[spans]] = True
    return bool(whole.all())


def _covered(begin: np.ndarray, end: np.ndarray, size: int) -> np.ndarray:
    """Tell which places lie within one of the stretches."""
    depth = np.bincount(begin, minlength=size + 1) - np.bincount(end + 1, minlength=size + 1)
    return np.cumsum(depth[:size]) > 0
