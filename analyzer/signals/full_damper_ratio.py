"""Flow at full damper over the root of duct static pressure, against the terminal's own in a reference period.

In trends of real buildings a sound terminal keeps this ratio within 1 to 4 % over seven weeks. It sees a change,
whatever the pressure did. How much a terminal should pass at full damper is known where the balancing report names the
pressure at which the maximum was measured: much more than that is read by a sensor that reads high, from the first day
on. Low flow at a full damper is a shortage of air, not a drift.
"""

from __future__ import annotations

import numpy as np

from analyzer.signals.agreed import agreed, shown
from analyzer.signals.damper_counted import positions_are_counted
from analyzer.signals.days import LEAST_HOURS
from analyzer.signals.drift_reference import against_reference
from analyzer.signals.duct_pressure import RUNNING_PRESSURE
from analyzer.signals.grouped import Groups
from analyzer.signals.mixing import variable_speed
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ROUNDING, since_change

RATIO = "full damper ratio"
# What the terminals of an air handler share is taken from so many or more.
LEAST_SHARING = 3
# The damper has to stand open for this long [s]: a stroke and the flow's answer; where positions are not credible, or
# those of the building are counted, long enough for a controller that keeps driving to have reached the end of the
# stroke. Judgement.
OPEN_FOR, SURELY_OPEN_FOR = 900.0, 4 * 3600.0
# Twice what a sound terminal's ratio scatters by in real trends (1 to 4 % over seven weeks).
REPEATS = 0.08
# What the pressure sensor may have drifted by in flow, where too few other terminals show it. Judgement: 20 % of
# pressure.
OWN_PRESSURE = 0.10
# An inlet may have twice the pressure of the duct's sensor, as one that lies before it does: in flow the root of it.
# Judgement.
ANOTHER_PLACE = 0.41
# From this share of the setpoint on a flow is held by its controller. Terminals hold it within 5 % (UFC 4-214-02,
# 10-6.2).
HELD_FROM = 0.95
# Less flow than this shows no ratio [L/s]; a change beyond this share is lost air or a lost tube, not a drift.
# Judgement.
LEAST_FLOW, MOST_DRIFT = 10.0, 0.60


def ratio_of_days(scene: Scene, full_damper: float) -> dict[str, np.ndarray]:
    """Change of the ratio against the reference days, what others share taken out, and its uncertainty; by day."""
    return scene.once((RATIO, full_damper), lambda: _change(scene, full_damper))


def above_balanced_of_days(scene: Scene, full_damper: float) -> dict[str, np.ndarray]:
    """By how much the ratio lies above that of balancing, as a share, and its uncertainty; by day; 0 where below.

    Balancing measured the pressure at the inlet, the trend has it somewhere in the duct.
    """
    level, _ = _levels(scene, full_damper)
    balanced = np.log(scene.scheduled("balanced_max")) - 0.5 * np.log(scene.scheduled("balanced_pressure"))
    above = np.fmax(np.expm1(level - balanced[:, None]), np.where(np.isnan(level), np.nan, 0.0))
    above = np.where(np.isnan(balanced)[:, None], np.nan, above).reshape(-1)
    return {"drift": above, "uncertainty": np.where(np.isnan(above), np.nan, ANOTHER_PLACE)}


def _change(scene: Scene, full_damper: float) -> dict[str, np.ndarray]:
    away, scatter = _own_change(scene, full_damper)
    shared = agreed(scene, RATIO)
    alone = np.isnan(shared)
    drift = np.expm1(away - np.where(alone, 0.0, shared))
    uncertainty = np.hypot(np.fmax(REPEATS, scatter), np.where(alone, OWN_PRESSURE, 0.0))
    drift = np.where(np.abs(drift) > MOST_DRIFT, np.nan, drift)
    return {"drift": drift.reshape(-1), "uncertainty": np.where(np.isnan(drift), np.nan, uncertainty).reshape(-1)}


def _own_change(scene: Scene, full_damper: float) -> tuple[np.ndarray, np.ndarray]:
    """Logarithm of each later day's ratio over the reference, shape (terminals, days); its scatter."""
    return scene.once((RATIO, "own", full_damper), lambda: _against_own(scene, full_damper))


def _against_own(scene: Scene, full_damper: float) -> tuple[np.ndarray, np.ndarray]:
    return against_reference(*_levels(scene, full_damper))


def _levels(scene: Scene, full_damper: float) -> tuple[np.ndarray, np.ndarray]:
    """Logarithm of each day's ratio, NaN where it holds too little, and the hours behind it: (terminals, days)."""
    rows = _rows_at_full_damper(scene, full_damper)
    pressure = scene.value("duct_pressure")[rows]
    level = np.log(scene.trend("primary_flow")[rows]) - 0.5 * np.log(pressure)
    groups = Groups(scene.group_of_day[rows], scene.groups)
    hours = groups.sum(scene.hours[rows])
    enough = hours >= LEAST_HOURS - ROUNDING
    shape = scene.count, -1
    return np.where(enough, groups.median(level), np.nan).reshape(shape), np.where(enough, hours, 0.0).reshape(shape)


def _rows_at_full_damper(scene: Scene, full_damper: float) -> np.ndarray:
    open_for = since_change(~(scene.trend("damper_position") >= full_damper), scene.first, scene.seconds)
    measured = (scene.value("damper_credible") > 0.5) & ~scene.per_row(_counted(scene))
    least = np.where(measured, OPEN_FOR, SURELY_OPEN_FOR)
    flow, setpoint = scene.trend("primary_flow"), scene.trend("primary_flow_setpoint")
    there = (open_for >= least) & (flow > LEAST_FLOW) & (scene.value("air_available") > 0.5)
    # A flow that is held at its setpoint is not what a full damper passes: the position shown is not the blade's.
    # Where counted positions have no setpoint beside them nothing tells whether it is held.
    there &= ~(flow >= HELD_FROM * setpoint) & (measured | ~np.isnan(setpoint))
    there &= ~scene.per_row(fan_moves_the_pressure(scene))
    return np.flatnonzero(there & (scene.value("duct_pressure") > RUNNING_PRESSURE))


def fan_moves_the_pressure(scene: Scene) -> np.ndarray:
    """Tell which terminals have a series fan that varies its speed: it draws at the damper, now more and now less."""
    return (scene.kinds == "series") & variable_speed(scene)


def _counted(scene: Scene) -> np.ndarray:
    return np.full(scene.count, positions_are_counted(scene))


# What others share has to be the same however a building is cut into groups: the rule's usual limit stands for it.
USUAL_FULL_DAMPER = 95.0


@shown(RATIO, least=LEAST_SHARING)
def _change_by_air_handler(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """A terminal of no air handler that is known has no pressure either, and shows nothing."""
    return scene.words("air_handler").astype(str), _own_change(scene, USUAL_FULL_DAMPER)[0]
