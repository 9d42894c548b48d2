"""Stretches in which all points of a terminal stand still at once, far longer than they ever do: nothing was logged.

A controller that is off the network leaves its last values: in a log of changes nothing comes, and a poll repeats them.
What they would say of those hours is not known.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from analyzer.quantities import TERMINAL
from analyzer.signals.windows import last_before, since_change

# What moves by itself in a room or a duct in use; so many of them tell whether anything was logged. A setpoint rests.
RESTLESS = (
    "zone_temp", "primary_flow", "discharge_temp", "primary_temp", "plenum_temp", "co2", "discharge_flow",
    "outdoor_air_flow",
)  # fmt: skip
LEAST_RESTLESS = 2
# A flow of no more than this [L/s] is none: without air nothing moves it. Field, 10 cfm read with none moving.
STILL = 5.0
# Without air an hour counts for so much: on a closed Sunday a log of changes rests for 7 h. Judgement.
AT_REST = 0.5
# Longer than this [s], and than so many times the longest standstill of its usual day. Judgement: a calm weekend in a
# log of coarse steps, and a controller that was off for a night.
LONGEST, TIMES = 6 * 3600.0, 4.0
# What is usual takes so many days to know; a log that is silent for more than this share is like that. Judgement.
LEAST_DAYS, MOST_SHARE = 4, 0.5
DAY = 86400.0


def weight_of_rows(scene: Any) -> np.ndarray:
    """Tell for each row how much an hour in which nothing moves shows: nothing, ``AT_REST``, or all.

    A flow at next to nothing moves by itself only where the air handler is known to run. Without air an hour shows
    nothing where too little else is known, and of temperatures less.
    """
    moving, still = np.zeros(scene.size, dtype=np.int8), np.zeros(scene.size, dtype=bool)
    for name in RESTLESS:
        if name in scene.table:
            values = scene.table[name].to_numpy()
            rests = (values <= STILL) & (TERMINAL[name].dimension == "flow")
            still |= rests
            moving += ~np.isnan(values) & ~rests
    still &= ~(scheduled_status(scene) > 0.5)
    return np.where(still, np.where(moving < LEAST_RESTLESS, 0.0, AT_REST), 1.0)


def scheduled_status(scene: Any) -> np.ndarray:
    """Return the fan status of each row's air handler, as scheduled: one that is learned takes what is not silent."""
    table = scene.trends.air_handlers
    there = table["supply_fan_status"].notna().to_numpy()
    tags = table["air_handler"].cat
    owner = pd.Index(tags.categories).get_indexer(scene.schedule["air_handler"])
    moments = table["time"].astype("int64").to_numpy() / 1e6
    at = last_before(
        scene.per_row(owner), scene.seconds, tags.codes.to_numpy().astype(int)[there], moments[there], DAY / 24
    )
    return np.where(at >= 0, np.append(table["supply_fan_status"].to_numpy()[there], np.nan)[at], np.nan)


def silent_rows(
    columns: Sequence[np.ndarray],
    first: np.ndarray,
    code: np.ndarray,
    seconds: np.ndarray,
    tells: np.ndarray,
    weight: np.ndarray | float = 1.0,
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
    weight : ndarray or float
        How much an hour at each row shows, from 0 to 1; see ``weight_of_rows``.

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
    step = np.diff(since, prepend=0.0)
    step[begins] = 0.0
    length = np.add.reduceat(step * weight, begins)[stretch]
    # A gap, or a log that ended, repeats nothing.
    silent = (length > limit[code]) & (since > 0.0) & known & (weight > 0.0)
    share = np.bincount(code[silent], minlength=count) / np.maximum(np.diff(first), 1)
    silent &= (share <= MOST_SHARE)[code]
    return silent if silent.any() else None
