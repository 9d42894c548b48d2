"""In how many hours of a week the engine itself shows each fault: plain comparisons, none of the analyzer's rules."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from tests.energyplus.building import OF_TAG, Room
from tests.energyplus.engine import CAPACITY
from tests.energyplus.readings import Readings

HOUR = 60  # samples
LEAST_HOURS = 2.0
OTHERWISE = {"zone-too-cold": 4.0, "zone-too-warm": 4.0, "flow-sensor-drift": 8.0, "no-unoccupied-setback": 12.0}
COMMON_CAUSE = "air-handler-common-cause"


@dataclass
class Minutes:
    """A terminal's week: its readings without sensor errors, what really was, and its room."""

    read: pd.DataFrame
    real: pd.DataFrame
    room: Room

    def __post_init__(self):
        moment = self.read.index
        working_day, hour = moment.day_of_week < 5, moment.hour + moment.minute / 60
        self.occupied = pd.Series(working_day & (hour >= 7) & (hour < 18), moment)
        self.settled = pd.Series(working_day & (hour >= 8.5) & (hour < 18), moment)
        self.night = pd.Series((hour < 5) | (hour >= 19), moment)
        self.moving = self.real["discharge_flow"] > 5


SIGNS: dict[str, Callable] = {
    "primary-below-ventilation-minimum": lambda t, r, w: (
        t.settled & (w.primary_flow.rolling(HOUR).mean() < 0.88 * t.room.ventilation_min)
    ),
    "reheat-leaking-by": lambda t, r, w: t.moving & (r.reheat_position == 0) & (w.coil_heat > 200),
    "reheat-during-cooling": lambda t, r, w: (
        t.moving & (r.reheat_position > 8) & (w.primary_flow > 0) & (r.zone_temp > r.cooling_setpoint + 0.4)
    ),
    "starved-terminal": lambda t, r, w: t.settled & (r.primary_flow < 0.8 * r.primary_flow_setpoint),
    "parallel-fan-on-in-cooling": lambda t, r, w: (
        t.occupied & (r.fan_status == 1) & (r.zone_temp > r.cooling_setpoint - 0.1)
    ),
    "parallel-fan-missing-in-heating": lambda t, r, w: (
        t.occupied & (r.fan_status == 0) & (r.reheat_position > 20) & (r.zone_temp < r.heating_setpoint + 0.5)
    ),
    "fan-status-disagrees-with-command": lambda t, r, w: r.fan_status != r.fan_command,
    "fan-short-of-flow": lambda t, r, w: (r.fan_status == 1) & (w.fan_flow < 0.75 * t.room.fan_flow),
    "series-fan-off-when-occupied": lambda t, r, w: t.occupied & (r.fan_status == 0),
    "zone-too-cold": lambda t, r, w: t.settled & (r.zone_temp < r.heating_setpoint - 1.7),
    "zone-too-warm": lambda t, r, w: t.settled & (r.zone_temp > r.cooling_setpoint + 1.7),
    "heating-capacity-short": lambda t, r, w: (
        t.moving
        & (r.reheat_position > 90)
        & (r.zone_temp < r.heating_setpoint - 0.4)
        & (r.zone_temp - r.zone_temp.shift(HOUR) < 0.6)
    ),
    "discharge-too-hot": lambda t, r, w: (
        t.settled & t.moving & (w.coil_heat > 0) & (w.discharge_temp > r.zone_temp + 12.5)
    ),
    "reheat-not-delivering": lambda t, r, w: (
        t.moving & (r.reheat_position > 95) & (w.coil_heat < 0.2 * CAPACITY[t.room.name[0]])
    ),
    "flow-sensor-drift": lambda t, r, w: (w.primary_flow > 10) & ((r.primary_flow / w.primary_flow - 1).abs() > 0.17),
    "no-unoccupied-setback": lambda t, r, w: t.night & (r.heating_setpoint > 19),
    "setpoints-too-close": lambda t, r, w: t.occupied & (r.cooling_setpoint - r.heating_setpoint < 2),
    "fan-short-cycling": lambda t, r, w: (r.fan_status.diff() > 0).rolling(HOUR).sum() >= 4,
    "reheat-with-high-primary": lambda t, r, w: (
        (r.reheat_position > 12)
        & (w.primary_flow > 1.2 * t.room.primary_min)
        & (r.zone_temp < r.heating_setpoint + 0.8)
    ),
    "primary-above-maximum": lambda t, r, w: t.occupied & (r.primary_flow > 1.12 * t.room.primary_max),
}


def hours_of(rule: str, readings: Readings, tags: Iterable[str] | None = None) -> dict[str, float]:
    """Return terminal -> hours of the week in which the engine shows a rule's fault; NaN for a rule without a sign."""
    sign = SIGNS.get(rule)
    return {tag: np.nan if sign is None else _hours(sign, minutes_of(readings, tag)) for tag in tags or OF_TAG}


def minutes_of(readings: Readings, tag: str) -> Minutes:
    """Return one terminal's minutes."""
    read, real = (table[table["terminal"] == tag].set_index("time") for table in (readings.terminals, readings.truth))
    return Minutes(read, real, OF_TAG[tag])


def _hours(sign: Callable, week: Minutes) -> float:
    return float(np.nan_to_num(np.asarray(sign(week, week.read, week.real), dtype=float)).sum() / HOUR)


def shown(rule: str, hours: float) -> bool:
    """Tell whether so many hours of a week make a fault that the week shows."""
    return hours >= OTHERWISE.get(rule, LEAST_HOURS)
