"""The rows of interval logs on their owners' grids: stretches that fill slot after slot, and what is ragged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from analyzer.intake.grid.clocks import Clock
from analyzer.intake.grid.logs import Logs
from analyzer.intake.grid.moments import Series
from analyzer.intake.tables.coded import AT_A_TIME

_LONG = 32  # rows of a stretch, on average, from which on copying stretches is faster than placing rows one by one


@dataclass
class Lanes:
    """The runs of a series on the grid of every owner whose interval logs they hold, cut where a slot is missing.

    Attributes
    ----------
    owner, run : ndarray of int
        Of each lane; sorted by run, then owner, then the order of the rows.
    begin, end : ndarray of int
        The rows of the series that each holds.
    first, last : ndarray of int64
        The least and the greatest slot of each.
    straight : ndarray of bool
        Of each, whether its slots follow one another: then first and last say it all. A ragged run is one lane that is
        not straight.
    place : ndarray of int
        Where each lane begins among ``slot``, and the end; a straight lane takes no room there.
    slot : ndarray of int64
        The owner's slot of every row of the lanes that are not straight.
    """

    owner: np.ndarray
    run: np.ndarray
    begin: np.ndarray
    end: np.ndarray
    first: np.ndarray
    last: np.ndarray
    straight: np.ndarray
    place: np.ndarray
    slot: np.ndarray

    def places(self, base: np.ndarray) -> np.ndarray:
        """Return the places of the rows of the lanes that are not straight; ``base`` as in a ``Grid``."""
        return self.slot + np.repeat(base[self.owner], np.diff(self.place))

    def of(self, owner: np.ndarray, run: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return every lane of each pair of owner and run: which pair, and which lane."""
        size = int(max(self.owner.max(initial=0), owner.max(initial=0))) + 1
        keys, wanted = self.run * size + self.owner, run * size + owner
        first = np.searchsorted(keys, wanted)
        return each_of(first, np.searchsorted(keys, wanted, side="right") - first)


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
    pair, gap = _gaps(series, clock, owner, begin, end)
    ragged = np.bincount(pair, minlength=len(run)) * _LONG > end - begin
    before, after = (clock.nearest(series.time[rows], owner[pair]) for rows in (gap - 1, gap))
    ragged[pair[after <= before]] = True
    pair, gap = pair[~ragged[pair]], gap[~ragged[pair]]
    # The stretches of a pair: from its begin to its first gap, and from each gap to the next.
    pair, gap = np.r_[np.arange(len(run)), pair], np.r_[begin, gap]
    order = np.lexsort((gap, pair))
    pair, begin = pair[order], gap[order]
    end = np.where(np.r_[pair[1:] == pair[:-1], False], np.r_[begin[1:], 0], end[pair])
    run, owner, straight = run[pair], owner[pair], ~ragged[pair]
    first = clock.nearest(series.time[begin], owner)
    last = first + (end - begin - 1)
    place = np.r_[0, np.cumsum(np.where(straight, 0, end - begin))]
    bent = np.flatnonzero(~straight)
    slot = np.concatenate([np.zeros(0, np.int64), *_slots(series, clock, owner[bent], begin[bent], end[bent])])
    if len(bent):
        first[bent], last[bent] = (find.reduceat(slot, place[bent]) for find in (np.minimum, np.maximum))
    return Lanes(owner, run, begin, end, first, last, straight, place, slot)


def _gaps(series: Series, clock: Clock, owner: np.ndarray, begin: np.ndarray, end: np.ndarray):
    """Find the rows that do not stand in the slot after that of the row before them: in which stretch, and the row."""
    step, found = clock.step[owner], []
    even = np.zeros(len(owner), bool)
    for usual in np.unique(step).tolist():
        # Where most stamps are exactly a step apart, the others tell; no slot of a row has to be found.
        odd = np.concatenate([np.zeros(0, np.int64), *_odd_spacings(series.time, usual)])
        first, until = np.searchsorted(odd, begin, side="right"), np.searchsorted(odd, end)
        mine = (step == usual) & ((until - first) * _LONG <= end - begin)
        even |= mine
        pair, at = each_of(first, np.where(mine, until - first, 0))
        found.append((pair, odd[at]))
    uneven = np.flatnonzero(~even)
    which = (uneven, owner[uneven], begin[uneven], end[uneven])
    for part in in_parts(end[uneven] - begin[uneven]):
        pair, *stretch = (array[part] for array in which)
        slot, (_, first, until) = _slots_of(series, clock, *stretch), stretch
        whose, row = each_of(first, until - first)
        broken = np.flatnonzero((slot[1:] - slot[:-1] != 1) & (whose[1:] == whose[:-1])) + 1
        found.append((pair[whose[broken]], row[broken]))
    pair, gap = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return pair, gap


def _odd_spacings(time: np.ndarray, usual: int) -> Iterator[np.ndarray]:
    """Find the rows that do not stand a step after the row before them."""
    for begin in range(1, len(time), AT_A_TIME):
        end = begin + AT_A_TIME
        yield np.flatnonzero(time[begin:end] - time[begin - 1 : end - 1][: len(time) - begin] != usual) + begin


def _slots(series: Series, clock: Clock, owner: np.ndarray, begin: np.ndarray, end: np.ndarray) -> Iterator[np.ndarray]:
    """Return the slots of every row of the stretches, some stretches at a time."""
    for part in in_parts(end - begin):
        yield _slots_of(series, clock, owner[part], begin[part], end[part])


def _slots_of(series: Series, clock: Clock, owner: np.ndarray, begin: np.ndarray, end: np.ndarray) -> np.ndarray:
    which, row = each_of(begin, end - begin)
    return clock.nearest(series.time[row], owner[which])


def in_parts(length: np.ndarray) -> Iterator[slice]:
    """Cut stretches into parts with some ten thousand rows each: what is made of them stays in the cache."""
    until = np.cumsum(length)
    if not length.any():
        return
    cuts = np.unique(np.searchsorted(until, np.arange(0, int(length.sum()), AT_A_TIME), side="right"))
    for begin, end in zip(cuts, np.r_[cuts[1:], len(length)], strict=True):
        yield slice(int(begin), int(end))


def each_of(first: np.ndarray, count: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """List the members of each of several ranges: which range, and the member."""
    which = np.repeat(np.arange(len(first)), count)
    return which, np.arange(len(which)) + np.repeat(first - (np.cumsum(count) - count), count)
