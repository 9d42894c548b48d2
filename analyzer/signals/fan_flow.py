"""How much air a terminal fan moves, against its schedule: as measured, or as the temperatures about it imply.

Three ways, each a figure a day with its own uncertainty; the surest of a day is taken:

measured    the discharge flow, less primary air in a parallel unit
by mixing   fan on, coil off: primary flow over the share of primary air that the three temperatures imply
by heat     fan on, electric heat on: the flow that takes the scheduled heat at the temperature rise seen

The second cannot tell a slow fan from a primary flow sensor that reads low.
"""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.airside.air import without_zero
from analyzer.signals.days import daily_median
from analyzer.signals.mixing import FAN_BALANCING, PLENUM_ABOVE_ZONE, density, fan_rise
from analyzer.signals.scene import Scene, signal
from analyzer.signals.windows import surely_since

# Air and coil have to be as they are for this long before the temperatures show it [s]: a coil's mass, and a sensor.
SETTLED = 1200.0
HEATER_SETTLED = 480.0
# The airs have to lie this far apart, and the smaller part be this large a share, for the mixture to say something.
LEAST_SPREAD = 5.0
LEAST_SHARE = 0.15
# Electric heat at this part of its signal or more, and a rise of this much, say something [%, K].
LEAST_CALL = 45.0
LEAST_RISE = 4.0
# Electric heat may be switched every few minutes [s].
FINE_FOR_HEAT = 300.0
# What electric heat gives against its schedule, by voltage and rounding. Judgement.
HEATER_TOLERANCE = 0.10

_SETTLED_BY = "the trend discharge_flow, or discharge_temp, plenum_temp, primary_temp and primary_flow with fan_flow"


@signal("fraction", settled_by=_SETTLED_BY)
def fan_flow_share(scene: Scene) -> np.ndarray:
    """Air that the running fan moves over its scheduled flow, a day: measured, or implied by mixing or heat."""
    return _surest(scene)[0]


@signal("fraction", settled_by=_SETTLED_BY)
def fan_flow_share_doubt(scene: Scene) -> np.ndarray:
    """How far the implied share of the fan's scheduled flow can be off; 0 where the flow is measured."""
    return _surest(scene)[1]


@signal("fraction", settled_by="the trend discharge_flow")
def fan_flow_measured_share(scene: Scene) -> np.ndarray:
    """Air that the running fan moves over its scheduled flow, as the discharge flow shows it, by day."""
    return scene.once("fan flow measured", lambda: _measured(scene))


@signal("fraction", settled_by="the trends discharge_temp, plenum_temp, primary_temp and primary_flow")
def fan_flow_by_mixing_share(scene: Scene) -> np.ndarray:
    """Air that the running fan moves over its scheduled flow, as the mixing with the coil off implies it, by day."""
    return scene.once("fan flow by mixing", lambda: _by_mixing(scene))[0]


@signal(
    "fraction", settled_by="the trends discharge_temp, plenum_temp, reheat_position and a scheduled reheat_capacity"
)
def fan_flow_by_heat_share(scene: Scene) -> np.ndarray:
    """Air that the running fan moves over its scheduled flow, as the rise over the electric heat implies it, by day."""
    return scene.once("fan flow by heat", lambda: _by_heat(scene))[0]


def _surest(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    def work_out():
        (mixing, mixing_doubt), (heat, heat_doubt) = (
            scene.once("fan flow by mixing", lambda: _by_mixing(scene)),
            scene.once("fan flow by heat", lambda: _by_heat(scene)),
        )
        by_heat = ~np.isnan(heat) & ~(mixing_doubt <= heat_doubt)
        share, doubt = np.where(by_heat, heat, mixing), np.where(by_heat, heat_doubt, mixing_doubt)
        measured = scene.value("fan_flow_measured_share")
        return np.where(np.isnan(measured), share, measured), np.where(np.isnan(measured), doubt, 0.0)

    return scene.once("fan flow, the surest", work_out)


def _measured(scene: Scene) -> np.ndarray:
    flow = scene.trend("discharge_flow")
    if np.isnan(flow).all():
        return flow
    fan = flow - np.where(_series(scene), 0.0, scene.value("primary_air"))
    return daily_median(scene, fan / without_zero(_scheduled(scene)), _at_full_speed(scene))


def _by_mixing(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    discharge, primary_temp = scene.trend("discharge_temp"), scene.value("primary_temp")
    induced_temp, rise = scene.value("induced_temp"), fan_rise(scene)
    primary = scene.value("primary_air")
    share = airside.primary_share(
        discharge_temp=discharge, primary_temp=primary_temp, plenum_temp=induced_temp, fan_rise=rise
    )
    doubt = _share_doubt(scene, share, primary_temp, induced_temp)
    fan_part = np.where(_series(scene), 1.0, 1.0 - share)
    implied = primary * fan_part / without_zero(share)
    coil_off = scene.value("reheat_shut_for") >= SETTLED
    there = _at_full_speed(scene) & (coil_off | scene.per_row(~scene.has_reheat))
    there &= (np.abs(induced_temp - primary_temp) >= LEAST_SPREAD) & (share >= LEAST_SHARE) & (fan_part >= LEAST_SHARE)
    there &= (primary > 0) & ~scene.per_row(scene.has_outdoor_air_inlet)
    of_flow = scene.site.accuracy["primary_flow"].of(primary) / without_zero(primary)
    # d(Qf)/Qf for a small change of the share: -dx/x in a series unit, -dx / (x (1 - x)) in a parallel one.
    relative = np.hypot(doubt / without_zero(share * fan_part), of_flow)
    found = implied / without_zero(_scheduled(scene))
    return daily_median(scene, found, there), daily_median(scene, found * relative, there)


def _share_doubt(scene: Scene, share, primary_temp, induced_temp) -> np.ndarray:
    accuracy = scene.site.accuracy
    own_plenum = scene.per_row(scene.trended("plenum_temp"))
    return airside.primary_share_uncertainty(
        share=share,
        primary_temp=primary_temp,
        plenum_temp=induced_temp,
        discharge_accuracy=accuracy["discharge_temp"].at_least,
        primary_accuracy=accuracy["primary_temp"].at_least,
        plenum_accuracy=np.where(own_plenum, accuracy["plenum_temp"].at_least, PLENUM_ABOVE_ZONE),
        fan_rise_accuracy=fan_rise(scene) / 2,
    )


def _by_heat(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    discharge, primary_temp = scene.trend("discharge_temp"), scene.value("primary_temp")
    induced_temp, primary = scene.value("induced_temp"), scene.value("primary_air")
    call = scene.trend("reheat_position")
    heat = scene.per_row(scene.scheduled("reheat_capacity")) * call * 0.01
    as_flow = airside.flow_for_heat(heat=heat, temperature_difference=1.0, density=density(scene))  # L/s at 1 K
    rise = discharge - induced_temp - fan_rise(scene)
    warmed = np.where(_series(scene), induced_temp, discharge) - primary_temp
    implied = (as_flow - np.where(primary > 0, primary * warmed, 0.0)) / np.where(rise >= LEAST_RISE, rise, np.nan)
    there = _at_full_speed(scene) & (scene.value("electric_heat") > 0.5) & (call >= LEAST_CALL)
    # A slower log cannot tell a steady call from one that came and went.
    there &= scene.per_row(scene.interval <= FINE_FOR_HEAT) & (_call_steady_for(scene) >= HEATER_SETTLED)
    there &= ~scene.per_row(scene.has_outdoor_air_inlet)
    own_plenum = scene.per_row(scene.trended("plenum_temp"))
    accuracy = scene.site.accuracy
    of_rise = np.hypot(
        accuracy["discharge_temp"].at_least,
        np.where(own_plenum, accuracy["plenum_temp"].at_least, PLENUM_ABOVE_ZONE),
    )
    relative = np.hypot(of_rise / without_zero(rise), HEATER_TOLERANCE * as_flow / without_zero(implied * rise))
    found = implied / without_zero(_scheduled(scene))
    return daily_median(scene, found, there), daily_median(scene, np.abs(found) * relative, there)


def _call_steady_for(scene: Scene) -> np.ndarray:
    moved = ~(np.abs(np.diff(scene.trend("reheat_position"), prepend=np.nan)) <= 5.0)
    return surely_since(moved, scene.code, scene.first, scene.seconds, scene.interval)


def _series(scene: Scene) -> np.ndarray:
    return scene.per_row(scene.kinds == "series")


def _scheduled(scene: Scene) -> np.ndarray:
    return scene.per_row(scene.scheduled("fan_flow"))


def _at_full_speed(scene: Scene) -> np.ndarray:
    """Rows at which the fan has run for a while, at nearly the highest speed that it had where its speed is trended."""
    speed = scene.trend("fan_speed")
    fast = np.ones(scene.size, dtype=bool)
    if not np.isnan(speed).all():
        there = ~np.isnan(speed)
        top = np.zeros(scene.count)
        np.maximum.at(top, scene.code[there], speed[there])
        fast = ~(speed < (1.0 - FAN_BALANCING / 2) * scene.per_row(top))
    return fast & (scene.value("fan_on") > 0.5) & (scene.value("air_steady_for") >= SETTLED)
