"""Each terminal's grid: its step, where on the clock it falls, and which of its instants are rows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.intake.limits import EVENT_GRID_SECONDS, HOLD_LIMIT_HOURS
from analyzer.intake.logs import SECOND, Logs
from analyzer.intake.moments import Samples, Series

HOLD = int(HOLD_LIMIT_HOURS * 3600) * SECOND
_SEVERAL_SECONDS = 15 * SECOND
_MOST_SLOTS = 100_000_000
_NEVER = np.iinfo(np.int64).min


@dataclass
class Clock:
    """Every owner's grid: ``step`` and ``phase`` [us]."""

    step: np.ndarray
    phase: np.ndarray

    def nearest(self, time: np.ndarray, owner: np.ndarray, times: np.ndarray | None = None) -> np.ndarray:
        """Return the owner's slot nearest to a moment; ``times`` says how many moments each owner has."""
        step, phase = self._of(owner)
        if times is not None and np.ndim(step):
            step, phase = np.repeat(step, times), np.repeat(phase, times)
        return (time + (step // 2 - phase)) // step

    def following(self, time: np.ndarray, owner: np.ndarray) -> np.ndarray:
        """Return the owner's first slot at or after a moment."""
        step, phase = self._of(owner)
        return (time + (step - 1 - phase)) // step

    def before(self, time: np.ndarray, owner: np.ndarray) -> np.ndarray:
        """Return the owner's last slot at or before a moment."""
        step, phase = self._of(owner)
        return (time - phase) // step

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
class Lanes:
    """The runs of a series, once for every owner whose interval logs they hold: their rows' slots.

    Attributes
    ----------
    owner, run : ndarray of int
        Of each lane.
    begin : ndarray of int
        Where each lane begins among ``slot``, and the end.
    slot : ndarray of int64
        The owner's slot of every row of the lane.
    straight : ndarray of bool
        Of each lane, whether its slots follow one another without a gap: then the first and last say it all.
    """

    owner: np.ndarray
    run: np.ndarray
    begin: np.ndarray
    slot: np.ndarray
    straight: np.ndarray

    @property
    def first(self) -> np.ndarray:
        """The first slot of each lane; of one that is not straight, the least."""
        return np.minimum.reduceat(self.slot, self.begin[:-1])

    @property
    def last(self) -> np.ndarray:
        """The last slot of each lane; of one that is not straight, the greatest."""
        return np.maximum.reduceat(self.slot, self.begin[:-1])

    def places(self, base: np.ndarray, *, crooked: bool) -> np.ndarray:
        """Return the places of the rows of all lanes, or of those that are not straight."""
        place = self.slot + np.repeat(base[self.owner], np.diff(self.begin))
        return place[np.repeat(~self.straight, np.diff(self.begin))] if crooked else place

    def of(self, owner: np.ndarray, run: np.ndarray) -> np.ndarray:
        """Return the lane of each pair of owner and run."""
        size = int(max(self.run.max(initial=0), run.max(initial=0))) + 1
        return np.searchsorted(self.owner * size + self.run, owner * size + run)


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
    runs = len(series.begin) - 1
    pairs = np.unique(logs.owner * runs + logs.run)
    owner, run = pairs // runs, pairs % runs
    length = np.diff(series.begin)[run]
    begin = np.r_[0, np.cumsum(length)]
    at = np.arange(begin[-1])
    if not np.array_equal(run, np.arange(runs)):
        at += np.repeat(series.begin[run] - begin[:-1], length)
        time = series.time[at]
    else:
        time = series.time
    slot = clock.nearest(time, owner, length)
    jump = np.flatnonzero(slot[1:] - slot[:-1] != 1) + 1
    crooked = np.setdiff1d(jump, begin, assume_unique=True)
    straight = np.ones(len(owner), bool)
    straight[np.searchsorted(begin, crooked, side="right") - 1] = False
    return Lanes(owner, run, begin, slot, straight)


def in_force(
    change: Samples, owner: np.ndarray, clock: Clock, lanes: list[Lanes], end: int
) -> tuple[np.ndarray, np.ndarray]:
    """Return the first and last slot of each changed value: to the next change, the hold limit or the end.

    Parameters
    ----------
    change : Samples
        In order.
    owner : ndarray of int
        Of each sample.
    end : int
        The last moment of the reading [us]: to there a terminal without an interval log is held.
    """
    first = clock.following(change.time, owner)
    final = np.full(len(clock.step), _NEVER)
    for lane in lanes:
        np.maximum.at(final, lane.owner, lane.last)
    final = np.where(final == _NEVER, (end - clock.phase) // clock.step, final)
    np.maximum.at(final, owner, first)
    until = np.minimum(clock.before(change.time + HOLD, owner), final[owner])
    follows = np.r_[change.target[1:] == change.target[:-1], False][: len(first)]
    until = np.where(follows, np.minimum(until, np.r_[first[1:], 0][: len(first)]), until)
    return first, np.maximum(until, first)


def lay_rows(clock: Clock, lanes: list[Lanes], owner: np.ndarray, first: np.ndarray, until: np.ndarray) -> Grid:
    """Lay the rows: wherever an interval log has a stamp, or a change-of-value log a value in force.

    Parameters
    ----------
    owner, first, until : ndarray of int
        The slots over which changed values stand.
    """
    owners = len(clock.step)
    low, high = np.full(owners, np.iinfo(np.int64).max), np.full(owners, _NEVER)
    for lane in lanes:
        np.minimum.at(low, lane.owner, lane.first)
        np.maximum.at(high, lane.owner, lane.last)
    np.minimum.at(low, owner, first)
    np.maximum.at(high, owner, until)
    empty = high < low
    low, size = np.where(empty, 0, low), np.where(empty, 0, high - low + 1)
    place = np.r_[0, np.cumsum(size)]
    base = place[:-1] - low
    whole = [(lane.owner[lane.straight], lane.first[lane.straight], lane.last[lane.straight]) for lane in lanes]
    owner, first, until = (np.concatenate(arrays) for arrays in zip((owner, first, until), *whole, strict=True))
    begin, end = first + base[owner], until + base[owner]
    if place[-1] <= _MOST_SLOTS:
        held = np.bincount(begin, minlength=place[-1] + 1) - np.bincount(end + 1, minlength=place[-1] + 1)
        rows = np.cumsum(held[: place[-1]]) > 0
        for lane in lanes:
            if not lane.straight.all():
                rows[lane.places(base, crooked=True)] = True
        keys, rank = np.flatnonzero(rows), np.cumsum(rows) - rows
    else:
        # A clock that jumped by years leaves a few rows far apart: list them, not the years between.
        length = end - begin + 1
        taken = [np.repeat(begin - np.cumsum(length) + length, length) + np.arange(length.sum())]
        taken += [lane.places(base, crooked=True) for lane in lanes]
        keys, rank = np.unique(np.concatenate(taken)), None
    row_owner = np.searchsorted(place[1:], keys, side="right")
    time = (keys - base[row_owner]) * clock.step[row_owner] + clock.phase[row_owner]
    return Grid(row_owner, time, base, keys, rank)
