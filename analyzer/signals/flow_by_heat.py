"""Primary flow of a single-duct terminal that the heat of its own coil implies, while it holds its zone.

A coil that holds its zone at a part of its signal works; if the air that it heats warms by far less than the heat at
that signal would warm the flow that is read, more air passes. Heat by signal and schedule is a rough measure: only a
reading of less than a quarter of what it implies is told from right, and none that is too high.
"""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.airside.air import without_zero
from analyzer.signals.days import median_of_days
from analyzer.signals.kinds import of_kind
from analyzer.signals.mixing import density
from analyzer.signals.scene import Scene
from analyzer.signals.windows import stepped, surely_since

# The signal lies between these [%], and has for so long moved by no more between two samples [s, %]: a coil at a part
# of its heat, at rest. Judgement.
LEAST_CALL, MOST_CALL = 15.0, 85.0
SETTLED, LARGEST_STEP = 1200.0, 10.0
# The rise that says something [K]: dead coils give 0.7 to 2 K in trends of real buildings.
LEAST_RISE = 4.0
# The zone is held: no further below its heating setpoint [K]. Judgement: the deadband of a loop and the sensor.
HELD_WITHIN = 0.7
# The damper stands open: a terminal that reads far too little has it open [%]. Judgement.
OPEN = 60.0
# A coil gives a quarter to four times of its scheduled heat times its signal: valve curves, water temperature, three
# of four stages dead. Judgement; so the reading over the implied flow can be off by three times itself.
FACTOR = 4.0


def heat_of_days(scene: Scene) -> dict[str, np.ndarray]:
    """Reading against the flow that the coil's heat implies, where it is low, and how far that may be off; by day."""
    return scene.once("flow by heat", lambda: _compare(scene))


def _compare(scene: Scene) -> dict[str, np.ndarray]:
    rows = np.flatnonzero(_holds_by_coil(scene))
    rise = scene.trend("discharge_temp")[rows] - scene.value("primary_temp")[rows]
    heat = scene.scheduled("reheat_capacity")[scene.code[rows]] * scene.trend("reheat_position")[rows] / 100.0
    implied = airside.flow_for_heat(
        heat=heat, temperature_difference=np.where(rise >= LEAST_RISE, rise, np.nan), density=density(scene)
    )
    ratio = median_of_days(scene, np.maximum(scene.trend("primary_flow")[rows], 0.0) / without_zero(implied), rows)
    low = FACTOR * ratio < 1.0
    return {
        "drift": np.where(low, ratio - 1.0, np.nan),
        "uncertainty": np.where(low, np.maximum((FACTOR - 1.0) * ratio, 0.1), np.nan),
    }


def _holds_by_coil(scene: Scene) -> np.ndarray:
    """Tell where a single-duct terminal's coil, at a part of its signal and at rest, holds the zone."""
    call = scene.trend("reheat_position")
    moves = ~((np.abs(stepped(call, scene.first)) <= LARGEST_STEP) & (call >= LEAST_CALL) & (call <= MOST_CALL))
    rests = surely_since(moves, scene.first, scene.seconds, scene.interval) >= SETTLED
    held = scene.trend("zone_temp") >= scene.value("heating_setpoint") - HELD_WITHIN
    there = rests & held & of_kind(scene, "single-duct") & (scene.trend("damper_position") >= OPEN)
    return there & (scene.value("air_available") > 0.5)
