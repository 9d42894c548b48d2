"""Outside the site's hours: whether a terminal goes to its unoccupied mode, and what runs where it does not."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.air_signs import CALLED, MOVES, SHUT
from analyzer.signals.flow_zero import zero_is_wrong
from analyzer.signals.in_force import by_the_clock
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.standing import SAME, logged, stands
from analyzer.signals.windows import since_change

# The flow that a terminal usually does not go below in hours: the share of those hours under it. Judgement: a minimum
# is held for hours of most days.
LOW = 0.2
# So many hours of flow in use tell what is usual [h]. Judgement: a working day.
LEAST_USUAL = 8.0
# A standby setpoint that lies this far beyond the occupied one is another [K]. Judgement: a degree Fahrenheit.
STANDBY_APART = 0.5


@signal("state", settled_by="occupied hours in the site file")
def deep_out_of_hours(scene: Scene, *, run_on: float, warm_up: float) -> np.ndarray:
    """Whether it is outside the site's hours, ``run_on`` after and ``warm_up`` before; unknown where none are given."""
    if scene.site.occupied_hours is None:
        return np.full(scene.size, np.nan)
    clock = by_the_clock(scene) > 0.5
    since = since_change(clock, scene.first, scene.seconds)
    reverse = scene.size - scene.first[::-1]
    until = since_change(clock[::-1], reverse, -scene.seconds[::-1])[::-1]
    return (~clock & (since > run_on) & (until > warm_up)).astype(float)


@signal("state", needs=("occupied",), settled_by="the trend occupied", where_trended=("occupied",))
def occupied_by_mode(scene: Scene) -> np.ndarray:
    """Whether the terminal's own trended mode says occupied; unknown where it is not trended."""
    return scene.trend("occupied")


@signal("fraction", needs=("primary_flow",), settled_by="the trend primary_flow", where_trended=("primary_flow",))
def flow_kept(scene: Scene) -> np.ndarray:
    """Primary airflow, over the one that is exceeded in 80 % of the site's hours with air; 0 of next to no flow.

    Unknown of a sensor that reads air with the air handler off, and where nothing but the reading says that air moves:
    neither the air handler, nor an airflow setpoint or a damper that is open.
    """
    kept = _kept(scene, "primary_flow")
    told = (scene.value("supply_air_on") > 0.5) | (scene.trend("primary_flow_setpoint") >= CALLED)
    told |= np.isnan(scene.trend("primary_flow_setpoint")) & (scene.trend("damper_position") > SHUT)
    doubtful = (kept > 0.0) & ~told
    return np.where(scene.per_row(zero_is_wrong(scene)) | doubtful, np.nan, kept)


@signal(
    "fraction",
    needs=("primary_flow_setpoint",),
    settled_by="the trend primary_flow_setpoint",
    where_trended=("primary_flow_setpoint",),
)
def flow_setpoint_kept(scene: Scene) -> np.ndarray:
    """Primary airflow setpoint, over the one that is exceeded in 80 % of the site's hours with air."""
    return _kept(scene, "primary_flow_setpoint")


def _kept(scene: Scene, name: str) -> np.ndarray:
    flow = scene.trend(name)
    rows = np.flatnonzero((by_the_clock(scene) > 0.5) & (scene.value("air_available") > 0.5) & (flow > MOVES))
    usual = np.full(scene.count, np.nan)
    if len(rows):
        low = pd.Series(flow[rows]).groupby(scene.code[rows]).quantile(LOW)
        usual[low.index] = low.to_numpy()
    enough = np.bincount(scene.code[rows], scene.hours[rows], scene.count) >= LEAST_USUAL - 1e-9
    usual = scene.per_row(np.where(enough, usual, np.nan))
    return np.where(flow <= MOVES, 0.0, flow / usual) + 0.0 * flow


@signal("state", needs=("zone_temp",), settled_by="the trend zone_temp")
def setback_calls(scene: Scene, *, least_setback: float, near_call: float) -> np.ndarray:
    """Whether air may come to hold the zone out of hours: warmer than the zone, or the zone near a setpoint set back.

    Never unknown: where nothing says that it is called, it is not.
    """
    zone = scene.trend("zone_temp")
    called = scene.value("primary_temp") > zone
    for side, sign in (("heating", 1.0), ("cooling", -1.0)):
        back = scene.value(f"{side}_setback") >= least_setback
        called |= back & (sign * (zone - scene.value(f"{side}_setpoint")) < near_call)
    return called.astype(float)


@signal("power", settled_by="the trend primary_flow")
def power_of_air(scene: Scene, *, supply_fan_power: float) -> np.ndarray:
    """Electric power that moves the terminal's air [W]: its share of the supply fan's, and its own fan's where known.

    ``supply_fan_power`` is in W per L/s.
    """
    own = np.nan_to_num(scene.value("fan_power"))
    return np.maximum(scene.trend("primary_flow"), 0.0) * supply_fan_power + own


@signal(
    "fraction",
    settled_by="the trend effective_setpoint or heating_setpoint, beside standby_heating_setpoint",
    where_trended=("standby_heating_setpoint", "standby_cooling_setpoint"),
)
def standby_share(scene: Scene) -> np.ndarray:
    """Share of the occupied time in which a setpoint in force, as logged, is that of standby; one a terminal.

    Unknown where the standby pair does not lie beyond the occupied one, and where no setpoint in force is logged.
    """
    longest, sign = scene.site.setpoint_hold, {"heating": -1.0, "cooling": 1.0}
    effective = logged(scene, "effective_setpoint")
    told, used = np.zeros(scene.size, dtype=bool), np.zeros(scene.size, dtype=bool)
    for side in ("heating", "cooling"):
        standby = stands(scene, f"standby_{side}_setpoint", longest)
        occupied = stands(scene, f"occupied_{side}_setpoint", longest)
        beyond = sign[side] * (standby - occupied) >= STANDBY_APART
        for in_force in (logged(scene, f"{side}_setpoint"), effective):
            known = beyond & ~np.isnan(in_force)
            told |= known
            used |= known & (np.abs(in_force - standby) < SAME)
    in_use = scene.value("occupied") > 0.5
    hours, of_standby = (scene.per_terminal(scene.hours * (in_use & rows)) for rows in (told, used))
    return scene.per_row(of_standby / np.where(hours > 0, hours, np.nan))


@signal("time", settled_by="the trend effective_setpoint or heating_setpoint, beside standby_heating_setpoint")
def standby_told_for(scene: Scene) -> np.ndarray:
    """How long in all it is known, in occupied time, whether the standby setpoint is in force [s]; one a terminal."""
    known = (scene.value("occupied") > 0.5) & ~np.isnan(scene.value("standby_share"))
    effective = logged(scene, "effective_setpoint")
    pair = logged(scene, "heating_setpoint"), logged(scene, "cooling_setpoint")
    known &= ~np.isnan(effective) | ~np.isnan(pair[0]) | ~np.isnan(pair[1])
    return scene.per_row(scene.per_terminal(scene.hours * known)) * 3600.0
