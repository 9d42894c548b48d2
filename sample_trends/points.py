"""The points of a week as a contractor's system holds them: names, units, stored values, gaps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from sample_trends.building import Building
from sample_trends.readings import STORED, stored_values
from sample_trends.scenario import Week
from sample_trends.simulation import Recording, record

ABBREVIATIONS = {
    "zone_temp": "ZN-T", "heating_setpoint": "HTG-SP", "cooling_setpoint": "CLG-SP", "primary_flow": "PRI-FLOW",
    "primary_flow_setpoint": "PRI-FLOW-SP", "damper_position": "DMPR-POS", "fan_status": "FAN-STS",
    "fan_command": "FAN-CMD", "fan_speed": "FAN-SPD", "discharge_flow": "DA-FLOW", "reheat_position": "RH-VLV",
    "discharge_temp": "DA-T", "primary_temp": "PRI-T", "plenum_temp": "PLN-T", "outdoor_air_flow": "OA-FLOW",
    "occupied": "OCC", "co2": "CO2", "supply_temp": "SA-T", "supply_flow": "SA-FLOW",
    "duct_static_pressure": "DUCT-STATIC", "supply_fan_status": "SF-STS", "outdoor_temp": "OA-T",
    "outdoor_air_fraction": "OA-PCT",
}  # fmt: skip
ELECTRIC_HEAT = "ELEC-HTG"
STATES = ("fan_status", "fan_command", "occupied", "supply_fan_status")
LOST_SAMPLES = 0.0006  # of all, singly
FINE = 1  # min


@dataclass(frozen=True)
class Points:
    """All points of a week.

    Attributes
    ----------
    table : DataFrame
        A row a point: ``owner`` (terminal or air handler), ``air_handler``, ``quantity``, ``abbreviation``, ``unit``.
    time : DatetimeIndex
        Local times of the fine samples (a minute apart).
    values : ndarray
        Stored values, one row a fine sample, one column a point; NaN in an outage.
    """

    building: Building
    week: Week
    table: pd.DataFrame
    time: pd.DatetimeIndex
    values: np.ndarray
    lost: np.ndarray

    def sampled(self, minutes: int = 5) -> tuple[pd.DatetimeIndex, np.ndarray]:
        """Return the points as an interval log: times, and values with the samples that got lost as NaN."""
        every = round(minutes / FINE)
        return self.time[::every], np.where(self.lost, np.nan, self.values[::every])


def simulate_week(building: Building, week: Week, seed: int) -> Points:
    """Simulate a demo week and lay its points out."""
    shifted = seed + week.seed_shift
    recording = record(
        building, week.faults, seed=shifted, start=week.start, days=week.days, step_minutes=FINE, climate=week.climate
    )
    table, values = _lay_out(building, recording, set(week.not_trended))
    for terminal, quantity, begin, end in week.outages:
        rows = (recording.time >= pd.Timestamp(begin, tz=building.time_zone)) & (
            recording.time < pd.Timestamp(end, tz=building.time_zone)
        )
        columns = (table["owner"] == terminal) & (table["quantity"] == quantity)
        values[np.ix_(rows, columns.to_numpy())] = np.nan
    every = round(5 / FINE)
    lost = np.random.default_rng([shifted, 41]).random((-(-len(values) // every), len(table))) < LOST_SAMPLES
    return Points(building, week, table, recording.time, values, lost)


def _lay_out(building: Building, recording: Recording, not_trended: set) -> tuple[pd.DataFrame, np.ndarray]:
    terminals, air_handlers = stored_values(recording)
    trended = building.trended()
    rows, columns = [], []
    for number, (tag, terminal) in enumerate(building.terminals.iterrows()):
        for quantity in (name for name in terminals if trended.at[tag, name] and (tag, name) not in not_trended):
            electric = quantity == "reheat_position" and terminal["reheat"] == "electric"
            rows.append(
                (tag, terminal["air_handler"], quantity, ELECTRIC_HEAT if electric else ABBREVIATIONS[quantity])
            )
            columns.append(terminals[quantity][:, number])
    for number, tag in enumerate(building.air_handlers.index):
        for quantity, values in air_handlers.items():
            rows.append((tag, tag, quantity, ABBREVIATIONS[quantity]))
            columns.append(values[:, number])
    table = pd.DataFrame(rows, columns=["owner", "air_handler", "quantity", "abbreviation"])
    table["unit"] = [STORED[quantity][0] for quantity in table["quantity"]]
    return table, np.stack(columns, axis=1)
