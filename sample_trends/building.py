"""A building to simulate: its terminals and air handlers, as the drawings show them and as they really are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.quantities import TERMINAL, find_unit

CFM = find_unit("cfm", "flow").to_si(1.0)  # L/s
FT2 = find_unit("ft2", "area").to_si(1.0)  # m2
INCH_WC = find_unit("in.w.c.", "pressure").to_si(1.0)  # Pa
FACES = ("inside", "north", "east", "south", "west")

# Trade abbreviations stand in the exports; these are the points a terminal of each kind usually trends.
EVERY_KIND = (
    "zone_temp",
    "heating_setpoint",
    "cooling_setpoint",
    "primary_flow",
    "primary_flow_setpoint",
    "damper_position",
)
WITH_REHEAT = ("reheat_position", "discharge_temp")
WITH_FAN = ("fan_status", "fan_command")
SERIES_ONLY = ("primary_temp", "plenum_temp")
SCHEDULE_COLUMNS = (
    "kind", "distribution", "air_handler", "zone", "floor", "reheat", "primary_max", "balanced_max", "primary_min",
    "ventilation_min", "heating_primary", "fan_flow", "outdoor_air_min", "outdoor_air_inlet_min", "reheat_capacity",
    "inlet_diameter", "flow_coefficient", "area", "people", "zone_volume", "open_zone",
)  # fmt: skip


@dataclass(frozen=True)
class Building:
    """A building.

    Attributes
    ----------
    name, time_zone : str
    latitude, longitude : float
        [degrees], east positive.
    altitude : float
        [m]
    terminals : DataFrame
        Index ``terminal``. The schedule's columns (``SCHEDULE_COLUMNS``, SI, as an engineer rounded them) and the
        physical ones that no schedule shows: those that ``sample_trends.design.construct`` adds.
    air_handlers : DataFrame
        Index ``air_handler``; columns ``static_pressure`` [Pa], ``supply_temp`` [degC], ``supply_reset`` [K, added on
        a cold day], ``warm_up_temp`` [degC], ``full_warm_up`` (single-duct terminals open fully in warm-up),
        ``outdoor_air_fraction`` (the least, occupied). Optional: ``static_reset`` (bool: pressure follows the dampers).
    closed : tuple of str
        Dates on which nobody comes, whatever the weekday.
    """

    name: str
    time_zone: str
    latitude: float
    longitude: float
    altitude: float
    terminals: pd.DataFrame
    air_handlers: pd.DataFrame
    closed: tuple[str, ...] = ()

    @property
    def air_heat(self) -> float:
        """Heat that air carries at this altitude [W per L/s and K]: 1.2 at sea level, times relative density."""
        return 1.2 * (1.0 - 2.25577e-5 * self.altitude) ** 5.2559

    def schedule(self) -> pd.DataFrame:
        """Return the terminal schedule alone, SI."""
        return self.terminals[list(SCHEDULE_COLUMNS)].copy()

    def trended(self) -> pd.DataFrame:
        """Tell which quantities each terminal trends: index terminals, columns ``TERMINAL``, bool."""
        table = self.terminals
        kind, heated = table["kind"], table["reheat"] != "none"
        has = pd.DataFrame(False, index=table.index, columns=list(TERMINAL))
        has[list(EVERY_KIND)] = True
        has.loc[heated, list(WITH_REHEAT)] = True
        has.loc[kind != "single-duct", list(WITH_FAN)] = True
        has.loc[kind == "series", list(SERIES_ONLY)] = True
        has["outdoor_air_flow"] = table["outdoor_air_inlet_min"].notna()
        for tag, extra in table["also_trends"].items():
            has.loc[tag, [name for name in extra.split() if name]] = True
        return has


def round_to(value, unit: float, step: float):
    """Round SI values to whole steps of another unit, as an engineer or a controller does, and return SI."""
    return np.round(np.asarray(value, dtype=float) / unit / step) * step * unit
