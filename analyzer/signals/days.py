"""Figures of a terminal's day, spread over its rows."""

from __future__ import annotations

import numpy as np

from analyzer.signals.grouped import Groups, least_of
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ROUNDING

# A day needs this much evidence to count [h].
LEAST_HOURS = 0.5


def per_row_of_day(scene: Scene, daily: np.ndarray) -> np.ndarray:
    """Spread a value per terminal and day over the rows."""
    return scene.once("day groups", lambda: Groups(scene.group_of_day, scene.groups)).spread(daily)


def day_moves(
    scene: Scene, values: np.ndarray, where: np.ndarray, least: float, *, of_most: bool = False
) -> np.ndarray:
    """Tell at which rows the values of the terminal's day, over the rows ``where``, are not all about one.

    They reach over more than ``least``, in their own unit or as a share of the largest. Also where the day has none.
    """
    rows = np.flatnonzero(where & (values == values))
    low = least_of(values[rows], scene.group_of_day[rows], scene.groups)
    high = -least_of(-values[rows], scene.group_of_day[rows], scene.groups)
    return ~per_row_of_day(scene, high - low <= least * (high if of_most else 1.0))


def daily_median(scene: Scene, values: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Return for each row of the scene the median of its terminal's day; NaN where the day holds too little.

    ``values`` are those of the row numbers ``rows`` only; NaN among them are left out.
    """
    return per_row_of_day(scene, median_of_days(scene, values, rows))


def median_of_days(scene: Scene, values: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Return the median of each terminal's day, numbered as ``scene.group_of_day``; NaN where it holds too little."""
    known = values == values
    if not known.all():
        values, rows = values[known], rows[known]
    groups = Groups(scene.group_of_day[rows], scene.groups)
    return np.where(groups.sum(scene.hours[rows]) >= LEAST_HOURS - ROUNDING, groups.median(values), np.nan)
