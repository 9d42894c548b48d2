"""What the engine's own terminal control lacks, added through its energy management system."""

from __future__ import annotations

from collections.abc import Iterable

from tests.energyplus.building import ROOMS, Room

# A parallel fan that has started on a call for heat warms the room by so much before it stops [K], and runs and rests
# for so long at the least [min].
DIFFERENTIAL = 0.6
LEAST_TIME = 12
# How far the heating setpoint is moved past the room's temperature to hold a fan on or off [K].
PAST_ROOM = 0.05


def with_differential(whole: dict, rooms: Iterable[Room] = ROOMS) -> None:
    """Give the parallel fans a differential and least run and rest times, by way of their rooms' heating setpoints.

    The engine starts and stops a parallel fan minute by minute, by the sign of the load alone; no terminal is sold
    like that.
    """
    for room in rooms:
        if room.kind == "parallel":
            _of_room(whole, room.name)


def _of_room(whole: dict, name: str) -> None:
    zone, call, moved, on, since = (f"{word}_{name}" for word in ("Zone", "Call", "Moved", "On", "Since"))
    thermostat = whole["ZoneControl:Thermostat"][f"{name} Thermostat"]["control_1_name"]
    schedule = whole["ThermostatSetpoint:DualSetpoint"][thermostat]["heating_setpoint_temperature_schedule_name"]
    sensor(whole, zone, "Zone Mean Air Temperature", name)
    sensor(whole, call, "Schedule Value", schedule)
    add(whole, "Actuator", moved, actuated_component_unique_name=name,
        actuated_component_type="Zone Temperature Control", actuated_component_control_type="Heating Setpoint")  # fmt: skip
    add(whole, "GlobalVariable", f"States {name}", variables=[{"erl_variable_name": on}, {"erl_variable_name": since}])
    program(whole, f"Rest_{name}", "BeginNewEnvironment", f"SET {on} = 0", f"SET {since} = 0")
    program(
        whole,
        f"Differential_{name}",
        "BeginTimestepBeforePredictor",
        f"SET {since} = {since} + ZoneTimeStep * 60",
        f"IF {on} == 1",
        f"IF {since} >= {LEAST_TIME} && {zone} > {call} + {DIFFERENTIAL} + {PAST_ROOM} / 2",
        f"SET {on} = 0",
        f"SET {since} = 0",
        "ENDIF",
        "ELSE",
        f"IF {since} >= {LEAST_TIME} && {zone} <= {call} + 0.02",
        f"SET {on} = 1",
        f"SET {since} = 0",
        "ENDIF",
        "ENDIF",
        f"SET {moved} = {call} + {on} * {DIFFERENTIAL}",
        f"IF {since} < {LEAST_TIME} && {on} == 1",
        f"SET {moved} = @Max {moved} ({zone} + {PAST_ROOM})",
        f"ELSEIF {since} < {LEAST_TIME}",
        f"SET {moved} = @Min {moved} ({zone} - {PAST_ROOM})",
        "ENDIF",
    )


def sensor(whole: dict, name: str, output: str, of: str) -> None:
    """Have an output at hand in the programs of the energy management system."""
    add(whole, "Sensor", name, output_variable_or_output_meter_name=output,
        output_variable_or_output_meter_index_key_name=of)  # fmt: skip


def add(whole: dict, kind: str, name: str, **fields) -> None:
    """Add an object of the energy management system."""
    whole.setdefault(f"EnergyManagementSystem:{kind}", {})[name] = fields


def program(whole: dict, name: str, when: str, *lines: str) -> None:
    """Add a program and have it called at a point of each step."""
    add(whole, "Program", name, lines=[{"program_line": line} for line in lines])
    add(whole, "ProgramCallingManager", f"Call {name}", energyplus_model_calling_point=when,
        programs=[{"program_name": name}])  # fmt: skip
