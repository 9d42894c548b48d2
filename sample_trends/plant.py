"""A building laid out as arrays for the simulation: what is fixed, and the state in which it begins."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd

from sample_trends.building import FACES, Building
from sample_trends.control import OCCUPIED, UNOCCUPIED
from sample_trends.design import LIGHTS, PERSON, PLUGS, SHGC
from sample_trends.physics import HOT_WATER
from sample_trends.steps import lag

OPEN_BOUNDARY = 4.0  # W/K per m2 of floor, between zones that are open to each other
_BEGINS_AT = 21.5  # degC


def lay_out(building: Building) -> SimpleNamespace:
    """Lay the terminals' fixed properties out as arrays, one element a terminal."""
    table = building.terminals
    numbers = table.select_dtypes("number").fillna(0.0)
    b = SimpleNamespace(**{name: numbers[name].to_numpy(float) for name in numbers})
    _words(b, table)
    b.air_heat = building.air_heat
    b.outdoor_inlet = 1.12 * b.outdoor_air_inlet_min
    b.solar_area = b.glass * SHGC
    b.plug_load = b.area * (LIGHTS + PLUGS) * b.load
    b.people_heat = b.people * PERSON * b.load
    b.coil_lag = np.where(b.electric, lag(40.0), lag(75.0))
    b.design_flow = np.maximum(b.design_flow, np.where(b.heated, 1.0, b.primary_max))
    b.transfer_units = _transfer_units(b)
    b.heat_needs_flow = np.where(b.single, 0.5 * b.primary_min, 0.4 * b.fan_flow)
    b.speed = np.where(b.series, 62.0 + 18.0 * b.inlet_share, 55.0)
    _habits(b, table)
    return b


def _habits(b: SimpleNamespace, table: pd.DataFrame) -> None:
    """Lay out what only some buildings have, as columns of their own; where there is none, as everywhere else."""
    usual = {
        "duct_gain": np.where(b.underfloor, 0.9, 0.3),  # K
        "air_leak": 0.08,  # air changes an hour through cracks and doors
        "party_loss": 0.0,  # W/K to the rest of the building, by walls and doors
        "plenum_extra": 0.0,  # K over what lamps and roof bring
        "occupied_heating": OCCUPIED[0], "occupied_cooling": OCCUPIED[1],
        "unoccupied_heating": UNOCCUPIED[0], "unoccupied_cooling": UNOCCUPIED[1],
        "standby_gap": 0.0,  # K that both setpoints move apart while nobody is in the room
        "least_minimum": 1.0,  # share of the minimum that is left where carbon dioxide is low
    }  # fmt: skip
    for name, value in usual.items():
        setattr(b, name, table[name].to_numpy(float) if name in table else np.full(len(table), value))
    b.crack_flow = b.air_leak * b.zone_volume / 3.6
    for name in ("variable_fan", "fan_follows", "fan_night_cycle"):
        setattr(b, name, table[name].to_numpy(bool) if name in table else np.zeros(len(table), bool))


def _words(b: SimpleNamespace, table: pd.DataFrame) -> None:
    kind, reheat = table["kind"].to_numpy(str), table["reheat"].to_numpy(str)
    b.single, b.series = kind == "single-duct", kind == "series"
    b.has_fan, b.heated, b.electric = ~b.single, reheat != "none", reheat == "electric"
    b.staged = table["staged"].to_numpy(bool) & b.electric
    b.underfloor = table["distribution"].to_numpy(str) == "underfloor"
    b.top_floor = table["top_floor"].to_numpy(bool)
    b.face = np.array([FACES.index(face) for face in table["face"]])
    # Zones that are open to each other share a group; every other zone is a group of its own.
    alone = pd.Series(table.index, index=table.index)
    b.open_group, groups = pd.factorize(table["open_zone"].where(table["open_zone"].notna(), alone))
    b.open_count = np.bincount(b.open_group, minlength=len(groups))
    b.open_exchange = OPEN_BOUNDARY * b.area * (b.open_count[b.open_group] > 1)


def _transfer_units(b: SimpleNamespace) -> np.ndarray:
    """Size the water coils: the effectiveness that gives the scheduled capacity at the design flow."""
    entering = np.where(b.single, 15.0, 18.5)
    most = b.air_heat * b.design_flow * (HOT_WATER - entering)
    effect = np.clip(b.reheat_capacity / np.maximum(most, 1.0), 0.02, 0.85)
    return -np.log1p(-effect)


def beginning(count: int) -> SimpleNamespace:
    """Return the state in which a simulation begins: an evening in a warm building, everything off."""

    def full(value: float) -> np.ndarray:
        return np.full(count, float(value))

    zeros = (
        "heating_sum", "cooling_sum", "heating_call", "cooling_call", "actuator", "blade", "flow_read", "flow_seen",
        "flow_setpoint", "primary_flow", "fan_command", "fan_running", "fan_status", "fan_speed", "valve", "stage",
        "heat_signal", "heat_error", "coil_heat", "discharge_flow", "outdoor_inlet", "felt", "sensor_noise",
        "occupied", "standby", "mode_shown",
    )  # fmt: skip
    warm = (
        "zone_temp", "mass_temp", "zone_read", "plenum_temp", "primary_temp", "discharge_temp", "entering_temp",
        "discharge_read",
    )  # fmt: skip
    state = {name: full(0.0) for name in zeros} | {name: full(_BEGINS_AT) for name in warm}
    state |= {
        "co2": full(450.0),
        "co2_read": full(450.0),
        "fan_clock": full(60.0),
        "stage_clock": full(60.0),
        "fan_share": full(1.0),
    }
    off = np.zeros(count, bool)  # replaced, never changed in place
    return SimpleNamespace(**state, was_active=False, wide_open=off, heats=off, cools=off)
