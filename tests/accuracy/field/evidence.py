"""What each seeded fault of field mode looks like in what was logged: hours of it, by plain arithmetic.

Shares nothing with the rules. A fault is *shown* where the columns at hand settle it: the hours reach LEAST, and what
it takes to see it was logged. Then a verdict is asked for: neither 'clear' nor 'not judged' will do.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from analyzer.quantities import find_unit
from sample_trends.field import Logged
from tests.accuracy.field.annex_evidence import LEAST_OF_ANNEX, OF_ANNEX, air_all_night
from tests.accuracy.field.view import View

CFM = find_unit("cfm", "flow").to_si(1.0)
WITH_AIR = 0.05  # of the scheduled maximum


def _hot_enough(v: View) -> np.ndarray:
    """Where the coil is asked for all it has, with air moving, for a while."""
    moving = v.true("true_primary_flow") > WITH_AIR * v.row["primary_max"]
    fan = np.nan_to_num(v.fan_status) > 0.5
    return v.held(v.reheat_position >= 90, 0.5) & (moving | fan) & v.undisturbed & v.unit_on


def coil_dead(v: View) -> float:
    if not v.is_logged("reheat_position", "discharge_temp", "zone_temp"):
        return 0.0
    return v.total(_hot_enough(v) & (v.discharge_temp < v.zone_temp))


def leaking(v: View) -> float:
    """Valve shut and the discharge above the room, with air moving; above the plenum, too, where a fan draws from it."""
    if not v.is_logged("reheat_position", "discharge_temp", "zone_temp"):
        return 0.0
    shut = v.held(v.reheat_position <= 0, 1.0)
    moving = v.true("true_primary_flow") > 0.15 * v.row["primary_max"]
    warmest = v.zone_temp
    if v.row["kind"] != "single-duct":
        if not v.is_logged("plenum_temp"):
            return 0.0
        warmest = np.maximum(v.zone_temp, v.plenum_temp)
    return v.total(shut & moving & v.unit_on & v.undisturbed & (v.discharge_temp > warmest + 1.5))


def welded(v: View) -> float:
    if not v.is_logged("reheat_position", "discharge_temp", "zone_temp"):
        return 0.0
    return v.total(v.held(v.reheat_position <= 0, 1.0) & v.undisturbed & (v.discharge_temp > v.zone_temp + 5.0))


def heat_in_cooling(v: View) -> float:
    _, cooling = v.setpoints
    if not v.is_logged("reheat_position", "zone_temp") or not np.isfinite(cooling).any():
        return 0.0
    return v.total(v.in_use & v.held(v.reheat_position > 20, 0.5) & (v.zone_temp > cooling + 0.6))


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


def too_cold(v: View) -> float:
    heating, _ = v.setpoints
    if not v.is_logged("zone_temp"):
        return 0.0
    return v.total(v.held(v.in_use, 1.0) & (v.zone_temp < heating - 1.5))


def capacity_short(v: View) -> float:
    heating, _ = v.setpoints
    if not v.is_logged("zone_temp", "reheat_position"):
        return 0.0
    return v.total(v.held(v.in_use, 1.0) & v.held(v.reheat_position >= 95, 0.5) & (v.zone_temp < heating - 1.0))


def too_warm(v: View) -> float:
    _, cooling = v.setpoints
    if not v.is_logged("zone_temp"):
        return 0.0
    return v.total(v.held(v.in_use, 1.0) & (v.zone_temp > cooling + 1.8))


def stuck(v: View) -> float:
    return v.total(np.isfinite(v.zone_temp)) if v.is_logged("zone_temp") else 0.0


def below_ventilation(v: View) -> float:
    least = v.row["ventilation_min"]
    if not v.scheduled or not v.is_logged("primary_flow") or np.isnan(least):
        return 0.0
    return v.total(v.held(v.in_use, 1.0) & v.held(v.primary_flow < 0.85 * least, 1.0))


def fan_at_night(v: View) -> float:
    heating, _ = v.setpoints
    if not v.is_logged("fan_status", "zone_temp") or (np.isnan(heating).all() and not v.is_logged("reheat_position")):
        return 0.0
    called = v.zone_temp < np.where(np.isnan(heating), 18.0, v.true("heating_setpoint") + 1.0)
    called |= np.nan_to_num(v.reheat_position) > 0
    return v.total(v.out_of_hours & v.held(~v.unit_on, 1.0) & (v.fan_status > 0.5) & ~called)


def fan_off(v: View) -> float:
    if not v.scheduled or not v.is_logged("fan_status"):
        return 0.0
    return v.total(v.in_use & (v.fan_status < 0.5))


def fan_missing(v: View) -> float:
    heating, _ = v.setpoints
    if not v.scheduled or not v.is_logged("fan_status", "zone_temp", "reheat_position"):
        return 0.0
    cold = v.held(v.zone_temp < heating - 0.5, 1.0)
    return v.total(v.in_use & (v.fan_status < 0.5) & cold)


def fan_disagrees(v: View) -> float:
    if not v.is_logged("fan_status", "fan_command"):
        return 0.0
    return v.total(v.held((v.fan_command > 0.5) & (v.fan_status < 0.5), 0.6) & v.undisturbed)


def chatters(v: View) -> float:
    """Hours with six starts and more, in a log that is fine enough to count them."""
    if v.logged.period.minutes > 5 or not v.is_logged("fan_status"):
        return 0.0
    starts = np.diff(np.nan_to_num(v.fan_status), prepend=0.0) > 0
    an_hour = np.convolve(starts, np.ones(v.samples_an_hour), mode="full")[: len(starts)]
    return v.total((an_hour >= 6) & v.undisturbed)


def no_gap(v: View) -> float:
    """The pair in force, or the occupied pair, is logged and has no gap; one effective point alone cannot tell."""
    if v.is_logged("heating_setpoint", "cooling_setpoint"):
        return v.total(v.in_use & (v.cooling_setpoint - v.heating_setpoint < 0.5))
    if "occupied_heating_setpoint" not in v.logged.terminals:
        return 0.0
    gap = v.occupied_cooling_setpoint - v.occupied_heating_setpoint
    # Logged seldom, it stays in force while nothing contradicts it.
    return v.total(v.in_use) if np.nanmin(gap) < 0.5 else 0.0


def odd_setpoint(v: View) -> float:
    if not v.logged.period.logging.policy:
        return 0.0
    names = ("heating_setpoint", "effective_setpoint", "occupied_heating_setpoint")
    if any(name in v.logged.terminals and np.isfinite(v.logged.terminals[name][:, v.at]).any() for name in names):
        return v.total(v.in_use)
    return 0.0


def no_setback(v: View) -> float:
    names = ("heating_setpoint", "effective_setpoint")
    seen = [v.logged.terminals[name][:, v.at] for name in names if name in v.logged.terminals]
    return max((v.total(v.out_of_hours & (values > 19.0) & (values < 26.0)) for values in seen), default=0.0)


def alone_at_full(v: View) -> float:
    """Hours of use at full damper, shown and true, in which one other terminal of its unit at the most is as open."""
    if not v.scheduled or not v.is_logged("damper_position", "primary_flow") or v.logged.period.logging.counted:
        return 0.0
    own = (v.building.terminals["air_handler"] == v.row["air_handler"]).to_numpy()
    full = (v.logged.recording.terminals["true_position"][:, own] > 0.97).sum(axis=1)
    seen = v.in_use & (v.damper_position >= 97) & (v.true("true_position") > 0.97) & (full <= 2)
    if v.is_logged("primary_flow_setpoint"):
        seen &= v.primary_flow < 0.92 * v.primary_flow_setpoint
    else:
        seen &= (v.zone_temp > v.setpoints[1] + 0.8) if np.isfinite(v.setpoints[1]).any() else False
    return v.total(seen) if v.total(seen) > 0.6 * v.total(v.in_use) else 0.0


# kind -> rule -> hours of evidence at a terminal
OF_TERMINALS: dict[str, dict[str, Callable[[View], float]]] = {
    "coil-dead": {"reheat-not-delivering": coil_dead},
    "valve-leaks-much": {"reheat-leaking-by": leaking},
    "heater-welded": {"reheat-leaking-by": welded},
    "heat-in-hand-at-dual-maximum": {"reheat-during-cooling": heat_in_cooling},
    "sensor-tube-off": {"flow-sensor-drift": tube_off},
    "flow-slides": {"flow-sensor-drift": slides},
    "flow-reads-a-fifth": {"flow-sensor-drift": reads_a_fifth},
    "series-flow-reads-low": {"flow-sensor-drift": mixing},
    "flow-zero-drifted": {"flow-sensor-drift": reads_without_air},
    "linkage-slipped-in-field": {"damper-not-moving-air": open_without_air},
    "room-loses-too-much": {"heating-capacity-short": capacity_short, "zone-too-cold": too_cold},
    "room-overloaded": {"zone-too-warm": too_warm, "holds-back-reset": alone_at_full},
    "zone-sensor-stuck": {"sensor-flatlined": stuck},
    "duct-blocked-in-field": {"starved-terminal": starved},
    "damper-stuck-in-field": {"primary-below-setpoint": below_setpoint},
    "minimum-too-low-in-field": {"primary-below-ventilation-minimum": below_ventilation},
    "fan-all-night": {"fan-running-when-unoccupied": fan_at_night},
    "series-fan-off-in-field": {"series-fan-off-when-occupied": fan_off},
    "parallel-fan-dead-in-field": {
        "parallel-fan-missing-in-heating": fan_missing, "fan-status-disagrees-with-command": fan_disagrees,
    },
    "fan-chatters-in-field": {"fan-short-cycling": chatters},
    "deadband-zero": {"setpoints-too-close": no_gap},
    "setpoint-odd": {"setpoint-out-of-policy": odd_setpoint},
    "no-setback-in-field": {"no-unoccupied-setback": no_setback},
    **OF_ANNEX,
}  # fmt: skip


def outage(logged: Logged, at: str, when: np.ndarray) -> float:
    """Occupied hours in which most of the unit's terminals read no air."""
    flows = _flows(logged, at)
    none = np.nanmean(np.where(np.isnan(flows), np.nan, flows < 6.0), axis=1) > 0.6
    occupied = logged.recording.terminals["occupied"][:, 0] > 0.5
    return float((none & when & occupied).sum() * logged.period.minutes / 60)


def short_of_pressure(logged: Logged, at: str, when: np.ndarray) -> float:
    """Occupied hours in which five and more terminals of the unit stand open, short of what they are set to."""
    own = (logged.recording.building.terminals["air_handler"] == at).to_numpy()
    true = logged.recording.terminals
    short = true["true_primary_flow"][:, own] < 0.85 * true["primary_flow_setpoint"][:, own]
    seen = (true["true_position"][:, own] > 0.95) & short & (true["occupied"][:, own] > 0.5)
    return float(((seen.sum(axis=1) >= 5) & when).sum() * logged.period.minutes / 60)


def supply_cold(logged: Logged, at: str, when: np.ndarray) -> float:
    unit = logged.recording.building.air_handlers.index.get_loc(at)
    if "supply_temp_setpoint" not in logged.air_handlers:
        return 0.0
    points = {
        name: logged.air_handlers[name][:, unit]
        for name in ("supply_temp", "supply_temp_setpoint", "supply_fan_status")
    }
    short = (points["supply_temp"] < points["supply_temp_setpoint"] - 2.5) & (points["supply_fan_status"] > 0.5)
    return float((short & when).sum() * logged.period.minutes / 60)


def _true(logged: Logged, at: str, name: str) -> np.ndarray:
    """What was true of a unit's terminals, a column each."""
    own = (logged.recording.building.terminals["air_handler"] == at).to_numpy()
    return logged.recording.terminals[name][:, own].astype(float)


def _in_use(logged: Logged, at: str) -> np.ndarray:
    unit = logged.recording.building.air_handlers.index.get_loc(at)
    runs = logged.recording.air_handlers["supply_fan_status"][:, unit] > 0.5
    return runs & (logged.recording.terminals["occupied"][:, 0] > 0.5)


def _hours(logged: Logged, seen: np.ndarray) -> float:
    return float(np.nan_to_num(seen.astype(float)).sum() * logged.period.minutes / 60)


def reading_stuck(name: str) -> Callable[[Logged, str, np.ndarray], float]:
    """Hours of running in which the point is logged and stuck, its fan having stopped and started meanwhile."""

    def hours(logged: Logged, at: str, when: np.ndarray) -> float:
        unit = logged.recording.building.air_handlers.index.get_loc(at)
        if name not in logged.air_handlers:
            return 0.0
        runs = logged.recording.air_handlers["supply_fan_status"][:, unit] > 0.5
        values = logged.air_handlers[name][:, unit]
        turned = (np.diff(runs.astype(int), prepend=int(runs[0])) != 0) & when
        at_rest = np.nanmax(values[when]) <= 0.0
        return 0.0 if at_rest or turned.sum() < 4 else _hours(logged, runs & when & np.isfinite(values))

    return hours


def runs_all_night(logged: Logged, at: str, when: np.ndarray) -> float:
    """Hours in which the fan runs by its schedule, none of its zones calling, three hours and more from any use."""
    unit = logged.recording.building.air_handlers.index.get_loc(at)
    by_schedule = logged.recording.air_handlers["by_schedule"][:, unit] > 0.5
    cold = _true(logged, at, "true_zone_temp") < _true(logged, at, "heating_setpoint") + 1.5
    warm = _true(logged, at, "true_zone_temp") > _true(logged, at, "cooling_setpoint") - 1.0
    known = logged.period.logging.setpoints in ("pair", "effective", "effective and occupied")
    used = logged.recording.terminals["occupied"][:, 0] > 0.5
    margin = round(240 / logged.period.minutes)
    near = np.convolve(used, np.ones(2 * margin + 1), "same") > 0
    return _hours(logged, when & by_schedule & ~(cold | warm).any(axis=1) & ~near) if known else 0.0


def never_reset(logged: Logged, at: str, when: np.ndarray) -> float:
    """Hours of use with a logged setpoint that stands, where no damper of the unit is past 80 % in them; else 0."""
    unit = logged.recording.building.air_handlers.index.get_loc(at)
    if "duct_static_setpoint" not in logged.air_handlers or logged.period.logging.counted:
        return 0.0
    if not logged.period.logging.schedule:  # nobody says which dampers are its own
        return 0.0
    seen = when & _in_use(logged, at)
    setpoint = logged.air_handlers["duct_static_setpoint"][seen, unit]
    own = (logged.recording.building.terminals["air_handler"] == at).to_numpy()
    logs = np.isfinite(logged.terminals["damper_position"][:, own]).mean(axis=0) > 0.5
    still = np.ptp(setpoint) < 1.0 and logs.all()
    most = np.maximum(_true(logged, at, "true_position"), _true(logged, at, "damper_position")).max(axis=1)
    return _hours(logged, seen) if still and (most[seen] > 0.8).mean() < 0.001 else 0.0


def unfit_for_load(logged: Logged, at: str, when: np.ndarray) -> float:
    """Hours of use in which nearly all heated terminals reheat cold air, or nearly all terminals cool all they can."""
    seen = when & _in_use(logged, at)
    unit = logged.recording.building.air_handlers.index.get_loc(at)
    own = (logged.recording.building.terminals["air_handler"] == at).to_numpy()
    heated = (logged.recording.building.terminals["reheat"] != "none").to_numpy()[own]
    reheats = logged.terminals["reheat_position"][:, own][:, heated] > 10.0
    mild = logged.recording.air_handlers["outdoor_temp"][:, unit] > 2.0
    supply = logged.recording.air_handlers["true_supply_temp"][:, unit]
    nobody_cools = _true(logged, at, "cooling_signal").max(axis=1) < 0.02
    cold = (reheats.mean(axis=1) > 0.85) & mild & nobody_cools & (supply < 14.0)
    over = _true(logged, at, "true_zone_temp") > _true(logged, at, "cooling_setpoint") + 0.8
    full = over & (_true(logged, at, "cooling_signal") > 0.98)
    told = logged.period.logging.setpoints != "none" or logged.period.logging.site_setpoints
    warm = (full.mean(axis=1) > 0.75) & (supply > 16.0) & told
    return _hours(logged, seen & (cold | warm)) if seen.any() else 0.0


OF_AIR_HANDLERS: dict[str, dict[str, Callable[[Logged, str, np.ndarray], float]]] = {
    "unit-outdoor-flow-stuck": {"air-handler-sensor-stuck": reading_stuck("outdoor_air_flow")},
    "unit-supply-flow-stuck": {"air-handler-sensor-stuck": reading_stuck("supply_flow")},
    "unit-pressure-stuck": {"air-handler-sensor-stuck": reading_stuck("duct_static_pressure")},
    "unit-supply-temp-stuck": {"air-handler-sensor-stuck": reading_stuck("supply_temp")},
    "unit-runs-all-night": {"air-handler-runs-unoccupied": runs_all_night},
    "unit-static-fixed-high": {"static-setpoint-never-reset": never_reset},
    "unit-supply-too-cold": {"supply-temp-unfit-for-load": unfit_for_load},
    "unit-supply-too-warm": {"supply-temp-unfit-for-load": unfit_for_load},
    "unit-outage": {"air-handler-outage": outage},
    "unit-short-of-pressure": {"air-handler-short-of-pressure": short_of_pressure},
    "unit-supply-cold": {"air-handler-supply-temp-off": supply_cold},
    "unit-never-off": {"never-unoccupied": air_all_night},
}


def jumps(logged: Logged) -> int:
    """Count the terminals whose position jumps by ten points and more while the air goes on as it did."""
    shown, true = logged.terminals["damper_position"], 100.0 * logged.recording.terminals["true_position"]
    jump = np.abs(np.diff(shown, axis=0)) > 15.0
    steady = (np.abs(np.diff(true, axis=0)) < 2.0) & (logged.recording.terminals["true_primary_flow"][1:] > 20.0)
    return int((jump & steady).any(axis=0).sum())


def _flows(logged: Logged, at: str) -> np.ndarray:
    own = (logged.recording.building.terminals["air_handler"] == at).to_numpy()
    return logged.terminals["primary_flow"][:, own]


LEAST = {
    "zone-too-cold": 6.0,
    "zone-too-warm": 6.0,
    "no-unoccupied-setback": 24.0,
    "flow-sensor-drift": 8.0,
    "fan-running-when-unoccupied": 6.0,
    "setpoint-out-of-policy": 8.0,
    "static-setpoint-never-reset": 45.0,
    "air-handler-runs-unoccupied": 8.0,
    "supply-temp-unfit-for-load": 12.0,
    "holds-back-reset": 20.0,
    **LEAST_OF_ANNEX,
}
USUAL_LEAST = 4.0  # h


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


def too_hot(v: View) -> float:
    """Hours of heating in use with a discharge of over 120 degF, the ceiling that the rule quotes, by its accuracy."""
    if not v.is_logged("discharge_temp", "reheat_position"):
        return 0.0
    return v.total(v.held(v.in_use, 1.0) & (v.reheat_position > 5) & (v.discharge_temp > 48.9 + 0.5))


def often_at_full(v: View) -> float:
    """Hours of use at a damper that is as good as open, or in cooling at full, if they are two fifths of all; else 0."""
    full = (v.true("true_position") > 0.93) | (v.true("cooling_signal") > 0.98) | (v.true("reheat_position") > 0.93)
    seen = v.total(v.in_use & full)
    return seen if seen > 0.4 * v.total(v.in_use) else 0.0


# What the readings show without naming a cause.
SYMPTOMS = {
    "zone-too-cold": too_cold,
    "zone-too-warm": too_warm,
    "heating-capacity-short": capacity_short,
    "discharge-too-hot": too_hot,
    "holds-back-reset": often_at_full,
    "primary-below-setpoint": below_setpoint_at_all,
    "primary-below-ventilation-minimum": below_minimum_at_all,
}
# What most of a building share, and what explains no symptom.
STATES = (
    "setpoints-too-close", "setpoint-out-of-policy", "no-unoccupied-setback", "damper-position-not-credible",
    "point-log-ended", "standby-never-used",
)  # fmt: skip
