"""Faults, each as what it changes in the engine's model, and the rules whose readings then show it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tests.energyplus.building import OF_TAG, Room
from tests.energyplus.control import add, program
from tests.energyplus.engine import coil, fan, terminal
from tests.energyplus.model import USUAL

LEAK, HELD = 0.07, 0.40  # of a valve's full flow


@dataclass(frozen=True)
class Injection:
    """One kind of fault.

    Attributes
    ----------
    kind : str
    shows : tuple of str
        Rules whose fault this is.
    note : str
        What is done to the engine's model, in words.
    change : function or None
        Handed the model and the room.
    also : tuple of str
        Rules that it may bring along: to find them is right, not to find them no miss. A rule that is in neither names
        a wrong cause: a drifted sensor is none of starvation. (Of a slow fan it is: mixing temperatures alone tell one from
        the other no more than a person could.)
    thermostat : str
        Of the room, as the model names it.
    reads : float
        What the flow sensor shows over what flows: the only fault that is laid into the reading, where a sensor's
        fault is; the controller that believes it is laid into the engine.
    valve_told_shut : bool
        The valve passes water while its signal says shut.
    short_of : float
        The share of the scheduled maximum that can flow; the controller goes on asking for all of it.
    coil_share : float
        The coil's capacity over its schedule: its signal is a share of what there is.
    steady_fan : bool
        A parallel fan has its differential (`tests.energyplus.control`).
    """

    kind: str
    shows: tuple[str, ...]
    note: str
    change: Callable[[dict, Room], None] | None = None
    also: tuple[str, ...] = ()
    thermostat: str = USUAL
    reads: float = 1.0
    valve_told_shut: bool = False
    short_of: float = 1.0
    coil_share: float = 1.0
    steady_fan: bool = True


def _minimum(whole: dict, room: Room, factor: float) -> None:
    unit = terminal(whole, room)
    for name in ("constant_minimum_air_flow_fraction", "minimum_primary_air_flow_fraction", "fan_on_flow_fraction"):
        if name in unit:
            unit[name] = min(unit[name] * factor, 1.0)


def _most(whole: dict, room: Room, factor: float) -> None:
    """Change the largest primary flow; the minimum, a share of it, goes along."""
    unit = terminal(whole, room)
    for name in ("maximum_air_flow_rate", "maximum_primary_air_flow_rate"):
        if name in unit and not (name == "maximum_air_flow_rate" and room.kind == "series"):
            unit[name] *= factor


def _maximum(whole: dict, room: Room, factor: float) -> None:
    """Let more or less air through at full damper; the minimum stays the same flow."""
    _most(whole, room, factor)
    _minimum(whole, room, 1 / factor)


def _water(whole: dict, room: Room, share: float) -> None:
    """Hold a share of the full hot-water flow, whatever the controller wants, while the air handler runs."""
    full = terminal(whole, room)["maximum_hot_water_or_steam_flow_rate"] * 980.0  # kg/s
    name = room.name
    add(whole, "Actuator", f"Water_{name}", actuated_component_unique_name=f"{name} Reheat Coil HW Inlet",
        actuated_component_type="System Node Setpoint",
        actuated_component_control_type="Mass Flow Rate Minimum Available Setpoint")  # fmt: skip
    program(whole, f"Held_{name}", "InsideHVACSystemIterationLoop", f"SET Water_{name} = {share * full}")


def _capacity(whole: dict, room: Room, factor: float) -> None:
    heater = coil(whole, room)
    for name in ("nominal_capacity", "u_factor_times_area_value", "maximum_water_flow_rate"):
        if name in heater:
            heater[name] *= factor
    unit = terminal(whole, room)
    if "maximum_hot_water_or_steam_flow_rate" in unit:
        unit["maximum_hot_water_or_steam_flow_rate"] *= factor


def _blown(whole: dict, room: Room, factor: float) -> None:
    unit = terminal(whole, room)
    unit["maximum_air_flow_rate" if room.kind == "series" else "maximum_secondary_air_flow_rate"] *= factor
    fan(whole, room)["maximum_flow_rate"] *= factor


def _always_on(whole: dict, room: Room) -> None:
    terminal(whole, room)["fan_on_flow_fraction"] = 1.0


def _off(whole: dict, room: Room) -> None:
    whole["Schedule:Constant"]["Never"] = {"hourly_value": 0.0, "schedule_type_limits_name": "Any"}
    terminal(whole, room)["availability_schedule_name"] = "Never"


def _more_machines(whole: dict, room: Room, factor: float) -> None:
    whole["ElectricEquipment"][f"{room.name} machines"]["watts_per_floor_area"] *= factor


def _higher_maximum(whole: dict, room: Room) -> None:
    _maximum(whole, room, 1.5)
    _more_machines(whole, room, 2.4)


_COLD = ("zone-too-cold", "heating-capacity-short")
_WARM = ("zone-too-warm",)
_ALL = (
    Injection("minimum-too-low", ("primary-below-ventilation-minimum",),
              "primary minimum of the terminal object at 0.45 of its schedule",
              lambda whole, room: _minimum(whole, room, 0.45), ("flow-below-measurable", *_COLD)),
    Injection("valve-leaks", ("reheat-leaking-by",),
              f"hot water held at {LEAK:.0%} of full flow or more at the coil's inlet node (energy management system)",
              lambda whole, room: _water(whole, room, LEAK), valve_told_shut=True, also=("zone-too-warm",)),
    Injection("valve-held-open", ("reheat-during-cooling",),
              f"hot water held at {HELD:.0%} of full flow or more at the coil's inlet node (energy management system)",
              lambda whole, room: _water(whole, room, HELD),
              also=("zone-too-warm", "reheat-with-high-primary", "reheat-without-airflow")),
    Injection("starved", ("starved-terminal",), "largest primary flow at 0.45 of its schedule, minimum as scheduled",
              lambda whole, room: _maximum(whole, room, 0.45),
              also=("zone-too-warm", "primary-below-setpoint", "holds-back-reset"), short_of=0.45),
    Injection("fan-always-on", ("parallel-fan-on-in-cooling",), "fan-on flow fraction 1: runs with primary air at any flow",
              _always_on, also=("fan-running-when-unoccupied",)),
    Injection("fan-dead", ("parallel-fan-missing-in-heating", "fan-status-disagrees-with-command"),
              "secondary flow and fan at 1 % of their schedule",
              lambda whole, room: _blown(whole, room, 0.01), also=(*_COLD, "discharge-too-hot")),
    Injection("fan-slow", ("fan-short-of-flow",), "fan and terminal flow at 0.55 of their schedule",
              lambda whole, room: _blown(whole, room, 0.55), also=("flow-sensor-drift", "discharge-too-hot", *_COLD, *_WARM)),
    Injection("series-fan-off", ("series-fan-off-when-occupied",), "terminal unit not available: fan off, damper shut",
              _off, also=("primary-below-ventilation-minimum", *_COLD, *_WARM)),
    Injection("coil-too-small", ("zone-too-cold",), "coil of 0.25 of its scheduled capacity",
              lambda whole, room: _capacity(whole, room, 0.25), coil_share=0.25,
              also=("heating-capacity-short", "reheat-not-delivering", "parallel-fan-missing-in-heating")),
    Injection("heat-fails", ("reheat-not-delivering",), "coil of 0.05 of its scheduled capacity",
              lambda whole, room: _capacity(whole, room, 0.05), coil_share=0.05, also=(*_COLD, "holds-back-reset")),
    Injection("sensor-reads-low", ("flow-sensor-drift",),
              "flow reading times 0.70 in the export; flow limits of the terminal object over 0.70, as its controller holds them",
              lambda whole, room: _most(whole, room, 1 / 0.70), reads=0.70,
              also=("fan-short-of-flow", "primary-below-ventilation-minimum")),
    Injection("sensor-reads-high", ("flow-sensor-drift",),
              "flow reading times 1.45 in the export; flow limits of the terminal object over 1.45, as its controller holds them",
              lambda whole, room: _most(whole, room, 1 / 1.45), reads=1.45,
              also=("fan-short-of-flow", "reheat-leaking-by", "primary-above-maximum")),
    Injection("no-setback", ("no-unoccupied-setback",), "thermostat schedules without a setback", thermostat="No setback"),
    Injection("setpoints-close", ("setpoints-too-close",), "thermostat schedules 0.8 K apart", thermostat="Close"),
    Injection("no-differential", ("fan-short-cycling",),
              "the engine's own fan control, which has no differential and no least run time", steady_fan=False),
    Injection("minimum-too-high", ("reheat-with-high-primary",), "primary minimum of the terminal object at 1.8 of its schedule",
              lambda whole, room: _minimum(whole, room, 1.8),
              also=(*_COLD, "reheat-during-cooling", "minimum-setpoint-off-schedule", "reheat-at-high-minimum")),
    Injection("maximum-too-high", ("primary-above-maximum",),
              "largest primary flow at 1.5 of its schedule; 2.4 times the machines in the room, to call for it",
              _higher_maximum, also=("flow-sensor-drift",)),
)  # fmt: skip
INJECTIONS = {injection.kind: injection for injection in _ALL}
SOUND = Injection("", (), "")
HOT_SUPPLY = "supply-air-too-hot"


def hot_supply(whole: dict) -> None:
    """Reset the supply air far too hot."""
    for name in ("Supply air", "Supply air heated"):
        whole["Schedule:Constant"][name]["hourly_value"] += 6.5


# Case -> terminal -> kind of fault. Terminals that a case does not name are sound in it.
CASES: dict[str, dict[str, str]] = {
    "sound": {},
    "first": {
        "SFB-101": "minimum-too-low",
        "PFB-102": "valve-leaks",
        "VAV-103": "starved",
        "SFB-104": "valve-held-open",
        "PFB-105": "fan-always-on",
        "SFB-201": "coil-too-small",
        "PFB-202": "fan-dead",
        "SFB-204": "series-fan-off",
    },
    "second": {
        "SFB-101": "fan-slow",
        "PFB-102": "fan-slow",
        "VAV-103": "valve-leaks",
        "SFB-104": "sensor-reads-low",
        "PFB-105": "maximum-too-high",
        "VAV-106": "minimum-too-low",
        "SFB-201": "no-setback",
        "PFB-302": "no-differential",
        "VAV-203": "heat-fails",
        "PFB-205": "minimum-too-high",
        "SFB-301": "setpoints-close",
    },
    "third": {
        "SFB-101": "sensor-reads-high",
        "PFB-102": "valve-held-open",
        "VAV-103": "valve-held-open",
        "SFB-104": "starved",
        "PFB-105": "starved",
        "VAV-106": "maximum-too-high",
        "PFB-202": "fan-always-on",
        "SFB-204": "valve-leaks",
        "PFB-205": "coil-too-small",
        "VAV-206": "coil-too-small",
    },
    HOT_SUPPLY: {},
}
OF_SUPPLY = ("zone-too-warm", "air-handler-common-cause", "starved-terminal")


def faults_of(case: str) -> dict[str, Injection]:
    """Return terminal -> what was injected there."""
    return {tag: INJECTIONS[kind] for tag, kind in CASES[case].items()}


def changes_of(case: str) -> list[Callable[[dict], None]]:
    """Return what a case does to the model."""
    own = [
        lambda whole, change=injection.change, room=OF_TAG[tag]: change(whole, room)
        for tag, injection in faults_of(case).items()
        if injection.change
    ]
    return [*own, hot_supply] if case == HOT_SUPPLY else own
