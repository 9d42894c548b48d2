"""Each terminal's grid: its step, where on the clock it falls, and which of its instants are rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.intake.coded import AT_A_TIME
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

    def moment(self, place: np.ndarray, owner: np.ndarray, base: np.ndarray) -> np.ndarray:
        """Return the moment of the owner's slot at a place among the slots of all; ``base`` as in a ``Grid``."""
        step, _ = self._of(owner)
        return place * step + (self.phase - base * self.step)[owner]

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
                rows[lane.places(base)] = True
        keys = np.flatnonzero(rows)
        rank = keys if len(keys) == len(rows) else np.cumsum(rows) - rows
    else:
        # A clock that jumped by years leaves a few rows far apart: list them, not the years between.
        length = end - begin + 1
        taken = [np.repeat(begin - np.cumsum(length) + length, length) + np.arange(length.sum())]
        taken += [lane.places(base) for lane in lanes]
        keys, rank = np.unique(np.concatenate(taken)), None
    row_owner = np.repeat(np.arange(owners), np.diff(np.searchsorted(keys, place)))
    time = clock.moment(keys, row_owner, base)
    return Grid(row_owner, time, base, keys, rank)
