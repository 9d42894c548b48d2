"""What faults of flow sensors, dampers and ducts look like in what was logged.

Hours of it at a terminal, by plain arithmetic; nothing of the rules.
"""

from __future__ import annotations

import numpy as np

from tests.accuracy.field.view import View


def tube_off(v: View) -> float:
    """An open damper, next to no flow read, and a discharge that only moving air can make: cool, or barely warmed."""
    if not v.is_logged("primary_flow", "damper_position", "discharge_temp", "zone_temp"):
        return 0.0
    cool = (v.discharge_temp < v.zone_temp - 2.5) & (np.nan_to_num(v.reheat_position) <= 0)
    if v.row["kind"] == "single-duct":  # 3 L/s at a third of the heat would be as hot as the water, or hotter
        cool |= v.held(v.reheat_position >= 15, 0.5) & (v.discharge_temp < v.zone_temp + 5.0)
    return v.total(v.in_use & (v.damper_position >= 60) & (v.primary_flow < 8.0) & cool)


def reads_a_fifth(v: View) -> float:
    """Damper open, the setpoint (or the scheduled minimum) far from read, and the zone at its heating setpoint."""
    heating, _ = v.setpoints
    if not v.is_logged("primary_flow", "damper_position", "zone_temp") or not np.isfinite(heating).any():
        return 0.0
    least = v.row["primary_min"] if v.scheduled else np.nan
    short = v.primary_flow < 0.8 * (v.primary_flow_setpoint if v.is_logged("primary_flow_setpoint") else least)
    return v.total(v.in_use & (v.damper_position >= 95) & short & (v.zone_temp < heating + 0.7))


def slides(v: View) -> float:
    """At full damper flow over the root of pressure fell by a quarter.

    At other positions it shows nothing: a sensor that reads right with the air handler off overrules a damper curve,
    since nobody sees whether a position is the true one.
    """
    pressure = v.of_unit("duct_static_pressure")
    if not v.is_logged("primary_flow", "damper_position") or not np.isfinite(pressure).any():
        return 0.0
    full = v.in_use & (v.damper_position >= 97) & (v.true("true_position") > 0.97) & (pressure > 30.0)
    return _fell(v, full, pressure)


def _fell(v: View, full: np.ndarray, pressure: np.ndarray) -> float:
    ratio = np.where(full, v.primary_flow / np.sqrt(np.where(pressure > 30.0, pressure, np.nan)), np.nan)
    third = len(ratio) // 3
    early, late = ratio[:third], ratio[-third:]
    enough = min(np.isfinite(early).sum(), np.isfinite(late).sum()) * v.hours_a_sample
    fell = enough >= 3.0 and np.nanmedian(late) < 0.75 * np.nanmedian(early)
    return v.total(np.isfinite(late)) if fell else 0.0


def mixing(v: View) -> float:
    """Coil off, and the mixing temperatures of a series unit imply a flow far from what is read."""
    constant = not v.row["variable_fan"]
    if not v.scheduled or not constant or not v.is_logged("primary_flow", "plenum_temp", "discharge_temp"):
        return 0.0
    primary = np.where(np.isnan(v.primary_temp), v.of_unit("supply_temp") + v.row["duct_gain"], v.primary_temp)
    apart = v.plenum_temp - primary
    share = (v.plenum_temp + 0.45 - v.discharge_temp) / np.where(apart > 5, apart, np.nan)
    off = v.held(v.reheat_position <= 0, 0.5)
    implied = share * v.row["fan_flow"]
    clear = v.in_use & off & (share > 0.25) & (share < 1.0) & np.isnan(v.row["outdoor_air_inlet_min"])
    return v.total(clear & (np.abs(v.primary_flow / implied - 1) > 0.25))


def reads_without_air(v: View) -> float:
    if not v.is_logged("primary_flow") or not np.isfinite(v.of_unit("supply_fan_status")).any():
        return 0.0
    off = v.held(~v.unit_on, 1.0) & v.undisturbed
    return v.total(off & (v.primary_flow > max(0.08 * v.row["primary_max"], 12.0)))


def starved(v: View) -> float:
    _, cooling = v.setpoints
    if not v.is_logged("primary_flow", "damper_position", "zone_temp"):
        return 0.0
    open_ = v.in_use & (v.damper_position >= 95) & (v.true("true_position") > 0.95)
    if v.is_logged("primary_flow_setpoint"):
        return v.total(open_ & (v.primary_flow < 0.8 * v.primary_flow_setpoint))
    most = v.row["primary_max"] if v.scheduled else np.nan
    return v.total(open_ & (v.zone_temp > cooling + 1.0) & (v.primary_flow < 0.8 * most))


def below_setpoint(v: View) -> float:
    if not v.is_logged("primary_flow", "primary_flow_setpoint"):
        return 0.0
    return v.total(v.held(v.in_use & (v.primary_flow < 0.75 * v.primary_flow_setpoint), 1.0))


def open_without_air(v: View) -> float:
    """On days on which the position travels by half of its stroke, the flow stays where it was."""
    if not v.is_logged("primary_flow", "damper_position") or not v.logged.positions.credible[v.at]:
        return 0.0
    seen = 0.0
    for day in np.unique(v.logged.time.normalize()):
        rows = v.in_use & (v.logged.time.normalize() == day) & np.isfinite(v.primary_flow)
        if rows.sum() < v.samples_an_hour:
            continue
        position, flow = v.damper_position[rows], v.primary_flow[rows]
        pressure = np.sqrt(v.logged.recording.air_handlers["true_pressure"][rows, v.unit])
        travels = np.nanmax(position) - np.nanmin(position) > 50.0
        still = np.nanstd(flow / pressure) < 0.04 * np.nanmean(flow / pressure)
        seen += v.total(rows) if travels and still else 0.0
    return seen


def below_ventilation(v: View) -> float:
    least = v.row["ventilation_min"]
    if not v.scheduled or not v.is_logged("primary_flow") or np.isnan(least):
        return 0.0
    return v.total(v.held(v.in_use, 1.0) & v.held(v.primary_flow < 0.85 * least, 1.0))


FEW = 0.1  # of the terminals of a unit, and two at the least


def alone_at_full(v: View) -> float:
    """Hours of use at full demand, shown and true, which few others of its unit have; if they are most, else 0.

    Full demand: a damper as good as open that is short of its air, or a zone that stays warm at all the air it is set to.
    """
    if not v.scheduled or not v.is_logged("primary_flow"):
        return 0.0
    seen = _few_like_it(v, "cooling_signal", 0.95) & (v.true("cooling_signal") > 0.98) & _warm_at_its_most(v)
    if v.is_logged("damper_position") and not v.logged.period.logging.counted:
        seen |= _few_like_it(v, "true_position", 0.93) & _open_and_short(v)
    seen &= v.in_use
    return v.total(seen) if v.total(seen) > 0.6 * v.total(v.in_use) else 0.0


def _few_like_it(v: View, name: str, full: float) -> np.ndarray:
    own = (v.building.terminals["air_handler"] == v.row["air_handler"]).to_numpy()
    return (v.logged.recording.terminals[name][:, own] > full).sum(axis=1) <= max(2, FEW * own.sum())


def _warm_at_its_most(v: View) -> np.ndarray:
    """Where the zone is well over its cooling setpoint at the maximum that the schedule has for it."""
    _, cooling = v.setpoints
    return (v.zone_temp > cooling + 0.8) & (v.primary_flow > 0.94 * v.row["primary_max"])


def _open_and_short(v: View) -> np.ndarray:
    open_ = (v.damper_position >= 97) & (v.true("true_position") > 0.97)
    if v.is_logged("primary_flow_setpoint"):
        return open_ & (v.primary_flow < 0.92 * v.primary_flow_setpoint)
    return open_ & (v.zone_temp > v.setpoints[1] + 0.8)


def often_at_full(v: View) -> float:
    """Hours of use at a damper that is as good as open, or in cooling at full, if they are two fifths of all; else 0."""
    full = (v.true("true_position") > 0.93) | (v.true("cooling_signal") > 0.98) | (v.true("reheat_position") > 0.93)
    seen = v.total(v.in_use & full)
    return seen if seen > 0.4 * v.total(v.in_use) else 0.0


def below_setpoint_at_all(v: View) -> float:
    """Hours of use in which the flow that was read is less than 70 % of its setpoint."""
    if not v.is_logged("primary_flow", "primary_flow_setpoint"):
        return 0.0
    return v.total(v.in_use & (v.primary_flow < 0.7 * v.primary_flow_setpoint) & (v.primary_flow_setpoint > 10.0))


def below_minimum_at_all(v: View) -> float:
    """Hours of use in which the flow that was read is less than nine tenths of the ventilation minimum."""
    least = v.row["ventilation_min"]
    if not v.is_logged("primary_flow") or not v.scheduled or not np.isfinite(least):
        return 0.0
    return v.total(v.held(v.in_use & (v.primary_flow < 0.9 * least), 1.0))


def without_fan(v: View) -> float:
    """Hours in which air is read at a series unit whose fan is off."""
    if v.row["kind"] != "series" or not v.is_logged("primary_flow", "fan_status"):
        return 0.0
    return v.total(v.held(v.fan_status < 0.5, 0.5) & (v.primary_flow > 20.0) & v.unit_on)
