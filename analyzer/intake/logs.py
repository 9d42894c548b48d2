"""How each point was logged: at an interval, or on change of value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.intake.moments import Samples

SECOND = 1_000_000
# Intervals that loggers are set to [s]; a measured one within 2 % of one of these is that one.
_USUAL = np.array(
    [
        1,
        2,
        5,
        10,
        15,
        20,
        30,
        60,
        120,
        180,
        240,
        300,
        360,
        600,
        720,
        900,
        1200,
        1800,
        3600,
        7200,
        10800,
        14400,
        21600,
        43200,
        86400,
    ]
)
_LOOKED_AT = 256  # spacings of each log that are looked at
_STEADY = 0.9  # of the spacings are alike: an interval log
_HALF = 0.5  # of the spacings are alike: an interval log with gaps, if values repeat
_REPEATING = 0.1  # of the values repeat the one before; a change-of-value log has none
_ALL_BUT_A_JUMP = 0.98  # of the spacings are alike: an interval log, however long its gaps are
_COVERED = 0.2  # of its span, at the least, is what an interval log accounts for; bursts of changes do not
_SIGN_OF_LIFE = 3600.0  # seconds; change-of-value logs repeat their value once in a while
_FEW = 4  # spacings, below which the company of other logs tells


@dataclass
class Logs:
    """The logs of a reading, one per target that has a value.

    Attributes
    ----------
    target : ndarray of int
        Sorted.
    begin, end : ndarray of int
        Their stretches in the samples that have a value.
    interval : ndarray of float
        Seconds; 0 for a change-of-value log.
    """

    target: np.ndarray
    begin: np.ndarray
    end: np.ndarray
    interval: np.ndarray


def classify(samples: Samples, tabled: np.ndarray, state: np.ndarray, owner: np.ndarray) -> Logs:
    """Tell interval logs from change-of-value logs, and measure the interval.

    Parameters
    ----------
    samples : Samples
        With a value each, in order.
    tabled : ndarray of bool
        Which targets stand as a column beside others with common stamps (wide and tidy tables).
    state : ndarray of bool
        Which targets are a status.
    owner : ndarray of int
        The terminal or air handler of each target.
    """
    begin = np.flatnonzero(np.r_[True, samples.target[1:] != samples.target[:-1]])
    end = np.r_[begin[1:], len(samples.target)]
    target = samples.target[begin]
    count = end - begin
    at = _spread(begin, count)
    log = np.repeat(np.arange(len(begin)), np.minimum(count - 1, _LOOKED_AT).clip(0))
    spacing = samples.time[at + 1] - samples.time[at]
    alike, median = _steadiness(spacing, log, len(begin))
    repeats = np.bincount(log, samples.value[at + 1] == samples.value[at], len(begin)) / np.maximum(
        1, np.minimum(count - 1, _LOOKED_AT)
    )
    enough = count > _FEW
    changing = state[target] & (repeats == 0) & (count > 2 * _FEW)
    steady = (alike >= _STEADY) & ~(changing & ~tabled[target])
    gappy = (alike >= _HALF) & (repeats >= _REPEATING) | tabled[target] & ((alike >= _HALF) | (repeats >= _REPEATING))
    span = samples.time[end - 1] - samples.time[begin]
    covering = ((count - 1) * median >= _COVERED * span) | (alike >= _ALL_BUT_A_JUMP) | tabled[target]
    is_interval = enough & covering & (steady | gappy)
    interval = np.where(is_interval, _nominal(median / SECOND), 0.0)
    alone = enough & ~tabled[target]
    if (alone & (interval == 0)).sum() > (alone & (interval > 0)).sum():
        # Among logs of changes, one that only ever repeats itself, or does so once in hours, is a sign of life.
        interval[alone & ((repeats >= _ALL_BUT_A_JUMP) | (interval >= _SIGN_OF_LIFE))] = 0.0
    if not enough.all():
        interval = _by_company(samples, begin, end, ~enough, tabled[target], owner[target], interval)
    return Logs(target, begin, end, interval)


def _spread(begin: np.ndarray, count: np.ndarray) -> np.ndarray:
    """Choose up to ``_LOOKED_AT`` neighbouring pairs of every log, spread evenly over it."""
    pairs = (count - 1).clip(0)
    taken = np.minimum(pairs, _LOOKED_AT)
    step = np.repeat(pairs / np.maximum(taken, 1), taken)
    place = np.arange(taken.sum()) - np.repeat(np.cumsum(taken) - taken, taken)
    return np.repeat(begin, taken) + (place * step).astype(np.int64)


def _steadiness(spacing: np.ndarray, log: np.ndarray, size: int) -> tuple[np.ndarray, np.ndarray]:
    """Return the share of spacings like the median, and the median [us]."""
    median = np.zeros(size)
    found = pd.Series(spacing.astype(float)).groupby(log).median()
    median[found.index] = found.to_numpy()
    slack = np.maximum(0.1 * median, 1.5 * SECOND)
    alike = np.bincount(log, np.abs(spacing - median[log]) <= slack[log], size)
    return alike / np.maximum(1, np.bincount(log, minlength=size)), median


def _nominal(seconds: np.ndarray) -> np.ndarray:
    nearest = _USUAL[np.abs(seconds[:, None] - _USUAL).argmin(axis=1)]
    whole = np.maximum(np.round(seconds), 1)
    return np.where(np.abs(seconds - nearest) <= 0.02 * nearest, nearest, whole).astype(float)


def _by_company(samples, begin, end, few, tabled, owner, interval) -> np.ndarray:
    """Tell the few-sample logs by their company: stamps that meet those of other logs of the owner are an interval's.

    A handful of samples cannot show an interval of its own. In a table with common stamps it has that of its
    neighbours; elsewhere if it meets them; else it is a log of changes.
    """
    short = np.flatnonzero(few)
    changes = (interval == 0) & ~few
    of_changes = changes.sum() > (interval > 0).sum()
    finest = pd.Series(np.where(interval > 0, interval, np.inf)).groupby(owner).min()
    common = finest.min() if len(finest) else np.inf
    result = interval.copy()
    for log in short.tolist():
        grid = finest[owner[log]]
        stamps = samples.time[begin[log] : end[log]]
        spacing = np.diff(stamps)
        alone = not np.isfinite(grid) and not of_changes and _even(spacing)
        if tabled[log] or alone or (np.isfinite(grid) and _meet(stamps, grid)):
            own = _nominal(np.array([spacing.min() / SECOND]))[0] if len(spacing) else np.inf
            choices = [seconds for seconds in (grid, common, own) if np.isfinite(seconds)]
            result[log] = (own if np.isfinite(own) else choices[0]) if choices else 0.0
    return result


def _meet(stamps: np.ndarray, grid: float) -> bool:
    off = (stamps + grid * SECOND / 2) % (grid * SECOND) - grid * SECOND / 2
    return bool((np.abs(off) <= 10 * SECOND).all())


def _even(spacing: np.ndarray) -> bool:
    return len(spacing) >= 2 and bool((np.abs(spacing - spacing[0]) <= 0.1 * spacing[0]).all())
