"""Air through the terminal: what the fan draws in, what leaves, and how warm it would leave with the coil off."""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.signals.kinds import of_kind
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.supply_air import supply_air_is_off
from analyzer.signals.windows import ratio, stepped, surely_since

# How far a value that stands in for a missing sensor can be off [K]. Judgement: air warms by a kelvin or so between the
# air handler and the terminal, most at low flow; plenum air is as warm as the zone or up to 2 K warmer, by lamps and
# roof; air of a dedicated inlet may be neutral or as cold as supply air.
DUCT_GAIN = 1.6
PLENUM_ABOVE_ZONE = 2.0
INLET_AIR = 5.0
# How well the flow of a terminal fan is known from its schedule: a balancing tolerance, ASHRAE 111 (from memory).
FAN_BALANCING = 0.10
# Less than this is no air to speak of [L/s]. Judgement: about the least that the inlet sensor of a small box resolves.
STILL_AIR = 10.0
# A damper fed back at this or less is shut [%]. Common practice, no source.
SHUT_DAMPER = 2.0


@signal("state", needs=("fan_status",), settled_by="the trend fan_status", whole=True)
def fan_on(scene: Scene) -> np.ndarray:
    """Whether the terminal fan runs: its status, else its command; never in a terminal without a fan."""
    running = scene.trend("fan_status")
    if not scene.trended("fan_status").all():
        running = np.where(scene.per_row(scene.trended("fan_status")), running, scene.trend("fan_command"))
    return np.where(of_kind(scene, "single-duct"), 0.0, running)


@signal("flow", needs=("primary_flow",), settled_by="the trend primary_flow", whole=True)
def primary_air(scene: Scene) -> np.ndarray:
    """Primary air: the flow as read, never below zero, and none while the air handler is off, whatever is read.

    Unknown where the sensor reads air through a shut damper: one of the two is wrong.
    """
    reading = np.maximum(scene.trend("primary_flow"), 0.0)
    contradicted = (scene.trend("damper_position") <= SHUT_DAMPER) & (reading >= STILL_AIR)
    reading[contradicted] = np.nan
    reading[supply_air_is_off(scene)] = 0.0
    return reading


@signal("flow", settled_by="fan_flow in the terminal schedule, or the trend discharge_flow")
def fan_air(scene: Scene) -> np.ndarray:
    """Air through the running fan: as measured at the discharge, else as scheduled; 0 while it rests.

    A fan whose speed is trended is taken to move its scheduled flow at its highest speed, and in proportion below.
    While status and command disagree nobody knows whether it runs.
    """
    # Without a fan no air passes it: 0, as ``fan_on`` is.
    at = scene.part((scene.kinds != "single-duct") | scene.trended("fan_command"))
    return scene.lay(at, _fan_air(at), 0.0)


def _fan_air(scene: Scene) -> np.ndarray:
    flow, running = _flow_at_speed(scene), scene.value("fan_on")
    if scene.trended("discharge_flow").any():
        measured = scene.trend("discharge_flow")
        beside = np.where(of_kind(scene, "series"), 0.0, scene.value("primary_air"))
        flow = np.where(np.isnan(measured - beside), flow, np.maximum(measured - beside, 0.0))
    disagree = np.abs(scene.trend("fan_command") - running) > 0.5
    flow = np.where(running > 0.5, flow, running)  # at rest 0, unknown stays unknown
    flow[disagree] = np.nan
    return flow


def _flow_at_speed(scene: Scene) -> np.ndarray:
    """Scheduled flow of a fan, in proportion to its speed over the highest it had where that is trended."""
    scheduled = scene.value("fan_flow")
    if not scene.trended("fan_speed").any():
        return scheduled
    speed = scene.trend("fan_speed")
    top = scene.per_row(scene.reduce(np.fmax, speed, np.nan))
    return scheduled * np.where(np.isnan(speed) | ~(top > 0), 1.0, ratio(speed, top, top > 0))


@signal("flow", needs=("primary_flow",), settled_by="the trend primary_flow and, with a fan, fan_status and fan_flow")
def air_delivered(scene: Scene) -> np.ndarray:
    """Air that the terminal delivers to the zone: measured, else primary, dedicated outdoor and fan air by its kind."""
    worked_out = airside.discharge_flow(
        primary_flow=_ducted(scene),
        fan_flow=scene.value("fan_air"),
        fan_on=1.0,
        series=of_kind(scene, "series"),
    )
    if not scene.trended("discharge_flow").any():
        return worked_out
    measured = scene.trend("discharge_flow")
    return np.where(np.isnan(measured), worked_out, measured)


def _ducted(scene: Scene) -> np.ndarray:
    return scene.once("ducted air", lambda: scene.value("primary_air") + _inlet_flow(scene))


def _inlet_flow(scene: Scene) -> np.ndarray | float:
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
        primary_flow=_ducted(scene),
        fan_flow=scene.value("fan_air"),
        fan_on=1.0,
        series=of_kind(scene, "series"),
    )


@signal("temperature", settled_by="the trend plenum_temp")
def induced_temp(scene: Scene) -> np.ndarray:
    """Temperature of the plenum air that the fan draws in: as trended, else the zone's."""
    at = scene.part(scene.trended("plenum_temp"))
    return scene.lay(at, at.trend("plenum_temp"), scene.trend("zone_temp"))


@signal(
    "temperature",
    needs=("primary_flow",),
    settled_by="the trends primary_flow, primary_temp (or the air handler's supply_temp) and, with a fan, fan_status",
)
def coil_off_temp(scene: Scene) -> np.ndarray:
    """Discharge temperature to expect with the coil off: primary air, mixed with plenum air while the fan runs.

    The fan's own heat is in it. Air of a dedicated inlet is taken to be as warm as the zone. Unknown for a series unit
    whose fan rests: what passes it then is anybody's guess.
    """
    expected = airside.coil_off_temp(
        primary_flow=_ducted(scene),
        primary_temp=_ducted_temp(scene),
        induced_flow=scene.value("induced_air"),
        induced_temp=scene.value("induced_temp"),
        fan_flow=scene.value("fan_air"),
        fan_rise=fan_rise(scene),
    )
    expected[of_kind(scene, "series") & ~(scene.value("fan_on") > 0.5)] = np.nan
    return expected


def _ducted_temp(scene: Scene) -> np.ndarray:
    """Temperature of primary air and air of a dedicated inlet together; 0 of no air, to mix with what is induced."""
    ducted, primary_temp = _ducted(scene), scene.value("primary_temp")
    temp = np.where(ducted > 0, primary_temp, 0.0)
    at = scene.part(scene.has_outdoor_air_inlet)
    mixed = airside.mixed_temp(
        primary_flow=at.value("primary_air"),
        primary_temp=at.value("primary_temp"),
        induced_flow=_inlet_flow(at),
        induced_temp=at.trend("zone_temp"),
    )
    return scene.lay(at, np.where(_ducted(at) > 0, mixed, 0.0), temp)


def fan_rise(scene: Scene) -> float:
    """Temperature rise of the air through a terminal fan at the site's altitude [K]."""
    return airside.fan_temp_rise(density=density(scene))


def density(scene: Scene) -> float:
    """Density of room air at the site's altitude [kg/m3]."""
    return airside.air_density(altitude=scene.site.altitude)


@signal("temperature_difference", needs=("primary_flow",), settled_by="the trends primary_temp and plenum_temp")
def coil_off_doubt(scene: Scene) -> np.ndarray:
    """How far the discharge temperature expected with the coil off can be off [K].

    By the sensors, what stands in for a missing one, the flows, and the fan's heat.
    """
    primary, induced, fan = scene.value("primary_air"), scene.value("induced_air"), scene.value("fan_air")
    total = _ducted(scene) + induced
    part = ratio(1.0, total, total > 0)
    spread = np.where(induced > 0, scene.value("induced_temp") - scene.value("primary_temp"), 0.0)
    return np.sqrt(
        np.square(primary * part * _sensor_doubt(scene, "primary_temp", "supply_temp", DUCT_GAIN))
        + np.square(induced * part * _sensor_doubt(scene, "plenum_temp", "zone_temp", PLENUM_ABOVE_ZONE))
        + np.square(fan * part * (fan_rise(scene) / 2))
        + np.square(_inlet_flow(scene) * part * INLET_AIR)
        + np.square(spread * _share_doubt(scene, primary, induced, part))
    )


def _sensor_doubt(scene: Scene, name: str, stand_in: str, gap: float) -> np.ndarray:
    """Accuracy of a temperature sensor, and of what stands in for it where it is not trended [K]."""
    accuracy = scene.site.accuracy
    own, other = accuracy[name].at_least, np.hypot(accuracy[stand_in].at_least, gap)
    return scene.per_row(np.where(scene.trended(name), own, other))


def _share_doubt(scene: Scene, primary, induced, part) -> np.ndarray:
    """How far the share of primary air in the mixture can be off, by the flow sensor and the fan's balancing."""
    share, moves = primary * part, primary > 0
    of_primary = ratio(scene.site.accuracy["primary_flow"].of(primary), primary, moves)
    of_primary[~moves] = 0.0
    # A series fan moves the same air whatever the damper does; a parallel one adds to it.
    sensitivity = np.where(of_kind(scene, "series"), share, share * induced * part)
    return np.minimum(sensitivity * np.sqrt(np.square(of_primary) + FAN_BALANCING**2), 1.0)


@signal("time", needs=("primary_flow",), settled_by="the trend primary_flow and, with a fan, fan_status")
def air_steady_for(scene: Scene) -> np.ndarray:
    """How long air has surely been moving through the terminal with its fan as it is [s]; 0 while it stands still."""
    running, primary = scene.value("fan_on"), scene.value("primary_air")
    moving = (running > 0.5) | (primary >= STILL_AIR)
    turned = stepped(running, scene.first) != 0
    return surely_since(turned | ~moving, scene.first, scene.seconds, scene.interval)
