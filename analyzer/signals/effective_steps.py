"""Which side an effective setpoint is of, by its steps at a change of mode.

When the mode changes, the effective setpoint steps to the new mode's setpoint of the same side, unless the zone calls
for the other. A step down in the evening, to a setback far under the zone, is no call for heat: what stood before was
heating's already. What is learned of one step holds for that terminal wherever it stands on the same value.
"""

from __future__ import annotations

import numpy as np

from analyzer.signals.scene import Scene
from analyzer.signals.windows import ROUNDING

HEATING, COOLING = 0, 1
# The zone is beyond a setpoint by this [K], for that setpoint to give no cause to change sides. Judgement: the band of
# a zone's controller.
NO_CALL = 0.5
# A step is seen between samples no further apart [s]. Judgement: over more the zone may have called in between.
SEEN_WITHIN = 5400.0
# A value is of one side where this share of what tells says so. Judgement: a setpoint that somebody moved.
AGREED = 0.9
# From the value of one mode to the next, and on to a third and a fourth.
PASSES = 3
# Values this close are one [K]: what rounding leaves.
ONE_VALUE = 0.05


def side_by_steps(scene: Scene, effective: np.ndarray, known: np.ndarray) -> np.ndarray:
    """Return HEATING or COOLING per row by the steps of an effective setpoint; -1 where they do not tell.

    Parameters
    ----------
    effective : ndarray of float
        One per row [degC].
    known : ndarray of int
        The side per row where something else told it, -1 elsewhere.
    """
    told = np.full(len(effective), -1)
    # Without a room's temperature nothing tells whether a step was called for, nor whether there is a room.
    rows = np.flatnonzero(~np.isnan(effective) & scene.per_row(scene.trended("zone_temp")))
    if not len(rows):
        return told
    level = _levels(effective[rows], scene.code[rows])
    side = _agreed([np.bincount(level[known[rows] == at], minlength=level.max() + 1) for at in (HEATING, COOLING)])
    steps = _steps(scene, effective, rows)
    for _ in range(PASSES):
        side = np.where(side >= 0, side, _agreed(_votes(scene, effective, rows, level, steps, side)))
    told[rows] = side[level]
    return told


def _levels(value: np.ndarray, code: np.ndarray) -> np.ndarray:
    """Number the values of each terminal."""
    key = np.stack([code.astype(float), np.round(value / ONE_VALUE)])
    return np.unique(key, axis=1, return_inverse=True)[1].reshape(-1)


def _steps(scene: Scene, effective: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Return at which of the rows another value begins, seen soon after the last of the one before."""
    before, after = rows[:-1], rows[1:]
    near = (scene.code[before] == scene.code[after]) & (scene.seconds[after] - scene.seconds[before] <= SEEN_WITHIN)
    return np.flatnonzero(near & (np.abs(effective[after] - effective[before]) > ONE_VALUE + ROUNDING))


def _votes(scene, effective, rows, level, steps, side) -> list[np.ndarray]:
    """Count for each value the steps that say it is heating's, and those that say it is cooling's."""
    before, after = rows[steps], rows[steps + 1]
    zone = scene.trend("zone_temp")
    zone = np.where(np.isnan(zone[after]), zone[before], zone[after])
    of, to = level[steps], level[steps + 1]
    votes = []
    for own, sign in ((HEATING, 1.0), (COOLING, -1.0)):
        # From its own side to a value that the zone is far from crossing: the other side was not called.
        forward = (side[of] == own) & (sign * (zone - effective[after]) <= -NO_CALL)
        # To a value of its own side that the zone is far from calling: so it was before.
        backward = (side[to] == own) & (sign * (zone - effective[after]) >= NO_CALL)
        votes.append(np.bincount(to[forward], minlength=len(side)) + np.bincount(of[backward], minlength=len(side)))
    return votes


def _agreed(votes: list[np.ndarray]) -> np.ndarray:
    total = votes[HEATING] + votes[COOLING]
    most = np.where(votes[HEATING] >= votes[COOLING], HEATING, COOLING)
    agreed = (total > 0) & (np.maximum(*votes) >= AGREED * total)
    return np.where(agreed, most, -1)
