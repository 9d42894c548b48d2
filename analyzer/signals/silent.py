"""Stretches in which all points of a terminal stand still at once, far longer than they ever do: nothing was logged.

A controller that is off the network leaves its last values: in a log of changes nothing comes, and a poll repeats them.
What they would say of those hours is not known.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analyzer.signals.windows import since_change

# What moves by itself in a room or a duct in use; so many of them tell whether anything was logged. A setpoint rests.
RESTLESS = (
    "zone_temp", "primary_flow", "discharge_temp", "primary_temp", "plenum_temp", "co2", "discharge_flow",
    "outdoor_air_flow",
)  # fmt: skip
LEAST_RESTLESS = 2
# Longer than this [s], and than so many times the longest standstill of its usual day. Judgement: a calm weekend in a
# log of coarse steps, and a controller that was off for a night.
LONGEST, TIMES = 6 * 3600.0, 4.0
# What is usual takes so many days to know; a log that is silent for more than this share is like that. Judgement.
LEAST_DAYS, MOST_SHARE = 4, 0.5
DAY = 86400.0


def silent_rows(
    columns: Sequence[np.ndarray], first: np.ndarray, code: np.ndarray, seconds: np.ndarray, tells: np.ndarray
) -> np.ndarray | None:
    """Tell the rows that repeat what a terminal that has fallen silent said last.

    Parameters
    ----------
    columns : sequence of ndarray
        The restless columns that are trended, over all rows; NaN is missing.
    first, code, seconds : ndarray
        First row of each terminal, and their number at the end; row to terminal; time of each row [s].
    tells : ndarray of bool
        The terminals that have enough of these columns.

    Returns
    -------
    ndarray of bool, or None
        None where there are none.
    """
    if not tells.any():
        return None
    moved, known = np.ones(len(seconds), dtype=bool), np.zeros(len(seconds), dtype=bool)
    for values in columns:
        known |= ~np.isnan(values)
        moved[1:] &= (values[1:] == values[:-1]) | (np.isnan(values[1:]) & np.isnan(values[:-1]))
    moved = ~moved
    moved[0:1] = True
    since = since_change(moved, first, seconds)
    if not (since > LONGEST).any():
        return None
    count = len(first) - 1
    day = np.floor(seconds / DAY).astype(np.int64)
    of_day = pd.DataFrame({"terminal": code, "day": day, "since": since}).groupby(["terminal", "day"])["since"].max()
    by_terminal = of_day.groupby("terminal")
    usual = by_terminal.median().where(by_terminal.size() >= LEAST_DAYS).reindex(range(count)).to_numpy()
    limit = np.fmax(LONGEST, TIMES * usual)
    limit[np.isnan(usual) | ~tells] = np.inf
    begins = np.flatnonzero(since == 0.0)
    stretch = np.searchsorted(begins, np.arange(len(since)), side="right") - 1
    length = np.maximum.reduceat(since, begins)[stretch]
    silent = (length > limit[code]) & (since > 0.0) & known  # a gap, or a log that ended, repeats nothing
    share = np.bincount(code[silent], minlength=count) / np.maximum(np.diff(first), 1)
    silent &= (share <= MOST_SHARE)[code]
    return silent if silent.any() else None
