"""An annex to a field building: rooms whose carbon dioxide and occupancy mode are trended, and an open plan.

It is drawn by itself, so that the rest of the building is what it is without it.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from sample_trends.building import FT2
from sample_trends.invented import invented_building

ROOMS = 16
OPEN_PLAN = 4  # terminals of the annex that share one open office
# Of its other rooms: those whose carbon dioxide is trended, and of these those that are ventilated by it.
WITH_CO2, BY_CO2 = 0.6, 0.5
WITH_MODE = 0.5  # of its rooms: the occupancy mode is trended, where the building logs any


def annex(main: pd.DataFrame, seed: int, floors: list[bool]) -> pd.DataFrame:
    """Draw the rooms of the annex, on the air handlers and by the habits of the main building.

    Parameters
    ----------
    main : DataFrame
        The terminals of the main building, with their columns of habits.
    seed : int
    floors : list of bool
        For each air handler whether it supplies through the floor.

    Returns
    -------
    DataFrame
        The columns of ``main``.
    """
    rng = np.random.default_rng([seed, 53])
    table = invented_building(ROOMS, seed + 500_000, each=ROOMS // 2, floors=floors).terminals.copy()
    table["open_zone"] = None
    units = sorted(main["air_handler"].unique())
    table["air_handler"] = np.repeat(units, ROOMS // 2)
    _air(table, main, rng)
    _sequences(table, main, rng)
    for name in ("occupied_heating", "occupied_cooling", "unoccupied_heating", "unoccupied_cooling"):
        table[name] = main[name].iloc[0]
    _open_plan(table)
    _points(table, rng)
    return table.assign(annex=True)[[*main.columns]]


def _air(table: pd.DataFrame, main: pd.DataFrame, rng) -> None:
    overhead = table["distribution"] == "overhead"
    by_unit = main[main["distribution"] == "overhead"].groupby("air_handler")["plenum_extra"].mean()
    table["party_loss"], table["air_leak"] = 3.0 * table["area"], 0.35
    table["duct_gain"] = table["air_handler"].map(main.groupby("air_handler")["duct_gain"].first())
    table["plenum_extra"] = table["air_handler"].map(by_unit).fillna(0.0) * overhead * rng.uniform(0.8, 1.2, len(table))
    table["discharge_offset"] = rng.normal(0.0, 0.2, len(table)).clip(-0.5, 0.5)


def _sequences(table: pd.DataFrame, main: pd.DataFrame, rng) -> None:
    n, fans = len(table), table["kind"] != "single-duct"
    follows = main.groupby("air_handler")["fan_follows"].any()
    table["fan_follows"] = (table["kind"] == "series") & table["air_handler"].map(follows).astype(bool)
    table["fan_night_cycle"] = (table["kind"] == "parallel") & bool(main["fan_night_cycle"].any())
    table["variable_fan"] = fans & bool(main["variable_fan"].any()) & (rng.random(n) < 0.7)
    table["standby"] = bool(main["standby"].any()) & (rng.random(n) < 0.8)
    table["standby_crossed"] = bool(main["standby_crossed"].any()) & (rng.random(n) < 0.9)
    table["standby_gap"] = np.where(table["standby"], 1.1, 0.0)
    table["dcv"] = False


def _open_plan(table: pd.DataFrame) -> None:
    """Let the first rooms be one open office inside the building."""
    rows = table.index[:OPEN_PLAN]
    table.loc[rows, "open_zone"] = "OPEN-PLAN"


def _points(table: pd.DataFrame, rng) -> None:
    """Trend carbon dioxide in some rooms, and let the ventilation of some of these follow it."""
    n = len(table)
    alone = table["open_zone"].isna()
    with_co2 = alone & (rng.random(n) < WITH_CO2)
    by_co2 = with_co2 & (rng.random(n) < BY_CO2) & table["outdoor_air_inlet_min"].isna()
    table["dcv"] = by_co2
    of_area = 0.06 * table["area"] / FT2
    table["least_minimum"] = np.where(by_co2, of_area / (of_area + 5.0 * table["people"]), 1.0)
    table.loc[by_co2, "ventilation_min"] = np.nan
    points = np.where(rng.random(n) < WITH_MODE, "occupied", "")
    points = points.astype(object) + np.where(with_co2, " co2", "").astype(object)
    points += np.where(table["variable_fan"], " fan_speed", "").astype(object)
    table["also_trends"] = [text.strip() for text in points]
