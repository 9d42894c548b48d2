"""Values onto rows: interval logs at their instants, changed values for as long as they stand, every fan start counted."""

from __future__ import annotations

import numpy as np

from analyzer.intake.grid import HOLD, Clock, Grid, Lanes
from analyzer.intake.logs import Logs
from analyzer.intake.moments import Samples, Series


def fill_regular(table: np.ndarray, grid: Grid, series: Series, logs: Logs, lanes: Lanes, column_of: np.ndarray) -> None:
    """Put a series' interval logs on the rows.

    Parameters
    ----------
    table : ndarray of float64, shape (quantities, rows)
        Filled where it stands; an empty cell leaves what is there.
    logs : Logs
        The interval logs of this series.
    column_of : ndarray of int
        For each target, its quantity's line in the table.
    """
    row = grid.row_of(lanes.owner_of_row, lanes.slot)
    lane = lanes.of(logs.owner, logs.run)
    if len(series.begin) == 2:
        quantity = column_of[logs.target]
        for column, own, line in zip(logs.column.tolist(), lane.tolist(), quantity.tolist(), strict=True):
            _put(table[line], row[lanes.begin[own] : lanes.begin[own + 1]], series.value[column])
        return
    for column in np.unique(logs.column).tolist():
        mine = logs.column == column
        _fill_column(table, series, column, logs.take(mine), lane[mine], lanes, row, column_of)


def _put(line: np.ndarray, row: np.ndarray, value: np.ndarray) -> None:
    there = ~np.isnan(value)
    if not there.all():
        row, value = row[there], value[there]
    if len(row) and row[-1] - row[0] == len(row) - 1 and (np.diff(row) == 1).all():
        line[row[0] : row[-1] + 1] = value  # rows that follow one another are copied as one piece
        return
    line[row] = value


def _fill_column(table, series: Series, column: int, logs: Logs, lane: np.ndarray, lanes: Lanes, row, column_of) -> None:
    """Put one column with many runs on the rows, all runs at once."""
    value = series.value[column]
    length = np.diff(series.begin)[logs.run]
    whole = len(logs.run) == len(series.begin) - 1 and np.array_equal(lane, np.arange(len(lanes.run)))
    if not whole:
        steps = np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length)
        value = value[np.repeat(series.begin[logs.run], length) + steps]
        row = row[np.repeat(lanes.begin[lane], length) + steps]
    quantity = column_of[logs.target]
    if (quantity == quantity[0]).all():
        _put(table[quantity[0]], row, value)
        return
    rows = table.shape[1]
    place = row + np.repeat(quantity.astype(np.int64) * rows, length)
    _put(table.reshape(-1), place, value)


def fill_held(table: np.ndarray, grid: Grid, change: Samples, owner: np.ndarray, clock: Clock, column_of: np.ndarray) -> None:
    """Put changed values on their first row, and on the rows after it for as long as they stand, up to the hold limit."""
    row = grid.row_of(owner, clock.following(change.time, owner))
    line_of = column_of[change.target]
    for line in np.unique(line_of).tolist():
        mine = np.flatnonzero(line_of == line)
        event = np.full(len(grid.time), -1, np.int64)
        event[row[mine]] = mine
        since = np.maximum.accumulate(np.where(event >= 0, np.arange(len(event)), -1))
        live = np.flatnonzero(since >= 0)
        which = event[since[live]]
        there = (owner[which] == grid.owner[live]) & (grid.time[live] - change.time[which] <= HOLD)
        table[line, live[there]] = change.value[which[there]]


def count_starts(grid: Grid, status: Samples, owner: np.ndarray, regular: np.ndarray, clock: Clock) -> np.ndarray:
    """Count fan starts since the previous row, from every sample of the status logs.

    Parameters
    ----------
    status : Samples
        Of the fan statuses, in order.
    owner : ndarray of int
        Of each sample.
    regular : ndarray of bool
        Of each sample, whether its log is an interval log.

    Returns
    -------
    ndarray of float64
        NaN for terminals without a fan status; 0 in a terminal's first row.
    """
    starts = np.full(len(grid.time), np.nan)
    has_fan = np.zeros(len(clock.step), bool)
    has_fan[owner] = True
    starts[has_fan[grid.owner]] = 0.0
    if not len(owner):
        return starts
    same = status.target[1:] == status.target[:-1]
    start = np.flatnonzero(np.r_[False, same & (status.value[1:] == 1) & (status.value[:-1] == 0)])
    time, mine = status.time[start], owner[start]
    slot = np.where(regular[start], clock.nearest(time, mine), clock.following(time, mine))
    count = np.bincount(grid.row_of(mine, slot), minlength=len(starts))
    starts[count > 0] = count[count > 0]
    first = np.r_[True, grid.owner[1:] != grid.owner[:-1]]
    starts[first & ~np.isnan(starts)] = 0.0
    return starts
