"""From what the sensors showed to what a building automation system stores: rounded, and only what is trended."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.quantities import AIR_HANDLER, TERMINAL, find_unit
from sample_trends.simulation import Recording

# How points are stored: unit, resolution, the contractor's abbreviation.
STORED = {
    "zone_temp": ("degF", 0.1), "heating_setpoint": ("degF", 0.1), "cooling_setpoint": ("degF", 0.1),
    "primary_flow": ("cfm", 1.0), "primary_flow_setpoint": ("cfm", 1.0), "damper_position": ("%", 1.0),
    "fan_status": ("", 1.0), "fan_command": ("", 1.0), "fan_speed": ("%", 1.0), "discharge_flow": ("cfm", 5.0),
    "reheat_position": ("%", 1.0), "discharge_temp": ("degF", 0.1), "primary_temp": ("degF", 0.1),
    "plenum_temp": ("degF", 0.1), "outdoor_air_flow": ("cfm", 1.0), "occupied": ("", 1.0), "co2": ("ppm", 1.0),
    "supply_temp": ("degF", 0.1), "supply_flow": ("cfm", 10.0), "duct_static_pressure": ("in.w.c.", 0.01),
    "supply_fan_status": ("", 1.0), "outdoor_temp": ("degF", 0.1), "outdoor_air_fraction": ("%", 1.0),
}  # fmt: skip
_AS_SHARE = ("damper_position", "reheat_position")  # 0..1 in the simulation


def stored_values(recording: Recording) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray]]:
    """Return terminals' and air handlers' readings in the units and steps of STORED; NaN where not trended."""
    trended = recording.building.trended()
    terminals = {}
    for name, values in recording.terminals.items():
        if name in STORED:
            percent = 100.0 * values if name in _AS_SHARE else values
            terminals[name] = np.where(trended[name].to_numpy(), _rounded(name, percent, TERMINAL), np.nan)
    return terminals, {name: _rounded(name, values, AIR_HANDLER) for name, values in recording.air_handlers.items()}


def _rounded(name: str, values: np.ndarray, glossary) -> np.ndarray:
    spelling, step = STORED[name]
    unit = find_unit(spelling, glossary[name].dimension)
    steps = np.round(np.asarray(unit.from_si(values.astype(float))) / step)
    # Steps are whole; dividing by the inverse keeps 70.1 what it says.
    return steps / round(1.0 / step) if step < 1.0 else steps * step


def to_si(name: str, values: np.ndarray) -> np.ndarray:
    """Convert stored values to SI."""
    quantity = TERMINAL.get(name) or AIR_HANDLER[name]
    return find_unit(STORED[name][0], quantity.dimension).to_si(values)


def fan_starts(recording: Recording) -> np.ndarray:
    """Count each fan's starts since the previous sample, from every simulation step; 0 in the first sample."""
    status = recording.fan_status.astype(np.int16)
    starts = np.zeros_like(status)
    starts[1:] = np.diff(status, axis=0) > 0
    total = np.cumsum(starts, axis=0)[:: recording.steps_a_sample]
    return np.diff(total, axis=0, prepend=total[:1])


def normalized(recording: Recording) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the readings as two tables with the normalized table's columns, SI, sorted by name then time."""
    terminals, air_handlers = stored_values(recording)
    terminals["fan_starts"] = np.where(recording.building.trended()["fan_status"], fan_starts(recording), np.nan)
    tags = recording.building.terminals.index
    return (
        _tidy("terminal", tags, recording.time, terminals, TERMINAL),
        _tidy("air_handler", recording.building.air_handlers.index, recording.time, air_handlers, AIR_HANDLER),
    )


def _tidy(key: str, names, time: pd.DatetimeIndex, values: dict[str, np.ndarray], glossary) -> pd.DataFrame:
    stamps = time.tz_convert("UTC").tz_localize(None).as_unit("us")
    columns = {
        key: np.repeat(np.asarray(names, dtype=object), len(time)),
        "time": np.tile(stamps.to_numpy(), len(names)),
    }
    for name in glossary:
        if name not in values:
            columns[name] = np.full(len(columns["time"]), np.nan)
            continue
        column = values[name].T.ravel()
        columns[name] = column if name == "fan_starts" else to_si(name, column)
    table = pd.DataFrame(columns)
    table["time"] = table["time"].dt.tz_localize("UTC")
    return table.sort_values([key, "time"], kind="stable", ignore_index=True)
