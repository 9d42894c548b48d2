"""How each point was logged: at an interval, or on change of value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.intake.grid.moments import Series

SECOND = 1_000_000
# Intervals that loggers are set to [s]; a measured one within 2 % of one of these is that one.
_USUAL = np.array(
    [1, 2, 5, 10, 15, 20, 30, 60, 120, 180, 240, 300, 360, 600, 720, 900, 1200, 1800, 3600, 7200, 10800, 14400, 21600]
    + [43200, 86400]
)
# Judgement, all that follows.
_LOOKED_AT = 64  # spacings of each log that are looked at
_STEADY = 0.9  # of the spacings are alike: an interval log
_HALF = 0.5  # of the spacings are alike: an interval log with gaps, if values repeat
_REPEATING = 0.1  # of the values repeat the one before; a change-of-value log has none
_FILLED = 1 / 3  # of the rows of a table with common stamps hold a value: an interval log with many empty cells
_ALL_BUT_A_JUMP = 0.98  # of the spacings are alike: an interval log, however long its gaps are
_MOST_OF_CHANGES = 0.5  # of a table's logs are changes: those that look as much like one as like the other are, too
_COVERED = 0.2  # of its span, at the least, is what an interval log accounts for; bursts of changes do not
_SIGN_OF_LIFE = 3600.0  # seconds; change-of-value logs repeat their value once in a while
_NEAR = 0.6  # of the spacings are from half to twice the usual one: a poll; of events at random, fewer than half are
_FEW = 4  # spacings, below which the company of other logs tells
_SHORT_STEP = 900.0  # seconds; a log of few samples with no longer step than this may have gaps between them
_SLACK = 300 * SECOND  # at the most, by which spacings that are alike differ: those of a schedule differ by an hour
_RARELY = 21600.0  # seconds; what is recorded no oftener and never repeats itself is changes


@dataclass
class Logs:
    """The logs of a reading that have a value, one per target.

    Attributes
    ----------
    series, column, run : ndarray of int
        Where each stands.
    target, owner : ndarray of int
        What it fills.
    interval : ndarray of float
        Seconds; 0 for a change-of-value log.
    """

    series: np.ndarray
    column: np.ndarray
    run: np.ndarray
    target: np.ndarray
    owner: np.ndarray
    interval: np.ndarray

    def take(self, which: np.ndarray) -> Logs:
        """Return some of the logs."""
        arrays = (self.series, self.column, self.run, self.target, self.owner, self.interval)
        return Logs(*(array[which] for array in arrays))


@dataclass
class _Looks:
    """What the looked-at spacings of each log show, one figure a log.

    ``whole`` is the share of spacings that are whole multiples of the median, ``near`` of those from half to twice the
    median, ``filled`` the share of its table's rows that hold a value, ``row`` the rows' own spacing [us].
    """

    count: np.ndarray
    median: np.ndarray
    alike: np.ndarray
    repeats: np.ndarray
    span: np.ndarray
    whole: np.ndarray
    near: np.ndarray
    filled: np.ndarray
    row: np.ndarray


def classify(every: list[Series], owner_of: np.ndarray, state_of: np.ndarray) -> Logs:
    """Tell interval logs from change-of-value logs, and measure the interval.

    Parameters
    ----------
    every : list of Series
        Settled.
    owner_of, state_of : ndarray
        For each target: its terminal or air handler (-1 for one that is left out), and whether it is a status.
    """
    found, looks = [], []
    for number, series in enumerate(every):
        known = series.target >= 0  # there may be no target at all
        known[known] = owner_of[series.target[known]] >= 0
        column, run = np.nonzero(known)
        if not len(column):
            continue
        look = _look(series, column, run)
        target = series.target[column, run]
        logs = Logs(np.full(len(column), number), column, run, target, owner_of[target], np.zeros(len(column)))
        found.append(logs.take(look.count > 0))
        looks.append(_Looks(*(array[look.count > 0] for array in vars(look).values())))
    if not found:
        nothing = np.zeros(0, np.int64)
        return Logs(nothing, nothing, nothing, nothing, nothing, np.zeros(0))
    logs = Logs(*(np.concatenate(arrays) for arrays in zip(*(vars(part).values() for part in found), strict=True)))
    look = _Looks(*(np.concatenate(arrays) for arrays in zip(*(vars(part).values() for part in looks), strict=True)))
    tabled = np.array([series.tabled for series in every])[logs.series]
    logs.interval = _intervals(look, tabled, state_of[logs.target])
    logs.interval[_follow_their_table(logs, look, tabled)] = 0.0
    few = look.count <= _FEW
    if few.any():
        _by_company(every, logs, few, tabled & (look.filled >= _FILLED))
    return logs


def _intervals(look: _Looks, tabled: np.ndarray, state: np.ndarray) -> np.ndarray:
    """Judge each log by itself; 0 for a log of changes, and for one with too few samples to judge."""
    enough = look.count > _FEW
    rarely = look.median >= _RARELY * SECOND
    filled = tabled & (look.filled >= _FILLED)
    changing = ((state & (look.count > 2 * _FEW)) | rarely) & (look.repeats == 0) & ~filled
    # Where a table has a row whenever something changes, its statuses are logs of changes; not where rows of a poll
    # come late or are missing.
    every = tabled & (look.filled >= _STEADY)
    changing |= every & state & (look.count > 2 * _FEW) & (look.alike < _HALF) & (look.near < _NEAR)
    steady = (look.alike >= _STEADY) & ~changing
    gappy = (look.alike >= _HALF) & (look.repeats >= _REPEATING)
    gaps = (look.alike >= _HALF) & (look.whole >= _ALL_BUT_A_JUMP)
    common = (filled | (tabled & (gaps | (look.repeats >= _REPEATING)))) & ~changing
    few = gaps & (look.count <= 2 * _FEW) & (look.median <= _SHORT_STEP * SECOND) & ~state
    covering = ((look.count - 1) * look.median >= _COVERED * look.span) | (look.alike >= _ALL_BUT_A_JUMP) | tabled
    told = (covering & (steady | gappy | common)) | few
    interval = np.where(enough & told, _nominal(look.median / SECOND), 0.0)
    # Between empty cells at random the spacings say little: the log has the table's own step.
    ragged = tabled & (interval > 0) & (look.alike < _STEADY) & (look.whole < _ALL_BUT_A_JUMP)
    interval[ragged] = _nominal(look.row[ragged] / SECOND)
    alone = enough & ~tabled
    if (alone & (interval == 0)).sum() > (alone & (interval > 0)).sum():
        # Among logs of changes, one that only ever repeats itself, or does so once in hours, is a sign of life.
        interval[alone & ((look.repeats >= _ALL_BUT_A_JUMP) | (interval >= _SIGN_OF_LIFE))] = 0.0
    return interval


def _follow_their_table(logs: Logs, look: _Looks, tabled: np.ndarray) -> np.ndarray:
    """Tell the busiest logs of a table of changes: they fill many of its rows, but unevenly, and never repeat a value.

    Empty cells of an interval log leave multiples of its step, and its neighbours in the table are interval logs, too.
    """
    _, table = np.unique(np.column_stack([logs.series, logs.run]), axis=0, return_inverse=True)
    table = table.reshape(-1)
    enough = tabled & (look.count > _FEW)
    changes = np.bincount(table, enough & (logs.interval == 0)) > _MOST_OF_CHANGES * np.bincount(table, enough)
    uneven = (look.alike < _HALF) & (look.whole < _ALL_BUT_A_JUMP) & (look.filled < _HALF)
    return enough & changes[table] & uneven & (look.repeats == 0)


def _look(series: Series, column: np.ndarray, run: np.ndarray, *, full: bool = False) -> _Looks:
    """Look at up to ``_LOOKED_AT`` neighbouring pairs of every log, spread over it; ``full`` has no empty cell."""
    begin, length = series.begin[run], np.diff(series.begin)[run]
    pairs = (length - 1).clip(0)
    taken = np.minimum(pairs, _LOOKED_AT)
    step = np.repeat(pairs / np.maximum(taken, 1), taken)
    place = np.arange(taken.sum()) - np.repeat(np.cumsum(taken) - taken, taken)
    at = np.repeat(begin, taken) + (place * step).astype(np.int64)
    log = np.repeat(np.arange(len(column)), taken)
    cell = np.repeat(column, taken) * len(series.time) + at
    here, there = series.value.reshape(-1)[cell], series.value.reshape(-1)[cell + 1]
    both = ~(np.isnan(here) | np.isnan(there))
    seen = np.bincount(log, both, len(column))
    sparse = np.flatnonzero(seen < (0.5 * taken if series.tabled else 1))
    if len(sparse) and not full:
        return _look_closely(series, column, run, sparse)
    repeats = np.bincount(log, both & (here == there), len(column)) / np.maximum(1, seen)
    spacing = series.time[at + 1] - series.time[at]
    if series.tabled:
        log, spacing = log[both], spacing[both]
    # In a log of its own an empty sample has a stamp all the same: an interval log keeps its step through it.
    alike, whole, near, median = _steadiness(spacing, log, len(column))
    span = np.zeros(len(column), np.int64)
    filled = length > 0
    span[filled] = series.time[(begin + length - 1)[filled]] - series.time[begin[filled]]
    return _Looks(length.copy(), median, alike, repeats, span, whole, near, np.ones(len(column)), median)


def _look_closely(series: Series, column: np.ndarray, run: np.ndarray, sparse: np.ndarray) -> _Looks:
    """Look at logs again, their empty cells left out: between the samples of a slow point a table has many."""
    wanted = np.zeros(series.target.shape, bool)
    wanted[column[sparse], run[sparse]] = True
    dense = np.setdiff1d(np.arange(len(column)), sparse)
    result = _Looks(*(np.zeros(len(column)) for _ in range(9)))
    if len(dense):
        _put(result, dense, _look(series, column[dense], run[dense], full=True))
    for c in np.unique(column[sparse]).tolist():
        rows = np.flatnonzero(np.repeat(wanted[c], np.diff(series.begin)) & ~np.isnan(series.value[c]))
        if not len(rows):
            continue  # a tidy table has columns that most terminals leave empty
        mine = sparse[column[sparse] == c]
        begin = np.searchsorted(rows, series.begin[run[mine]])
        end = np.searchsorted(rows, series.begin[run[mine] + 1])
        whole = Series(
            np.zeros((1, len(mine)), np.int64),
            np.zeros((1, len(mine)), np.int64),
            np.r_[begin, end[-1]],
            series.time[rows],
            series.value[c, rows][None, :],
            series.tabled,
        )
        look = _look(whole, np.zeros(len(mine), np.int64), np.arange(len(mine)), full=True)
        rows_in_run = np.diff(series.begin)[run[mine]]
        look.filled = look.count / rows_in_run.clip(1)
        first = series.begin[run[mine]].clip(max=len(series.time) - 1)
        last = np.maximum(series.begin[run[mine] + 1] - 1, first)  # of a run without a row: the first
        look.row = (series.time[last] - series.time[first]) / (rows_in_run - 1).clip(1)
        _put(result, mine, look)
    return result


def _put(result: _Looks, at: np.ndarray, part: _Looks) -> None:
    for name, array in vars(part).items():
        getattr(result, name)[at] = array


def _steadiness(spacing: np.ndarray, log: np.ndarray, size: int) -> tuple[np.ndarray, ...]:
    """Return what share of each log's spacings is like their median, a multiple of it, or near it; the median [us]."""
    median = _medians(spacing, log, size)
    slack = np.clip(0.1 * median, 1.5 * SECOND, _SLACK)[log]
    seen = np.maximum(1, np.bincount(log, minlength=size))
    alike = np.abs(spacing - median[log]) <= slack
    times = np.round(spacing / np.maximum(median[log], 1))
    whole = (times >= 1) & (np.abs(spacing - times * median[log]) <= slack)
    near = (2 * spacing >= median[log]) & (spacing <= 2 * median[log])
    return *(np.bincount(log, each, size) / seen for each in (alike, whole, near)), median


def _medians(spacing: np.ndarray, log: np.ndarray, size: int) -> np.ndarray:
    """Return the median spacing of each log; 0 for one without.

    ``log`` does not fall, and no log has more than ``_LOOKED_AT`` spacings: a line each in a small table is sorted.
    """
    count = np.bincount(log, minlength=size)
    lines = np.full((size, count.max(initial=0) + 1), np.iinfo(np.int64).max)
    lines[log, np.arange(len(log)) - (np.cumsum(count) - count)[log]] = spacing
    lines.sort(axis=1)
    each = np.arange(size)
    low, high = lines[each, (count - 1).clip(0) // 2], lines[each, count // 2]
    return np.where(count > 0, (low.astype(float) + high) / 2, 0.0)


def _nominal(seconds: np.ndarray) -> np.ndarray:
    nearest = _USUAL[np.abs(seconds[:, None] - _USUAL).argmin(axis=1)]
    whole = np.maximum(np.round(seconds), 1)
    return np.where(np.abs(seconds - nearest) <= 0.02 * nearest, nearest, whole).astype(float)


def _by_company(every: list[Series], logs: Logs, few: np.ndarray, filled: np.ndarray) -> None:
    """Tell the few-sample logs by their company.

    A handful of samples cannot show an interval of its own. In a table whose rows it mostly fills it has that of its
    neighbours; elsewhere if its stamps meet theirs, and are even or no rarer than hourly; else it is a log of changes.
    """
    of_changes = ((logs.interval == 0) & ~few).sum() > (logs.interval > 0).sum()
    finest = pd.Series(np.where(logs.interval > 0, logs.interval, np.inf)).groupby(logs.owner).min()
    common = finest.min()
    for log in np.flatnonzero(few).tolist():
        grid = finest[logs.owner[log]]
        stamps = _stamps(every[logs.series[log]], logs.column[log], logs.run[log])
        spacing = np.diff(stamps)
        even = not np.isfinite(grid) and not of_changes and _even(spacing)
        if filled[log] or even or (np.isfinite(grid) and _meet(stamps, grid) and not _of_a_schedule(spacing)):
            own = _nominal(np.array([_common_step(spacing)]))[0] if len(spacing) else np.inf
            choices = [seconds for seconds in (own, grid, common) if np.isfinite(seconds)]
            logs.interval[log] = choices[0] if choices else 0.0


def _stamps(series: Series, column: int, run: int) -> np.ndarray:
    part = slice(series.begin[run], series.begin[run + 1])
    return series.time[part][~np.isnan(series.value[column, part])]


def _common_step(spacing: np.ndarray) -> float:
    """Return the greatest step [s] of which all spacings are multiples; the least spacing where they have none."""
    step = int(np.gcd.reduce(np.round(spacing / SECOND).astype(np.int64)))
    least = spacing.min() / SECOND
    return step if step >= 0.05 * least else least


def _meet(stamps: np.ndarray, grid: float) -> bool:
    off = (stamps + grid * SECOND / 2) % (grid * SECOND) - grid * SECOND / 2
    return bool((np.abs(off) <= 10 * SECOND).all())


def _of_a_schedule(spacing: np.ndarray) -> bool:
    """Tell changes on the hour, morning and evening, from a slow interval log."""
    if not len(spacing):
        return False
    usual = np.median(spacing) / SECOND
    return usual >= _RARELY or (usual > _SIGN_OF_LIFE and not _even(spacing))


def _even(spacing: np.ndarray) -> bool:
    return len(spacing) >= 2 and bool((np.abs(spacing - spacing[0]) <= 0.1 * spacing[0]).all())
