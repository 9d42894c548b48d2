"""Figures of a terminal's day, spread over its rows."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.scene import Scene

# A day needs this much evidence to count [h].
LEAST_HOURS = 0.5


def daily_median(scene: Scene, values: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Return for each row of the scene the median of its terminal's day; NaN where the day holds too little.

    ``values`` are those of the row numbers ``rows`` only; NaN among them are left out.
    """
    return median_of_days(scene, values, rows)[scene.group_of_day]


def median_of_days(scene: Scene, values: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Return the median of each terminal's day, numbered as ``scene.group_of_day``; NaN where it holds too little."""
    known = ~np.isnan(values)
    group = scene.group_of_day[rows[known]]
    hours = np.bincount(group, weights=scene.hours[rows[known]], minlength=scene.groups)
    median = pd.Series(values[known]).groupby(group).median().reindex(range(scene.groups)).to_numpy()
    return np.where(hours >= LEAST_HOURS, median, np.nan)
