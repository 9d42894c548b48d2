"""From the engine's outputs to what a building automation system would read, and to what really was.

All SI, a row a terminal and minute. What the engine does not model is put in here, and nothing else: how an inlet flow
sensor reads, what a duct sensor shows in still air, the signal to a hot-water valve for the water that flows, and what
the controller asks for where it cannot get it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from tests.energyplus import building as annex
from tests.energyplus.building import ROOMS, Room
from tests.energyplus.engine import CAPACITY, water_flow
from tests.energyplus.injections import LEAK, SOUND, Injection
from tests.energyplus.model import THERMOSTATS

PRESSURE = 98934.0  # Pa, of standard air at the site's altitude, as the design days of the weather file give it
STANDARD_DENSITY = 1.204  # kg/m3, for which a flow sensor's coefficient holds
STILL_AIR_LAG = 10.0  # min, in which a duct sensor in still air comes near the plenum's temperature
RANGEABILITY = 50.0  # of the reheat valves, which are equal-percentage; common practice, no source
FAN_TURNS = 0.05  # of its scheduled flow: less is a fan that stands still


@dataclass
class Readings:
    """What one week of the annex gave.

    Attributes
    ----------
    terminals : DataFrame
        As trended without any sensor's error: ``terminal, time`` and columns of the normalized table.
    air_handler : DataFrame
        The air handler's, index time.
    truth : DataFrame
        Row for row beside ``terminals``, from the engine alone: ``primary_flow, secondary_flow`` [L/s] that really
        flowed, ``coil_heat, delivered_heat, fan_power`` [W], ``entering_temp`` [degC] before the coil,
        ``density`` [kg/m3] of the discharge, ``discharge_mass`` [kg/s].
    """

    terminals: pd.DataFrame
    air_handler: pd.DataFrame
    truth: pd.DataFrame


def readings(outputs: pd.DataFrame, faults: dict[str, Injection]) -> Readings:
    """Turn a week's outputs into readings and truth, the faults being known by terminal."""
    outputs = outputs.rename(columns=str.upper)
    handler = _air_handler(outputs)
    read, truth = [], []
    for room in ROOMS:
        trend, real = _of_room(_Nodes(outputs, room), room, faults.get(room.tag, SOUND))
        read.append(trend.assign(terminal=room.tag))
        truth.append(real.assign(terminal=room.tag))
    together = [pd.concat(parts).rename_axis("time").reset_index() for parts in (read, truth)]
    return Readings(together[0], handler, together[1])


def dry_density(temperature, humidity_ratio):
    """Return dry air per volume of moist air [kg/m3], which the engine's mass flows count; ideal gas.

    ASHRAE Fundamentals, psychrometrics: v = R T (1 + 1.607858 w) / p (from memory).
    """
    return PRESSURE / (287.042 * (temperature + 273.15) * (1 + 1.607858 * humidity_ratio))


class _Nodes:
    """The outputs of one room and its terminal, by short names."""

    def __init__(self, outputs: pd.DataFrame, room: Room):
        self._outputs, self._room = outputs, room.name

    def __getitem__(self, name: str) -> pd.Series:
        return self._outputs[f"{self._room}{name}".upper()]

    def of_node(self, node: str) -> tuple[pd.Series, pd.Series, pd.Series]:
        """Return a node's temperature [degC], mass flow [kg/s] and humidity ratio."""
        return tuple(
            self[f" {node}:System Node {name}"] for name in ("Temperature", "Mass Flow Rate", "Humidity Ratio")
        )

    def schedule(self, name: str) -> pd.Series:
        return self._outputs[f"{name}:Schedule Value".upper()]

    def or_none(self, name: str) -> pd.Series:
        column = f"{self._room}{name}".upper()
        found = self._outputs.get(column)
        return pd.Series(0.0, self._outputs.index) if found is None else found


def _air_handler(outputs: pd.DataFrame) -> pd.DataFrame:
    name = f"{annex.AIR_HANDLER} SUPPLY FAN OUTLET:SYSTEM NODE"
    temperature, flow = outputs[f"{name} TEMPERATURE"], outputs[f"{name} MASS FLOW RATE"]
    running = flow > 1e-3
    outdoor = outputs["ENVIRONMENT:SITE OUTDOOR AIR DRYBULB TEMPERATURE"]
    return pd.DataFrame(
        {
            "supply_temp": temperature,
            "supply_flow": 1000 * flow / dry_density(temperature, outputs[f"{name} HUMIDITY RATIO"]),
            "supply_fan_status": running.astype(float),
            "outdoor_temp": outdoor,
            "outdoor_air_fraction": outputs[f"{annex.AIR_HANDLER}:AIR SYSTEM OUTDOOR AIR FLOW FRACTION"].where(running),
        }
    )


def _of_room(nodes: _Nodes, room: Room, fault: Injection) -> tuple[pd.DataFrame, pd.DataFrame]:
    primary_temp, primary_mass, primary_moisture = nodes.of_node("Zone Equip Inlet")
    discharge_temp, discharge_mass, discharge_moisture = nodes.of_node("Supply Inlet")
    zone = nodes[":Zone Mean Air Temperature"]
    plenum = nodes._outputs["PLENUM:ZONE MEAN AIR TEMPERATURE"]
    density = dry_density(primary_temp, primary_moisture)
    flow = 1000 * primary_mass / density
    fan_powered = room.kind != "single-duct"
    secondary_mass = nodes[" PIU Secondary Inlet:System Node Mass Flow Rate"] if fan_powered else 0 * flow
    # A series fan moves all of the discharge.
    fan_mass = discharge_mass if room.kind == "series" else secondary_mass
    fan_flow = 1000 * fan_mass / STANDARD_DENSITY
    # A differential pressure of the velocity, turned into flow by a coefficient for standard air.
    reading = flow * np.sqrt(density / STANDARD_DENSITY) * fault.reads
    heat = nodes.or_none(" Reheat Coil:Heating Coil Heating Rate")
    heating, cooling = (nodes.schedule(name) for name in THERMOSTATS[fault.thermostat])
    trend = pd.DataFrame(
        {
            "zone_temp": zone,
            "heating_setpoint": heating,
            "cooling_setpoint": cooling,
            "primary_flow": reading,
            "damper_position": _damper(nodes, room),
            "discharge_temp": in_still_air(discharge_temp, discharge_mass, plenum),
        }
    )
    trend["primary_flow_setpoint"] = _asked(trend, room, fault)
    if room.reheat != "none":
        trend["reheat_position"] = _reheat_signal(nodes, heat, room, fault)
    if fan_powered:
        trend["plenum_temp"] = plenum
        trend["primary_temp"] = in_still_air(primary_temp, primary_mass, plenum)
        trend["fan_status"] = (fan_flow > FAN_TURNS * room.fan_flow).astype(float)
        trend["fan_command"] = (fan_mass > 1e-6).astype(float)
    truth = pd.DataFrame(
        {
            "primary_flow": flow,
            "primary_temp": primary_temp,
            "plenum_temp": plenum,
            "zone_temp": zone,
            "discharge_temp": discharge_temp,
            "secondary_flow": 1000 * secondary_mass / dry_density(plenum, discharge_moisture),
            "fan_flow": fan_flow,
            "fan_power": nodes.or_none(" PIU Fan:Fan Electricity Rate"),
            "coil_heat": heat,
            "delivered_heat": nodes[" ATU:Zone Air Terminal Sensible Heating Rate"]
            - nodes[" ATU:Zone Air Terminal Sensible Cooling Rate"],
            "entering_temp": _before_coil(nodes, room),
            "discharge_flow": 1000 * discharge_mass / dry_density(discharge_temp, discharge_moisture),
        }
    )
    return trend, truth


def _asked(trend: pd.DataFrame, room: Room, fault: Injection) -> pd.Series:
    """The flow setpoint: what the engine lets flow; where it cannot give what cooling takes, the maximum."""
    full = (
        (fault.short_of < 1) & (trend["damper_position"] > 98) & (trend["zone_temp"] > trend["cooling_setpoint"] + 0.05)
    )
    return trend["primary_flow"].where(~full, room.primary_max)


def _damper(nodes: _Nodes, room: Room) -> pd.Series:
    names = {"series": "Series PIU Reheat", "parallel": "Parallel PIU Reheat", "single-duct": "Reheat"}
    unit = "VAV" if room.reheat == "none" else f"VAV {names[room.kind]}"
    which = "VAV" if room.kind == "single-duct" else "Primary"
    return 100 * nodes[f" {unit}:Zone Air Terminal {which} Damper Position"].clip(0, 1)


def _reheat_signal(nodes: _Nodes, heat: pd.Series, room: Room, fault: Injection) -> pd.Series:
    full = CAPACITY[room.name[0]] * fault.coil_share
    if room.reheat == "electric":
        return 100 * heat / full
    water = nodes[" Reheat Coil HW Inlet:System Node Mass Flow Rate"] / (water_flow(full) * 980.0)
    if fault.valve_told_shut:
        water = (water - LEAK) / (1 - LEAK)
    return valve_signal(water)


def valve_signal(flow_share: pd.Series) -> pd.Series:
    """Return the signal [%] at which an equal-percentage valve passes a share of its full flow."""
    # The inverse of flow = (R^x - 1) / (R - 1).
    stem = np.log1p(flow_share.clip(0, 1) * (RANGEABILITY - 1)) / np.log(RANGEABILITY)
    return 100 * stem.where(stem > 0.001, 0.0)


def _before_coil(nodes: _Nodes, room: Room) -> pd.Series:
    node = {"series": "PIU Fan Outlet", "parallel": "PIU Mixer Outlet", "single-duct": "Zone Equip Inlet"}[room.kind]
    return nodes[f" {node}:System Node Temperature"]


def in_still_air(temperature: pd.Series, mass_flow: pd.Series, plenum: pd.Series) -> pd.Series:
    """What a duct sensor shows: the air's temperature while it moves, and nearing the plenum's once it rests."""
    moving = (mass_flow > 1e-4).to_numpy()
    position = np.arange(len(moving))
    last = np.maximum.accumulate(np.where(moving, position, -1))
    start = np.where(last >= 0, temperature.to_numpy()[last], plenum.to_numpy())
    part = np.exp(-np.where(last >= 0, position - last, np.inf) / STILL_AIR_LAG)
    return pd.Series(plenum.to_numpy() + (start - plenum.to_numpy()) * part, temperature.index)
