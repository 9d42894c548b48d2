"""What each signal is made of: the trends, points of air handlers and schedule values without which it is unknown.

A signal that is not named here is made of every trend that it ``needs``; where it needs none it is an input by itself,
and its ``settled_by`` says what a user can add. In a definition ``and`` joins what it takes together, ``or`` what can
stand in for each other; a name is a trend, a schedule value, another signal (in its own definition: the trend of that
name), ``air_handler.<point>``, ``air_handler`` (that it is known which one serves the terminal), or what the terminal
is (``FACTS``): that is given, and cannot be asked for.
"""

from __future__ import annotations

import ast
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.signals.register import SIGNALS
from analyzer.signals.scene import NUMBERS, Scene

MADE_OF = {
    "primary_temp": "primary_temp or air_handler.supply_temp",
    "fan_on": "single_duct or fan_status or fan_command",
    "primary_air": "primary_flow",
    "fan_air": "single_duct or (fan_on and (discharge_flow or fan_flow))",
    "air_delivered": "discharge_flow or (primary_flow and fan_air)",
    "induced_air": "primary_flow and fan_air",
    "induced_temp": "plenum_temp or zone_temp",
    "coil_off_temp": "primary_flow and primary_temp and fan_air and (single_duct or induced_temp)",
    "coil_off_doubt": "coil_off_temp",
    "air_steady_for": "primary_flow and fan_on",
    "reheat_surely_shut": "reheat_position and zone_temp and heating_setpoint",
    "fan_by_discharge": "discharge_temp and primary_temp and primary_flow and fan_status and fan_command",
    "fan_stays_apart": "fan_status and fan_command",
    "coil_rise": "discharge_temp and coil_off_temp",
    "leak_rise": "reheat_position and coil_rise",
    "heat_at_zero": "reheat_position and coil_rise",
    "coil_rise_at_most": "discharge_temp and plenum_temp and primary_temp",
    "coil_heat": "discharge_temp and air_delivered and coil_off_temp",
    "coil_heat_share": "reheat_position and reheat_capacity and coil_heat",
    "heat_delivered": "discharge_temp and zone_temp and air_delivered",
    "heat_by_primary_alone": "heating_maximum and zone_temp",
    "heat_with_fan": "fan_flow and heating_maximum and zone_temp",
    "heat_needed": "heat_delivered",
    "heat_needed_doubt": "heat_delivered",
    "reheat_given": "coil_heat or (reheat_position and reheat_capacity)",
    "fan_power": "fan_status and fan_flow",
    "fan_has_no_call": "zone_temp and heating_setpoint",
    "fan_flow_share": (
        "fan_flow and fan_on and (discharge_flow or (discharge_temp and plenum_temp and primary_flow and primary_temp))"
    ),
    "fan_flow_share_doubt": "fan_flow_share",
    "fan_flow_by_heat_share": "fan_flow and fan_on and discharge_temp and reheat_position and reheat_capacity",
    "holds_a_reset": "air_handler and (damper_position or reheat_position or cools_all_it_can)",
    "holds_a_reset_alone": "holds_a_reset",
    "cools_all_it_can": "zone_temp and cooling_setpoint and (primary_flow or damper_position)",
    "flow_or_setpoint": "primary_flow or primary_flow_setpoint",
    "flow_called": "primary_flow_setpoint and primary_max",
    "inlet_pressure_excess": "damper_position and primary_flow and (balanced_max or primary_max)",
    "flow_drift": (
        "primary_flow and (damper_position or "
        "(series and fan_flow and discharge_temp and induced_temp and primary_temp))"
    ),
    "flow_drift_uncertainty": "flow_drift",
    "drift_way": "flow_drift",
    "damper_creep": "damper_position and primary_flow and air_handler.duct_static_pressure",
    "reads_low": "flow_drift",
    "reads_none_with_air_off": "primary_flow and supply_air_off_for",
    "fan_draws_air": "single_duct or parallel or (fan_on and damper_position)",
    "overcooled": "zone_temp and heating_setpoint and discharge_temp",
    "ventilation_air": (
        "primary_flow and (ventilation_min or (outdoor_air_fraction and (without_inlet or outdoor_air_flow)))"
    ),
    "ventilation_air_average": "ventilation_air",
    "primary_enough_for": "primary_flow and ventilation_primary",
    "setpoint_steady_for": "heating_setpoint",
    "setpoints_apart": "heating_setpoint and cooling_setpoint",
    "zone_had_its_time": "heating_setpoint or cooling_setpoint",
    "time_to_occupancy": "occupied",
    "time_since_occupancy": "occupied",
    # What is counted over other terminals is asked for as such: no trend of the one terminal settles it.
    "neighbour_cools": "neighbour_cools",
    "air_lost": "air_lost",
    "air_lost_lasts": "air_lost_lasts",
    "terminals_without_air": "terminals_without_air",
    "terminals_starved": "terminals_starved",
    "share_starved": "share_starved",
    "share_wanting_cooling": "share_wanting_cooling",
    # An active setpoint is asked for as such: one that is logged may not be known to be in force out of hours.
    "heating_setback": "heating_setback",
    "cooling_setback": "cooling_setback",
    **dict.fromkeys(
        ("design_gap", "maximum_gap", "heating_gap", "fan_gap"),
        "(primary_min or primary_max or heating_primary or fan_flow) and "
        "(primary_flow_setpoint or balanced_min or balanced_max or balanced_heating or balanced_fan)",
    ),
    "minimum_gap": "primary_min and balanced_min",
    "minimum_in_use": "primary_flow_setpoint",
    "minimum_off": "primary_flow_setpoint and (primary_min or balanced_min)",
    "minimum_beside_schedule": "primary_flow_setpoint and (primary_min or balanced_min)",
    "least_flow_taken": "primary_flow",
    "least_flow_share": "primary_flow and (primary_max or balanced_max or primary_flow_setpoint)",
    "reheat_of_excess_air": "reheat_given and primary_flow and primary_temp and zone_temp and primary_max",
    "small_flow": "primary_flow",
    "maximum_in_use": "primary_flow_setpoint and zone_temp",
    "heating_in_use": "primary_flow_setpoint and reheat_position",
    "co2_lowest_when_empty": "co2 and occupied",
    "co2_usual_when_empty": "co2 and occupied",
    # What no trend of the one terminal settles, or what is made of many trends, is asked for as such.
    "log_ended_for": "log_ended_for",
    "zone_off_neighbours": "zone_off_neighbours",
    "zone_left_alone": "zone_temp and air_handler.outdoor_temp",
    "power_of_air": "primary_flow",
    "setback_calls": "zone_temp",
    "standby_share": "standby_share",
    "standby_told_for": "standby_told_for",
}

# What a terminal is, as names of a definition.
FACTS = {
    "single_duct": lambda scene: scene.kinds == "single-duct",
    "series": lambda scene: scene.kinds == "series",
    "parallel": lambda scene: scene.kinds == "parallel",
    "without_inlet": lambda scene: ~scene.has_outdoor_air_inlet,
}

TREND, POINT, SCHEDULED, SIGNAL, FACT = "trend", "point of the air handler", "scheduled", "signal", "fact"


@dataclass(frozen=True, order=True)
class Input:
    """Something that a signal is made of and that is made of nothing else: of what sort it is, and its name."""

    sort: str
    name: str


@dataclass(frozen=True)
class Formula:
    """Inputs and formulas joined: ``all`` of them are needed, or ``any``."""

    how: str
    parts: tuple[Input | Formula, ...]


def all_of(parts) -> Formula:
    """Join what is needed together."""
    return Formula("all", tuple(parts))


@lru_cache(maxsize=512)
def made_of(name: str) -> Input | Formula:
    """Return what a name of a rule is made of, down to its inputs."""
    if name in MADE_OF:
        return _read(ast.parse(MADE_OF[name], mode="eval").body, name)
    if name in SIGNALS:
        needs = SIGNALS[name].needs
        return all_of(Input(TREND, point) for point in needs) if needs else Input(SIGNAL, name)
    return Input(SCHEDULED if name in NUMBERS else TREND, name)


def _read(node: ast.expr, own: str) -> Input | Formula:
    match node:
        case ast.BoolOp(op=op, values=values):
            return Formula("all" if isinstance(op, ast.And) else "any", tuple(_read(value, own) for value in values))
        case ast.Attribute(value=ast.Name(id="air_handler"), attr=point) if point in AIR_HANDLER:
            return Input(POINT, point)
        case ast.Name(id="air_handler"):
            return Input(SCHEDULED, "air_handler")
        case ast.Name(id=name) if name in FACTS:
            return Input(FACT, name)
        case ast.Name(id=name) if name == own:
            return Input(TREND if name in TERMINAL else SIGNAL, name)
        case ast.Name(id=name) if name in SIGNALS or name in TERMINAL or name in NUMBERS:
            return made_of(name)
    raise ValueError(f"{own}: {ast.unparse(node)!r} is nothing that a signal can be made of")


def inputs_of(formula: Input | Formula) -> list[Input]:
    """Return the inputs of a formula, each once, in their order."""
    if isinstance(formula, Input):
        return [formula]
    return list(dict.fromkeys(found for part in formula.parts for found in inputs_of(part)))


def is_there(scene: Scene, wanted: Input, parameters: dict[str, float]) -> np.ndarray:
    """Tell for each terminal whether an input has any value at all."""
    match wanted.sort:
        case "fact":
            return FACTS[wanted.name](scene)
        case "scheduled" if wanted.name == "air_handler":
            return scene.words("air_handler") != ""
        case "point of the air handler":
            key = ("point there", wanted.name)
            return scene.once(
                key, lambda: scene.reduce(np.logical_or, ~np.isnan(scene.air_handler(wanted.name)), False)
            )
        case "trend":
            return scene.trended(wanted.name)
    return scene.available(wanted.name, parameters)


def known_at(scene: Scene, wanted: Input, parameters: dict[str, float], rows: np.ndarray) -> np.ndarray:
    """Tell for some rows whether an input is known there."""
    match wanted.sort:
        case "fact" | "scheduled":
            return is_there(scene, wanted, parameters)[scene.code[rows]]
        case "point of the air handler":
            return ~np.isnan(scene.air_handler(wanted.name)[rows])
        case "trend":
            return ~np.isnan(scene.trend(wanted.name)[rows])
    return ~np.isnan(scene.value(wanted.name, parameters)[rows])
