"""What the faults of a field building's annex, and logs that end, look like in what was logged: hours of it.

As the rest: plain arithmetic on the columns and on what was true, nothing of the rules.
"""

from __future__ import annotations

import numpy as np

from sample_trends.field import Logged
from sample_trends.field.gaps import MAY_END
from tests.accuracy.field.view import View

CONNECTED = 50.0  # ppm


def breathed(v: View) -> float:
    """The air of the room in use, for a fourteenth of the time and more, holds much more than the limit of an office."""
    if not v.is_logged("co2"):
        return 0.0
    seen = v.in_use & (v.true("true_co2") > 1150.0) & (v.co2 > CONNECTED)
    return v.total(seen) if seen.sum() > 0.07 * max(v.in_use.sum(), 1) else 0.0


def reads_off(v: View) -> float:
    """In the empty room, aired out, the reading lies far from the air."""
    if not v.is_logged("co2"):
        return 0.0
    true, off = v.true("true_co2"), v.co2 - v.true("true_co2")
    aired = v.out_of_hours & (true < 470.0) & (v.co2 > CONNECTED)
    return v.total(aired & ((off > 200.0) | (off < -100.0)))


def stays_occupied(v: View) -> float:
    """The mode that is logged says occupied by night, and a setpoint beside it is what it is by day."""
    if not v.is_logged("occupied"):
        return 0.0
    held = np.zeros(len(v.in_use), bool)
    for name in ("heating_setpoint", "effective_setpoint"):
        if name in v.logged.terminals and v.is_logged(name):
            held |= (getattr(v, name) > 19.0) & (getattr(v, name) < 26.0)
    if v.is_logged("primary_flow_setpoint") and v.is_logged("primary_flow"):
        held |= v.primary_flow_setpoint > 0.8 * v.row["primary_min"] * v.row["least_minimum"]
    return v.total(v.out_of_hours & (v.occupied > 0.5) & held)


def no_standby(v: View) -> float:
    """The standby points are logged, the setpoint in force is never on one of them while the room stands empty."""
    if "standby_heating_setpoint" not in v.logged.terminals or not np.isfinite(v.standby_heating_setpoint).any():
        return 0.0
    names = [name for name in ("heating_setpoint", "effective_setpoint") if name in v.logged.terminals]
    known = np.logical_or.reduce([np.isfinite(getattr(v, name)) for name in names])
    return v.total(v.in_use & known)


def zone_off(v: View) -> float:
    """The open office has evened out, in truth; its other sensors show it, and this one lies far from them.

    Which terminals share it stands in the schedule.
    """
    table = v.building.terminals
    others = [table.index.get_loc(tag) for tag in table.index[table["open_zone"] == v.row["open_zone"]] if tag != v.tag]
    true, read = v.logged.recording.terminals["true_zone_temp"], v.logged.terminals["zone_temp"]
    if not v.scheduled or len(others) < 2 or not v.is_logged("zone_temp"):
        return 0.0
    flows = v.logged.recording.terminals["true_primary_flow"][:, [v.at, *others]]
    heat = v.logged.recording.terminals["coil_heat"][:, [v.at, *others]]
    left = v.held(((flows < 3.0) & (heat < 10.0)).all(axis=1), 6.0) & v.out_of_hours
    even = np.ptp(true[:, [v.at, *others]], axis=1) < 0.6
    mild = np.abs(true[:, v.at] - v.logged.recording.air_handlers["outdoor_temp"][:, v.unit]) < 12.0  # no facade tells
    beyond = np.abs(read[:, v.at] - np.nanmedian(read[:, others], axis=1)) > 2.3
    return v.total(left & even & mild & beyond)


def air_all_night(logged: Logged, at: str, when: np.ndarray) -> float:
    """Hours of deep night in which most of the unit's terminals read air."""
    own = (logged.recording.building.terminals["air_handler"] == at).to_numpy()
    flows = logged.terminals["primary_flow"][:, own]
    most = np.nanmean(np.where(np.isnan(flows), np.nan, flows > 20.0), axis=1) > 0.6
    night = np.asarray((logged.time.hour < 3) | (logged.time.hour >= 21))
    return float((most & night & when).sum() * logged.period.minutes / 60)


def ended(logged: Logged, number: int) -> float:
    """Hours for which one of a terminal's logs had ended before the others', where it was logged at all."""
    rows, longest = len(logged.time), 0.0
    for name in MAY_END:
        known = np.flatnonzero(np.isfinite(logged.terminals[name][:, number]))
        if len(known) and logged.gaps.ended[name][number] < rows:
            longest = max(longest, (rows - 1 - known[-1]) * logged.period.minutes / 60)
    return longest
