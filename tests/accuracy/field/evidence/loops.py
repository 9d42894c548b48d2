"""What faults of flow setpoints, minimums and loops look like in what was logged: hours of it, by plain arithmetic.

As the rest: nothing of the rules.
"""

from __future__ import annotations

import numpy as np

from tests.accuracy.field.view import View


def air_not_asked_for(v: View) -> float:
    """Hours with half as much air again as is asked for, and by a fifth of the maximum; the unit on, by its status."""
    if not v.is_logged("primary_flow", "primary_flow_setpoint"):
        return 0.0
    steady = np.abs(np.diff(v.primary_flow_setpoint, prepend=np.nan)) < 0.1 * v.row["primary_max"]
    over = (v.primary_flow > 1.5 * v.primary_flow_setpoint) & (
        v.primary_flow > v.primary_flow_setpoint + 0.2 * v.row["primary_max"]
    )
    on = v.held(v.unit_on, 1.0) & v.undisturbed
    if not np.isfinite(v.of_unit("supply_fan_status")).any():  # then nobody knows by night
        on &= v.in_use
    return v.total(over & on & v.held(steady, 1.0))


def minimum_rests_elsewhere(v: View) -> float:
    """Hours with both loops at rest in which the setpoint stands at one value, a fifth and more off the schedule."""
    if not v.scheduled or not v.is_logged("primary_flow_setpoint") or v.row["dcv"] or v.is_logged("co2"):
        return 0.0
    _, cooling = v.setpoints
    told = v.zone_temp < cooling - 0.8 if v.is_logged("zone_temp") else np.zeros(len(v.primary_flow_setpoint), bool)
    rest = v.in_use & (v.true("heating_call") <= 0) & (v.true("cooling_signal") <= 0) & told
    value = np.where(rest, v.primary_flow_setpoint, np.nan)
    if not np.isfinite(value).any():
        return 0.0
    usual = np.nanmedian(value)
    off = abs(usual - v.row["primary_min"]) / max(usual, v.row["primary_min"]) > 0.2
    return v.total(rest & (np.abs(v.primary_flow_setpoint - usual) < 0.01 * usual)) if off else 0.0


def reheat_at_two_thirds(v: View) -> float:
    """A quarter of the hours of use, and ten at least, with reheat on cold air while the flow stands at two thirds."""
    if not v.scheduled or not v.is_logged("primary_flow", "reheat_position"):
        return 0.0
    flow = v.primary_flow / v.row["primary_max"]
    supply = v.logged.recording.air_handlers["true_supply_temp"][:, v.unit] + v.row["duct_gain"]
    cold = supply < v.true("true_zone_temp") - 2.5
    seen = v.in_use & cold & (v.reheat_position > 12) & (np.abs(flow - 0.67) < 0.04)
    hours, out_of = v.total(seen), v.total(v.in_use)
    return hours if hours >= 10.0 * min(v.logged.period.days / 7, 1.0) and hours > 0.25 * out_of else 0.0


def both_loops(v: View) -> float:
    if not v.is_logged("reheat_position", "cooling_signal"):
        return 0.0
    return v.total(v.held((v.reheat_position > 15) & (v.cooling_signal > 15), 0.5) & v.unit_on & v.undisturbed)


def heater_starts(v: View) -> float:
    """Hours with ten rises of the heater's signal and more, in a log that is fine enough to count them."""
    if v.logged.period.minutes > 2 or not v.scheduled or not v.is_logged("reheat_position"):
        return 0.0
    rises = np.diff(np.nan_to_num(v.reheat_position), prepend=0.0) > 20.0
    an_hour = np.convolve(rises, np.ones(v.samples_an_hour), mode="full")[: len(rises)]
    return v.total((an_hour >= 10) & v.undisturbed)


IN_TIME = 8.0  # min: a sound actuator's whole stroke, and five minutes
LATE_STEPS = 3


def late_steps(v: View) -> float:
    """Ten minutes for each rise of the flow setpoint by half after which the damper still opened when it was late.

    Late: short by more than a tenth, two samples and more after the time that it had. Air that came within the hour, a
    setpoint that stood until it did, and no want of pressure; three such steps and four fifths of all, else 0.
    """
    minutes = v.logged.period.minutes
    if minutes > 5 or not v.is_logged("primary_flow", "primary_flow_setpoint", "damper_position"):
        return 0.0
    setpoint, flow, damper = v.primary_flow_setpoint, v.primary_flow, v.damper_position
    later, hour = int(np.ceil(IN_TIME / minutes)) + 2, v.samples_an_hour
    rises = np.flatnonzero((setpoint[1:] > 1.5 * setpoint[:-1]) & (setpoint[1:] > 25.0)) + 1
    rises = rises[rises + hour < len(setpoint)]
    then, wanted = rises + later, setpoint[rises]
    after = rises[:, None] + np.arange(hour)
    there = flow[after] > 0.95 * wanted[:, None]
    waits = ~np.logical_or.accumulate(there, axis=1)
    stood = ~(waits & (np.abs(setpoint[after] - wanted[:, None]) > 0.02 * wanted[:, None])).any(axis=1)
    timed = stood & there.any(axis=1) & v.undisturbed[then] & v.unit_on[then]
    timed &= ~(v.of_unit("duct_static_pressure")[then] < 80.0)
    late = timed & (flow[then] < 0.88 * wanted) & (damper[then] > damper[then - 1] - 1.0) & (damper[then] < 90.0)
    count = int(late.sum())
    return count / 6.0 if count >= LATE_STEPS and count >= 0.8 * timed.sum() else 0.0
