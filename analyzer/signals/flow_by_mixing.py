"""The primary flow of a series unit that its temperatures imply, the coil off: share of primary air times fan flow."""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.airside.air import without_zero
from analyzer.signals.days import median_of_days
from analyzer.signals.grouped import Groups, least_of
from analyzer.signals.in_force import own_primary_temp
from analyzer.signals.scene import Scene
from analyzer.signals.windows import since_change

# Coil off for this long before the discharge shows mixing alone [s]: a coil's mass and a leaking minute of travel.
COIL_OFF_FOR = 1200.0
COIL_OFF = 2.0  # [%]
# The airs have to lie this far apart for their mixture to say something [K], and the share be this large.
LEAST_SPREAD = 5.0
LEAST_SHARE = 0.15
# A discharge that may be primary air to this share may be all of it, and more of it may spill. Judgement.
NEARLY_ALL = 0.95
# Primary air arrives warmer than the unit's supply air by this much, and more or less by that [K]: 0.9 to 3.6 degF
# with the coil off in trends of real buildings.
DUCT_GAIN, DUCT_GAIN_DOUBT = 1.25, 0.75
# How well the flow of a balanced fan is known: the usual contract tolerance of balancing.
BALANCED = 0.10
# A fan whose speed signal stands under this all the time moves a part of its scheduled flow that nobody tells [%].
# Judgement.
FULL_SPEED = 95.0
# A flow is large from this share of the largest that tells anything on, and small up to that; so many hours of each
# tell a sensor from a leak [h], by so much more warmth at the large flow [K], and this share of what a gain makes.
# Judgement: a discharge sensor's offset is the same at both, those of the two airs differ by a third of it.
LARGE, SMALL, LEAST_HOURS_EACH, SURELY_WARMER, LIKE_GAIN = 0.8, 0.6, 3.0, 0.7, 0.6
# A fan that moves less than this share of its schedule, by the heat of its coil, is slow. Judgement: balancing and
# heater.
SLOW_FAN = 0.85
# A fan whose speed signal moves by more within the log is variable [%].
STEADY_SPEED = 5.0


def mixing_of_days(scene: Scene) -> dict[str, np.ndarray]:
    """Reading against what the mixing temperatures imply, and how far that may be off; by day, as shares."""
    return scene.once("flow by mixing", lambda: _compare(scene))


def _compare(scene: Scene) -> dict[str, np.ndarray]:
    rows = np.flatnonzero(_mixes_alone(scene))
    flow, discharge, plenum = (scene.trend(name)[rows] for name in ("primary_flow", "discharge_temp", "plenum_temp"))
    primary, of_primary = entering_air(scene, rows)
    rise = airside.fan_temp_rise()
    share = airside.primary_share(discharge_temp=discharge, primary_temp=primary, plenum_temp=plenum, fan_rise=rise)
    accuracy = scene.site.accuracy
    doubt = airside.primary_share_uncertainty(
        share=share,
        primary_temp=primary,
        plenum_temp=plenum,
        discharge_accuracy=accuracy["discharge_temp"].of(discharge),
        primary_accuracy=of_primary,
        plenum_accuracy=accuracy["plenum_temp"].of(plenum),
        fan_rise_accuracy=rise / 2,
    )
    least, most, of_fan = _fan(scene, rows)
    tells = _tells(scene, rows, plenum - primary, share)
    flow = np.where(tells, np.maximum(flow, 0.0), np.nan)
    highest, lowest = flow / without_zero(share * least), flow / without_zero(share * most)
    # Primary air beyond what the fan moves goes out by the plenum inlet, and the mixture does not show it.
    flow = np.where((share + doubt >= NEARLY_ALL) & (lowest > 1.0), np.nan, flow)
    highest, lowest = flow / without_zero(share * least), flow / without_zero(share * most)
    # Of all that the fan may move, what speaks most for the reading.
    ratio = np.clip(1.0, lowest, highest)
    # d(ratio) for small errors of the share and the fan's flow; a reading of nothing is nothing whatever they are.
    uncertainty = np.maximum(ratio, 0.1) * np.hypot(doubt / without_zero(share), of_fan)
    uncertainty = np.where(ratio == 1.0, np.hypot(uncertainty, (highest - lowest) / 2), uncertainty)
    drift = median_of_days(scene, ratio - 1.0, rows)
    uncertainty = median_of_days(scene, np.where(np.isnan(ratio), np.nan, uncertainty), rows)
    by_reading = flow / np.where(least == most, without_zero(least), np.nan)
    no_leak = _is_no_leak(scene, rows, by_reading, np.where(tells, share, np.nan), plenum - primary)
    may_leak = np.repeat(_may_leak(scene) & ~no_leak, scene.days) & (drift > uncertainty)
    fan_is_slow = np.repeat(_fan_is_slow(scene), scene.days) & (drift < -uncertainty)
    return {"drift": np.where(may_leak | fan_is_slow, np.nan, drift), "uncertainty": uncertainty}


def _tells(scene: Scene, rows: np.ndarray, apart: np.ndarray, share: np.ndarray) -> np.ndarray:
    """Tell at which rows the share says something: cold primary air, and enough of it for most of the day.

    The supply sensor of an air handler that rests reads warm air that reaches no terminal; and minutes of a start say
    nothing of a day on which the discharge is the plenum's.
    """
    cold = apart >= LEAST_SPREAD
    usual = median_of_days(scene, np.where(cold, share, np.nan), rows)
    return cold & (share >= LEAST_SHARE) & (usual >= LEAST_SHARE)[scene.group_of_day[rows]]


def _fan_is_slow(scene: Scene) -> np.ndarray:
    """Tell which fans are shown by their electric heat to move less than scheduled: that looks like a low reading."""
    return scene.reduce(np.fmax, scene.value("fan_flow_by_heat_share"), np.nan) < SLOW_FAN


def _may_leak(scene: Scene) -> np.ndarray:
    """Tell which terminals have a coil that may leak by: its warmth looks like less primary air than is read."""
    return scene.has_reheat & (scene.words("reheat") != "electric")


def _is_no_leak(
    scene: Scene, rows: np.ndarray, by_reading: np.ndarray, share: np.ndarray, apart: np.ndarray
) -> np.ndarray:
    """Tell which terminals' missing cold is a sensor's that reads high, and not a leaking coil's; one a terminal.

    What the discharge is too warm for the reading [K] is the same at a large and a small flow where a coil leaks, since
    the fan moves the same air over it; where the sensor reads high it grows with the flow.
    """
    too_warm = np.where(share < 1.0, (by_reading - share) * apart, np.nan)
    known = ~np.isnan(too_warm)
    code, at, warm = scene.code[rows[known]], by_reading[known], too_warm[known]
    groups = Groups(code, scene.count)
    most = groups.spread(-least_of(-at, code, scene.count))
    large, small = at >= LARGE * most, at <= SMALL * most
    flows, warmer, hours = [], [], []
    for part in (large, small):
        own = Groups(code[part], scene.count)
        flows.append(own.median(at[part]))
        warmer.append(own.median(warm[part]))
        hours.append(own.sum(scene.hours[rows[known]][part]))
    by_gain = warmer[0] * (1.0 - flows[1] / flows[0])
    grows = warmer[0] - warmer[1]
    return (np.minimum(*hours) >= LEAST_HOURS_EACH) & (grows >= LIKE_GAIN * by_gain) & (grows >= SURELY_WARMER)


def entering_air(scene: Scene, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Temperature of the primary air as it arrives, and how far it may be off [degC, K]: its own sensor's, else with
    the gain of the duct.
    """
    own = own_primary_temp(scene)[scene.code[rows]]
    entering, accuracy = scene.value("primary_temp")[rows], scene.site.accuracy
    of_supply = np.hypot(accuracy["supply_temp"].of(entering), DUCT_GAIN_DOUBT)
    return np.where(own, entering, entering + DUCT_GAIN), np.where(
        own, accuracy["primary_temp"].of(entering), of_supply
    )


def _fan(scene: Scene, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Least and most flow that the fan may have [L/s], and how far either may be off, as a share.

    A variable fan moves no less than in proportion to its signal, and no more than scheduled: against the pressure of
    the duct behind it flow falls by less than the signal. Judgement. Unknown without its speed.
    """
    code, speed = scene.code[rows], scene.trend("fan_speed")[rows]
    scheduled, measured = scene.scheduled("fan_flow")[code], scene.trend("discharge_flow")[rows]
    variable, is_measured = _is_variable(scene)[code], ~np.isnan(measured)
    least = np.where(is_measured, measured, np.where(variable, scheduled * speed / 100.0, scheduled))
    most = np.where(is_measured, measured, np.where(variable & np.isnan(speed), np.nan, scheduled))
    of_measured = scene.site.accuracy["discharge_flow"].of(measured) / without_zero(measured)
    return least, most, np.where(is_measured, of_measured, BALANCED)


def _is_variable(scene: Scene) -> np.ndarray:
    """Tell which fans are variable: as scheduled, else by a speed signal that moves, or never comes near 100 %."""
    speed = scene.trend("fan_speed")
    runs = np.where(speed > 0, speed, np.nan)
    most, least = scene.reduce(np.fmax, runs, np.nan), scene.reduce(np.fmin, runs, np.nan)
    scheduled = scene.in_whole(_fan_control)
    return (scheduled == "variable") | ((scheduled == "") & ((most - least > STEADY_SPEED) | (most < FULL_SPEED)))


def _fan_control(scene: Scene) -> np.ndarray:
    """As scheduled; empty where the schedule has no such column."""
    return scene.words("fan_control") if "fan_control" in scene.schedule else np.full(scene.count, "")


def _mixes_alone(scene: Scene) -> np.ndarray:
    """Tell at which rows the discharge of a series unit is primary and plenum air and nothing else."""
    able = (scene.kinds == "series") & scene.trended("discharge_temp") & scene.trended("plenum_temp")
    at = scene.part(able)
    if not at.size:
        return np.zeros(scene.size, dtype=bool)
    heats = ~(at.trend("reheat_position") <= COIL_OFF)
    coil_off = (since_change(heats, at.first, at.seconds) >= COIL_OFF_FOR) | at.per_row(~at.has_reheat)
    # Air from a dedicated inlet joins the mixture at a temperature that no trend tells.
    without_inlet = at.per_row(~at.has_outdoor_air_inlet) | (at.trend("outdoor_air_flow") < 1.0)
    runs = (at.value("fan_on") > 0.5) & (at.value("air_available") > 0.5)
    return scene.lay(at, coil_off & without_inlet & runs, False)
