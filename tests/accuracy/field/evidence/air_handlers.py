"""What faults of air handlers look like in what was logged of them and of their terminals.

Hours of it, by plain arithmetic; nothing of the rules.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sample_trends.field import Logged


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


def jumps(logged: Logged) -> int:
    """Count the terminals whose position jumps by ten points and more while the air goes on as it did."""
    shown, true = logged.terminals["damper_position"], 100.0 * logged.recording.terminals["true_position"]
    jump = np.abs(np.diff(shown, axis=0)) > 15.0
    steady = (np.abs(np.diff(true, axis=0)) < 2.0) & (logged.recording.terminals["true_primary_flow"][1:] > 20.0)
    return int((jump & steady).any(axis=0).sum())


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


def _flows(logged: Logged, at: str) -> np.ndarray:
    own = (logged.recording.building.terminals["air_handler"] == at).to_numpy()
    return logged.terminals["primary_flow"][:, own]
