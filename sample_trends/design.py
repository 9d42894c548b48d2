"""Sizing: from rooms to terminals, as an engineer would schedule them, and how they then turn out to be built."""

from __future__ import annotations

import numpy as np
import pandas as pd

from sample_trends.building import CFM, FT2, INCH_WC, round_to

STOREY = 3.3  # m, floor to floor
WINDOW_SHARE = 0.36  # of the facade
GLASS_U, WALL_U, ROOF_U = 1.9, 0.35, 0.14  # W/m2K
SHGC = 0.36
LIGHTS, PLUGS = 8.0, 13.0  # W/m2
PERSON = 75.0  # W, sensible
DESIGN_SUN = {"inside": 0.0, "north": 120.0, "east": 480.0, "south": 620.0, "west": 480.0}  # W/m2 on the glass
SUPPLY_DIFFERENCE = {"overhead": 10.0, "underfloor": 7.0}  # K between the air that leaves a zone and the supply
INLETS = np.array([4, 5, 6, 7, 8, 9, 10, 12, 14, 16])  # in
SENSOR_GAIN = 2.3  # amplification of a flow ring, common practice: 2 to 2.8
DESIGN_OUTDOOR = -20.0  # degC
PICK_UP = 1.5  # over the loss, to warm a room up in the morning
EFFECTIVENESS = {"overhead": 1.0, "underfloor": 1.2}


def construct(
    rooms: pd.DataFrame, air_handlers: pd.DataFrame, *, outdoor_air_fraction: float, seed: int
) -> pd.DataFrame:
    """Size and build the terminals of a table of rooms.

    Parameters
    ----------
    rooms : DataFrame
        Index ``terminal``; columns ``kind, distribution, air_handler, zone, floor, reheat, open_zone`` (words),
        ``face`` (one of FACES), ``area`` [m2], ``people``, ``top_floor`` (bool), ``staged`` (bool: electric heat in two
        stages), ``inlet`` (bool: dedicated outdoor-air inlet), ``blank`` (bool: ventilation minimum left to be worked
        out), ``load`` (real gains over design), ``also_trends`` (quantities, separated by blanks).
    air_handlers : DataFrame
        As ``Building.air_handlers``.
    outdoor_air_fraction : float
        The share of outdoor air in primary air that the engineer counted on.
    seed : int
        Of what differs between two terminals of one drawing: sensors, dampers, ducts, construction.

    Returns
    -------
    DataFrame
        ``Building.terminals``.

    Notes
    -----
    Outdoor air: 5 cfm a person and 0.06 cfm/ft2 (ASHRAE 62.1, office space), over the effectiveness of the
    distribution (1.0 overhead cool, 1.2 floor supply). Inlet sensors: flow = area * 4005 * sqrt(dp / 2.3).
    """
    table = rooms.copy()
    _room(table)
    _flows(table, outdoor_air_fraction)
    _heat(table)
    _as_built(table, air_handlers, np.random.default_rng([seed, 11]))
    return table


def _room(table: pd.DataFrame) -> None:
    area, outside = table["area"], table["face"] != "inside"
    facade = np.where(outside, 1.15 * np.sqrt(area), 0.0) * STOREY
    table["zone_volume"] = round_to(area * 2.75, 0.0283168, 10.0)
    table["glass"] = facade * WINDOW_SHARE
    roof = np.where(table["top_floor"], area * ROOF_U, 0.0)
    infiltration = 0.08 * table["zone_volume"] * outside / 3.6 * 1.2
    table["loss"] = facade * (WINDOW_SHARE * GLASS_U + (1 - WINDOW_SHARE) * WALL_U) + infiltration + 0.2 * roof
    table["mass_loss"] = 0.5 * roof + np.where(outside, 0.02, 0.06) * area


def _flows(table: pd.DataFrame, fraction: float) -> None:
    area, underfloor = table["area"], table["distribution"] == "underfloor"
    sun = table["glass"] * SHGC * table["face"].map(DESIGN_SUN)
    load = area * (LIGHTS + PLUGS) + table["people"] * PERSON + sun
    table["design_load"] = load
    outdoor = (5.0 * table["people"] + 0.06 * area / FT2) * CFM / table["distribution"].map(EFFECTIVENESS)
    table["outdoor_air_need"] = outdoor
    ventilation = round_to(outdoor / fraction, CFM, 5.0)
    cooling = 1.10 * load / 1.2 / table["distribution"].map(SUPPLY_DIFFERENCE)
    table["primary_max"] = round_to(np.maximum(cooling, 2.2 * ventilation), CFM, 10.0)
    least = np.where(table["blank"], 1.30, np.where(table["kind"] == "single-duct", 1.08, 1.12)) * ventilation
    table["inlet_diameter"] = _inlet(table["primary_max"]) * 0.0254
    ring = np.pi / 4 * (table["inlet_diameter"] / 0.3048) ** 2 * 4005 / np.sqrt(SENSOR_GAIN)  # cfm at 1 in.w.c.
    table["flow_coefficient"] = round_to(ring, 1.0, 1.0) * CFM / np.sqrt(INCH_WC)
    measurable = 0.08 * ring * CFM
    # A dedicated inlet brings all the outdoor air that the zone needs: its primary air only cools.
    table["outdoor_air_min"] = np.where(
        table["inlet"] | (table["blank"] & underfloor), round_to(outdoor, CFM, 5.0), np.nan
    )
    table["outdoor_air_inlet_min"] = np.where(table["inlet"], round_to(1.05 * outdoor + 2.0, CFM, 5.0), np.nan)
    table["ventilation_min"] = np.where(table["inlet"] | table["blank"], np.nan, ventilation)
    least = np.where(table["inlet"], measurable, np.maximum(least, measurable))
    table["primary_min"] = np.ceil(np.round(least / CFM / 5.0, 6)) * 5.0 * CFM
    dual = round_to(np.maximum(0.5 * table["primary_max"], table["primary_min"]), CFM, 5.0)
    heated = table["reheat"] != "none"
    table["heating_primary"] = np.where(
        ~heated, np.nan, np.where(table["kind"] == "single-duct", dual, table["primary_min"])
    )
    fan = np.where(table["kind"] == "series", 1.06 * table["primary_max"], 0.55 * table["primary_max"])
    fan = np.maximum(fan, table["primary_max"] * 0 + 60.0)
    table["fan_flow"] = np.where(table["kind"] == "single-duct", np.nan, round_to(fan, CFM, 10.0))


def _inlet(flow: pd.Series) -> np.ndarray:
    """Choose the smallest inlet [in] that keeps the duct velocity under 2,000 ft/min."""
    area = flow.to_numpy() / CFM / 2000.0
    need = np.sqrt(area * 4 / np.pi) * 12.0
    return INLETS[np.minimum(np.searchsorted(INLETS, need), len(INLETS) - 1)]


def _heat(table: pd.DataFrame) -> None:
    """Size the reheat: the zone's loss on the design day, what the minimum primary air takes away, and a margin."""
    delivered = np.where(
        table["kind"] == "series", table["fan_flow"],
        np.where(table["kind"] == "parallel", table["fan_flow"] + table["primary_min"], table["heating_primary"]),
    )  # fmt: skip
    loss = (table["loss"] + table["mass_loss"]) * (21.0 - DESIGN_OUTDOOR) * PICK_UP + 12.0 * table["area"]
    cold_air = 1.2 * np.nan_to_num(table["heating_primary"]) * (21.0 - 14.0)
    table["design_flow"] = delivered
    heat = round_to(loss + cold_air, 1000.0, 0.5)
    table["reheat_capacity"] = np.where(table["reheat"] == "none", np.nan, np.maximum(heat, 1000.0))


def _as_built(table: pd.DataFrame, air_handlers: pd.DataFrame, rng: np.random.Generator) -> None:
    """Add what no drawing shows. Every draw is made for every terminal, so that one more fault moves no other."""
    n = len(table)
    design = table["air_handler"].map(air_handlers["static_pressure"]).to_numpy()
    table["inlet_share"] = rng.uniform(0.62, 0.95, n)  # of the duct's static pressure that reaches the inlet
    spare = rng.uniform(1.04, 1.12, n)  # flow at full damper and design pressure, over the scheduled maximum
    table["open_flow"] = spare * table["primary_max"]
    table["open_coefficient"] = table["open_flow"] / np.sqrt(design * table["inlet_share"])
    table["balanced_max"] = round_to(table["open_flow"] * rng.uniform(0.985, 1.015, n), CFM, 5.0)
    table["damper_curve"] = rng.uniform(1.5, 2.1, n)
    table["downstream"] = rng.uniform(1.0, 3.0, n)  # resistance behind the damper over the open damper's own
    table["damper_leak"] = rng.uniform(0.002, 0.008, n)
    table["flow_gain"] = rng.normal(1.0, 0.009, n).clip(0.98, 1.02)
    table["zero_pressure"] = rng.normal(0.0, 0.0003, n).clip(-0.0006, 0.0006) * INCH_WC
    table["zone_offset"] = rng.normal(0.0, 0.12, n).clip(-0.3, 0.3)
    table["discharge_offset"] = rng.normal(0.0, 0.15, n).clip(-0.35, 0.35)
    table["fan_built"] = rng.normal(1.0, 0.02, n).clip(0.96, 1.04)
    table["air_capacity"] = 16e3 * table["area"] * rng.uniform(0.85, 1.2, n)
    table["mass_capacity"] = 140e3 * table["area"] * rng.uniform(0.8, 1.25, n)
    table["mass_coupling"] = 8.0 * table["area"]
    table["event_delay"] = rng.uniform(2.0, 27.0, n)  # s, of a fan's status after its step
    table["fan_heat"] = np.where(table["kind"] == "single-duct", 0.0, 0.55 * np.nan_to_num(table["fan_flow"]))  # W
