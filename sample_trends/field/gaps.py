"""Samples that are missing or late, logs that end while others go on, and codes in the place of readings."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from sample_trends.field.period import Period

MISSING = 0.004  # of a controller's samples, all of its points at once
SINGLE = 0.0008  # of a point's samples, singly
LATE = 0.002  # of the samples repeat the one before: the point came late
ENDS_EARLY = 0.12  # of the terminals: one log of theirs ends days before the others
FEW = 14  # samples
MAY_END = ("primary_flow", "primary_flow_setpoint", "discharge_temp", "zone_temp")
NOT_CONNECTED = 0.35  # of the carbon dioxide points of a building that has any such
CODES = {"zone_temp": 0.0, "discharge_temp": 0.0, "fan_status": -1.0, "co2": 0.0, "primary_flow": -9999.0}


@dataclass(frozen=True)
class Gaps:
    """Where readings are missing.

    Attributes
    ----------
    lost : ndarray of bool
        One row a sample, one column a terminal: all its points.
    late : ndarray of bool
        Samples that repeat the one before.
    ended : dict
        Quantity -> the first sample of each terminal that is not logged any more.
    not_connected : ndarray of bool
        The terminals whose carbon dioxide point has no sensor: it reads 0 or 1.
    """

    lost: np.ndarray
    late: np.ndarray
    ended: dict[str, np.ndarray]
    not_connected: np.ndarray
    single: np.random.Generator = field(repr=False)

    def applied(self, name: str, values: np.ndarray) -> np.ndarray:
        """Return values as they came into the log; NaN where they did not."""
        values = values.copy()
        rows = np.arange(len(values))[:, None]
        repeated = self.late.copy()
        repeated[0] = False
        values = np.where(repeated, np.roll(values, 1, axis=0), values)
        if name == "co2":
            values[:, self.not_connected] = np.where(np.isnan(values[:, self.not_connected]), np.nan, 0.0)
        missing = self.lost | (self.single.random(values.shape) < SINGLE)
        if name in self.ended:
            missing |= rows >= self.ended[name]
        return np.where(missing, np.nan, values)


def draw_gaps(period: Period, shape: tuple[int, int], rng: np.random.Generator) -> Gaps:
    """Draw what is missing in a period of so many samples and terminals."""
    rows, count = shape
    lost = rng.random(shape) < MISSING / 3
    lost |= np.roll(lost, 1, axis=0) | np.roll(lost, 2, axis=0)
    a_day = round(1440 / period.minutes)
    ended = {name: np.full(count, rows) for name in MAY_END}
    for number in np.flatnonzero(rng.random(count) < ENDS_EARLY):
        least = min(int(0.5 * rows), rows - 1)
        ended[str(rng.choice(MAY_END))][number] = rows - int(rng.integers(a_day // 2, max(rows - least, a_day)))
    no_sensor = (
        (rng.random() < 0.4) & (rng.random(count) < NOT_CONNECTED) & ~period.building.terminals["dcv"].to_numpy()
    )
    return Gaps(lost, rng.random(shape) < LATE, ended, no_sensor, np.random.default_rng([period.seed, 47]))


def first_days(rows: int, minutes: int, days: float) -> np.ndarray:
    """Tell the samples of the first days: how long a point was logged whose log was not kept up."""
    return np.arange(rows) < max(days * 1440 / minutes, 2)


def few_samples(rows: int, rng: np.random.Generator) -> np.ndarray:
    """Tell a few samples of a point that was logged by chance."""
    few = np.zeros(rows, bool)
    begin = int(rng.integers(0, max(rows - FEW, 1)))
    few[begin : begin + FEW] = True
    return few
