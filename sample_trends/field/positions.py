"""Damper positions as controllers count them: they drift, and a restart brings them home."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

COUNTED = 0.75  # of the terminals of a building whose controllers count
WIDE = 0.12  # of those: they show full opening, or next to none, for weeks
DRIFT_A_WEEK = 14.0  # points, standard deviation
JOIN_IN = 0.48  # of the terminals restart with the building


@dataclass(frozen=True)
class Counted:
    """Positions as shown.

    Attributes
    ----------
    shown : ndarray
        [%], one row a sample, one column a terminal.
    restarted : ndarray of bool
        The samples in which a controller restarts: its flow is read low.
    credible : ndarray of bool
        One a terminal: whether its position is the true one throughout.
    """

    shown: np.ndarray
    restarted: np.ndarray
    credible: np.ndarray


def counted_positions(true: np.ndarray, hours: float, rng: np.random.Generator) -> Counted:
    """Show true positions [%] as controllers count them.

    Parameters
    ----------
    true : ndarray
        [%], one row a sample ``hours`` apart, one column a terminal.
    """
    rows, count = true.shape
    weeks = rows * hours / 168.0
    counts = rng.random(count) < COUNTED
    restarts = _restarts(rows, count, weeks, rng)
    error = _drift(rows, count, hours, rng)
    # A restart takes the error of the moment away: what has come since the last one is left.
    for number in range(count):
        for row in np.flatnonzero(restarts[:, number]):
            error[row:, number] -= error[row, number]
    error += _standing(restarts, rng)
    shown = np.where(counts, np.clip(true + error, 0.0, 100.0), true)
    return Counted(shown, restarts & counts, ~counts)


def _restarts(rows: int, count: int, weeks: float, rng) -> np.ndarray:
    """Draw the samples of restarts: of half a building at once every two weeks or so, and single ones."""
    restarts = np.zeros((rows, count), bool)
    for _ in range(int(rng.poisson(weeks / 2.0))):
        restarts[int(rng.integers(rows // 10, rows - 1)), rng.random(count) < JOIN_IN] = True
    for number in np.flatnonzero(rng.random(count) < 0.1 * weeks):
        restarts[int(rng.integers(1, rows - 1)), number] = True
    return restarts


def _drift(rows: int, count: int, hours: float, rng) -> np.ndarray:
    knots = max(int(rows * hours / 24.0) + 2, 3)
    steps = rng.normal(0.0, DRIFT_A_WEEK / np.sqrt(7.0), (knots, count))
    walk = np.cumsum(steps, axis=0)
    at = np.linspace(0.0, knots - 1.0, rows)
    return np.stack([np.interp(at, np.arange(knots), walk[:, number]) for number in range(count)], axis=1)


def _standing(restarts: np.ndarray, rng) -> np.ndarray:
    """Draw what a controller is off by from the first day, until it restarts; a few show an end stop meanwhile."""
    rows, count = restarts.shape
    size = rng.normal(0.0, 18.0, count)
    wide = rng.random(count) < WIDE
    size = np.where(wide, rng.choice([-90.0, 90.0], count), size)
    fresh = np.cumsum(restarts, axis=0) > 0
    return np.where(fresh, 0.0, size)
