"""Values at their moments: every log in the order of time, one log per quantity of a terminal, without duplicates."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.quantities import Unit


@dataclass
class Series:
    """Columns of values over shared moments, cut into runs; one column within one run is one log.

    Attributes
    ----------
    target : ndarray of int, shape (columns, runs)
        Which quantity of which terminal or air handler each log is; -1 for none.
    source : ndarray of int, shape (columns, runs)
        Which point of which file; the ledger's line.
    begin : ndarray of int, shape (runs + 1,)
        Where each run begins among the rows, and the end.
    time : ndarray of int64, shape (rows,)
        Moment [us, UTC]; increasing within a run once :func:`settle` is done.
    value : ndarray of float64, shape (columns, rows)
        SI; NaN where a cell was set aside.
    tabled : bool
        Whether the logs stood in a table with common stamps.
    """

    target: np.ndarray
    source: np.ndarray
    begin: np.ndarray
    time: np.ndarray
    value: np.ndarray
    tabled: bool

    @property
    def run_of_row(self) -> np.ndarray:
        return np.repeat(np.arange(len(self.begin) - 1), np.diff(self.begin))

    def keep_rows(self, good: np.ndarray) -> None:
        """Drop the rows that are not good."""
        kept = np.r_[0, np.cumsum(good)]
        self.begin = kept[self.begin]
        self.time, self.value = self.time[good], self.value[:, good]

    def set_aside(self, column: int, run: int) -> None:
        """Empty the cells of one log; its moments stay."""
        self.value[column, self.begin[run] : self.begin[run + 1]] = np.nan

    def late_rows(self) -> np.ndarray:
        """Return where a row does not come after the one before it in its run."""
        late = np.r_[False, self.time[1:] <= self.time[:-1]]
        late[self.begin[:-1][self.begin[:-1] < len(late)]] = False
        return late

    def sort_runs(self) -> None:
        """Bring every run into the order of time; equal moments keep the file's order."""
        order = np.lexsort((self.time, self.run_of_row))
        self.time, self.value = self.time[order], self.value[:, order]


@dataclass
class Samples:
    """Logs laid flat: one value after another, those of one target together once they are in order.

    Attributes
    ----------
    target, source : ndarray of int
    time : ndarray of int64
    value : ndarray of float64
        NaN for a cell that was set aside but stands at a known moment.
    """

    target: np.ndarray
    source: np.ndarray
    time: np.ndarray
    value: np.ndarray

    def take(self, which) -> Samples:
        """Return some of the samples: a mask, or an order."""
        return Samples(self.target[which], self.source[which], self.time[which], self.value[which])


def no_samples() -> Samples:
    return Samples(np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0))


def join(parts: list[Samples]) -> Samples:
    """Put samples together."""
    if not parts:
        return no_samples()
    names = ("target", "source", "time", "value")
    return Samples(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))


def flatten(series: Series, wanted: np.ndarray) -> Samples:
    """Lay the wanted logs of a series flat.

    Parameters
    ----------
    wanted : ndarray of bool, shape (columns, runs)
    """
    parts = []
    for column in np.flatnonzero(wanted.any(axis=1)).tolist():
        rows = np.repeat(wanted[column], np.diff(series.begin))
        every = bool(rows.all())
        lengths = np.where(wanted[column], np.diff(series.begin), 0)
        parts.append(
            Samples(
                np.repeat(series.target[column], lengths),
                np.repeat(series.source[column], lengths),
                series.time if every else series.time[rows],
                series.value[column] if every else series.value[column][rows],
            )
        )
    return join(parts)


def take_out_messy(every: list[Series], targets: int) -> Samples:
    """Take the logs that need care out of their series: with equal moments, overlapping, or of one sample each.

    Parameters
    ----------
    every : list of Series
        Rows out of order are put in order; the logs that are taken out are marked with target -1. Logs of one target
        that follow each other, such as one file a day, stay where they are.
    targets : int
        How many there are.

    Returns
    -------
    Samples
        Those logs laid flat; none in the usual case.
    """
    crowded = [_in_order(series) for series in every]
    overlapping = _overlapping(every, targets)
    parts = []
    for series, full in zip(every, crowded, strict=True):
        there = series.target >= 0
        overlapping[series.target[there & full[None, :]]] = True
    for series in every:
        messy = series.target >= 0
        messy[messy] = overlapping[series.target[messy]]
        if messy.any():
            parts.append(flatten(series, messy))
            series.target = np.where(messy, -1, series.target)
    return join(parts)


def _in_order(series: Series) -> np.ndarray:
    """Bring a series' runs into the order of time; return the runs in which a moment stands twice."""
    late = series.late_rows()
    if late.any():
        series.sort_runs()
        late = series.late_rows()
    crowded = np.zeros(len(series.begin) - 1, bool)
    crowded[np.searchsorted(series.begin, np.flatnonzero(late), side="right") - 1] = True
    return crowded


def _overlapping(every: list[Series], targets: int) -> np.ndarray:
    """Tell the targets of which two logs run at the same time, or all are of one sample: a file for every round."""
    parts = []
    for series in every:
        column, run = np.nonzero((series.target >= 0) & (np.diff(series.begin) > 0))
        first, last = series.time[series.begin[run]], series.time[series.begin[run + 1] - 1]
        parts.append(np.array([series.target[column, run], first, last]).reshape(3, -1))
    target, first, last = np.concatenate(parts, axis=1)
    order = np.lexsort((first, target))
    target, first, last = target[order], first[order], last[order]
    overlapping = np.zeros(targets, bool)
    overlapping[target[1:][(target[1:] == target[:-1]) & (first[1:] <= last[:-1])]] = True
    logs, single = np.bincount(target, minlength=targets), np.bincount(target, first == last, targets)
    return overlapping | ((logs > 1) & (single == logs))


def without_duplicates(samples: Samples, units: list[Unit]) -> tuple[Samples, np.ndarray, np.ndarray]:
    """Bring samples into the order of target and time, and take duplicates out.

    Of samples of one target at one moment, identical ones (within the coarser resolution of their sources) are kept
    once, of conflicting ones only the moment.

    Parameters
    ----------
    units : list of Unit
        The unit in which each source's file holds it.

    Returns
    -------
    Samples, ndarray of int, ndarray of bool
        What is left; the source of each value that was taken out, and whether another of its moment conflicts with it.
    """
    samples = samples.take(np.lexsort((samples.time, samples.target)))
    at = np.flatnonzero(~np.isnan(samples.value))
    target, time = samples.target[at], samples.time[at]
    same = np.r_[False, (target[1:] == target[:-1]) & (time[1:] == time[:-1])][: len(at)]
    if not same.any():
        return samples, np.zeros(0, np.int64), np.zeros(0, bool)
    group = np.cumsum(~same)
    crowded = np.bincount(group)[group] > 1
    at, group, same = at[crowded], group[crowded], same[crowded]
    resolution = _resolutions(samples, units)[samples.source[at]]
    frame = pd.DataFrame({"value": samples.value[at], "resolution": resolution}).groupby(group)
    spread = (frame["value"].transform("max") - frame["value"].transform("min")).to_numpy()
    agree = spread <= frame["resolution"].transform("max").to_numpy()
    taken_out = np.where(agree, same, True)
    aside = at[taken_out]
    samples.value[aside] = np.nan
    kept = np.ones(len(samples.time), bool)
    kept[at[same]] = False
    return samples.take(kept), samples.source[aside], ~agree[taken_out]


def _resolutions(samples: Samples, units: list[Unit]) -> np.ndarray:
    """Estimate each source's resolution [SI] from the decimals of its numbers: half a last decimal, and rounding."""
    scale = np.array([unit.scale for unit in units])
    before, after = np.array([unit.before for unit in units]), np.array([unit.after for unit in units])
    at = np.flatnonzero(~np.isnan(samples.value))
    source = samples.source[at]
    number = (samples.value[at] - after[source]) / scale[source] - before[source]
    step = np.full(len(units), 1e-6)
    for decimals in (4, 3, 2, 1, 0):
        rough = np.abs(np.round(number, decimals) - number) > 1e-7 * np.maximum(1.0, np.abs(number))
        fine = np.bincount(source[rough], minlength=len(units)) > 0
        step = np.where(fine, step, 10.0**-decimals)
    return 0.5001 * step * scale + 1e-6


def as_series(samples: Samples, *, tabled: bool) -> Series:
    """Make samples in order a series again: one column, a run per target."""
    begin = np.flatnonzero(np.r_[True, samples.target[1:] != samples.target[:-1]])
    return Series(
        samples.target[begin][None, :],
        samples.source[begin][None, :],
        np.r_[begin, len(samples.target)],
        samples.time,
        samples.value[None, :],
        tabled,
    )
