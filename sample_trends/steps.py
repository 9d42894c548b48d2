"""The simulation's time step, and two small helpers that every step uses."""

from __future__ import annotations

import math

import numpy as np

STEP = 60.0  # s


def lag(seconds: float) -> float:
    """Return the share of the way that a first-order lag with this time constant [s] goes in one step."""
    return 1.0 - math.exp(-STEP / seconds)


def between(values, low: float, high: float):
    """Bound values; ``np.clip`` costs three times as much on short arrays."""
    return np.minimum(np.maximum(values, low), high)
