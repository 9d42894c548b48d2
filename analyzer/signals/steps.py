"""Steps of a column, and how long what is to follow them takes: whole columns, known to within the log's interval.

A sample shows a value as it was at that moment. So a step came between the sample before and the first that shows it,
and what follows was there between two samples of its own: a time to follow has a least and a most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analyzer.signals.grouped import grouped_median

# Moves the same way within this time are one step: a setpoint or an actuator on its way [s]. Judgement: a stroke of a
# damper actuator takes 90 to 180 s (read in a secondary page).
ONE_STEP = 180.0


@dataclass(frozen=True)
class Steps:
    """Steps of a column, in the order of the rows; every field has one entry a step.

    Attributes
    ----------
    before : ndarray of int
        The last row at which the old value is known.
    row : ndarray of int
        The first row that shows another value.
    arrived : ndarray of int
        The row at which the new value is reached.
    end : ndarray of int
        The row at which the value moves again, or its log ends; holds of steps do not overlap.
    old, new : ndarray of float
    moved_again : ndarray of bool
        Whether the hold ends as the value moves again.
    """

    before: np.ndarray
    row: np.ndarray
    arrived: np.ndarray
    end: np.ndarray
    old: np.ndarray
    new: np.ndarray
    moved_again: np.ndarray

    def __len__(self) -> int:
        return len(self.row)

    @property
    def size(self) -> np.ndarray:
        """How far each goes, with its sign."""
        return self.new - self.old

    @property
    def sign(self) -> np.ndarray:
        """1 upwards, -1 downwards."""
        return np.sign(self.size)

    def where(self, chosen: np.ndarray) -> Steps:
        """Return the steps of a mask, or those of numbers."""
        return replace(self, **{name: getattr(self, name)[chosen] for name in self.__dataclass_fields__})

    def ended_by(self, row: np.ndarray) -> Steps:
        """Return the steps with holds that end at a row each at the latest."""
        return replace(self, end=np.minimum(self.end, row), moved_again=self.moved_again & (self.end <= row))

    def over_rows(self, values: np.ndarray, rows: int) -> np.ndarray:
        """Lay a value of each step over the rows of its hold; NaN elsewhere."""
        laid = np.full(rows, np.nan)
        length = np.maximum(self.end - self.row, 0)
        at = np.repeat(self.row - np.concatenate([[0], np.cumsum(length)[:-1]]), length) + np.arange(length.sum())
        laid[at] = np.repeat(values, length)
        return laid


@dataclass(frozen=True)
class Followed:
    """How each step was followed, in seconds after it.

    Attributes
    ----------
    least, most : ndarray of float
        Between what the time to follow lies; ``most`` is infinite where it was not followed while the step held.
    at : ndarray of int
        The row at which it was seen to have followed; -1 where it was not.
    samples : ndarray of int
        How many samples of what was to follow there are while the step holds.
    """

    least: np.ndarray
    most: np.ndarray
    at: np.ndarray
    samples: np.ndarray

    def where(self, chosen: np.ndarray) -> Followed:
        """Return those of the steps of a mask."""
        return replace(self, **{name: getattr(self, name)[chosen] for name in self.__dataclass_fields__})

    @property
    def done(self) -> np.ndarray:
        """Whether it followed at all."""
        return self.at >= 0


def steps_of(
    values: np.ndarray,
    first: np.ndarray,
    seconds: np.ndarray,
    *,
    least: float,
    least_share: float = 0.0,
    still: float = 0.0,
    still_share: float = 0.0,
    gap: float | np.ndarray = np.inf,
    one_step: float = ONE_STEP,
) -> Steps:
    """Find the steps of a column.

    Parameters
    ----------
    values : ndarray of float, one per row
        NaN is missing, and is looked across.
    first, seconds : ndarray
        First row of each terminal and the number of rows at the end; time of each row [s].
    least, least_share : float
        A step goes at least so far, in the column's unit, and at least this share of the greater of its two ends.
    still, still_share : float
        Between two samples a value that moves no further, or no more than this share of itself, rests.
    gap : float or ndarray, one per terminal
        Two samples further apart [s] tell nothing of what was between them.
    one_step : float
        Moves the same way that take no longer [s] are one step; what takes longer is a ramp, and no step.
    """
    known = np.flatnonzero(~np.isnan(values))
    owner = np.searchsorted(first, known, side="right") - 1
    value, time = values[known], seconds[known]
    move, wait = np.diff(value), np.diff(time)
    longest = np.broadcast_to(gap, len(first) - 1)[owner[1:]] if len(known) else np.empty(0)
    beside = (owner[1:] == owner[:-1]) & (wait <= longest)
    greater = np.maximum(np.abs(value[1:]), np.abs(value[:-1]))
    moves = beside & (np.abs(move) > np.maximum(still, still_share * greater))
    way = np.where(moves, np.sign(move), 0.0)
    # A run of moves the same way; each edge lies between two known samples.
    begins = np.flatnonzero(moves & (np.concatenate([[0.0], way[:-1]]) != way))
    ends = np.flatnonzero(moves & (np.concatenate([way[1:], [0.0]]) != way))
    old, new = value[begins], value[ends + 1]
    far = np.abs(new - old) >= np.maximum(least, least_share * np.maximum(np.abs(old), np.abs(new)))
    at_once = time[ends + 1] - time[begins + 1] <= one_step if len(begins) else np.empty(0, dtype=bool)
    # The hold ends at the next edge at which the value moves, or of which nothing is known.
    edges = np.flatnonzero(moves | ~beside)
    place = np.searchsorted(edges, ends, side="right")
    more = place < len(edges)
    edge = edges[np.minimum(place, len(edges) - 1)] if len(edges) else np.empty(0, dtype=int)
    last_row = first[owner[begins] + 1] if len(begins) else np.empty(0, dtype=int)
    again = more & moves[edge] if len(edge) else np.zeros(len(begins), dtype=bool)
    breaks = more & ~again if len(edge) else again
    end = last_row.copy()
    if len(edge):
        end = np.where(again, known[np.minimum(edge + 1, len(known) - 1)], end)
        end = np.where(breaks, np.minimum(known[edge] + 1, end), end)
    found = Steps(known[begins], known[begins + 1], known[ends + 1], end, old, new, again)
    return found.where(far & at_once)


def joined(several: Sequence[Steps]) -> Steps:
    """Put steps of several columns behind each other."""
    return Steps(*(np.concatenate([getattr(own, name) for own in several]) for name in Steps.__dataclass_fields__))


def follow(steps: Steps, there: np.ndarray, known: np.ndarray, seconds: np.ndarray) -> Followed:
    """Find when what is to follow each step is where it belongs, for the first time while the step holds.

    Parameters
    ----------
    steps : Steps
    there : ndarray of bool, one per row
        Whether it is where its step wants it; meant within the holds.
    known : ndarray of bool, one per row
        Whether it was sampled.
    seconds : ndarray of float
        Time of each row [s].
    """
    sampled = np.flatnonzero(known)
    good = np.flatnonzero(there & known)
    at = _first_from(good, steps.row, steps.end)
    done = at >= 0
    # The last sample before it was there, or the last of the hold where it never was.
    bad = _last_before(sampled, np.where(done, at, steps.end), steps.row)
    least = np.where(bad >= 0, seconds[bad] - seconds[steps.row], 0.0) if len(seconds) else np.zeros(0)
    most = np.where(done, seconds[at] - seconds[steps.before], np.inf) if len(seconds) else np.zeros(0)
    count = np.searchsorted(sampled, steps.end) - np.searchsorted(sampled, steps.row)
    return Followed(np.maximum(least, 0.0), most, at, np.maximum(count, 0))


def _first_from(rows: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Return the first of some rows from a start on and before an end; -1 where there is none."""
    if not len(rows):
        return np.full(len(start), -1)
    place = np.searchsorted(rows, start)
    found = rows[np.minimum(place, len(rows) - 1)]
    return np.where((place < len(rows)) & (found < end), found, -1)


def _last_before(rows: np.ndarray, end: np.ndarray, start: np.ndarray) -> np.ndarray:
    """Return the last of some rows before an end and not before a start; -1 where there is none."""
    if not len(rows):
        return np.full(len(start), -1)
    place = np.searchsorted(rows, end) - 1
    found = rows[np.maximum(place, 0)]
    return np.where((place >= 0) & (found >= start), found, -1)


def last_known(values: np.ndarray, rows: np.ndarray, first: np.ndarray) -> np.ndarray:
    """Return the last value known at or before each of some rows of its terminal; NaN where there is none."""
    known = np.flatnonzero(~np.isnan(values))
    begin = first[np.searchsorted(first, rows, side="right") - 1] if len(rows) else rows
    at = _last_before(known, rows + 1, begin)
    return np.where(at >= 0, values[at], np.nan) if len(values) else np.full(len(rows), np.nan)


def highest_in(values: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Return the highest known value of the rows from each start up to, but without, each end; NaN without any."""
    found = np.full(len(start), np.nan)
    filled = np.append(np.where(np.isnan(values), -np.inf, values), -np.inf)
    some = np.flatnonzero(end > start)
    if len(some):
        cuts = np.stack([start[some], end[some]], axis=1).ravel()
        found[some] = np.maximum.reduceat(filled, cuts)[::2]
    return np.where(np.isfinite(found), found, np.nan)


def median_in(values: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Return the median of the known values of the rows from each start up to, but without, each end."""
    length = np.maximum(end - start, 0)
    group = np.repeat(np.arange(len(start)), length)
    rows = np.repeat(start - np.concatenate([[0], np.cumsum(length)[:-1]]), length) + np.arange(length.sum())
    known = ~np.isnan(values[rows])
    return grouped_median(values[rows[known]], group[known], len(start))
