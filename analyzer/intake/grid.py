"""Each terminal's grid: its step, where on the clock it falls, and which of its instants are rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.intake.coded import AT_A_TIME
from analyzer.intake.limits import EVENT_GRID_SECONDS
from analyzer.intake.logs import SECOND, Logs
from analyzer.intake.moments import Series

_SEVERAL_SECONDS = 15 * SECOND
_MOST_SLOTS = 100_000_000
NEVER = np.iinfo(np.int64).min


@dataclass
class Clock:
    """Every owner's grid: ``step`` and ``phase`` [us]."""

    step: np.ndarray
    phase: np.ndarray

    def nearest(self, time: np.ndarray, owner: np.ndarray) -> np.ndarray:
        """Return the owner's slot nearest to a moment."""
        step, phase = self._of(owner)
        return (time + (step // 2 - phase)) // step

    def following(self, time: np.ndarray, owner: np.ndarray) -> np.ndarray:
        """Return the owner's first slot at or after a moment."""
        step, phase = self._of(owner)
        return (time + (step - 1 - phase)) // step

    def before(self, time: np.ndarray, owner: np.ndarray) -> np.ndarray:
        """Return the owner's last slot at or before a moment."""
        step, phase = self._of(owner)
        return (time - phase) // step

    def moment(self, slot: np.ndarray, owner: np.ndarray) -> np.ndarray:
        """Return the moment of the owner's slot."""
        step, phase = self._of(owner)
        time = slot * step
        time += phase
        return time

    def _of(self, owner: np.ndarray):
        """Return step and phase for the owners; plain numbers where all share them, which divides much faster."""
        if (self.step == self.step[0]).all() and (self.phase == self.phase[0]).all():
            return self.step[0], self.phase[0]
        return self.step[owner], self.phase[owner]


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


@dataclass
class Lanes:
    """The runs of a series, once for every owner whose interval logs they hold: their rows' slots.

    Attributes
    ----------
    owner, run : ndarray of int
        Of each lane; sorted by run, then owner.
    first, last : ndarray of int64
        The least and the greatest slot of each lane.
    straight : ndarray of bool
        Of each lane, whether its slots follow one another without a gap: then first and last say it all.
    begin : ndarray of int
        Where each lane begins among ``slot``, and the end; a straight lane takes no room there.
    slot : ndarray of int64
        The owner's slot of every row of the lanes that are not straight.
    """

    owner: np.ndarray
    run: np.ndarray
    first: np.ndarray
    last: np.ndarray
    straight: np.ndarray
    begin: np.ndarray
    slot: np.ndarray

    def places(self, base: np.ndarray) -> np.ndarray:
        """Return the places of the rows of the lanes that are not straight."""
        return self.slot + np.repeat(base[self.owner], np.diff(self.begin))

    def of(self, owner: np.ndarray, run: np.ndarray) -> np.ndarray:
        """Return the lane of each pair of owner and run."""
        size = int(max(self.owner.max(initial=0), owner.max(initial=0))) + 1
        return np.searchsorted(self.run * size + self.owner, run * size + owner)


def set_clocks(every: list[Series], logs: Logs, owners: int) -> Clock:
    """Find every owner's grid: the finest interval of its interval logs, and where on the clock it falls.

    Stamps a few seconds off the full interval belong to it; a log that is steadily further off keeps its own place.
    """
    seconds = np.full(owners, np.inf)
    np.minimum.at(seconds, logs.owner, np.where(logs.interval > 0, logs.interval, np.inf))
    step = np.round(np.where(np.isfinite(seconds), seconds, EVENT_GRID_SECONDS) * SECOND).astype(np.int64)
    phase = np.zeros(owners, np.int64)
    finest = logs.take((logs.interval > 0) & (np.round(logs.interval * SECOND) == step[logs.owner]))
    if not len(finest.owner):
        return Clock(step, phase)
    each = step[finest.owner]
    offs = [(stamp + each // 2) % each - each // 2 for stamp in _three_stamps(every, finest)]
    off = np.median(offs, axis=0).astype(np.int64)
    slack = np.minimum(np.maximum(_SEVERAL_SECONDS, each // 10), each // 4)
    off = np.where(np.abs(off) <= slack, 0, off)
    nearest = pd.DataFrame({"owner": finest.owner, "off": off, "size": np.abs(off)}).sort_values("size", kind="stable")
    nearest = nearest.drop_duplicates("owner")
    phase[nearest["owner"]] = nearest["off"]
    return Clock(step, phase)


def _three_stamps(every: list[Series], logs: Logs) -> list[np.ndarray]:
    """Return the first, a middle and the last stamp of each log."""
    stamps = np.zeros((3, len(logs.owner)), np.int64)
    for number in np.unique(logs.series).tolist():
        mine = logs.series == number
        series, run = every[number], logs.run[mine]
        begin, last = series.begin[run], series.begin[run + 1] - 1
        stamps[:, mine] = series.time[np.array([begin, (begin + last) // 2, last])]
    return list(stamps)


def lay_lanes(series: Series, logs: Logs, clock: Clock) -> Lanes:
    """Find the slots of a series' rows, for every owner of its interval logs.

    Parameters
    ----------
    logs : Logs
        The interval logs of this series.
    """
    owners = len(clock.step)
    pairs = np.unique(logs.run * owners + logs.owner)
    run, owner = pairs // owners, pairs % owners
    begin, end = series.begin[run], series.begin[run + 1]
    first, last = clock.nearest(series.time[begin], owner), clock.nearest(series.time[end - 1], owner)
    straight = _exact_runs(series, clock.step[owner], run)
    bent = np.flatnonzero(~straight)
    length = np.where(straight, 0, end - begin)
    place = np.r_[0, np.cumsum(length)]
    at = np.arange(place[-1]) + np.repeat((begin - place[:-1])[bent], length[bent])
    slot = clock.nearest(series.time[at], np.repeat(owner, length))
    if len(bent):
        first[bent], last[bent] = (find.reduceat(slot, place[bent]) for find in (np.minimum, np.maximum))
    return Lanes(owner, run, first, last, straight, place, slot)


def _exact_runs(series: Series, step: np.ndarray, run: np.ndarray) -> np.ndarray:
    """Tell the lanes whose stamps are exactly a step apart throughout."""
    straight = np.zeros(len(run), bool)
    for usual in np.unique(step).tolist():
        odd = np.concatenate([np.zeros(0, np.int64), *_odd_spacings(series.time, usual)])
        crooked = np.zeros(len(series.begin), bool)
        within = np.searchsorted(series.begin, odd, side="right") - 1
        crooked[within[series.begin[within] != odd]] = True
        straight |= (step == usual) & ~crooked[run]
    return straight


def _odd_spacings(time: np.ndarray, usual: int) -> Iterator[np.ndarray]:
    """Find the rows that do not stand a step after the row before them."""
    for begin in range(1, len(time), AT_A_TIME):
        end = begin + AT_A_TIME
        yield np.flatnonzero(time[begin:end] - time[begin - 1 : end - 1][: len(time) - begin] != usual) + begin


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
    row_owner = np.repeat(np.arange(owners), np.diff(np.searchsorted(keys, place)))
    time = clock.moment(keys - base[row_owner], row_owner)
    return Grid(row_owner, time, base, keys, rank)


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
