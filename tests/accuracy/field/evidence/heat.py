"""What faults of reheat, and of rooms that get too little or too much of it, look like in what was logged.

Hours of it at a terminal, by plain arithmetic; nothing of the rules.
"""

from __future__ import annotations

import numpy as np

from tests.accuracy.field.view import View

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


def capacity_short(v: View) -> float:
    heating, _ = v.setpoints
    if not v.is_logged("zone_temp", "reheat_position"):
        return 0.0
    return v.total(v.held(v.in_use, 1.0) & v.held(v.reheat_position >= 95, 0.5) & (v.zone_temp < heating - 1.0))


def too_cold(v: View) -> float:
    heating, _ = v.setpoints
    if not v.is_logged("zone_temp"):
        return 0.0
    return v.total(v.held(v.in_use, 1.0) & (v.zone_temp < heating - 1.5))


def too_warm(v: View) -> float:
    _, cooling = v.setpoints
    if not v.is_logged("zone_temp"):
        return 0.0
    return v.total(v.held(v.in_use, 1.0) & (v.zone_temp > cooling + 1.8))


def too_hot(v: View) -> float:
    """Hours of heating in use with a discharge of over 120 degF, the ceiling that the rule quotes, by its accuracy."""
    if not v.is_logged("discharge_temp", "reheat_position"):
        return 0.0
    return v.total(v.held(v.in_use, 1.0) & (v.reheat_position > 5) & (v.discharge_temp > 48.9 + 0.5))


def stuck(v: View) -> float:
    return v.total(np.isfinite(v.zone_temp)) if v.is_logged("zone_temp") else 0.0


def swings(v: View) -> float:
    """Hours of use in which the zone moves by 1.3 K and more, peak to peak, within the hour."""
    if not v.is_logged("zone_temp"):
        return 0.0
    hour = np.lib.stride_tricks.sliding_window_view(v.zone_temp, v.samples_an_hour)
    swing = np.nanmax(hour, axis=1) - np.nanmin(hour, axis=1)
    wide = np.append(np.zeros(len(v.zone_temp) - len(swing), dtype=bool), swing > 1.3)
    return v.total(v.held(v.in_use, 1.0) & wide)
