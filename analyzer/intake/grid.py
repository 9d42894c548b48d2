"""From logs to rows: each terminal's grid, its values on it, and every fan start."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.intake.limits import EVENT_GRID_SECONDS, HOLD_LIMIT_HOURS
from analyzer.intake.logs import SECOND, Logs
from analyzer.intake.moments import Samples

_HOLD = int(HOLD_LIMIT_HOURS * 3600) * SECOND
_SEVERAL_SECONDS = 15 * SECOND
_MOST_SLOTS = 100_000_000


@dataclass
class Grid:
    """The rows of a table.

    Attributes
    ----------
    owner, time : ndarray
        Of each row: which terminal, and the moment [us, UTC]; sorted.
    step, phase : ndarray of int64
        Of each owner [us].
    low, base : ndarray of int64
        Of each owner: its first slot, and where its slots begin among the slots of all.
    keys : ndarray of int64
        Of each row: its place among the slots of all.
    rank : ndarray of int64 or None
        Of each slot: how many rows stand before it; None where there are too many slots to list.
    """

    owner: np.ndarray
    time: np.ndarray
    step: np.ndarray
    phase: np.ndarray
    low: np.ndarray
    base: np.ndarray
    keys: np.ndarray
    rank: np.ndarray | None

    def row_of(self, owner: np.ndarray, slot: np.ndarray) -> np.ndarray:
        """Return the row at a slot, or the first row after it."""
        key = slot + (self.base - self.low)[owner]
        return np.searchsorted(self.keys, key) if self.rank is None else self.rank[key]


def steps_and_phases(samples: Samples, logs: Logs, owner_of: np.ndarray, owners: int) -> tuple[np.ndarray, np.ndarray]:
    """Find every owner's grid: the finest interval of its logs, and where on the clock it falls."""
    owner = owner_of[logs.target]
    seconds = np.full(owners, np.inf)
    np.minimum.at(seconds, owner, np.where(logs.interval > 0, logs.interval, np.inf))
    step = np.where(np.isfinite(seconds), seconds, EVENT_GRID_SECONDS)
    step = np.round(step * SECOND).astype(np.int64)
    phase = np.zeros(owners, np.int64)
    finest = np.flatnonzero((logs.interval > 0) & (logs.interval * SECOND == step[owner]))
    if not len(finest):
        return step, phase
    middle = (logs.begin[finest] + logs.end[finest]) // 2
    off = np.zeros(len(finest))
    for place in (logs.begin[finest], middle, logs.end[finest] - 1):
        each = step[owner[finest]]
        off = np.c_[off, (samples.time[place] + each // 2) % each - each // 2]
    usual = np.median(off[:, 1:], axis=1).astype(np.int64)
    slack = np.maximum(_SEVERAL_SECONDS, step[owner[finest]] // 10)
    usual = np.where(np.abs(usual) <= np.minimum(slack, step[owner[finest]] // 4), 0, usual)
    nearest = pd.Series(usual).groupby(owner[finest]).agg(lambda all_: all_.iloc[np.abs(all_.to_numpy()).argmin()])
    phase[nearest.index] = nearest.to_numpy()
    return step, phase


def lay(samples: Samples, stamped: Samples, logs: Logs, owner_of: np.ndarray, owners: int, last: np.ndarray) -> Grid:
    """Lay the rows: wherever an interval log has a stamp, or a change-of-value log a value in force.

    Parameters
    ----------
    samples, logs
        The samples with a value, and their logs.
    stamped : Samples
        Samples of interval logs without a value: their rows stand, with nothing in them.
    last : ndarray of int64
        For every owner, until when change-of-value logs run [us].
    """
    step, phase = steps_and_phases(samples, logs, owner_of, owners)
    interval = np.zeros(len(owner_of), bool)
    interval[logs.target[logs.interval > 0]] = True
    logged = np.zeros(len(owner_of), bool)
    logged[logs.target] = True
    stamped = stamped.take(interval[stamped.target])
    regular = interval[samples.target]
    owner = np.r_[owner_of[samples.target[regular]], owner_of[stamped.target]]
    slot = _slot(np.r_[samples.time[regular], stamped.time], owner, step, phase)
    change = samples.take(~regular)
    held_owner, held_from, held_until = _in_force(change, owner_of, slot, owner, step, phase, last)
    low, base, keys, rank = _occupied(owner, slot, held_owner, held_from, held_until, owners)
    row_owner = np.searchsorted(base[1:], keys, side="right")
    time = (keys - base[row_owner] + low[row_owner]) * step[row_owner] + phase[row_owner]
    return Grid(row_owner, time, step, phase, low, base[:-1], keys, rank)


def _slot(time: np.ndarray, owner: np.ndarray, step: np.ndarray, phase: np.ndarray) -> np.ndarray:
    """Return the nearest instant of the owner's grid."""
    return (time - phase[owner] + step[owner] // 2) // step[owner]


def _next_slot(time: np.ndarray, owner: np.ndarray, step: np.ndarray, phase: np.ndarray) -> np.ndarray:
    """Return the first instant of the owner's grid at or after a moment."""
    return -((phase[owner] - time) // step[owner])


def _in_force(change: Samples, owner_of, slot, owner, step, phase, last) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the slots over which each changed value is in force: until the next change, the hold limit or the end."""
    mine = owner_of[change.target]
    begin = _next_slot(change.time, mine, step, phase)
    final = (last - phase) // step
    if len(slot):
        ends = np.full(len(step), np.iinfo(np.int64).min)
        np.maximum.at(ends, owner, slot)
        final = np.where(ends > np.iinfo(np.int64).min, ends, final)
    latest = np.full(len(step), np.iinfo(np.int64).min)
    np.maximum.at(latest, mine, begin)
    final = np.maximum(final, latest)
    follows = np.r_[change.target[1:] == change.target[:-1], False] if len(change.target) else np.zeros(0, bool)
    until = np.minimum((change.time + _HOLD - phase[mine]) // step[mine], final[mine])
    after = np.r_[begin[1:], 0] if len(begin) else begin
    until = np.where(follows, np.minimum(until, after), until)
    return mine, begin, np.maximum(until, begin)


def _occupied(owner, slot, held_owner, held_from, held_until, owners):
    """Return every owner's first slot, where its slots begin among all, the slots that are rows, and their ranks."""
    low = np.full(owners, np.iinfo(np.int64).max)
    high = np.full(owners, np.iinfo(np.int64).min)
    for who, first, final in ((owner, slot, slot), (held_owner, held_from, held_until)):
        np.minimum.at(low, who, first)
        np.maximum.at(high, who, final)
    low = np.where(high < low, 0, low)
    size = np.where(high < low, 0, high - low + 1)
    base = np.r_[0, np.cumsum(size)]
    keys = slot - low[owner] + base[owner]
    begin = held_from - low[held_owner] + base[held_owner]
    end = held_until - low[held_owner] + base[held_owner]
    if base[-1] <= _MOST_SLOTS:
        taken = np.zeros(base[-1] + 1, np.int32)
        np.add.at(taken, begin, 1)
        np.add.at(taken, end + 1, -1)
        rows = np.cumsum(taken[:-1]) > 0
        rows[keys] = True
        return low, base, np.flatnonzero(rows), np.cumsum(rows) - rows
    # A clock that jumped by years leaves a few rows far apart: list them instead of laying out the years between.
    length = end - begin + 1
    held = np.repeat(begin - np.cumsum(length) + length, length) + np.arange(length.sum())
    return low, base, np.unique(np.r_[keys, held]), None


def fill(
    grid: Grid, samples: Samples, logs: Logs, owner_of: np.ndarray, column_of: np.ndarray, columns: int
) -> np.ndarray:
    """Put the values on the rows.

    Returns
    -------
    ndarray of float64, shape (columns, rows)
    """
    rows = len(grid.time)
    table = np.full((columns, rows), np.nan)
    interval = np.zeros(len(owner_of), bool)
    interval[logs.target[logs.interval > 0]] = True
    regular = interval[samples.target]
    owner = owner_of[samples.target]
    if regular.any():
        row = grid.row_of(owner[regular], _slot(samples.time[regular], owner[regular], grid.step, grid.phase))
        table.reshape(-1)[column_of[samples.target[regular]].astype(np.int64) * rows + row] = samples.value[regular]
    if not regular.all():
        _hold(grid, samples.take(~regular), owner[~regular], column_of, table)
    return table


def _hold(grid: Grid, change: Samples, owner: np.ndarray, column_of: np.ndarray, table: np.ndarray) -> None:
    """Put changed values on their first row, and on the rows after it up to the hold limit."""
    row = grid.row_of(owner, _next_slot(change.time, owner, grid.step, grid.phase))
    for column in np.unique(column_of[change.target]).tolist():
        mine = column_of[change.target] == column
        event = np.full(len(grid.time), -1, np.int64)
        event[row[mine]] = np.flatnonzero(mine)
        since = np.maximum.accumulate(np.where(event >= 0, np.arange(len(event)), -1))
        live = since >= 0
        which = event[since[live]]
        there = (owner[which] == grid.owner[live]) & (grid.time[live] - change.time[which] <= _HOLD)
        at = np.flatnonzero(live)[there]
        table[column, at] = change.value[which[there]]


def count_starts(grid: Grid, samples: Samples, logs: Logs, owner_of: np.ndarray, status: np.ndarray) -> np.ndarray:
    """Count fan starts since the previous row, from every sample of the status log.

    Parameters
    ----------
    status : ndarray of bool
        Which targets are a fan status.

    Returns
    -------
    ndarray of float64
        NaN for terminals without a fan status; 0 in a terminal's first row.
    """
    starts = np.full(len(grid.time), np.nan)
    has_fan = np.zeros(len(grid.step), bool)
    has_fan[owner_of[logs.target[status[logs.target]]]] = True
    starts[has_fan[grid.owner]] = 0.0
    at = np.flatnonzero(status[samples.target])
    if not len(at):
        return starts
    target, value = samples.target[at], samples.value[at]
    start = np.r_[False, (target[1:] == target[:-1]) & (value[1:] == 1) & (value[:-1] == 0)]
    at = at[start]
    owner = owner_of[samples.target[at]]
    interval = np.zeros(len(owner_of), bool)
    interval[logs.target[logs.interval > 0]] = True
    nearest = _slot(samples.time[at], owner, grid.step, grid.phase)
    following = _next_slot(samples.time[at], owner, grid.step, grid.phase)
    row = grid.row_of(owner, np.where(interval[samples.target[at]], nearest, following))
    count = np.bincount(row, minlength=len(starts))
    starts[count > 0] = count[count > 0]
    first = np.r_[True, grid.owner[1:] != grid.owner[:-1]]
    starts[first & ~np.isnan(starts)] = 0.0
    return starts
