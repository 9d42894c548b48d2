"""The time axes of a scene: what only depends on the clock, or on an air handler, is worked out once for each.

Terminals whose rows stand at the same moments share an axis; a terminal whose rows keep no regular step has one of its
own. The axes' rows are laid one after another.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

# What is compared across terminals and air handlers is compared by quarter hours, however each is logged [s].
QUARTER = 900.0


class Axes:
    """Which rows stand for the same moments.

    Parameters
    ----------
    key : ndarray, one row per terminal
        Terminals of one axis have the same key, and rows at the same moments.
    first : ndarray of int
        First row of each terminal, and the number of rows at the end.

    Attributes
    ----------
    terminal : ndarray of int
        For each axis, the terminal that stands for it.
    rows : ndarray of int
        The rows of those terminals: the axes' own rows, laid one after another.
    first : ndarray of int
        First of ``rows`` for each axis, and their number at the end.
    row : ndarray of int
        For each row of the scene, its place within ``rows``.
    """

    def __init__(self, key: np.ndarray, first: np.ndarray):
        length = np.diff(first)
        _, self.terminal, of_terminal = np.unique(key, axis=0, return_index=True, return_inverse=True)
        of_terminal = of_terminal.reshape(-1)
        self.first = np.concatenate([[0], np.cumsum(length[self.terminal])])
        self.rows = np.arange(self.first[-1]) + np.repeat(first[self.terminal] - self.first[:-1], length[self.terminal])
        self.row = np.arange(first[-1]) + np.repeat(self.first[of_terminal] - first[:-1], length)


def clock_key(start: np.ndarray, interval: np.ndarray, rows: np.ndarray, regular: np.ndarray) -> np.ndarray:
    """Return what tells the axes of terminals apart: where they start, their step and length, or the terminal itself.

    All are one per terminal: first moment [s], step [s], number of rows, and whether every step is the same.
    """
    own = np.where(regular, -1, np.arange(len(start)))
    return np.stack([start, np.nan_to_num(interval), rows, own], axis=1)


def local_time(seconds: np.ndarray, time_zone: str) -> pd.DatetimeIndex:
    """Return moments [s since 1970 UTC] in a time zone."""
    return pd.DatetimeIndex((seconds * 1e6).astype("int64").view("datetime64[us]"), tz="UTC").tz_convert(time_zone)


def day_numbers(local: pd.DatetimeIndex) -> tuple[np.ndarray, pd.DatetimeIndex]:
    """Number the local days of moments from 0, in order; return the numbers, and the days."""
    days, number = np.unique(local.tz_localize(None).normalize().to_numpy(), return_inverse=True)
    return number, pd.DatetimeIndex(days)
