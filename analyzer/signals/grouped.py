"""Sums and medians over rows that lie in groups, one group after another: terminals, or their days."""

from __future__ import annotations

import numpy as np


class Groups:
    """Rows cut into stretches of one group each.

    Parameters
    ----------
    number : ndarray of int
        The group of each row, never falling.
    count : int
        How many groups there are; some may have no row.
    """

    def __init__(self, number: np.ndarray, count: int):
        self.count = count
        begins = np.flatnonzero(number[1:] != number[:-1]) + 1
        self.start = np.concatenate([[0], begins]) if len(number) else begins
        self.present = number[self.start]
        self.size = np.diff(np.append(self.start, len(number)))

    def sum(self, values: np.ndarray) -> np.ndarray:
        """Sum a value per row over each group; 0 for a group without rows."""
        total = np.zeros(self.count)
        if len(self.start):
            total[self.present] = np.add.reduceat(values, self.start)
        return total

    def any(self, values: np.ndarray) -> np.ndarray:
        """Tell for each group whether a bool per row is ever true; never for a group without rows."""
        ever = np.zeros(self.count, dtype=bool)
        if len(self.start):
            ever[self.present] = np.logical_or.reduceat(values, self.start)
        return ever

    def mean(self, values: np.ndarray, weight: np.ndarray, total: np.ndarray) -> np.ndarray:
        """Average a value per row over each group, weighted; ``total`` is the sum of the weights, NaN for 0."""
        return self.sum(values * weight) / total

    def spread(self, values: np.ndarray) -> np.ndarray:
        """Spread one value per group over the rows."""
        return np.repeat(values[self.present], self.size)

    def median(self, values: np.ndarray) -> np.ndarray:
        """Return the median of each group's values, none of which is NaN; NaN for a group without rows."""
        median = np.full(self.count, np.nan)
        # Groups of like size are sorted together, as the rows of a table that is filled up behind them.
        likeness = np.ceil(np.log2(self.size)).astype(np.int64)
        for like in np.unique(likeness):
            at = np.flatnonzero(likeness == like)
            size = self.size[at]
            table = np.full((len(at), size.max()), np.inf)
            mine = values if len(at) == len(self.size) else values[np.repeat(likeness == like, self.size)]
            table[np.arange(size.max()) < size[:, None]] = mine
            table.sort(axis=1)
            row = np.arange(len(at))
            median[self.present[at]] = (table[row, (size - 1) // 2] + table[row, size // 2]) / 2
        return median


def least_of(values: np.ndarray, number: np.ndarray, count: int) -> np.ndarray:
    """Return the least value of each group of rows, NaN for a group without rows."""
    groups, least = Groups(number, count), np.full(count, np.nan)
    if len(number):
        least[groups.present] = np.minimum.reduceat(values, groups.start)
    return least


def grouped_median(values: np.ndarray, number: np.ndarray, count: int) -> np.ndarray:
    """Return the median of each group's known values; ``number`` is each row's group, never falling."""
    known = values == values
    if not known.all():
        values, number = values[known], number[known]
    return Groups(number, count).median(values)


def shared_median(label: np.ndarray, table: np.ndarray, least: int) -> np.ndarray:
    """Return each column's median over the rows of one label, laid over them; NaN where fewer than ``least`` are known.

    ``label`` is one per row of ``table``.
    """
    labels, of_row = np.unique(label, return_inverse=True)
    columns = table.shape[1]
    key = (of_row.reshape(-1, 1) * columns + np.arange(columns)).ravel()
    rows = np.flatnonzero(~np.isnan(table.ravel()))
    rows = rows[np.argsort(key[rows], kind="stable")]
    groups = Groups(key[rows], len(labels) * columns)
    median = groups.median(table.ravel()[rows])
    median[groups.present[groups.size < least]] = np.nan
    return median[key].reshape(table.shape)


def median_of_known(table: np.ndarray) -> np.ndarray:
    """Return the median of what is known in each row of a table; NaN where nothing is."""
    known = ~np.isnan(table)
    owner = np.broadcast_to(np.arange(len(table))[:, None], table.shape)
    return Groups(owner[known], len(table)).median(table[known])
