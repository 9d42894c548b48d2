"""Whole-column time work: holding a value across a gap, looking back in time, sums over a trailing window.

``first`` is the first row of each terminal, and the number of rows at the end; ``seconds`` the time of each row.
"""

from __future__ import annotations

import numpy as np

# Sums of like hours differ by so little [h] by what was added before them.
ROUNDING = 1e-9
# Microseconds: moments are told no finer.
PARTS_OF_HOUR = 3.6e9


def hold(values, gaps, code, first, seconds, longest) -> np.ndarray:
    """Bridge gaps with the value before them, within a terminal and for a limited time.

    Parameters
    ----------
    values : ndarray of float, one per row
        NaN is missing.
    gaps : ndarray of int
        The rows at which a value is missing and may be bridged, in order; every missing row of their terminals.
    code, first, seconds : ndarray
        Row to terminal; first row of each terminal; time of each row [s].
    longest : ndarray, one per terminal
        How long a value may be held [s].

    Returns
    -------
    ndarray of float
    """
    if not len(gaps):
        return values
    owner = code[gaps]
    begins = np.concatenate([[True], (np.diff(gaps) > 1) | (np.diff(owner) > 0)])
    start = np.flatnonzero(begins)
    source = np.repeat(gaps[start] - 1, np.diff(np.append(start, len(gaps))))
    usable = source >= first[owner]
    usable &= seconds[gaps] - seconds[source] < longest[owner] + 1e-6
    filled = values.copy()
    filled[gaps[usable]] = values[source[usable]]
    return filled


def last_before(owner, seconds, other_owner, other_seconds, longest: float) -> np.ndarray:
    """Find the latest row of another table at or before each row, not older than ``longest`` [s]; -1 for none.

    ``owner`` is the row's key in the other table, -1 for none. The other table is sorted by key and time.
    """
    if not len(other_seconds) or not len(seconds):
        return np.full(len(owner), -1)
    start = min(seconds.min(), other_seconds.min())
    span = max(seconds.max(), other_seconds.max()) - start + longest + 1.0
    at = np.searchsorted(other_owner * span + (other_seconds - start), owner * span + (seconds - start), "right") - 1
    usable = (at >= 0) & (owner >= 0)
    at = np.maximum(at, 0)
    usable &= (other_owner[at] == owner) & (seconds - other_seconds[at] <= longest)
    return np.where(usable, at, -1)


def window_start(code, first, seconds, width, step) -> np.ndarray:
    """Return for each row the first row of its terminal that lies within the trailing window.

    ``width`` [s] is a number or one per terminal; the window is open at its early end: ``(t - width, t]``. ``step`` is
    the step [s] of each terminal whose rows keep one, NaN for the others: theirs are searched for.
    """
    length = np.diff(first)
    since = np.arange(1, len(seconds) + 1) - np.repeat(_steps(np.ceil, width, step, -1e-9, length), length)
    rows, key, own = _searched(code, seconds, width, step, length)
    if len(rows):
        since[rows] = rows[np.searchsorted(key, key - own, side="right")]
    return np.maximum(since, np.repeat(first[:-1], length), out=since)


def window_end(code, first, seconds, width, step) -> np.ndarray:
    """Return for each row the row after the last of its terminal that lies within ``width`` [s] ahead, inclusive.

    ``width`` and ``step`` as in ``window_start``.
    """
    length = np.diff(first)
    until = np.arange(1, len(seconds) + 1) + np.repeat(_steps(np.floor, width, step, 1e-9, length), length)
    rows, key, own = _searched(code, seconds, width, step, length)
    if len(rows):
        until[rows] = rows[np.searchsorted(key, key + own, side="right") - 1] + 1
    return np.minimum(until, np.repeat(first[1:], length), out=until)


def _steps(whole, width, step, rounding, length) -> np.ndarray:
    """Return how many steps a width holds at each terminal, and never more than it has; 0 where its rows keep none."""
    steps = np.divide(width, step, out=np.zeros(len(step)), where=step > 0)
    return np.minimum(whole(steps + rounding), length).astype(np.int64)


def _searched(code, seconds, width, step, length) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the rows of terminals that keep no step, a key that rises with their times, and the width at each [s]."""
    without = np.isnan(step) & (length > 0)
    if not without.any():
        return np.empty(0, dtype=np.int64), np.empty(0), np.empty(0)
    rows = np.flatnonzero(np.repeat(without, length))
    width = np.broadcast_to(width, len(length))
    start = seconds[rows].min()
    span = seconds[rows].max() - start + 2 * width.max() + 1.0
    return rows, code[rows] * span + (seconds[rows] - start), width[code[rows]]


def running_total(values: np.ndarray) -> np.ndarray:
    """Return the sum of all values before each row, and of all of them at the end."""
    total = np.empty(len(values) + 1, dtype=values.dtype)
    total[0] = 0
    np.cumsum(values, out=total[1:])
    return total


def trailing_sum(values, since) -> np.ndarray:
    """Sum values from row ``since`` up to and with each row. ``values`` holds no NaN."""
    total = running_total(values)
    # No row is out of range: clipping is numpy's fast way to take them.
    return total[1:] - total.take(since, mode="clip")


def trailing_hours(hours, since) -> np.ndarray:
    """Sum hours, none of them unknown, as ``trailing_sum`` does: in whole parts, which add up faster, and exactly."""
    return trailing_sum(_in_parts(hours), since) / PARTS_OF_HOUR


def trailing_mean(values, hours, since, least: float | np.ndarray) -> np.ndarray:
    """Average known values over the trailing window, by hours; NaN where fewer than ``least`` hours are known."""
    known = values == values
    hours = hours * known
    seen = trailing_hours(hours, since)
    total = trailing_sum(_known_only(values * hours, known), since)
    return ratio(total, seen, seen >= np.maximum(least - ROUNDING, 1e-12))


def trailing_total(values, hours, since, least: float) -> np.ndarray:
    """Sum known values over the trailing window; NaN where fewer than ``least`` hours are known."""
    known = values == values
    seen = trailing_hours(hours * known, since)
    total = trailing_sum(_known_only(values, known), since)
    total[seen < least - ROUNDING] = np.nan
    return total


def mean_about(values, hours, low, high, where) -> np.ndarray:
    """Average values, by hours, over the rows from ``low`` up to but without ``high``; NaN where it is not wanted."""
    total, seen = running_total(values * hours), running_total(_in_parts(hours))
    seen = (seen.take(high, mode="clip") - seen.take(low, mode="clip")) / PARTS_OF_HOUR
    return ratio(total.take(high, mode="clip") - total.take(low, mode="clip"), seen, where)


def _in_parts(hours) -> np.ndarray:
    return np.rint(hours * PARTS_OF_HOUR).astype(np.int64)


def _known_only(values, known) -> np.ndarray:
    return values if known.all() else np.where(known, values, 0.0)


def ratio(above, below, where) -> np.ndarray:
    """Return a quotient, NaN where it is not wanted."""
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        found = above / below
    found[~where] = np.nan
    return found


def since_change(changed, first, seconds) -> np.ndarray:
    """Return the time since the last row at which ``changed`` was true [s]; since the first row where there is none."""
    if not len(changed):
        return np.zeros(0)
    changed = changed.copy()
    changed[first[:-1][np.diff(first) > 0]] = True
    begins = np.concatenate([[0], np.flatnonzero(changed[1:] != changed[:-1]) + 1])
    # A stretch without a change follows the row of the last one; in a stretch of changes no time has passed at all.
    last = np.repeat(seconds[np.maximum(begins - 1, 0)], np.diff(np.append(begins, len(changed))))
    since = np.subtract(seconds, last, out=last)
    since *= ~changed
    return since


def surely_since(changed, first, seconds, interval) -> np.ndarray:
    """Return the time for which ``changed`` has surely not been true [s]: an interval less than since it last was.

    A sample shows a state as it was; what follows may have changed at any moment before the next sample. ``interval``
    is one per terminal [s].
    """
    since = since_change(changed, first, seconds)
    since -= np.repeat(interval, np.diff(first))
    return np.maximum(since, 0.0, out=since)


def stepped(values, first) -> np.ndarray:
    """Return how far each row's value lies above the value of the row before; NaN in the first row of a terminal."""
    step = np.empty(len(values))
    np.subtract(values[1:], values[:-1], out=step[1:])
    step[first[:-1][np.diff(first) > 0]] = np.nan
    return step
