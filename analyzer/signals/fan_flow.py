"""How much air a terminal fan moves, against its schedule: as measured, or as the temperatures about it imply.

Three ways, each a figure a day with its own uncertainty; the surest of a day is taken:

measured    the discharge flow, less primary air in a parallel unit
by mixing   fan on, coil off: primary flow over the share of primary air that the three temperatures imply
by heat     fan on, electric heat on: the flow that takes the scheduled heat at the temperature rise seen

The second cannot tell a slow fan from a primary flow sensor that reads low. A variable-speed fan (ECM) is compared
only while its speed signal is at its end: below it less air is meant.
"""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.airside.air import without_zero
from analyzer.signals.days import daily_median, median_of_days
from analyzer.signals.flow_by_mixing import entering_air
from analyzer.signals.mixing import FAN_BALANCING, PLENUM_ABOVE_ZONE, density, fan_rise, variable_speed
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ROUNDING, stepped, surely_since, trailing_mean

# Air and coil have to be as they are for this long before the temperatures show it [s]: a coil's mass, and a sensor.
SETTLED = 1200.0
HEATER_SETTLED = 480.0
# The airs have to lie this far apart, and the smaller part be this large a share, for the mixture to say something.
LEAST_SPREAD = 5.0
LEAST_SHARE = 0.15
# Electric heat at this part of its signal or more, and a rise of this much, say something [%, K].
LEAST_CALL = 45.0
# How much warmer the plenum may be than the zone where it is not trended, against the rise over a heater [K]: with the
# coil off the discharge of units with a fan lies up to 6.5 degF over the mixture of zone and primary air (real trends).
# The middle of that is taken, ± as much.
PLENUM_MAY_BE_ABOVE = 4.0
LEAST_RISE = 4.0
# A call that moves by no more between two samples, and by half of it about its mean, is steady [%].
LARGEST_STEP = 5.0
# A log this fine follows a modulated call [s]; stages may be switched every few minutes, between two of its samples.
FINE_FOR_HEAT, FINE_FOR_STAGES = 300.0, 120.0
# A variable-speed fan is at its highest speed from here on [%], whatever the highest is that was seen. Judgement.
FULL_SPEED = 95.0
# A flow that temperatures imply is taken from so many days, where the log has them. Judgement: a fan that was balanced
# wrong is short on all, and a single morning has its own ways.
LEAST_DAYS = 2
# What electric heat gives against its schedule, by voltage and rounding. Judgement.
HEATER_TOLERANCE = 0.10

_SETTLED_BY = "the trend discharge_flow, or discharge_temp, plenum_temp, primary_temp and primary_flow with fan_flow"


@signal("fraction", settled_by=_SETTLED_BY, whole=True)
def fan_flow_share(scene: Scene) -> np.ndarray:
    """Air that the running fan moves over its scheduled flow, a day: measured, or implied by mixing or heat."""
    return _surest(scene)[0]


@signal("fraction", settled_by=_SETTLED_BY, whole=True)
def fan_flow_share_doubt(scene: Scene) -> np.ndarray:
    """How far the implied share of the fan's scheduled flow can be off; 0 where the flow is measured."""
    return _surest(scene)[1]


@signal("fraction", settled_by="the trend discharge_flow", where_trended=("discharge_flow",))
def fan_flow_measured_share(scene: Scene) -> np.ndarray:
    """Air that the running fan moves over its scheduled flow, as the discharge flow shows it, by day."""
    return scene.once("fan flow measured", lambda: _measured(scene))


@signal(
    "fraction", settled_by="the trends discharge_temp, plenum_temp, reheat_position and a scheduled reheat_capacity"
)
def fan_flow_by_heat_share(scene: Scene) -> np.ndarray:
    """Air that the running fan moves over its scheduled flow, as the rise over the electric heat implies it, by day."""
    return _heat_way(scene)[0]


def _surest(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    def work_out():
        (mixing, mixing_doubt), (heat, heat_doubt) = _mixing_way(scene), _heat_way(scene)
        by_heat = ~np.isnan(heat) & ~(mixing_doubt <= heat_doubt)
        share, doubt = np.where(by_heat, heat, mixing), np.where(by_heat, heat_doubt, mixing_doubt)
        share = np.where(scene.per_row(_days_known(scene, share) >= min(LEAST_DAYS, scene.days)), share, np.nan)
        if not scene.trended("discharge_flow").any():
            return share, doubt
        measured = scene.value("fan_flow_measured_share")
        return np.where(np.isnan(measured), share, measured), np.where(np.isnan(measured), doubt, 0.0)

    return scene.once("fan flow, the surest", work_out)


def _days_known(scene: Scene, values: np.ndarray) -> np.ndarray:
    """Count for each terminal the days on which something is known."""
    known = np.zeros(scene.count * scene.days, dtype=bool)
    known[scene.group_of_day[~np.isnan(values)]] = True
    return known.reshape(scene.count, scene.days).sum(axis=1)


def _mixing_way(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    return scene.once("fan flow by mixing", lambda: _of_part(scene, _has_what_it_takes(scene), _by_mixing))


def _heat_way(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    electric = _has_what_it_takes(scene) & (scene.words("reheat") == "electric") & scene.trended("reheat_position")
    return scene.once("fan flow by heat", lambda: _of_part(scene, electric, _by_heat))


def _has_what_it_takes(scene: Scene) -> np.ndarray:
    """Tell which terminals have a fan whose air is nothing but primary and plenum air, and the discharge trended."""
    with_fan = (scene.kinds != "single-duct") & ~np.isnan(scene.scheduled("fan_flow"))
    return with_fan & ~scene.has_outdoor_air_inlet & scene.trended("discharge_temp")


def _of_part(scene: Scene, terminals: np.ndarray, way) -> tuple[np.ndarray, np.ndarray]:
    at = scene.part(terminals)
    share, doubt = way(at)
    return scene.lay(at, share), scene.lay(at, doubt)


def _measured(scene: Scene) -> np.ndarray:
    flow = scene.trend("discharge_flow")
    rows = np.flatnonzero(_at_full_speed(scene) & ~np.isnan(flow))
    series, scheduled = _of_terminals(scene, rows)
    fan = flow[rows] - np.where(series, 0.0, scene.value("primary_air")[rows])
    return daily_median(scene, fan / without_zero(scheduled), rows)


def _by_mixing(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    if not scene.size:
        return np.empty(0), np.empty(0)
    coil_off = (scene.value("reheat_shut_for") >= SETTLED) | scene.per_row(~scene.has_reheat)
    rows = np.flatnonzero(_at_full_speed(scene) & coil_off & (scene.value("primary_air") > 0))
    series, scheduled = _of_terminals(scene, rows)
    primary = scene.value("primary_air")[rows]
    primary_temp, of_primary = entering_air(scene, rows)
    induced_temp, discharge = scene.value("induced_temp")[rows], scene.trend("discharge_temp")[rows]
    share = airside.primary_share(
        discharge_temp=discharge, primary_temp=primary_temp, plenum_temp=induced_temp, fan_rise=fan_rise(scene)
    )
    fan_part = np.where(series, 1.0, 1.0 - share)
    cold = np.abs(induced_temp - primary_temp) >= LEAST_SPREAD
    # Of a day whose primary air is next to none, those moments would be taken at which sensors make it look like more.
    usual = median_of_days(scene, np.where(cold, share, np.nan), rows)[scene.group_of_day[rows]]
    tells = cold & (share >= LEAST_SHARE) & (fan_part >= LEAST_SHARE) & (usual >= LEAST_SHARE)
    found = np.where(tells, primary * fan_part / without_zero(share * scheduled), np.nan)
    doubt = _share_doubt(scene, rows, share, (primary_temp, of_primary), induced_temp)
    of_flow = scene.site.accuracy["primary_flow"].of(primary) / primary
    # d(Qf)/Qf for a small change of the share: -dx/x in a series unit, -dx / (x (1 - x)) in a parallel one.
    relative = np.hypot(doubt / without_zero(share * fan_part), of_flow)
    return daily_median(scene, found, rows), daily_median(scene, found * relative, rows)


def _share_doubt(scene: Scene, rows, share, primary, induced_temp) -> np.ndarray:
    accuracy, (primary_temp, of_primary) = scene.site.accuracy, primary
    own_plenum = scene.trended("plenum_temp")[scene.code[rows]]
    return airside.primary_share_uncertainty(
        share=share,
        primary_temp=primary_temp,
        plenum_temp=induced_temp,
        discharge_accuracy=accuracy["discharge_temp"].at_least,
        primary_accuracy=of_primary,
        plenum_accuracy=np.where(own_plenum, accuracy["plenum_temp"].at_least, PLENUM_ABOVE_ZONE),
        fan_rise_accuracy=fan_rise(scene) / 2,
    )


def _by_heat(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    if not scene.size:
        return np.empty(0), np.empty(0)
    # A slower log cannot tell a steady call from one that came and went.
    fine = np.where(scene.value("reheat_modulates") > 0.5, FINE_FOR_HEAT, FINE_FOR_STAGES)
    there = (scene.per_row(scene.interval) <= fine) & _at_full_speed(scene)
    rows = np.flatnonzero(there & (scene.trend("reheat_position") >= LEAST_CALL) & _call_is_steady(scene))
    series, scheduled = _of_terminals(scene, rows)
    primary, primary_temp = scene.value("primary_air")[rows], scene.value("primary_temp")[rows]
    induced_temp, discharge = scene.value("induced_temp")[rows], scene.trend("discharge_temp")[rows]
    heat = scene.scheduled("reheat_capacity")[scene.code[rows]] * scene.trend("reheat_position")[rows] * 0.01
    as_flow = airside.flow_for_heat(heat=heat, temperature_difference=1.0, density=density(scene))  # L/s at 1 K
    own_plenum = scene.trended("plenum_temp")[scene.code[rows]]
    induced_temp = induced_temp + np.where(own_plenum, 0.0, PLENUM_MAY_BE_ABOVE / 2)
    rise = discharge - induced_temp - fan_rise(scene)
    rise = np.where(rise >= LEAST_RISE, rise, np.nan)
    warmed = np.where(series, induced_temp, discharge) - primary_temp
    implied = (as_flow - np.where(primary > 0, primary * warmed, 0.0)) / rise
    accuracy = scene.site.accuracy
    of_plenum = np.where(own_plenum, accuracy["plenum_temp"].at_least, PLENUM_MAY_BE_ABOVE / 2)
    of_rise = np.hypot(accuracy["discharge_temp"].at_least, of_plenum)
    relative = np.hypot(of_rise / rise, HEATER_TOLERANCE * as_flow / without_zero(implied * rise))
    found = implied / without_zero(scheduled)
    return daily_median(scene, found, rows), daily_median(scene, np.abs(found) * relative, rows)


def _of_terminals(scene: Scene, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Tell for each of the rows whether its terminal is a series unit, and its scheduled fan flow [L/s]."""
    code = scene.code[rows]
    return (scene.kinds == "series")[code], scene.scheduled("fan_flow")[code]


def _call_is_steady(scene: Scene) -> np.ndarray:
    """Tell where the call has neither stepped nor drifted for as long as the heater takes to settle."""
    call = scene.trend("reheat_position")
    moved = ~(np.abs(stepped(call, scene.first)) <= LARGEST_STEP)
    still = surely_since(moved, scene.first, scene.seconds, scene.interval) >= HEATER_SETTLED
    since = scene.past(HEATER_SETTLED)
    return still & (np.abs(call - trailing_mean(call, scene.hours, since, 0.0)) <= LARGEST_STEP / 2 + ROUNDING)


def _at_full_speed(scene: Scene) -> np.ndarray:
    """Rows at which the fan has run for a while at the speed at which it should move its scheduled flow."""
    return scene.once("fan at full speed", lambda: _find_full_speed(scene))


def _find_full_speed(scene: Scene) -> np.ndarray:
    steady = (scene.value("fan_on") > 0.5) & (scene.value("air_steady_for") >= SETTLED)
    varies, speed = scene.per_row(variable_speed(scene)), scene.trend("fan_speed")
    if not scene.trended("fan_speed").any():
        return steady & ~varies
    top = np.fmax(scene.reduce(np.fmax, speed, np.nan), 0.0)
    as_set = ~(speed < scene.per_row((1.0 - FAN_BALANCING / 2) * top))
    return steady & np.where(varies, speed >= FULL_SPEED, as_set)
