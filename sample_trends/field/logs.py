"""Between the sensors and the log: which points there are, how they are counted, rounded, lost and frozen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.quantities import AIR_HANDLER, TERMINAL, find_unit
from sample_trends.faults import kind_of
from sample_trends.field.gaps import Gaps, draw_gaps, few_samples, first_days
from sample_trends.field.period import Period
from sample_trends.field.positions import Counted, counted_positions
from sample_trends.field.setpoints import by_mode, effective
from sample_trends.readings import STORED
from sample_trends.simulation import Recording

MORE_STORED = {
    "supply_temp_setpoint": ("degF", 0.1), "duct_static_setpoint": ("in.w.c.", 0.01), "supply_fan_speed": ("%", 1.0),
    "heating_signal": ("%", 1.0), "cooling_signal": ("%", 1.0),
}  # fmt: skip
CO2_NOISE = 5.0  # ppm
AT_A_RESTART = 0.66  # of the flow is read in the sample in which controllers restart
LOST_AIR = 0.3  # of the terminals log points of theirs for a few samples only, such as the supply air's temperature


@dataclass(frozen=True)
class Logged:
    """A period as the building automation system logged it.

    Attributes
    ----------
    time : DatetimeIndex
        Local.
    terminals, air_handlers : dict
        Quantity -> array, SI, one row a sample and one column a terminal (air handler); NaN where there is nothing.
    gaps : Gaps
        Where a sample is missing or a code stands in its place.
    positions : Counted
    """

    period: Period
    recording: Recording
    terminals: dict[str, np.ndarray]
    air_handlers: dict[str, np.ndarray]
    gaps: Gaps
    positions: Counted

    @property
    def time(self) -> pd.DatetimeIndex:
        return self.recording.time


def log(period: Period, recording: Recording) -> Logged:
    """Log a recording as the period's building does; drawn by its seed."""
    rng = np.random.default_rng([period.seed, 43])
    shown = _readings(period, recording)
    positions = _positions(period, shown, rng)
    shown["damper_position"] = positions.shown
    shown["primary_flow"] = np.where(positions.restarted, AT_A_RESTART * shown["primary_flow"], shown["primary_flow"])
    shown |= _setpoints(period, recording, shown, rng)
    unsteady = np.random.default_rng([period.seed, 61]).normal(0.0, CO2_NOISE, shown["co2"].shape)
    shown["co2"] = np.maximum(shown["co2"] + unsteady, 0.0)
    gaps = draw_gaps(period, shown["primary_flow"].shape, rng)
    terminals = {name: gaps.applied(name, _rounded(name, values, TERMINAL)) for name, values in shown.items()}
    return Logged(
        period, recording, _kept(period, terminals, rng), _of_air_handlers(period, recording), gaps, positions
    )


def _readings(period: Period, recording: Recording) -> dict[str, np.ndarray]:
    """Return the terminals' readings in SI, percents for shares; NaN where a terminal has no such point."""
    trended = recording.building.trended()
    shown = {}
    for name in TERMINAL:
        if name in recording.terminals:
            values = recording.terminals[name].astype(float)
            values = 100.0 * values if name in ("damper_position", "reheat_position", "cooling_signal") else values
            there = trended[name].to_numpy()
            there = np.full(len(there), period.logging.cooling_signal) if name == "cooling_signal" else there
            shown[name] = np.where(there, values, np.nan)
    return shown


def _positions(period: Period, shown: dict[str, np.ndarray], rng) -> Counted:
    true = shown["damper_position"]
    if not period.logging.counted:
        return Counted(true, np.zeros(true.shape, bool), np.ones(true.shape[1], bool))
    counted = counted_positions(true, period.minutes / 60.0, rng)
    if period.logging.volts:
        # 2 to 10 V, whole ones, read as 0 to 10: a closed damper shows 20 %.
        return Counted(10.0 * np.round(2.0 + 0.08 * counted.shown), counted.restarted, counted.credible)
    return counted


def _setpoints(period: Period, recording: Recording, shown: dict[str, np.ndarray], rng) -> dict[str, np.ndarray]:
    """Return the setpoint points that this building logs; the pair in force is taken away where it logs others."""
    heating, cooling = shown["heating_setpoint"], shown["cooling_setpoint"]
    nothing, how = np.full(heating.shape, np.nan), period.logging.setpoints
    points = {} if how == "pair" else {"heating_setpoint": nothing, "cooling_setpoint": nothing}
    if how.startswith("effective"):
        points["effective_setpoint"] = effective(shown["zone_temp"], heating, cooling)
    if "occupied" in how:
        table = recording.building.terminals
        shift = {side: np.zeros(len(table)) for side in ("heating_shift", "cooling_shift", "no_setback")}
        for fault in recording.faults:
            for name, value in (kind_of(fault.kind).turns | fault.turns).items():
                if name in shift:
                    shift[name][table.index.get_loc(fault.at)] = value
        modes = by_mode(recording.building, shift["heating_shift"], shift["cooling_shift"], shift["no_setback"] > 0)
        all_modes = rng.random() < 0.6
        logged = first_days(len(heating), period.minutes, period.logging.setpoint_days)
        for name, values in modes.items():
            if all_modes or name.startswith("occupied"):
                points[name] = np.where(logged[:, None], values, np.nan)
    return points


def _kept(period: Period, terminals: dict[str, np.ndarray], rng) -> dict[str, np.ndarray]:
    """Take away what this building does not log."""
    if not period.logging.flow_setpoint:
        terminals["primary_flow_setpoint"] = np.full_like(terminals["primary_flow"], np.nan)
    few = few_samples(len(terminals["zone_temp"]), rng)
    only_few = rng.random(terminals["zone_temp"].shape[1]) < LOST_AIR
    terminals["primary_temp"] = np.where(few[:, None] | ~only_few, terminals["primary_temp"], np.nan)
    # An occupancy code that never changes is no occupancy: the hours come from the site.
    terminals["occupied"] = np.full_like(terminals["occupied"], np.nan)
    return terminals


def _of_air_handlers(period: Period, recording: Recording) -> dict[str, np.ndarray]:
    """Return the air handlers' points; while a unit stands still, they keep their last values."""
    logging, shown = period.logging, {}
    left_out = {
        "duct_static_pressure": not logging.static, "duct_static_setpoint": not logging.static_setpoint,
        "supply_temp_setpoint": not logging.supply_setpoint,
    }  # fmt: skip
    for name in AIR_HANDLER:
        if name in recording.air_handlers and not left_out.get(name):
            values = _rounded(name, recording.air_handlers[name].astype(float), AIR_HANDLER)
            shown[name] = values if name == "outdoor_temp" else _frozen(values, recording)
    return shown


def _frozen(values: np.ndarray, recording: Recording) -> np.ndarray:
    values = values.copy()
    for fault in recording.faults:
        if "outage" in kind_of(fault.kind).turns:
            at = recording.building.air_handlers.index.get_loc(fault.at)
            rows = np.flatnonzero(during(recording, fault))
            if len(rows):
                values[rows, at] = values[max(rows[0] - 1, 0), at]
    return values


def during(recording: Recording, fault) -> np.ndarray:
    """Tell the samples that lie in a fault's time."""
    zone, inside = recording.building.time_zone, np.ones(len(recording.time), bool)
    if fault.start is not None:
        inside &= recording.time >= pd.Timestamp(fault.start).tz_localize(zone)
    if fault.end is not None:
        inside &= recording.time < pd.Timestamp(fault.end).tz_localize(zone)
    return inside


def _rounded(name: str, values: np.ndarray, glossary) -> np.ndarray:
    """Round SI values as they are stored, and return SI."""
    spelling, step = stored_as(name)
    unit = find_unit(spelling, glossary[name].dimension)
    return unit.to_si(np.round(np.asarray(unit.from_si(values)) / step, 0) * step)


def stored_as(name: str) -> tuple[str, float]:
    """Return the unit and the step in which a quantity is stored."""
    if name.endswith("_setpoint") and name in TERMINAL and name != "primary_flow_setpoint":
        return "degF", 0.1
    return STORED.get(name) or MORE_STORED[name]
