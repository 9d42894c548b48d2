"""What faults of terminal fans look like in what was logged.

Hours of it at a terminal, by plain arithmetic; nothing of the rules.
"""

from __future__ import annotations

import numpy as np

from tests.accuracy.field.view import View


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
