"""Air through the terminal: what its fan moves and draws in, what leaves, and for how long air has been moving."""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.signals.kinds import of_kind
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import stepped, surely_since

# Plenum air is as warm as the zone or up to so much warmer [K], by lamps and roof. Judgement.
PLENUM_ABOVE_ZONE = 2.0
# How well the flow of a terminal fan is known from its schedule: the usual contract tolerance of balancing (a public
# guide specification, 23 05 93, 3.2: within 10 % of design; read).
FAN_BALANCING = 0.10
# Duct static pressure from which on the air handler is taken to run, where its fan is not trended [Pa]. Judgement: a
# tenth of an inch of water; nothing but a fan holds that.
RUNNING_PRESSURE = 25.0
# Less than this is no air to speak of [L/s]. Judgement: about the least that the inlet sensor of a small box resolves.
STILL_AIR = 10.0
# Where nothing tells the flow, air this much colder than the room at the discharge sensor is moving [K]: a sensor in
# still air is as warm as the ceiling about it. Judgement.
COLD_AIR_MOVES = 3.0
# A fan whose speed signal, while it runs, lies more than so many points under its highest for more than so large a part
# of the time is a variable-speed fan. Judgement: a fixed speed wavers by a point or two, starts ramp for a minute.
SPEED_MOVES, PART_OF_TIME = 10.0, 0.05
# A damper fed back at this or less is shut [%]. Common practice, no source.
SHUT_DAMPER = 2.0
# A flow within this share of its setpoint holds it. Judgement: control and sensor.
HOLDS = 0.15


@signal("state", needs=("fan_status",), settled_by="the trend fan_status", whole=True)
def fan_on(scene: Scene) -> np.ndarray:
    """Whether the terminal fan runs: its status, else its command; never in a terminal without a fan."""
    running = scene.trend("fan_status")
    if not scene.trended("fan_status").all():
        running = np.where(scene.per_row(scene.trended("fan_status")), running, scene.trend("fan_command"))
    return np.where(of_kind(scene, "single-duct"), 0.0, running)


@signal("state", settled_by="kind in the terminal schedule")
def kind_scheduled(scene: Scene) -> np.ndarray:
    """1 where the schedule gives the terminal's kind; unknown where it was read from how its fan runs."""
    return scene.per_row(np.where(scene.words("kind") == "", np.nan, 1.0))


@signal("flow", needs=("primary_flow",), settled_by="the trend primary_flow", whole=True)
def primary_air(scene: Scene) -> np.ndarray:
    """Primary air: the flow as read, never below zero, and none while the air handler is off by its own points.

    What only the terminals of an air handler show of it does not overrule the reading of one of them. Unknown where the
    sensor reads air through a shut damper: one of the two is wrong; it is the position where that cannot be believed,
    or the flow holds its setpoint.
    """
    reading = np.maximum(scene.trend("primary_flow"), 0.0)
    contradicted = (scene.trend("damper_position") <= SHUT_DAMPER) & (reading >= STILL_AIR)
    if contradicted.any():
        asked = scene.trend("primary_flow_setpoint")
        holds = (asked >= STILL_AIR) & (np.abs(reading - asked) <= HOLDS * asked)
        contradicted &= ~holds & (scene.value("damper_credible") > 0.5)
        reading[contradicted] = np.nan
    reading[air_handler_stopped(scene)] = 0.0
    return reading


def air_handler_stopped(scene: Scene) -> np.ndarray:
    """Tell at which rows the air handler's own points say that it is off: its fan's status, else the duct's pressure.

    Not where its terminals show that it runs all the same.
    """

    def work_out():
        status, pressure = scene.air_handler("supply_fan_status"), scene.air_handler("duct_static_pressure")
        off = np.where(np.isnan(status), pressure <= RUNNING_PRESSURE, status < 0.5)
        return off & ~(scene.value("supply_air_on") > 0.5)

    return scene.once("air handler stopped", work_out)


@signal("flow", settled_by="fan_flow in the terminal schedule, or the trend discharge_flow")
def fan_air(scene: Scene) -> np.ndarray:
    """Air through the running fan: as measured at the discharge, else as scheduled; 0 while it rests.

    Unknown for a variable-speed fan (ECM) that is not measured: nobody knows at which speed it moves its scheduled
    flow. While status and command disagree nobody knows whether it runs.
    """
    # Without a fan no air passes it: 0, as ``fan_on`` is.
    at = scene.part((scene.kinds != "single-duct") | scene.trended("fan_command"))
    return scene.lay(at, _fan_air(at), 0.0)


def _fan_air(scene: Scene) -> np.ndarray:
    flow, running = scene.value("fan_flow"), scene.value("fan_on")
    flow = np.where(scene.per_row(variable_speed(scene)), np.nan, flow)
    if scene.trended("discharge_flow").any():
        measured = scene.trend("discharge_flow")
        beside = np.where(of_kind(scene, "series"), 0.0, scene.value("primary_air"))
        flow = np.where(np.isnan(measured - beside), flow, np.maximum(measured - beside, 0.0))
    disagree = np.abs(scene.trend("fan_command") - running) > 0.5
    flow = np.where(running > 0.5, flow, running)  # at rest 0, unknown stays unknown
    flow[disagree] = np.nan
    return flow


def variable_speed(scene: Scene) -> np.ndarray:
    """Tell for each terminal whether its fan varies its speed: as scheduled, else as its trended speed shows."""
    scheduled = scene.words("fan_control")
    return np.where(scheduled == "", _speed_moves(scene), scheduled == "variable")


def _speed_moves(scene: Scene) -> np.ndarray:
    if not scene.trended("fan_speed").any():
        return np.zeros(scene.count, dtype=bool)
    return scene.once("fan speed moves", lambda: _moves_for_long(scene, *_speed_while_running(scene)))


def _moves_for_long(scene: Scene, speed: np.ndarray, top: np.ndarray) -> np.ndarray:
    hours = scene.hours * ~np.isnan(speed)
    slow = scene.per_terminal(hours * (speed < scene.per_row(top) - SPEED_MOVES))
    return slow > PART_OF_TIME * scene.per_terminal(hours)


def _speed_while_running(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Speed signal while the fan runs [%], and the highest that each terminal's had."""
    speed = np.where(scene.value("fan_on") > 0.5, scene.trend("fan_speed"), np.nan)
    return speed, scene.reduce(np.fmax, speed, np.nan)


@signal("flow", needs=("primary_flow",), settled_by="the trend primary_flow and, with a fan, fan_status and fan_flow")
def air_delivered(scene: Scene) -> np.ndarray:
    """Air that the terminal delivers to the zone: measured, else primary, dedicated outdoor and fan air by its kind."""
    worked_out = airside.discharge_flow(
        primary_flow=ducted_air(scene),
        fan_flow=scene.value("fan_air"),
        fan_on=1.0,
        series=of_kind(scene, "series"),
    )
    if not scene.trended("discharge_flow").any():
        return worked_out
    measured = scene.trend("discharge_flow")
    return np.where(np.isnan(measured), worked_out, measured)


def ducted_air(scene: Scene) -> np.ndarray:
    """Air that comes by ducts: primary air and that of a dedicated inlet [L/s]."""
    return scene.once("ducted air", lambda: scene.value("primary_air") + inlet_air(scene))


def inlet_air(scene: Scene) -> np.ndarray | float:
    """Air of a dedicated inlet; where there is one without a trend, what it is scheduled to bring at the least."""
    if not scene.has_outdoor_air_inlet.any():
        return 0.0

    def work_out():
        at = scene.part(scene.has_outdoor_air_inlet)
        measured, scheduled = at.trend("outdoor_air_flow"), at.value("outdoor_air_inlet_min")
        return scene.lay(at, np.nan_to_num(np.where(np.isnan(measured), scheduled, measured)), 0.0)

    return scene.once("air of inlets", work_out)


@signal("flow", needs=("primary_flow",), settled_by="the trends primary_flow and fan_status, and fan_flow scheduled")
def induced_air(scene: Scene) -> np.ndarray:
    """Plenum air that the terminal fan draws in."""
    return airside.induced_flow(
        primary_flow=ducted_air(scene),
        fan_flow=scene.value("fan_air"),
        fan_on=1.0,
        series=of_kind(scene, "series"),
    )


@signal("temperature", settled_by="the trend plenum_temp")
def induced_temp(scene: Scene) -> np.ndarray:
    """Temperature of the plenum air that the fan draws in: as trended, else the zone's."""
    at = scene.part(scene.trended("plenum_temp"))
    return scene.lay(at, at.trend("plenum_temp"), scene.trend("zone_temp"))


def fan_rise(scene: Scene) -> float:
    """Temperature rise of the air through a terminal fan at the site's altitude [K]."""
    return airside.fan_temp_rise(density=density(scene))


def density(scene: Scene) -> float:
    """Density of room air at the site's altitude [kg/m3]."""
    return airside.air_density(altitude=scene.site.altitude)


@signal("time", needs=("primary_flow",), settled_by="the trend primary_flow and, with a fan, fan_status")
def air_steady_for(scene: Scene) -> np.ndarray:
    """How long air has surely been moving through the terminal with its fan as it is [s]; 0 while it stands still.

    Where no flow is known, a discharge 3 K colder than the room tells that air moves; else it is unknown.
    """
    running, primary = scene.value("fan_on"), scene.value("primary_air")
    moving = (running > 0.5) | (primary >= STILL_AIR)
    unknown = ~moving & np.isnan(primary)
    if unknown.any() and scene.trended("discharge_temp").any():
        felt = unknown & (scene.trend("zone_temp") - scene.trend("discharge_temp") >= COLD_AIR_MOVES)
        moving, unknown = moving | felt, unknown & ~felt
    turned = stepped(running, scene.first) != 0
    steady = surely_since(turned | ~moving, scene.first, scene.seconds, scene.interval)
    steady[unknown] = np.nan
    return steady
