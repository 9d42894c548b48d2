"""Flow at the same damper position, against the terminal's own reference days: only where positions can be believed.

That a position was not caught jumping does not make it credible: counted ones creep. It is credible where those of the
other terminals of the air handler are: where five or more keep their own curves within a few percent.

Positions are taken in steps of five points. A step is compared only where the reference days visited it, so that
nothing rests on a curve between; a damper nearly shut or nearly open carries no slope, and is left out. Duct pressure
is taken out where it is trended; where it is not, what many terminals of the air handler share is, and what then
stays unknown is part of the uncertainty.
"""

from __future__ import annotations

import numpy as np

from analyzer.signals.agreed import agreed, shown
from analyzer.signals.damper_caught import caught, opening_curve
from analyzer.signals.days import LEAST_HOURS
from analyzer.signals.drift_reference import LEAST_DAYS, reference_days
from analyzer.signals.duct_pressure import pressure_ratio
from analyzer.signals.full_damper_ratio import fan_moves_the_pressure
from analyzer.signals.grouped import median_of_known
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ROUNDING, stepped

LEVEL, STEADINESS = "flow level", "steadiness of damper curves"
LEAST_SHARING = 5
# The terminals of an air handler keep their damper curves where four days in five of the median terminal stay this
# close to its reference (logarithm of flow); beyond the second figure they do not. Judgement: sound flow sensors
# repeat to 1 to 4 % in trends of real buildings, counted positions move it by tens of percent.
STEADY_CURVES, LOOSE_CURVES, MOST_DAYS = 0.04, 0.08, 80.0
# Positions that carry a slope, and the width of a step [%]: below play and leakage, above more opening brings little
# air.
CURVE_FROM, CURVE_TO, STEP = 10.0, 80.0, 5.0
# A curve that moved by so much (logarithm of flow), on so large a share of the days, has crept. Judgement: beyond what
# another shape of curve within a step of five points makes.
CREEP, CREEP_DAYS = 0.25, 0.2
# A damper that moves by more between two samples is on its way [%].
AT_REST = 3.0
LEAST_FLOW = 10.0  # [L/s]
# Scatter of one hour's reading about its curve. Judgement: samples of an hour are taken as one, being not independent.
SCATTER = 0.05
# What duct pressure can add to the flow at a position: nothing is left where it is trended; a part where many terminals
# show the same; half of the flow where nothing tells. Judgement, from resets that moved flow by a factor of two.
SHARED_PRESSURE, UNKNOWN_PRESSURE = 0.05, 0.50
# A position may play by so much [%]. Common practice, no source: what a feedback of 2 % accuracy repeats to.
PLAY = 1.0


def curve_of_days(scene: Scene) -> dict[str, np.ndarray]:
    """Reading against the reference days at the same positions, and how far that may be off; by day, as shares."""
    return scene.once("damper curve", lambda: _compare(scene))


def _compare(scene: Scene) -> dict[str, np.ndarray]:
    own, doubt, without_pressure = _own_levels(scene)
    shared = agreed(scene, LEVEL)
    unknown = np.where(without_pressure, np.where(np.isnan(shared), UNKNOWN_PRESSURE, SHARED_PRESSURE), 0.0)
    drift = np.expm1(own - np.nan_to_num(shared))
    doubt = np.where(agreed(scene, STEADINESS) <= STEADY_CURVES, doubt, np.nan)
    drift = np.where(np.isnan(doubt), np.nan, drift)
    return {"drift": drift.reshape(-1), "uncertainty": np.hypot(doubt, unknown).reshape(-1)}


def curve_creep(scene: Scene) -> np.ndarray:
    """How far each terminal's flow at the same positions moved from its reference days, as a share; 0 where it did not.

    The median of the days that moved, where a fifth of them did by more than ``CREEP`` and their own uncertainty, duct
    pressure is trended, and the terminals of the air handler do not keep their curves.
    """
    own, doubt, without_pressure = _own_levels(scene)
    loose = agreed(scene, STEADINESS) > LOOSE_CURVES
    moved = (np.abs(own) > np.maximum(CREEP, doubt)) & ~without_pressure & loose
    enough = moved.any(axis=1) & (moved.sum(axis=1) >= CREEP_DAYS * (~np.isnan(own)).sum(axis=1))
    return np.where(enough, np.nan_to_num(median_of_known(np.where(moved, np.expm1(np.abs(own)), np.nan))), 0.0)


@shown(LEVEL, least=LEAST_SHARING)
def _level_by_air_handler(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Those of no known air handler are taken together."""
    return scene.words("air_handler").astype(str), _own_levels(scene)[0]


@shown(STEADINESS, least=LEAST_SHARING)
def _steadiness_by_air_handler(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """How far four days in five of each terminal lie from its reference at the most, where duct pressure is trended."""
    own, _, without_pressure = _own_levels(scene)
    away = np.where(without_pressure, np.nan, np.abs(own))
    some = ~np.isnan(away).all(axis=1)
    found = np.full(scene.count, np.nan)
    found[some] = np.nanpercentile(away[some], MOST_DAYS, axis=1)
    return scene.words("air_handler").astype(str), found


def _own_levels(scene: Scene) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Logarithm of each later day's flow over the reference's at the same positions, its uncertainty, and whether
    pressure is unknown; each of shape (terminals, days)."""
    return scene.once(LEVEL, lambda: _against_steps(scene))


def _against_steps(scene: Scene) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rows = _rows_on_curve(scene)
    position, hours = scene.trend("damper_position")[rows], scene.hours[rows]
    pressure = pressure_ratio(scene)[rows]
    untold = np.isnan(pressure)
    level = (
        np.log(scene.trend("primary_flow")[rows])
        - opening_curve(position)
        - 0.5 * np.log(np.where(untold, 1.0, pressure))
    )
    shape = scene.count, scene.days
    day = scene.group_of_day[rows]
    seen = _sum(day, hours, shape)
    reference = reference_days(np.where(seen >= LEAST_HOURS - ROUNDING, seen, 0.0))
    in_reference = reference.reshape(-1)[day]
    of_step, doubt_of_step, visited = _reference_steps(scene, rows, position, level, hours * in_reference)
    compared = hours * (visited & ~in_reference)
    weight = _sum(day, compared, shape)
    safe = np.where(weight >= LEAST_HOURS - ROUNDING, weight, np.nan)
    away = _sum(day, compared * np.where(visited, level - of_step, 0.0), shape) / safe
    play = _sum(day, compared * PLAY / position, shape) / safe
    of_reference = _sum(day, compared * np.where(visited, doubt_of_step, 0.0), shape) / safe
    enough = (reference.sum(axis=1) >= LEAST_DAYS)[:, None]
    doubt = 2.0 * np.sqrt(SCATTER**2 / np.maximum(safe, 1.0) + np.square(of_reference) + np.square(play))
    without = _sum(day, compared * untold, shape) / safe > 0.5
    return np.where(enough, away, np.nan), np.where(enough, doubt, np.nan), without


def _rows_on_curve(scene: Scene) -> np.ndarray:
    flow, position = scene.trend("primary_flow"), scene.trend("damper_position")
    there = (flow > LEAST_FLOW) & (position >= CURVE_FROM) & (position <= CURVE_TO)
    there &= (np.abs(stepped(position, scene.first)) <= AT_REST) & (scene.value("air_available") > 0.5)
    return np.flatnonzero(there & ~scene.per_row(caught(scene) | fan_moves_the_pressure(scene)))


def _reference_steps(scene: Scene, rows, position, level, hours) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Mean level of each row's step of positions in the reference days, its uncertainty, and whether there is one."""
    steps = int((CURVE_TO - CURVE_FROM) / STEP) + 1
    key = scene.code[rows] * steps + ((position - CURVE_FROM) // STEP).astype(np.int64)
    count = scene.count * steps
    weight = np.bincount(key, hours, count)
    safe = np.where(weight >= LEAST_HOURS - ROUNDING, weight, np.nan)
    mean = np.bincount(key, hours * level, count) / safe
    variance = np.bincount(key, hours * np.square(np.where(hours > 0, level - mean[key], 0.0)), count) / safe
    doubt = np.sqrt((SCATTER**2 + variance) / np.maximum(safe, 1.0))
    return mean[key], doubt[key], ~np.isnan(mean[key])


def _sum(group: np.ndarray, values: np.ndarray, shape) -> np.ndarray:
    return np.bincount(group, values, shape[0] * shape[1]).reshape(shape)
