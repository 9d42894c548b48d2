"""A week's readings as a contractor hands them over: one wide CSV file in IP units, a schedule and a site file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from tests.energyplus import building as annex
from tests.energyplus.building import OF_TAG
from tests.energyplus.engine import capacities
from tests.energyplus.readings import Readings

CFM = 0.47194745  # L/s
NAMES = {
    "zone_temp": "ZoneTemp (degF)",
    "heating_setpoint": "HeatSetpt (degF)",
    "cooling_setpoint": "CoolSetpt (degF)",
    "primary_flow": "PrimaryFlow (cfm)",
    "primary_flow_setpoint": "PrimaryFlowSetpt (cfm)",
    "damper_position": "DamperPos (%)",
    "reheat_position": "ReheatValve (%)",
    "discharge_temp": "DischargeTemp (degF)",
    "primary_temp": "PrimaryTemp (degF)",
    "plenum_temp": "PlenumTemp (degF)",
    "fan_status": "FanStatus",
    "fan_command": "FanCommand",
}
OF_AIR_HANDLER = {
    "supply_temp": "SupplyTemp (degF)",
    "supply_flow": "SupplyFlow (cfm)",
    "supply_fan_status": "SupplyFanStatus",
    "outdoor_temp": "OutdoorTemp (degF)",
    "outdoor_air_fraction": "OutdoorAirFraction (%)",
}
# The north row was handed over without the temperatures inside the terminal.
LEFT_OUT = {"N": ("primary_temp", "plenum_temp")}
SITE = f"""# Quillfeather Annex, an invented building, as simulated by a general-purpose engine.

[site]
name = "Quillfeather Annex"
time_zone = "{annex.TIME_ZONE}"
units = "ip"
altitude = "{annex.ALTITUDE:g} m"
terminals = "terminals.csv"
date_order = "month-first"

[hours]
occupied = {{ mon-fri = "{annex.OCCUPIED["mon-fri"]}" }}
"""


@dataclass(frozen=True)
class Sensors:
    """Errors of the sensors: a constant of each, and noise; half of what the site file takes for their accuracy.

    Temperatures in K: ``offset`` is one standard deviation, cut at two; flow as shares.
    """

    offset: float = 0.2
    noise: float = 0.04
    flow_gain: float = 0.02
    flow_noise: float = 0.01


EXACT = Sensors(0.0, 0.0, 0.0, 0.0)


def as_read(table: pd.DataFrame, sensors: Sensors, seed: int) -> pd.DataFrame:
    """Lay the sensors' errors into readings: each sensor of each terminal its own constant, each sample its noise."""
    rng = np.random.default_rng(seed)
    code, tags = pd.factorize(table["terminal"])
    told = table.copy()
    for name in ("zone_temp", "discharge_temp", "primary_temp", "plenum_temp"):
        constant = sensors.offset * np.clip(rng.standard_normal(len(tags)), -2, 2)
        told[name] = table[name] + constant[code] + sensors.noise * rng.standard_normal(len(table))
    gain = 1 + sensors.flow_gain * np.clip(rng.standard_normal(len(tags)), -2, 2)
    told["primary_flow"] = (
        table["primary_flow"] * gain[code] * (1 + sensors.flow_noise * rng.standard_normal(len(table)))
    )
    # The controller holds what it reads.
    told["primary_flow_setpoint"] = table["primary_flow_setpoint"] * gain[code]
    return told


def write(
    readings: Readings, folder: Path, *, minutes: int, sensors: Sensors, seed: int = 1, without: tuple[str, ...] = ()
) -> Path:
    """Write ``trends.csv``, ``terminals.csv`` and ``site.toml`` into a folder; return the site file.

    ``without``: quantities that are not in the export.
    """
    folder.mkdir(parents=True, exist_ok=True)
    terminals = readings.terminals[readings.terminals["time"].dt.minute % minutes == 0]
    handler = readings.air_handler[readings.air_handler.index.minute % minutes == 0]
    _wide(as_read(terminals, sensors, seed), handler, without).to_csv(folder / "trends.csv", index=False)
    schedule = _schedule()
    schedule = schedule[schedule["terminal"].isin(terminals["terminal"])]
    schedule.to_csv(folder / "terminals.csv", index=False)
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    return folder / "site.toml"


def _wide(terminals: pd.DataFrame, handler: pd.DataFrame, without: tuple[str, ...]) -> pd.DataFrame:
    columns = {"Timestamp": handler.index.strftime("%m/%d/%Y %H:%M")}
    of = dict(iter(terminals.groupby("terminal", sort=False)))
    for tag, trend in of.items():
        for name, title in NAMES.items():
            left_out = (*without, *LEFT_OUT.get(OF_TAG[tag].name[0], ()))
            if trend[name].notna().any() and name not in left_out:
                columns[f"{tag} {title}"] = _told(trend[name], title)
    for name, title in OF_AIR_HANDLER.items():
        values = 100 * handler[name] if name == "outdoor_air_fraction" else handler[name]
        columns[f"{annex.AIR_HANDLER} {title}"] = _told(values, title)
    return pd.DataFrame(columns)


def _told(values: pd.Series, title: str) -> np.ndarray:
    values = values.to_numpy()
    if "degF" in title:
        return np.round(values * 1.8 + 32, 1)
    if "cfm" in title:
        return np.round(values / CFM, 0)
    return np.round(values, 1 if "%" in title else 0)


def _schedule() -> pd.DataFrame:
    table = annex.schedule(capacities()).reset_index()
    for name in ("primary_max", "balanced_max", "primary_min", "ventilation_min", "heating_primary", "fan_flow"):
        table[f"{name} [cfm]"] = (table.pop(name) / CFM).round(0)
    table["reheat_capacity [kW]"] = table.pop("reheat_capacity") / 1000
    table["area [ft2]"] = (table.pop("area") * 10.7639).round(0)
    table["zone_volume [ft3]"] = (table.pop("zone_volume") * 35.3147).round(0)
    return table
