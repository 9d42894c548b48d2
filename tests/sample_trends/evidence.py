"""What each rule's fault looks like in the readings, worked out with plain pandas: hours of evidence in one terminal.

Independent of the analyzer on purpose, and simpler than its rules: a seeded fault has to show hours of this, a sound
terminal next to none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from sample_trends.building import INCH_WC


@dataclass
class Terminal:
    """One terminal's readings (index local time, SI), its air handler's and its neighbours', and its schedule."""

    trend: pd.DataFrame
    handler: pd.DataFrame
    schedule: pd.Series
    neighbours: list[pd.DataFrame]

    def __post_init__(self):
        self.hours = (self.trend.index[1] - self.trend.index[0]) / pd.Timedelta("1h")
        self.samples_an_hour = round(1 / self.hours)
        hour, day = self.trend.index.hour + self.trend.index.minute / 60, self.trend.index.day_of_week
        self.occupied = ((day < 5) & (hour >= 7) & (hour < 18)) | ((day == 5) & (hour >= 9) & (hour < 13))
        self.night = (hour < 3) | (hour >= 20)
        self.steady = pd.Series(self.occupied, self.trend.index).rolling(self.samples_an_hour).min().to_numpy() == 1

    def mean(self, values, occupied: bool = True, least: int = 0) -> pd.Series:
        """Average over the last occupied hour; missing where a part of it was not occupied (or ``least`` samples are)."""
        values = values.where(self.occupied) if occupied else values
        return values.rolling(self.samples_an_hour, min_periods=least or self.samples_an_hour).mean()

    def range_of(self, values: pd.Series, hours: int) -> pd.Series:
        """Highest less lowest of the last hours; missing where samples are."""
        window = values.rolling(hours * self.samples_an_hour)
        return window.max() - window.min()

    def entering(self) -> pd.Series:
        """Temperature of the air that enters the coil [degC], from what is trended (supply air where nothing nearer)."""
        row, handler = self.trend, self.handler
        primary = row["primary_temp"].fillna(handler["supply_temp"])
        induced = row["plenum_temp"].fillna(row["zone_temp"])
        fan = np.nan_to_num(self.schedule["fan_flow"]) * row["fan_status"].fillna(0.0)
        total = np.maximum(fan, row["primary_flow"]) if self.schedule["kind"] == "series" else fan + row["primary_flow"]
        share = row["primary_flow"] / total.where(total > 0)
        return share * primary + (1 - share) * induced


def ventilation_ratio(terminal: Terminal) -> pd.Series:
    """Ventilation air of an occupied hour over what is needed."""
    row, scheduled = terminal.trend, terminal.schedule
    if not np.isnan(scheduled["ventilation_min"]):
        return terminal.mean(row["primary_flow"]) / scheduled["ventilation_min"]
    fraction = terminal.handler["outdoor_air_fraction"]
    air = row["primary_flow"] * fraction + row["outdoor_air_flow"].fillna(0.0)
    people = 2.3597 * scheduled["people"] + 0.3048 * scheduled["area"]  # 5 cfm and 0.06 cfm/ft2
    need = scheduled["outdoor_air_min"] if not np.isnan(scheduled["outdoor_air_min"]) else people
    return terminal.mean(air) / need


def _swings(values: pd.Series, least: float, window: int, within=1.0) -> pd.Series:
    """Count the turns within a window that come after a travel of ``least`` or more; ``within``: where they count."""
    turns, level, rising = np.zeros(len(values)), values.iloc[0], True
    for number, value in enumerate(values.to_numpy()):
        if (value > level) == rising:
            level = value
        elif abs(value - level) >= least:
            turns[number], level, rising = 1, value, not rising
    return pd.Series(turns * within, values.index).rolling(window).sum()


def mixing_fan_flow(t: Terminal) -> pd.Series:
    """Flow of a series fan that the mixing temperatures imply, coil off, an hour's mean; without a dedicated inlet."""
    row = t.trend
    share = (row["plenum_temp"] + 0.45 - row["discharge_temp"]) / (row["plenum_temp"] - row["primary_temp"])
    clear = (
        (row["plenum_temp"] - row["primary_temp"] > 5)
        & (row["reheat_position"].rolling("30min").max() == 0)
        & (share > 0.2)
    )
    alone = np.isnan(t.schedule["outdoor_air_inlet_min"])
    return t.mean(
        (row["primary_flow"] / share).where(clear & alone & (row["fan_status"] == 1)), least=t.samples_an_hour // 2
    )


def _off_mixing(t: Terminal) -> pd.Series:
    return (mixing_fan_flow(t) / t.schedule["fan_flow"] - 1).abs() if t.schedule["kind"] == "series" else None


def _drifts(t: Terminal) -> pd.Series:
    """Tell where one of the ways of seeing drift sees it."""
    row, scheduled = t.trend, t.schedule
    on = t.handler["supply_fan_status"] == 1
    pressure = t.handler["duct_static_pressure"]
    open_ratio = (row["primary_flow"] / scheduled["balanced_max"] / np.sqrt(pressure / pressure[on].median())).where(on)
    full = (open_ratio.where(row["damper_position"] >= 97) - 1).abs() > 0.15
    zero = (row["damper_position"] <= 1) & ~on & (row["primary_flow"] > 0.1 * scheduled["primary_max"])
    # Cold air comes out of a terminal whose sensor reads next to none at an open damper.
    cold = row["discharge_temp"] < row["zone_temp"] - 1.5
    blind = on & (row["damper_position"] >= 50) & (row["primary_flow"] < 5) & cold
    seen = full | zero | blind
    if (mixing := _off_mixing(t)) is not None:
        seen |= mixing > 0.25
    # At its minimum flow, the damper has to stand where it stood on the first day.
    least = (row["primary_flow"] / scheduled["primary_min"] - 1).abs() < 0.05
    opening = row["damper_position"].where(least & t.steady & (row["damper_position"].diff().abs() <= 1))
    daily = opening.groupby(opening.index.date).median()
    moved = (daily / daily.dropna().iloc[:1].mean() - 1).abs() > 0.12
    return seen | (opening.notna() & opening.index.to_series().dt.date.map(moved))


def _neighbours_cool(t: Terminal) -> pd.Series:
    cooling = [(n["zone_temp"] > n["cooling_setpoint"]) for n in t.neighbours]
    return pd.concat(cooling, axis=1).any(axis=1) if cooling else pd.Series(False, t.trend.index)


# rule -> where its fault is to be seen, a bool a sample
SIGNS = {
    "primary-below-ventilation-minimum": lambda t, r, s: ventilation_ratio(t) < 0.9,
    "outdoor-air-inlet-below-minimum": lambda t, r, s: t.occupied & (r.outdoor_air_flow < 0.8 * s.outdoor_air_inlet_min),
    "primary-below-setpoint": lambda t, r, s: t.steady & (t.mean(r.primary_flow) < 0.8 * t.mean(r.primary_flow_setpoint)),
    "starved-terminal": lambda t, r, s: t.occupied & (r.damper_position > 90) & (r.primary_flow < 0.82 * r.primary_flow_setpoint),
    "primary-above-maximum": lambda t, r, s: r.primary_flow > 1.15 * s.primary_max,
    "flow-with-closed-damper": lambda t, r, s: (r.damper_position.rolling("10min").max() <= 1) & (r.primary_flow > 0.08 * s.primary_max),
    "flow-sensor-drift": lambda t, r, s: _drifts(t),
    "flow-below-measurable": lambda t, r, s: t.occupied
    & (r.primary_flow_setpoint > 0) & (r.primary_flow_setpoint < np.sqrt(0.004 * INCH_WC) * s.flow_coefficient),
    "airflow-hunting": lambda t, r, s: t.steady & (_swings(r.primary_flow, 0.12 * s.primary_max, t.samples_an_hour) >= 8),
    "damper-not-moving-air": lambda t, r, s: t.steady & (r.damper_position.rolling(t.samples_an_hour).max() >= 97)
    & (r.primary_flow < 0.4 * s.primary_max),
    "minimum-setpoint-off-schedule": lambda t, r, s: t.steady & (r.primary_flow_setpoint > 0) & (r.primary_flow_setpoint < 0.85 * s.primary_min),
    "inlet-overpressure": lambda t, r, s: t.steady & (t.handler.duct_static_pressure > 2 * INCH_WC * 0.7) & (r.damper_position < 45),
    "fan-short-cycling": lambda t, r, s: r.fan_starts.rolling(t.samples_an_hour).sum() >= 4,
    "parallel-fan-on-in-cooling": lambda t, r, s: t.steady & (r.fan_status == 1) & (r.zone_temp > r.cooling_setpoint - 0.2),
    "parallel-fan-missing-in-heating": lambda t, r, s: t.steady & (r.fan_status == 0)
    & ((t.mean(r.zone_temp) < t.mean(r.heating_setpoint) - 0.4) | (r.reheat_position.rolling("15min").min() > 5)),
    "series-fan-off-when-occupied": lambda t, r, s: t.steady & (r.fan_status == 0),
    "series-primary-without-fan": lambda t, r, s: t.steady & (r.fan_status == 0) & (r.primary_flow > 0.1 * s.primary_max),
    "fan-running-when-unoccupied": lambda t, r, s: t.night & (r.fan_status == 1) & (r.zone_temp > r.heating_setpoint + 2),
    "fan-short-of-flow": lambda t, r, s: mixing_fan_flow(t) < 0.75 * s.fan_flow,
    "fan-status-disagrees-with-command": lambda t, r, s: (r.fan_status != r.fan_command).rolling(3).min().eq(1)
    & r.fan_status.notna(),
    "reheat-during-cooling": lambda t, r, s: t.steady & (r.reheat_position.rolling("15min").min() > 5)
    & ((r.zone_temp > r.cooling_setpoint + 0.4) | (r.primary_flow > 1.2 * s.heating_primary)),
    "reheat-without-airflow": lambda t, r, s: (r.reheat_position > 5) & (r.primary_flow < 0.05 * s.primary_max)
    & (r.fan_status.fillna(0) == 0) & (r.fan_command.fillna(0) == 0),
    "reheat-leaking-by": lambda t, r, s: t.steady & (r.reheat_position.rolling("45min").max() == 0) & (r.discharge_temp > t.entering() + 3.0),
    "reheat-not-delivering": lambda t, r, s: t.steady & (r.reheat_position.rolling("20min").min() > 90) & (r.discharge_temp < t.entering() + 4),
    "reheat-with-high-primary": lambda t, r, s: t.steady & (r.reheat_position > 20) & (r.primary_flow > 1.3 * s.heating_primary),
    # The standard's 20 degF over the space is for air from overhead; from the floor there is the coil's ceiling only.
    "discharge-too-hot": lambda t, r, s: t.steady
    & (r.discharge_temp > (50.0 if s.distribution == "underfloor" else r.zone_temp + 14)),
    "heating-capacity-short": lambda t, r, s: t.steady & (r.reheat_position > 95) & (r.zone_temp < r.heating_setpoint - 1),
    "reheat-hunting": lambda t, r, s: t.steady & (_swings(r.reheat_position, 20.0, t.samples_an_hour) >= 6)
    & (not r.reheat_position.dropna().isin([0.0, 50.0, 100.0]).all()),
    "zone-too-cold": lambda t, r, s: t.steady & (t.mean(r.zone_temp) < r.heating_setpoint - 1.5),
    "zone-too-warm": lambda t, r, s: t.steady & (t.mean(r.zone_temp) > r.cooling_setpoint + 1.5),
    "zone-temperature-swinging": lambda t, r, s: t.steady & (_swings(r.zone_temp, 2.2, 6 * t.samples_an_hour, t.steady) >= 3),
    "setpoints-too-close": lambda t, r, s: t.occupied & (r.cooling_setpoint - r.heating_setpoint < 1.0),
    "no-unoccupied-setback": lambda t, r, s: t.night & (r.heating_setpoint > 19),
    "sensor-flatlined": lambda t, r, s: t.range_of(r.zone_temp, 12) == 0,
    "sensor-implausible": lambda t, r, s: r.zone_temp > 40,
    "neighbours-fighting": lambda t, r, s: t.steady & (r.reheat_position > 5) & _neighbours_cool(t),
    "air-handler-common-cause": lambda t, r, s: t.steady & (r.primary_flow < 0.8 * r.primary_flow_setpoint),
}  # fmt: skip


_ONLY = {
    "parallel": ("fan-short-cycling", "parallel-fan-on-in-cooling", "parallel-fan-missing-in-heating"),
    "series": ("series-fan-off-when-occupied", "series-primary-without-fan"),
}


def applies(rule: str, schedule: pd.Series) -> bool:
    """Tell whether a rule's fault can happen in a terminal of this kind."""
    kind, heated = schedule["kind"], schedule["reheat"] != "none"
    if any(rule in rules and kind != only for only, rules in _ONLY.items()):
        return False
    if rule.startswith("fan-") and kind == "single-duct":
        return False
    return heated or not rule.startswith(("reheat", "heating", "discharge", "neighbours"))


def hours_of(rule: str, terminal: Terminal) -> float:
    """Return the hours in which a rule's fault is to be seen in a terminal."""
    if not applies(rule, terminal.schedule):
        return 0.0
    seen = SIGNS[rule](terminal, terminal.trend, terminal.schedule)
    return float(np.nan_to_num(np.asarray(seen, dtype=float)).sum() * terminal.hours)
