"""Values onto rows: interval logs at their instants, changed values while they stand, every fan start counted."""

from __future__ import annotations

import numpy as np

from analyzer.intake.grid.clocks import Clock
from analyzer.intake.grid.lanes import Lanes, each_of, in_parts
from analyzer.intake.grid.logs import Logs
from analyzer.intake.grid.moments import Samples, Series
from analyzer.intake.grid.rows import Grid


def fill_regular(
    table: np.ndarray, grid: Grid, series: Series, logs: Logs, lanes: Lanes, column_of: np.ndarray
) -> None:
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
    which, lane = lanes.of(logs.owner, logs.run)
    column, line, straight = logs.column[which], column_of[logs.target][which], lanes.straight[lane]
    start = grid.row_of(lanes.owner, lanes.first)
    _copy(table, series, lanes, start, column[straight], lane[straight], line[straight])
    if not straight.all():
        rows = grid.row_at(lanes.places(grid.base))
        _scatter(table, series, lanes, rows, column[~straight], lane[~straight], line[~straight])


def _copy(
    table: np.ndarray, series: Series, lanes: Lanes, start: np.ndarray, column: np.ndarray, lane: np.ndarray, line
) -> None:
    """Put the cells of straight lanes on their rows, lane by lane.

    Parameters
    ----------
    start : ndarray of int
        The first row of every lane.
    column, lane, line : ndarray of int
        As for :func:`_scatter`.
    """
    begin, end = lanes.begin[lane], lanes.end[lane]
    # At its ends a lane may meet the slot of another file's last or first sample.
    first, last = (np.isnan(series.value[column, row]) for row in (begin, end - 1))
    lists = (column, begin + first, end - last, start[lane] + first, line)
    for at, since, until, row, to in np.array(lists).T.tolist():
        if until > since:
            table[to, row : row + until - since] = series.value[at, since:until]


def _scatter(
    table: np.ndarray, series: Series, lanes: Lanes, rows: np.ndarray, column: np.ndarray, lane: np.ndarray, line
) -> None:
    """Put the cells of ragged lanes on their rows one by one.

    Parameters
    ----------
    rows : ndarray of int
        The row of every slot of the lanes.
    column, lane, line : ndarray of int
        Of each log: where it stands in the series, which lane that is, and its quantity's line in the table.
    """
    length = lanes.end[lane] - lanes.begin[lane]
    flat, width, size = table.reshape(-1), len(series.time), table.shape[1]
    for part in in_parts(length):
        which, place = each_of(lanes.place[lane[part]], length[part])
        cell = place + (column[part] * width + lanes.begin[lane[part]] - lanes.place[lane[part]])[which]
        value = series.value.reshape(-1)[cell]
        there = ~np.isnan(value)
        flat[(rows[place] + (line[part] * size)[which])[there]] = value[there]


def fill_held(
    table: np.ndarray,
    grid: Grid,
    change: Samples,
    owner: np.ndarray,
    first: np.ndarray,
    until: np.ndarray,
    column_of: np.ndarray,
) -> None:
    """Put changed values on their first row, and on those after it while they stand.

    Parameters
    ----------
    owner, first : ndarray of int
        Of each change, whose it is and its first slot.
    until : ndarray of int64
        The moment [us] to which it stands.
    """
    row = grid.row_of(owner, first)
    line_of = column_of[change.target]
    for line in np.unique(line_of).tolist():
        mine = np.flatnonzero(line_of == line)
        event = np.full(len(grid.time), -1, np.int64)
        event[row[mine]] = mine
        since = np.maximum.accumulate(np.where(event >= 0, np.arange(len(event)), -1))
        live = np.flatnonzero(since >= 0)
        which = event[since[live]]
        there = (owner[which] == grid.owner[live]) & (grid.time[live] <= until[which])
        # What an interval log holds on a row stands before a value that is only held there.
        there &= np.isnan(table[line, live])
        table[line, live[there]] = change.value[which[there]]


def count_starts(grid: Grid, line: np.ndarray, regular: np.ndarray) -> np.ndarray:
    """Count fan starts since the previous row, from the status on the rows.

    Parameters
    ----------
    line : ndarray of float64
        The status of every row.
    regular : ndarray of bool
        Of each owner, whether its status is an interval log, all of whose samples are on the rows.

    Returns
    -------
    ndarray of float64
        NaN for other owners; 0 in an owner's first row.
    """
    mine = np.ones(len(line), bool) if regular.all() else regular[grid.owner]
    starts = np.zeros(len(line)) if mine.all() else np.where(mine, 0.0, np.nan)
    there = ~np.isnan(line)
    there &= mine
    at, owner = None, grid.owner
    if not there.all():  # between two samples with empty rows between them a start stands on the second
        at = np.flatnonzero(there)
        owner, line = owner[at], line[at]
    start = np.flatnonzero((line[1:] == 1) & (line[:-1] == 0)) + 1
    start = start[owner[start] == owner[start - 1]]
    starts[start if at is None else at[start]] = 1.0
    return starts


def count_events(
    starts: np.ndarray, grid: Grid, status: Samples, owner: np.ndarray, regular: np.ndarray, clock: Clock
) -> None:
    """Count fan starts since the previous row from every sample of the status logs, where they stand on change.

    Parameters
    ----------
    starts : ndarray of float64
        Filled for the owners of the samples; 0 in an owner's first row.
    status : Samples
        Of the fan statuses, in order.
    owner : ndarray of int
        Of each sample.
    regular : ndarray of bool
        Of each sample, whether its log is an interval log: then it stands on the nearest row, else on the next.
    """
    mine = np.zeros(len(clock.step), bool)
    mine[owner] = True
    starts[mine[grid.owner]] = 0.0
    same = status.target[1:] == status.target[:-1]
    start = np.flatnonzero(np.r_[False, same & (status.value[1:] == 1) & (status.value[:-1] == 0)])
    time, who = status.time[start], owner[start]
    slot = np.where(regular[start], clock.nearest(time, who), clock.following(time, who))
    count = np.bincount(grid.row_of(who, slot), minlength=len(starts))
    starts[count > 0] = count[count > 0]
    first = np.r_[True, grid.owner[1:] != grid.owner[:-1]]
    starts[first & mine[grid.owner]] = 0.0
