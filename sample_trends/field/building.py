"""A building as one meets it: two air handlers, sequences of every sort, setpoints by policy and a few that are odd."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from sample_trends.building import FT2, Building
from sample_trends.field.annex import annex
from sample_trends.invented import invented_building


def fahrenheit(value):
    """Convert a temperature in degF to degC."""
    return (np.asarray(value, dtype=float) - 32.0) * 5 / 9


def field_building(seed: int, closed: tuple[str, ...] = (), terminals: int | None = None) -> Building:
    """Draw a building of 40 to 52 terminals on two air handlers, and an annex.

    Parameters
    ----------
    seed : int
    closed : tuple of str
        Dates on which it is closed.
    terminals : int, optional
        How many, where not drawn; without an annex then.

    Returns
    -------
    Building
        ``terminals`` has the columns of habits that ``sample_trends.plant`` lays out, and ``dcv``, ``standby``
        and ``annex`` (bool) to choose by.
    """
    rng = np.random.default_rng([seed, 23])
    count = int(rng.integers(40, 53))
    count = terminals or count
    floors = [False, bool(rng.random() < 0.3)]
    built = invented_building(count, seed, each=-(-count // 2), floors=floors)
    table, air_handlers = built.terminals.copy(), built.air_handlers.copy()
    _air_handlers(table, air_handlers, rng)
    _sequences(table, rng)
    _setpoints(table, rng)
    table["annex"] = False
    if terminals is None:
        table = pd.concat([table, annex(table, seed, floors)])
    table, air_handlers = _renamed(table, air_handlers)
    return replace(built, name="Field building", terminals=table, air_handlers=air_handlers, closed=closed)


def _renamed(table: pd.DataFrame, air_handlers: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Name rooftop units and terminals as on a site: RTU-1, VAV-1-07."""
    units = {name: f"RTU-{number}" for number, name in enumerate(air_handlers.index, start=1)}
    table["air_handler"] = table["air_handler"].map(units)
    number = table.groupby("air_handler").cumcount() + 1
    tags = [f"VAV-{unit[4:]}-{own:02d}" for unit, own in zip(table["air_handler"], number, strict=True)]
    air_handlers.index = pd.Index(air_handlers.index.map(units), name="air_handler")
    return table.set_index(pd.Index(tags, name="terminal")), air_handlers


def _air_handlers(table: pd.DataFrame, air_handlers: pd.DataFrame, rng) -> None:
    """Draw the duct gain of each, 0.9 to 3.6 degF with the sensors' offsets, a hot roof plenum, and static reset."""
    count = len(air_handlers)
    gain = pd.Series(rng.uniform(0.4, 1.8, count), air_handlers.index)
    hot = pd.Series(np.where(rng.random(count) < 0.35, rng.uniform(3.0, 8.0, count), 0.0), air_handlers.index)
    air_handlers["static_reset"] = rng.random(count) < 0.6
    overhead = table["distribution"] == "overhead"
    table["party_loss"], table["air_leak"] = 3.0 * table["area"], 0.35
    table["duct_gain"] = table["air_handler"].map(gain)
    table["plenum_extra"] = table["air_handler"].map(hot) * overhead * rng.uniform(0.8, 1.2, len(table))
    table["discharge_offset"] = rng.normal(0.0, 0.2, len(table)).clip(-0.5, 0.5)


def _sequences(table: pd.DataFrame, rng) -> None:
    n = len(table)
    fans, series = table["kind"] != "single-duct", table["kind"] == "series"
    follows = pd.Series(rng.random(2) < 0.5, sorted(table["air_handler"].unique()))
    table["fan_follows"] = series & table["air_handler"].map(follows)
    table["fan_night_cycle"] = (table["kind"] == "parallel") & (rng.random() < 0.4)
    table["variable_fan"] = fans & (rng.random() < 0.6) & (rng.random(n) < 0.7)
    table["dcv"] = (rng.random() < 0.6) & (rng.random(n) < 0.25) & table["outdoor_air_inlet_min"].isna()
    # What the floor area asks for is left when nobody is there (ASHRAE 62.1, office: 5 cfm a person, 0.06 cfm/ft2).
    of_area = 0.06 * table["area"] / FT2
    table["least_minimum"] = np.where(table["dcv"], of_area / (of_area + 5.0 * table["people"]), 1.0)
    table.loc[table["dcv"], "ventilation_min"] = np.nan
    table["standby"] = (rng.random() < 0.5) & (rng.random(n) < 0.8)
    table["standby_crossed"] = ~table["standby"].any() & (rng.random() < 0.4) & (rng.random(n) < 0.9)
    table["standby_gap"] = np.where(table["standby"], 1.1, 0.0)
    also = table["also_trends"].where(~table["dcv"], table["also_trends"] + " co2")
    table["also_trends"] = also.where(~table["variable_fan"], also + " fan_speed").str.strip()


def _setpoints(table: pd.DataFrame, rng) -> None:
    """Draw the policy of the building: a gap of 4 degF at nearly all, or of 5; a setback, or none for anybody."""
    gap = 4.0 if rng.random() < 0.6 else 5.0
    back = bool(rng.random() < 0.75)
    table["occupied_heating"], table["occupied_cooling"] = fahrenheit(70.0), fahrenheit(70.0 + gap)
    table["unoccupied_heating"] = fahrenheit(rng.choice([60.0, 64.0, 65.0])) if back else fahrenheit(70.0)
    table["unoccupied_cooling"] = fahrenheit(rng.choice([80.0, 85.0])) if back else fahrenheit(70.0 + gap)
