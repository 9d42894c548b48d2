"""A logged period as the raw files that a site sends: a CSV a terminal, rooftop units apart, stamps in UTC."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from analyzer.quantities import AIR_HANDLER, TERMINAL, find_unit
from sample_trends.exports import schedule_in_ip
from sample_trends.field.gaps import CODES
from sample_trends.field.logs import Logged, stored_as

# Trade names; the second is what a few controllers of another make say.
NAMES = {
    "zone_temp": ("Zone Temperature", "Space Temp"),
    "effective_setpoint": ("Effective Setpoint", "Effective Setpoint"),
    "heating_setpoint": ("Active Heating Setpoint", "Heating Setpoint"),
    "cooling_setpoint": ("Active Cooling Setpoint", "Cooling Setpoint"),
    "occupied_heating_setpoint": ("Occupied Heating Setpoint", "Occ Heating Setpoint"),
    "occupied_cooling_setpoint": ("Occupied Cooling Setpoint", "Occ Cooling Setpoint"),
    "standby_heating_setpoint": ("Standby Heating Setpoint", "Standby Heating Setpoint"),
    "standby_cooling_setpoint": ("Standby Cooling Setpoint", "Standby Cooling Setpoint"),
    "unoccupied_heating_setpoint": ("Unoccupied Heating Setpoint", "Unocc Heating Setpoint"),
    "unoccupied_cooling_setpoint": ("Unoccupied Cooling Setpoint", "Unocc Cooling Setpoint"),
    "primary_flow": ("Air Flow", "Primary Air Flow"),
    "primary_flow_setpoint": ("Air Flow Setpoint", "Primary Air Flow Setpoint"),
    "damper_position": ("Damper Position", "Damper Position"),
    "reheat_position": ("Reheat Output", "Heating Valve Position"),
    "cooling_signal": ("Cooling Loop Output", "Cooling Demand"),
    "discharge_temp": ("Discharge Air Temperature", "Discharge Air Temp"),
    "primary_temp": ("Supply Air Temperature", "Primary Air Temp"),
    "plenum_temp": ("Plenum Temperature", "Plenum Air Temp"),
    "fan_status": ("Fan Status", "Fan Status"),
    "fan_command": ("Fan Command", "Fan Command"),
    "fan_speed": ("Fan Speed", "Fan Speed"),
    "outdoor_air_flow": ("Outdoor Air Flow", "Outdoor Air Flow"),
    "co2": ("Zone CO2", "Space CO2"),
}
UNIT_NAMES = {
    "supply_temp": "Supply Air Temperature", "supply_temp_setpoint": "Supply Air Temperature Setpoint",
    "supply_flow": "Supply Air Flow", "duct_static_pressure": "Duct Static Pressure",
    "duct_static_setpoint": "Duct Static Pressure Setpoint", "supply_fan_status": "Supply Fan Status",
    "supply_fan_speed": "Supply Fan Speed", "heating_signal": "Heating Output",
    "outdoor_temp": "Outdoor Air Temperature",
}  # fmt: skip
# Real sites do not say so; until the site file can, the header has to.
STAMPS = "Timestamp UTC"
OTHER_MAKE = 0.15  # of the terminals
CODED = 0.35  # of the points that have a code write it where a sample is missing


def write_field_exports(logged: Logged, folder: str | Path) -> Path:
    """Write a logged period as raw files, with the site file, the schedule (where there is one) and the truth.

    Parameters
    ----------
    logged : Logged
    folder : path
        Made if missing.

    Returns
    -------
    Path
        The folder.
    """
    folder, rng = Path(folder), np.random.default_rng([logged.period.seed, 53])
    for name in ("terminals", "rooftop units"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    stamps = logged.time.tz_convert("UTC").strftime("%Y-%m-%d %H:%M:%S")
    for number, tag in enumerate(logged.recording.building.terminals.index):
        _terminal(logged, number, stamps, rng).to_csv(folder / "terminals" / f"{tag}.csv", index=False)
    for number, name in enumerate(logged.recording.building.air_handlers.index):
        _unit(logged, number, stamps).to_csv(folder / "rooftop units" / f"{name}.csv", index=False)
    (folder / "site.toml").write_text(_site_file(logged), encoding="utf-8")
    if logged.period.logging.schedule:
        _schedule(logged).to_csv(folder / "terminals.csv")
    truth = [(fault.at, fault.kind, fault.start, fault.end) for fault in logged.recording.faults]
    pd.DataFrame(truth, columns=["at", "kind", "from", "to"]).to_csv(folder / "truth.csv", index=False)
    return folder


def _terminal(logged: Logged, number: int, stamps, rng) -> pd.DataFrame:
    make = int(rng.random() < OTHER_MAKE)
    columns, values = {STAMPS: stamps}, {}
    for name, spelled in NAMES.items():
        column = logged.terminals.get(name)
        if column is None or not np.isfinite(column[:, number]).any():
            continue
        values[name] = _stored(name, column[:, number], TERMINAL)
        columns[spelled[make]] = _written(name, values[name], rng)
    columns |= _beside(logged, number, values, rng)
    return pd.DataFrame(columns)


def _beside(logged: Logged, number: int, values: dict[str, np.ndarray], rng) -> dict[str, object]:
    """Columns that stand beside the points: codes, a base to adjust, stages, what somebody worked out."""
    rows, electric = len(logged.time), logged.recording.building.terminals["reheat"].iloc[number] == "electric"
    more: dict[str, object] = {"Occupancy Mode": np.zeros(rows, int), "Setpoint Base": np.full(rows, 72.0)}
    if electric and "reheat_position" in values:
        more["Heating Stage Command"] = np.full(rows, 2)
    if rng.random() < 0.3:
        more["Damper Command"] = np.zeros(rows)
    if rng.random() < 0.3 and "effective_setpoint" in values:
        more["Temp Difference (added)"] = np.round(values["zone_temp"] - values["effective_setpoint"], 2)
    if "primary_temp" not in values and rng.random() < 0.4:
        more["Supply Air Temperature"] = np.zeros(rows)
    if "fan_status" not in values and rng.random() < 0.3:
        more["Fan Status"] = np.full(rows, -1)
    return more


def _unit(logged: Logged, number: int, stamps) -> pd.DataFrame:
    columns: dict[str, object] = {STAMPS: stamps}
    for name, spelled in UNIT_NAMES.items():
        if name in logged.air_handlers:
            columns[spelled] = _stored(name, logged.air_handlers[name][:, number], AIR_HANDLER)
    rng = np.random.default_rng([logged.period.seed, 59, number])
    rows = len(stamps)
    columns["Building Static Pressure"] = np.round(rng.normal(0.03, 0.01, rows), 3)
    columns["Exhaust Fan Speed"] = np.round(rng.uniform(20, 60, rows))
    columns["Return Fan Status"] = columns["Supply Fan Status"]
    columns["Outdoor Air Flow"] = np.full(rows, 5000)
    columns["Discharge Air Humidity"] = np.round(rng.uniform(30, 50, rows), 1)
    return pd.DataFrame(columns)


def _stored(name: str, values: np.ndarray, glossary) -> np.ndarray:
    spelling, step = stored_as(name)
    shown = find_unit(spelling, glossary[name].dimension).from_si(values)
    return np.round(np.round(shown / step) * step, 3)


def _written(name: str, values: np.ndarray, rng) -> list:
    """Write a column: nothing where there is nothing, or a code where this point has one."""
    code = CODES.get(name)
    if code is None or rng.random() > CODED:
        return ["" if np.isnan(value) else f"{value:g}" for value in values]
    last = int(np.flatnonzero(np.isfinite(values))[-1])  # a log that has ended has no codes
    return [
        f"{value:g}" if np.isfinite(value) else (f"{code:g}" if row < last else "") for row, value in enumerate(values)
    ]


def _schedule(logged: Logged) -> pd.DataFrame:
    table = schedule_in_ip(logged.recording.building)
    if logged.period.logging.fan_control:
        built = logged.recording.building.terminals
        table["fan_control"] = np.where(
            built["kind"] == "single-duct", "", np.where(built["variable_fan"], "variable", "constant")
        )
    return table


def _site_file(logged: Logged) -> str:
    building, period = logged.recording.building, logged.period
    heating = 32 + 1.8 * building.terminals["occupied_heating"].iloc[0]
    cooling = 32 + 1.8 * building.terminals["occupied_cooling"].iloc[0]
    lines = [
        "[site]", f'name = "{building.name}"', f'time_zone = "{building.time_zone}"', 'units = "ip"',
        f'altitude = "{building.altitude:g} m"',
    ]  # fmt: skip
    if period.logging.schedule:
        lines += ['terminals = "terminals.csv"', "outdoor_air_fraction = 0.35"]
    lines += ["", "[hours]", 'occupied = { mon-fri = "07:00-18:00", sat = "09:00-13:00" }']
    if period.logging.site_setpoints:
        lines += ["", "[setpoints]", f'heating = "{heating:.1f} degF"', f'cooling = "{cooling:.1f} degF"']
    if period.logging.policy:
        lines += ["", "[policy]", f'heating = "{heating - 2.2:.1f} to {heating + 2.2:.1f} degF"']
        lines += [f'cooling = "{cooling - 2.2:.1f} to {cooling + 3.2:.1f} degF"']
    for begins, ends, tags, why in period.windows:
        told = ", ".join(f'"{tag}"' for tag in tags)
        lines += ["", "[[exclude]]", f"terminals = [{told}]", f'from = "{begins:%Y-%m-%d %H:%M}"']
        lines += [f'to = "{ends:%Y-%m-%d %H:%M}"', f'why = "{why}"']
    return "\n".join(lines) + "\n"
