"""Heating: what the terminal gives to the zone, the most that it could, and what the zone seems to need."""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.signals.grouped import Groups
from analyzer.signals.in_force import in_use
from analyzer.signals.kinds import of_kind
from analyzer.signals.mixing import density
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ROUNDING, ratio, since_change, stepped, trailing_mean, trailing_sum

HOUR = 3600.0
# Most of an hour has to be there before a mean or a change over it is taken.
LEAST_SEEN = 0.75
# A zone's own capacity is taken from hours in which it warmed or cooled at least this fast [K/h], of which there have
# to be this many [h]; it is then known to about this share. Judgement.
FAST = 0.5
SLOW = 0.1
LEAST_HOURS = 2.0
OWN_CAPACITY_SPREAD = 0.3
# A setpoint that moves by less is an occupant's or a rounding's doing, not a change of mode [K].
SETPOINT_STEP = 0.4


# Heat now --------------------------------------------------------------------------------------------------------


@signal(
    "power",
    needs=("primary_flow", "discharge_temp", "zone_temp"),
    settled_by="the trends discharge_temp, zone_temp and primary_flow and, with a fan, fan_status and fan_flow",
    where_trended=("discharge_temp",),
)
def heat_delivered(scene: Scene) -> np.ndarray:
    """Heat that the terminal brings to the zone now [W]: positive warms it, negative cools it."""
    return airside.delivered_heat(
        discharge_flow=scene.value("air_delivered"),
        discharge_temp=scene.trend("discharge_temp"),
        zone_temp=scene.trend("zone_temp"),
        density=density(scene),
    )


@signal(
    "power",
    needs=("primary_flow", "discharge_temp"),
    settled_by="the trends discharge_temp, primary_flow and primary_temp (or the air handler's supply_temp)",
    where_trended=("discharge_temp",),
)
def coil_heat(scene: Scene) -> np.ndarray:
    """Heat that the coil gives to the air [W]: from discharge temperature, and what it would be with the coil off."""
    return airside.coil_heat(
        discharge_flow=scene.value("air_delivered"),
        discharge_temp=scene.trend("discharge_temp"),
        entering_temp=scene.value("coil_off_temp"),
        density=density(scene),
    )


@signal(
    "fraction",
    needs=("primary_flow", "discharge_temp", "reheat_position"),
    settled_by="reheat_capacity in the terminal schedule",
    where_trended=("discharge_temp", "reheat_position"),
)
def coil_heat_share(scene: Scene) -> np.ndarray:
    """Heat that the coil gives over the heat that is asked of it: scheduled capacity times the reheat signal."""
    return airside.call_effectiveness(
        heat=scene.value("coil_heat"),
        call=scene.trend("reheat_position"),
        capacity=scene.value("reheat_capacity"),
    )


# The most that it could give --------------------------------------------------------------------------------------


@signal("power", settled_by="primary_min (or heating_primary) in the terminal schedule, and the trend zone_temp")
def heat_by_primary_alone(scene: Scene, *, capability_rise: float, staged_rise: float) -> np.ndarray:
    """The most heat that primary air alone could bring to the zone [W], at the most of it allowed in heating.

    Bound by the discharge temperature allowed (``capability_rise`` above the zone; ``staged_rise`` above the entering
    air where heat is switched in stages) and by the coil's capacity.
    """
    airs = scene.value("heating_maximum"), scene.value("primary_temp")
    return _most(scene, *airs, capability_rise, staged_rise)


@signal("power", settled_by="fan_flow in the terminal schedule, and the trend zone_temp")
def heat_with_fan(scene: Scene, *, capability_rise: float, staged_rise: float) -> np.ndarray:
    """The most heat that the terminal could bring to the zone with its fan [W]; unknown for a terminal without one.

    Bound by the discharge temperature allowed (``capability_rise`` above the zone; ``staged_rise`` above the entering
    air where heat is switched in stages) and by the coil's capacity.
    """
    primary, fan = scene.value("heating_maximum"), scene.value("fan_flow")
    series = of_kind(scene, "series")
    airs = {"primary_flow": primary, "fan_flow": fan, "fan_on": 1.0, "series": series}
    entering = airside.mixed_temp(
        primary_flow=primary,
        primary_temp=scene.value("primary_temp"),
        induced_flow=airside.induced_flow(**airs),
        induced_temp=scene.value("induced_temp"),
    )
    most = _most(scene, airside.discharge_flow(**airs), entering, capability_rise, staged_rise)
    return np.where(of_kind(scene, "single-duct"), np.nan, most)


def _most(scene: Scene, flow, entering, rise: float, staged_rise: float) -> np.ndarray:
    """Bound by discharge temperature and, where capacity and entering air are known, by the coil."""
    zone, capacity = scene.trend("zone_temp"), scene.value("reheat_capacity")
    by_coil = ~np.isnan(capacity) & ~np.isnan(entering)
    return airside.most_heat(
        flow=flow,
        entering_temp=np.where(by_coil, entering, zone),
        highest_discharge_temp=_highest_discharge(scene, entering, rise, staged_rise),
        zone_temp=zone,
        capacity=np.where(by_coil, capacity, np.inf),
        density=density(scene),
    )


def _highest_discharge(scene: Scene, entering, rise: float, staged_rise: float) -> np.ndarray:
    """The warmest discharge allowed [degC]: over the zone where heat modulates, over the entering air in stages."""
    over_zone = scene.trend("zone_temp") + rise
    staged = scene.value("reheat_modulates") < 0.5
    return np.where(staged & ~np.isnan(entering), entering + staged_rise, over_zone)


# What the zone needs ------------------------------------------------------------------------------------------------


@signal("temperature_difference", needs=("zone_temp",), settled_by="the trend zone_temp")
def zone_change_in_hour(scene: Scene) -> np.ndarray:
    """How much the zone temperature changed within the past hour [K]; unknown where less than most of it was logged."""
    return scene.once("zone change in hour", lambda: _slope(scene) * HOUR)


def _slope(scene: Scene) -> np.ndarray:
    """Slope of a straight line through the past hour of zone temperature [K/s], each known sample weighing the same."""
    zone = scene.trend("zone_temp")
    known = ~np.isnan(zone)
    since = scene.past(HOUR + 1.0)
    # Whole seconds and squares of them add up exactly; both and temperatures count from where they stay small.
    time = np.where(known, scene.seconds - scene.per_row(scene.start), 0.0).astype(np.int64)
    above = np.where(known, zone - 20.0, 0.0)
    count, t, tt = (trailing_sum(column, since) for column in (known.astype(np.int64), time, time * time))
    y, ty = trailing_sum(above, since), trailing_sum(above * time, since)
    spread = count * tt - t * t
    enough = (scene.seconds - scene.seconds[since] >= LEAST_SEEN * HOUR - 1.0) & (count >= 3) & (spread > 0)
    return ratio(count * ty - t * y, spread, enough)


@signal(
    "power",
    needs=("primary_flow", "discharge_temp", "zone_temp"),
    settled_by="the trends of the heat delivered, and the area in the terminal schedule",
    where_trended=("discharge_temp",),
)
def heat_needed(scene: Scene) -> np.ndarray:
    """Heat that the zone seems to need to hold its temperature [W]: what it got in the past hour, less what it stored.

    What it stores per kelvin comes from its own warming and cooling outside the occupied hours, else from its area.
    """
    return airside.zone_heat_load(
        delivered_heat=_heat_in_hour(scene),
        temperature_rate=scene.value("zone_change_in_hour") / HOUR,
        zone_capacity=scene.per_row(_zone_capacity(scene)[0]),
    )


@signal(
    "power",
    needs=("primary_flow", "discharge_temp", "zone_temp"),
    settled_by="the trends of the heat delivered, and the area in the terminal schedule",
    where_trended=("discharge_temp",),
)
def heat_needed_doubt(scene: Scene) -> np.ndarray:
    """How far the heat that the zone seems to need can be off [W]."""
    capacity, spread = _zone_capacity(scene)
    flow, accuracy = scene.value("air_delivered"), scene.site.accuracy
    of_temp = np.hypot(accuracy["discharge_temp"].at_least, accuracy["zone_temp"].at_least)
    by_temp = airside.sensible_heat(flow=flow, temperature_difference=of_temp, density=density(scene))
    by_flow = np.abs(scene.value("heat_delivered")) * 0.10
    return airside.zone_heat_load_uncertainty(
        heat_uncertainty=np.sqrt(np.square(by_temp) + np.square(by_flow)),
        temperature_rate=scene.value("zone_change_in_hour") / HOUR,
        rate_uncertainty=0.1 / HOUR,
        zone_capacity=scene.per_row(capacity),
        capacity_uncertainty=scene.per_row(capacity * spread),
    )


def _heat_in_hour(scene: Scene) -> np.ndarray:
    def work_out():
        return trailing_mean(scene.value("heat_delivered"), scene.hours, scene.past(HOUR), LEAST_SEEN)

    return scene.once("heat in hour", work_out)


def _zone_capacity(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Heat that each zone stores per kelvin [J/K], and the share by which it may be off."""
    return scene.once("zone capacity", lambda: _own_or_by_area(scene))


def _own_or_by_area(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    change, heat = scene.value("zone_change_in_hour"), _heat_in_hour(scene)
    unoccupied = (scene.value("occupied") <= 0.5) & ~np.isnan(heat)
    rates = {}
    for name, rows in {"warming": unoccupied & (change >= FAST), "cooling": unoccupied & (change <= -SLOW)}.items():
        at = np.flatnonzero(rows)
        weight, groups = scene.hours[at], Groups(scene.code[at], scene.count)
        hours = groups.sum(weight)
        usable = np.where(hours >= LEAST_HOURS - ROUNDING, hours, np.nan)
        rates[f"heat_{name}"] = groups.mean(heat[at], weight, usable)
        rates[f"rate_{name}"] = groups.mean(change[at] / HOUR, weight, usable)
    own = airside.zone_capacity_from_rates(**rates)
    by_area = scene.scheduled("area") * airside.ZONE_CAPACITY_PER_AREA
    use_own = ~np.isnan(own)
    spread = np.where(use_own, OWN_CAPACITY_SPREAD, airside.ZONE_CAPACITY_SPREAD)
    return np.where(use_own, own, by_area), spread


# When things have settled -------------------------------------------------------------------------------------------


@signal("state", settled_by="the trend heating_setpoint, or another heating or effective setpoint")
def own_setpoint(scene: Scene) -> np.ndarray:
    """Whether a heating setpoint of the terminal's own is trended; the site file's is no terminal's."""
    names = ("heating_setpoint", "effective_setpoint", "occupied_heating_setpoint", "unoccupied_heating_setpoint")
    return scene.per_row(np.logical_or.reduce([scene.trended(name) for name in names]).astype(float))


@signal("state", settled_by="the trend cooling_setpoint, or another cooling or effective setpoint")
def own_cooling_setpoint(scene: Scene) -> np.ndarray:
    """Whether a cooling setpoint of the terminal's own is trended; the site file's is no terminal's."""
    names = ("cooling_setpoint", "effective_setpoint", "occupied_cooling_setpoint", "unoccupied_cooling_setpoint")
    return scene.per_row(np.logical_or.reduce([scene.trended(name) for name in names]).astype(float))


@signal("time", needs=("heating_setpoint",), settled_by="the trend heating_setpoint")
def setpoint_steady_for(scene: Scene) -> np.ndarray:
    """How long the active heating setpoint has been where it is [s]."""
    moved = ~(np.abs(stepped(scene.value("heating_setpoint"), scene.first)) < SETPOINT_STEP)
    return since_change(moved, scene.first, scene.seconds)


@signal("time", settled_by="the trend occupied, or occupied hours in the site file")
def time_to_occupancy(scene: Scene) -> np.ndarray:
    """Time until the zone is occupied next [s]; where the trends end before that, the time until they end."""
    # The time since, seen from the end: of the rows in reverse, and of a clock that runs back.
    reverse = scene.size - scene.first[::-1]
    return since_change(in_use(scene)[::-1], reverse, -scene.seconds[::-1])[::-1]


@signal("time", settled_by="the trend occupied, or occupied hours in the site file")
def time_since_occupancy(scene: Scene) -> np.ndarray:
    """Time since the zone was occupied last [s], or since the trends begin."""
    return since_change(in_use(scene), scene.first, scene.seconds)


@signal("time", settled_by="the trend occupied, or occupied hours in the site file")
def time_in_use(scene: Scene) -> np.ndarray:
    """How long the zone has been occupied [s], or since the trends begin; 0 while it is not."""
    return since_change(~in_use(scene), scene.first, scene.seconds)
