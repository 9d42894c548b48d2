"""Air through the terminal: what the fan draws in, what leaves, and how warm it would leave with the coil off."""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.signals.scene import Scene, signal
from analyzer.signals.windows import surely_since

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


@signal("state", needs=("fan_status",), settled_by="the trend fan_status")
def fan_on(scene: Scene) -> np.ndarray:
    """Whether the terminal fan runs: its status, else its command; never in a terminal without a fan."""
    running = scene.trend("fan_status")
    if not scene.trended("fan_status").all():
        running = np.where(scene.per_row(scene.trended("fan_status")), running, scene.trend("fan_command"))
    return np.where(scene.per_row(scene.kinds == "single-duct"), 0.0, running)


@signal("flow", needs=("primary_flow",), settled_by="the trend primary_flow")
def primary_air(scene: Scene) -> np.ndarray:
    """Primary air: the flow as read, never below zero, and none while the air handler is off, whatever is read.

    Unknown where the sensor reads air through a shut damper: one of the two is wrong.
    """
    reading = np.maximum(scene.trend("primary_flow"), 0.0)
    contradicted = (scene.trend("damper_position") <= SHUT_DAMPER) & (reading >= STILL_AIR)
    return np.where(scene.value("supply_air_on") < 0.5, 0.0, np.where(contradicted, np.nan, reading))


@signal("flow", settled_by="fan_flow in the terminal schedule, or the trend discharge_flow")
def fan_air(scene: Scene) -> np.ndarray:
    """Air through the running fan: as measured at the discharge, else as scheduled; 0 while it rests.

    A fan whose speed is trended is taken to move its scheduled flow at its highest speed, and in proportion below.
    While status and command disagree nobody knows whether it runs.
    """
    scheduled = scene.per_row(scene.scheduled("fan_flow")) * _speed_share(scene)
    measured = scene.trend("discharge_flow")
    series = scene.per_row(scene.kinds == "series")
    measured = np.where(series, measured, np.maximum(measured - scene.value("primary_air"), 0.0))
    flow = np.where(np.isnan(measured), scheduled, measured)
    running = scene.value("fan_on")
    disagree = np.abs(scene.trend("fan_command") - running) > 0.5
    return np.where(disagree, np.nan, np.where(running > 0.5, flow, running))  # at rest 0, unknown stays unknown


def _speed_share(scene: Scene) -> np.ndarray | float:
    """Speed of a fan over the highest it had; 1 where no speed is trended."""
    speed = scene.trend("fan_speed")
    if np.isnan(speed).all():
        return 1.0
    there = ~np.isnan(speed)
    top = np.zeros(scene.count)
    np.maximum.at(top, scene.code[there], speed[there])
    top = scene.per_row(top)
    return np.divide(speed, top, out=np.ones(scene.size), where=there & (top > 0))


@signal("flow", needs=("primary_flow",), settled_by="the trend primary_flow and, with a fan, fan_status and fan_flow")
def air_delivered(scene: Scene) -> np.ndarray:
    """Air that the terminal delivers to the zone: measured, else primary, dedicated outdoor and fan air by its kind."""
    worked_out = airside.discharge_flow(
        primary_flow=_ducted(scene),
        fan_flow=scene.value("fan_air"),
        fan_on=1.0,
        series=scene.per_row(scene.kinds == "series"),
    )
    measured = scene.trend("discharge_flow")
    return np.where(np.isnan(measured), worked_out, measured)


def _ducted(scene: Scene) -> np.ndarray:
    return scene.value("primary_air") + _inlet_flow(scene)


def _inlet_flow(scene: Scene) -> np.ndarray:
    """Air of a dedicated inlet; where there is one without a trend, what it is scheduled to bring at the least."""
    if not scene.has_outdoor_air_inlet.any():
        return np.zeros(scene.size)
    measured, scheduled = scene.trend("outdoor_air_flow"), scene.per_row(scene.scheduled("outdoor_air_inlet_min"))
    return np.nan_to_num(np.where(np.isnan(measured), scheduled, measured))


@signal("flow", needs=("primary_flow",), settled_by="the trends primary_flow and fan_status, and fan_flow scheduled")
def induced_air(scene: Scene) -> np.ndarray:
    """Plenum air that the terminal fan draws in."""
    return airside.induced_flow(
        primary_flow=_ducted(scene),
        fan_flow=scene.value("fan_air"),
        fan_on=1.0,
        series=scene.per_row(scene.kinds == "series"),
    )


@signal("temperature", settled_by="the trend plenum_temp")
def induced_temp(scene: Scene) -> np.ndarray:
    """Temperature of the plenum air that the fan draws in: as trended, else the zone's."""
    trended = scene.trend("plenum_temp")
    return np.where(scene.per_row(scene.trended("plenum_temp")), trended, scene.trend("zone_temp"))


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
    through = ~(scene.per_row(scene.kinds == "series") & ~(scene.value("fan_on") > 0.5))
    primary, inlet = scene.value("primary_air"), _inlet_flow(scene)
    ducted_temp = airside.mixed_temp(
        primary_flow=primary,
        primary_temp=scene.value("primary_temp"),
        induced_flow=inlet,
        induced_temp=scene.trend("zone_temp"),
    )
    expected = airside.coil_off_temp(
        primary_flow=primary + inlet,
        primary_temp=np.where(primary + inlet > 0, ducted_temp, 0.0),
        induced_flow=scene.value("induced_air"),
        induced_temp=scene.value("induced_temp"),
        fan_flow=scene.value("fan_air"),
        fan_rise=fan_rise(scene),
    )
    return np.where(through, expected, np.nan)


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
    primary, inlet = scene.value("primary_air"), _inlet_flow(scene)
    induced, fan = scene.value("induced_air"), scene.value("fan_air")
    total = primary + inlet + induced
    part = np.divide(1.0, total, out=np.full(scene.size, np.nan), where=total > 0)
    by_primary = primary * part * _sensor_doubt(scene, "primary_temp", "supply_temp", DUCT_GAIN)
    by_plenum = induced * part * _sensor_doubt(scene, "plenum_temp", "zone_temp", PLENUM_ABOVE_ZONE)
    by_fan = fan * part * fan_rise(scene) / 2
    by_inlet = inlet * part * INLET_AIR
    spread = np.where(induced > 0, scene.value("induced_temp") - scene.value("primary_temp"), 0.0)
    by_flow = spread * _share_doubt(scene, primary, induced, part)
    return np.sqrt(by_primary**2 + by_plenum**2 + by_fan**2 + by_inlet**2 + by_flow**2)


def _sensor_doubt(scene: Scene, name: str, stand_in: str, gap: float) -> np.ndarray:
    """Accuracy of a temperature sensor, and of what stands in for it where it is not trended [K]."""
    accuracy = scene.site.accuracy
    own, other = accuracy[name].at_least, np.hypot(accuracy[stand_in].at_least, gap)
    return scene.per_row(np.where(scene.trended(name), own, other))


def _share_doubt(scene: Scene, primary, induced, part) -> np.ndarray:
    """How far the share of primary air in the mixture can be off, by the flow sensor and the fan's balancing."""
    share = primary * part
    of_primary = np.divide(
        scene.site.accuracy["primary_flow"].of(primary), primary, out=np.zeros(scene.size), where=primary > 0
    )
    # A series fan moves the same air whatever the damper does; a parallel one adds to it.
    sensitivity = np.where(scene.per_row(scene.kinds == "series"), share, share * induced * part)
    return np.minimum(sensitivity * np.hypot(of_primary, FAN_BALANCING), 1.0)


@signal("time", needs=("primary_flow",), settled_by="the trend primary_flow and, with a fan, fan_status")
def air_steady_for(scene: Scene) -> np.ndarray:
    """How long air has surely been moving through the terminal with its fan as it is [s]; 0 while it stands still."""
    running, primary = scene.value("fan_on"), scene.value("primary_air")
    moving = (running > 0.5) | (primary >= STILL_AIR)
    turned = np.diff(running, prepend=np.nan) != 0
    return surely_since(turned | ~moving, scene.code, scene.first, scene.seconds, scene.interval)
