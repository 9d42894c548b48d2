"""What odd zone setpoints look like in what was logged.

Hours of it at a terminal, by plain arithmetic; nothing of the rules.
"""

from __future__ import annotations

import numpy as np

from tests.accuracy.field.view import View


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
