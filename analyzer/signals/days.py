"""Figures of a terminal's day, spread over its rows."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.scene import Scene

# A day needs this much evidence to count [h].
LEAST_HOURS = 0.5


def daily_median(scene: Scene, values: np.ndarray, there: np.ndarray) -> np.ndarray:
    """Return for each row the median of its terminal's day over the rows that are ``there``; NaN where they are few."""
    there = there & ~np.isnan(values)
    group = scene.group_of_day[there]
    hours = np.bincount(group, weights=scene.hours[there], minlength=scene.groups)
    median = pd.Series(values[there]).groupby(group).median().reindex(range(scene.groups)).to_numpy()
    return np.where(hours >= LEAST_HOURS, median, np.nan)[scene.group_of_day]
