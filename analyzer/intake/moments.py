"""Samples of the whole reading: one log per target, in order of time, without duplicates."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.intake.convert import REASON, USED
from analyzer.quantities import Unit


@dataclass
class Samples:
    """Samples of many points, those of one point together.

    Attributes
    ----------
    target : ndarray of int32
        Which quantity of which terminal or air handler.
    time : ndarray of int64
        Moment [us, UTC].
    value : ndarray of float64
        SI; NaN for a cell that was set aside but stands at a known moment.
    source : ndarray of int32
        Which point of which file; the ledger's line.
    reason : ndarray of uint8
        ``USED`` or a number of ``REASON``; cells without a moment are not here.
    """

    target: np.ndarray
    time: np.ndarray
    value: np.ndarray
    source: np.ndarray
    reason: np.ndarray

    def take(self, which) -> Samples:
        return Samples(self.target[which], self.time[which], self.value[which], self.source[which], self.reason[which])


def join(parts: list[Samples]) -> Samples:
    """Put the samples of several tables together."""
    if len(parts) == 1:
        return parts[0]
    return Samples(
        *(np.concatenate([getattr(p, name) for p in parts]) for name in ("target", "time", "value", "source", "reason"))
    )


def in_order(samples: Samples, units: list[Unit]) -> Samples:
    """Bring each target's samples into the order of time, and set duplicates aside.

    Of samples of one target at one moment, identical ones (within the coarser resolution of their sources) are kept
    once, conflicting ones are all set aside.

    Parameters
    ----------
    units : list of Unit
        The unit in which each source's file holds it.

    Returns
    -------
    Samples
        Each target's samples together; sorted by time; ``reason`` marks the duplicates.
    """
    target, time = samples.target, samples.time
    if len(target) < 2:
        return samples
    border = target[1:] != target[:-1]
    late = np.r_[True, border | (time[1:] > time[:-1])]
    begins = np.r_[True, border]
    starts = target[begins]
    split = np.bincount(starts, minlength=target.max() + 1) > 1
    untidy = split.copy()
    untidy[target[~late]] = True
    if not untidy.any():
        return samples
    messy = untidy[target]
    part = samples.take(messy)
    part = part.take(np.lexsort((part.time, part.target)))
    _set_duplicates_aside(part, units)
    return join([samples.take(~messy), part])


def tidy_sources(samples: Samples) -> Samples:
    """Bring each source's samples into the order of time, duplicates left as they are."""
    back = (samples.source[1:] == samples.source[:-1]) & (samples.time[1:] < samples.time[:-1])
    return samples.take(np.lexsort((samples.time, samples.source))) if back.any() else samples


def _set_duplicates_aside(samples: Samples, units: list[Unit]) -> None:
    at = np.flatnonzero(samples.reason == USED)
    target, time = samples.target[at], samples.time[at]
    same = np.r_[False, (target[1:] == target[:-1]) & (time[1:] == time[:-1])]
    if not same.any():
        return
    group = np.cumsum(~same)
    crowded = np.isin(group, group[same])
    at, group, same = at[crowded], group[crowded], same[crowded]
    resolution = _resolutions(samples, units)[samples.source[at]]
    frame = pd.DataFrame({"value": samples.value[at], "resolution": resolution}).groupby(group)
    spread = (frame["value"].transform("max") - frame["value"].transform("min")).to_numpy()
    agree = spread <= frame["resolution"].transform("max").to_numpy()
    aside = np.where(agree, same, True)
    samples.reason[at[aside]] = REASON["duplicate timestamp"]
    samples.value[at[aside]] = np.nan


def _resolutions(samples: Samples, units: list[Unit]) -> np.ndarray:
    """Estimate each source's resolution [SI] from the decimals of its numbers: half a last decimal, and rounding."""
    scale = np.array([unit.scale for unit in units])
    before, after = np.array([unit.before for unit in units]), np.array([unit.after for unit in units])
    at = np.flatnonzero(samples.reason == USED)
    source = samples.source[at]
    number = (samples.value[at] - after[source]) / scale[source] - before[source]
    step = np.full(len(units), 1e-6)
    for decimals in (4, 3, 2, 1, 0):
        rough = np.abs(np.round(number, decimals) - number) > 1e-7 * np.maximum(1.0, np.abs(number))
        fine = np.bincount(source[rough], minlength=len(units)) > 0
        step = np.where(fine, step, 10.0**-decimals)
    return 0.5001 * step * scale + 1e-6
