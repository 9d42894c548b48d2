"""Whole-column time work: holding a value across a gap, looking back in time, sums over a trailing window."""

from __future__ import annotations

import numpy as np


def hold(values, code, first, seconds, longest) -> np.ndarray:
    """Bridge gaps with the value before them, within a terminal and for a limited time.

    Parameters
    ----------
    values : ndarray of float, one per row
        NaN is missing.
    code, first, seconds : ndarray
        Row to terminal; first row of each terminal; time of each row [s].
    longest : ndarray, one per terminal
        How long a value may be held [s].

    Returns
    -------
    ndarray of float
    """
    missing = np.isnan(values)
    if not missing.any():
        return values
    source = np.arange(len(values))
    source[missing] = -1
    np.maximum.accumulate(source, out=source)
    rows = np.flatnonzero(missing)
    source = source[rows]
    usable = (source >= first[code[rows]]) & (source >= 0)
    usable &= seconds[rows] - seconds[source] < longest[code[rows]] + 1e-6
    filled = values.copy()
    filled[rows[usable]] = values[source[usable]]
    return filled


def last_before(owner, seconds, other_owner, other_seconds, other_values, longest: float) -> np.ndarray:
    """Look up the latest value of another table at or before each row, not older than ``longest`` [s].

    ``owner`` is the row's key in the other table, -1 for none. The other table is sorted by key and time.
    """
    found = np.full(len(owner), np.nan)
    if not len(other_values):
        return found
    start = min(seconds.min(), other_seconds.min())
    span = max(seconds.max(), other_seconds.max()) - start + longest + 1.0
    key = owner * span + (seconds - start)
    other_key = other_owner * span + (other_seconds - start)
    at = np.searchsorted(other_key, key, side="right") - 1
    usable = (at >= 0) & (owner >= 0)
    at = np.maximum(at, 0)
    usable &= (other_owner[at] == owner) & (seconds - other_seconds[at] <= longest)
    found[usable] = other_values[at[usable]]
    return found


def window_start(code, first, seconds, width) -> np.ndarray:
    """Return for each row the first row of its terminal that lies within the trailing window.

    ``width`` [s] is a number or one per row; the window is open at its early end: ``(t - width, t]``.
    """
    start = seconds.min()
    span = seconds.max() - start + np.max(width) + 1.0
    key = code * span + (seconds - start)
    return np.maximum(np.searchsorted(key, key - width, side="right"), first[code])


def trailing_sum(values, since) -> np.ndarray:
    """Sum values from row ``since`` up to and with each row. ``values`` holds no NaN."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    return total[1:] - total[since]


def trailing_mean(values, weights, since, least: float | np.ndarray) -> np.ndarray:
    """Average known values over the trailing window, weighted; NaN where the known weight is under ``least``."""
    known = ~np.isnan(values)
    weight = np.where(known, weights, 0.0)
    total = trailing_sum(np.where(known, values, 0.0) * weight, since)
    seen = trailing_sum(weight, since)
    enough = seen >= np.maximum(least, 1e-12)
    return np.divide(total, seen, out=np.full(len(values), np.nan), where=enough)


def since_change(changed, code, first, seconds) -> np.ndarray:
    """Return the time since the last row at which ``changed`` was true [s]; since the first row where there is none."""
    source = np.where(changed, np.arange(len(changed)), -1)
    np.maximum.accumulate(source, out=source)
    source = np.maximum(source, first[code])
    return seconds - seconds[source]


def surely_since(changed, code, first, seconds, interval) -> np.ndarray:
    """Return the time for which ``changed`` has surely not been true [s]: an interval less than since it last was.

    A sample shows a state as it was; what follows may have changed at any moment before the next sample.
    """
    return np.maximum(since_change(changed, code, first, seconds) - interval[code], 0.0)
