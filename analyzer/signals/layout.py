"""Where the rows of terminals stand, and when: their grid, their moments and days, and windows of time about them.

Arrays run over the rows (all terminals, one after the other); per-terminal arrays run over the terminals. Nothing here
loops over either.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
import pandas as pd

from analyzer.signals.axes import Axes, clock_key, day_numbers, local_time
from analyzer.signals.grouped import grouped_median
from analyzer.signals.windows import window_end, window_start

# A missing sample is bridged by the value before it for this many intervals of the log, and never more.
HOLD_INTERVALS = 3

T = TypeVar("T")


class Layout:
    """Rows of terminals in time.

    Attributes
    ----------
    count : int
        How many terminals there are.
    rows_of : ndarray of int
        How many rows each terminal has.
    first : ndarray of int
        First row of each terminal, and the number of rows at the end.
    code : ndarray of int
        Row to terminal.
    seconds : ndarray of float
        Time of each row, seconds since 1970 UTC.
    interval : ndarray of float
        The grid of each terminal [s].
    regular : ndarray of bool
        Whether every step of a terminal's rows is its interval.
    hours : ndarray of float
        The time for which a row stands [h]: to the next row, or one interval where the next is further than a gap.
    """

    time_zone: str
    seconds: np.ndarray
    interval: np.ndarray
    regular: np.ndarray
    hours: np.ndarray

    def _lay_out(self, rows_of: np.ndarray) -> None:
        self.rows_of, self.first = rows_of, np.concatenate([[0], np.cumsum(rows_of)])
        self.count = len(rows_of)
        self.code = np.repeat(np.arange(self.count), rows_of)
        self._filled = np.flatnonzero(rows_of)
        self._known: dict[Hashable, Any] = {}

    @property
    def size(self) -> int:
        return len(self.code)

    def _grid(self) -> tuple[np.ndarray, np.ndarray]:
        """Return each terminal's median step, NaN for a single row, and whether all its steps are the same."""
        step = np.empty(self.size)
        np.subtract(self.seconds[1:], self.seconds[:-1], out=step[:-1])
        step[self.first[1:][self._filled] - 1] = np.nan
        least, most = self.reduce(np.fmin, step, np.nan), self.reduce(np.fmax, step, np.nan)
        regular = least == most
        if not (regular | (self.rows_of < 2)).all():
            rows = np.flatnonzero(~np.isnan(step) & ~self.per_row(regular))
            least = np.where(regular, least, grouped_median(step[rows], self.code[rows], self.count))
        return least, regular

    def _hours(self) -> np.ndarray:
        interval = self.per_row(np.nan_to_num(self.interval))
        if not self.regular.all():
            step = np.full(self.size, np.inf)
            np.subtract(self.seconds[1:], self.seconds[:-1], out=step[:-1])
            step[self.first[1:][self._filled] - 1] = np.inf
            interval = np.where(step <= HOLD_INTERVALS * interval, step, interval)
        return interval / 3600

    def per_row(self, values: np.ndarray) -> np.ndarray:
        """Spread one value per terminal over the terminal's rows."""
        return np.repeat(values, self.rows_of)

    def per_terminal(self, values: np.ndarray) -> np.ndarray:
        """Sum a value per row over each terminal's rows."""
        return self.reduce(np.add, values, 0.0)

    def reduce(self, function: np.ufunc, values: np.ndarray, without_rows) -> np.ndarray:
        """Reduce a value per row to one per terminal; ``without_rows`` stands for terminals that have none."""
        if not len(self._filled):
            return np.full(self.count, without_rows)
        found = function.reduceat(values, self.first[self._filled])
        if len(self._filled) == self.count:
            return found
        result = np.full(self.count, without_rows, dtype=np.result_type(found, type(without_rows)))
        result[self._filled] = found
        return result

    def once(self, key: Hashable, work_out: Callable[[], T]) -> T:
        """Return what a function works out, worked out once."""
        if key not in self._known:
            self._known[key] = work_out()
        found: T = self._known[key]
        return found

    # Moments and days ----------------------------------------------------------------------------------------------

    @property
    def start(self) -> np.ndarray:
        """The moment of each terminal's first row [s]; 0 where it has none."""
        start = np.zeros(self.count)
        start[self._filled] = self.seconds[self.first[self._filled]]
        return start

    @property
    def _clock_key(self) -> np.ndarray:
        return clock_key(self.start, self.interval, self.rows_of, self.regular)

    @cached_property
    def axes(self) -> Axes:
        """The time axes of the terminals."""
        return Axes(self._clock_key, self.first)

    @cached_property
    def local_moments(self) -> pd.DatetimeIndex:
        """The moments of the time axes, in the site's zone: one for each of ``axes.rows``."""
        return local_time(self.seconds[self.axes.rows], self.time_zone)

    def by_clock(self, key, work_out: Callable[[pd.DatetimeIndex], np.ndarray]) -> np.ndarray:
        """Return per row what a function works out from the local moments of the time axes."""
        return self.once(key, lambda: work_out(self.local_moments)[self.axes.row])

    @cached_property
    def days(self) -> int:
        """How many local days the rows lie in."""
        return len(self.local_days)

    @cached_property
    def local_days(self) -> pd.DatetimeIndex:
        """The local days in which the rows lie, in order."""
        return self._day_numbers[1]

    @cached_property
    def _day_numbers(self) -> tuple[np.ndarray, pd.DatetimeIndex]:
        """The number of the local day of each moment of the time axes, and the days."""
        return day_numbers(self.local_moments)

    @cached_property
    def group_of_day(self) -> np.ndarray:
        """For each row, the number of its terminal and local day: terminal times the number of days, plus the day."""
        group = self._day_numbers[0][self.axes.row]
        group += self.per_row(np.arange(self.count) * self.days)
        return group

    @property
    def groups(self) -> int:
        """How many groups of terminal and day there are."""
        return self.count * self.days

    def past(self, seconds: float | np.ndarray) -> np.ndarray:
        """Return for each row the first of its terminal within the past so many seconds (one, or one per terminal)."""
        return self._window("past", window_start, seconds)

    def ahead(self, seconds: float) -> np.ndarray:
        """Return for each row the row after the last of its terminal within so many seconds ahead, inclusive."""
        return self._window("ahead", window_end, seconds)

    def _window(self, way: str, find: Callable, seconds) -> np.ndarray:
        step = np.where(self.regular, self.interval, np.nan)
        key = (way, np.asarray(seconds, dtype=float).tobytes())
        return self.once(key, lambda: find(self.code, self.first, self.seconds, seconds, step))
