"""Four ways of seeing that an inlet flow sensor has drifted, each with its own uncertainty.

Each compares the reading with something that does not depend on it, a day at a time, and tells by what share the
reading lies above (+) or below (-) it:

at full damper      the balanced maximum, in proportion to the root of duct static pressure where that is trended
by damper curve     what the same damper position read in the first days, static pressure (or what all terminals of
                    the air handler share) taken out: it sees a change, not a bias that was there from the start
at zero             what it reads where there is no flow: damper shut, or the air handler off; as a share of the maximum
by mixing           for series units, the primary flow that discharge, primary and plenum temperature imply while the
                    coil is off, the fan's flow being known

An obstruction in the duct looks the same as a low reading to the first two; the mixing can tell them apart.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer import airside
from analyzer.airside.air import without_zero
from analyzer.signals.days import LEAST_HOURS, median_of_days
from analyzer.signals.scene import Scene, signal
from analyzer.signals.windows import since_change

# Tolerance of a balancing report, as a share of the flow: ASHRAE 111 and the balancers' own procedural standards, from
# memory.
BALANCING = 0.10
# What duct static pressure can add where it is not trended: the flow goes with its root. Judgement: +-20 % of pressure.
UNKNOWN_PRESSURE = 0.10
# A terminal that was balanced at its maximum setpoint can take more at full damper: a reading above the balanced
# maximum says little until it is far above. Judgement.
SPARE = 0.35
# What a shut damper may leak, as a share of the maximum: ASHRAE Guideline 36, 5.6.6, alarms past 10 %.
LEAKAGE = 0.10
SHUT = 2.0  # [%]
# Air comes to rest, and a damper arrives, within this time [s]: Guideline 36 waits 10 minutes.
AT_REST_FOR = 600.0
# Of how many first days the reference is made.
REFERENCE_DAYS = 2
# Below this the inlet sensor resolves little, and a share of it means nothing [L/s].
LEAST_FLOW = 10.0
# Coil off for this long before the discharge shows mixing alone [s]: a coil's mass and a leaking minute of travel.
COIL_OFF_FOR = 1200.0
# The airs have to lie this far apart for their mixture to say something [K].
LEAST_SPREAD = 5.0
LEAST_SHARE = 0.15
# A damper's share of opening works on the flow somewhat as its logarithm and itself; this is where the fit starts from,
# and how far it may stray, where the days themselves say little. Judgement, from inherent curves of round dampers.
CURVE_START = (1.0, 0.5)
CURVE_SPREAD = 0.5
# A day whose damper stood so many times further open, or further shut, than in the first days is not compared with
# them: the curve between is a guess. Judgement.
FURTHEST_APART = 3.0
# Scatter of one stable reading about its curve, samples of an hour being taken as one (they are not independent).
SCATTER = 0.05


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position")
def drift_at_full_damper(scene: Scene, *, full_damper: float) -> np.ndarray:
    """Reading at full damper against the balanced maximum, by day, as a share."""
    return _per_row(scene, _full_damper(scene, full_damper)["drift"])


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position")
def drift_at_full_damper_uncertainty(scene: Scene, *, full_damper: float) -> np.ndarray:
    """How far the comparison at full damper can be off, as a share."""
    return _per_row(scene, _full_damper(scene, full_damper)["uncertainty"])


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position")
def drift_by_damper_curve(scene: Scene) -> np.ndarray:
    """Reading against what the same damper position read in the first days, by day, as a share."""
    return _per_row(scene, _damper_curve(scene)["drift"])


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position")
def drift_by_damper_curve_uncertainty(scene: Scene) -> np.ndarray:
    """How far the comparison along the damper curve can be off, as a share."""
    return _per_row(scene, _damper_curve(scene)["uncertainty"])


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position")
def drift_at_zero(scene: Scene) -> np.ndarray:
    """Reading without flow (damper shut, or air handler off), by day, as a share of the balanced maximum."""
    return _per_row(scene, _zero(scene)["drift"])


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position")
def drift_at_zero_uncertainty(scene: Scene) -> np.ndarray:
    """How far the reading without flow may lie from zero for a damper that leaks, as a share."""
    return _per_row(scene, _zero(scene)["uncertainty"])


@signal(
    "fraction",
    needs=("primary_flow", "discharge_temp", "plenum_temp"),
    settled_by="the trends discharge_temp and plenum_temp",
)
def drift_by_mixing(scene: Scene) -> np.ndarray:
    """Reading against the primary flow that the mixing temperatures of a series unit imply, by day, as a share."""
    return _per_row(scene, _mixing(scene)["drift"])


@signal(
    "fraction",
    needs=("primary_flow", "discharge_temp", "plenum_temp"),
    settled_by="the trends discharge_temp and plenum_temp",
)
def drift_by_mixing_uncertainty(scene: Scene) -> np.ndarray:
    """How far the comparison by mixing temperatures can be off, as a share."""
    return _per_row(scene, _mixing(scene)["uncertainty"])


@signal("fraction", needs=("primary_flow",), settled_by="the trend damper_position")
def flow_drift(scene: Scene, *, full_damper: float) -> np.ndarray:
    """What the ways together make of the drift, by day, as a share: 0 where none sees more than its own uncertainty.

    Of those that do, the mean, each weighted by its certainty. A way that sees nothing is left out where another does:
    the damper curve cannot see a bias that was there from the start. Where the mixing temperatures deny what the damper
    position says, the air is short and not its reading: that is left out too.
    """
    by_damper = [_unless_mixing_denies(scene, way) for way in (_full_damper(scene, full_damper), _damper_curve(scene))]
    ways = *by_damper, _zero(scene), _mixing(scene)
    drift = np.stack([way["drift"] for way in ways])
    doubt = np.stack([way["uncertainty"] for way in ways])
    weight = np.where(np.abs(drift) > doubt, 1.0 / np.square(doubt), 0.0)
    total = weight.sum(axis=0)
    mean = np.divide((np.nan_to_num(drift) * weight).sum(axis=0), total, out=np.zeros(total.shape), where=total > 0)
    return _per_row(scene, np.where(np.isnan(drift).all(axis=0), np.nan, mean))


def _unless_mixing_denies(scene: Scene, way: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Take back what a damper position says where the mixing temperatures, over all days, see no drift."""
    mixing = {name: _median(values.reshape(scene.count, -1), axis=1) for name, values in _mixing(scene).items()}
    mixing = {name: np.repeat(values, scene.groups // scene.count) for name, values in mixing.items()}
    apart = np.abs(way["drift"] - mixing["drift"]) > np.hypot(way["uncertainty"], mixing["uncertainty"])
    denied = apart & (np.abs(mixing["drift"]) <= mixing["uncertainty"])
    return {"drift": np.where(denied, 0.0, way["drift"]), "uncertainty": way["uncertainty"]}


# The four ways, a value per terminal and day -----------------------------------------------------------------------


def _full_damper(scene: Scene, full_damper: float) -> dict[str, np.ndarray]:
    return scene.once(("full damper", full_damper), lambda: _compare_at_full_damper(scene, full_damper))


def _compare_at_full_damper(scene: Scene, full_damper: float) -> dict[str, np.ndarray]:
    flow, pressure = scene.trend("primary_flow"), _pressure_ratio(scene)
    balanced = _balanced_maximum(scene)
    there = (scene.trend("damper_position") >= full_damper) & (flow > LEAST_FLOW) & ~np.isnan(balanced)
    there &= ~(scene.air_handler("supply_fan_status") < 0.5)
    ratio = flow / balanced / np.sqrt(np.where(np.isnan(pressure), 1.0, pressure))
    drift = _daily_median(scene, ratio - 1.0, there)
    unknown = _daily_median(scene, np.isnan(pressure).astype(float), there)
    balancing = np.where(drift > 0, SPARE, BALANCING)
    return {"drift": drift, "uncertainty": np.hypot(balancing, UNKNOWN_PRESSURE * unknown)}


def _balanced_maximum(scene: Scene) -> np.ndarray:
    balanced = scene.scheduled("balanced_max")
    return scene.per_row(np.where(np.isnan(balanced), scene.scheduled("primary_max"), balanced))


def _zero(scene: Scene) -> dict[str, np.ndarray]:
    return scene.once("zero", lambda: _compare_at_zero(scene))


def _compare_at_zero(scene: Scene) -> dict[str, np.ndarray]:
    shut = scene.trend("damper_position") <= SHUT
    off = scene.air_handler("supply_fan_status") < 0.5
    at_rest = since_change(~(shut | off), scene.code, scene.first, scene.seconds) >= AT_REST_FOR
    drift = _daily_median(scene, scene.trend("primary_flow") / _balanced_maximum(scene), at_rest)
    return {"drift": drift, "uncertainty": np.full(scene.groups, LEAKAGE)}


def _pressure_ratio(scene: Scene) -> np.ndarray:
    """Duct static pressure of the air handler over its usual value while it runs; NaN where it is not trended."""

    def work_out():
        pressure = scene.air_handler("duct_static_pressure")
        running = pressure > 10.0
        usual = pd.Series(pressure[running]).groupby(scene.code[running]).median().reindex(range(scene.count))
        return np.where(running, pressure, np.nan) / scene.per_row(usual.to_numpy())

    return scene.once("pressure ratio", work_out)


def _damper_curve(scene: Scene) -> dict[str, np.ndarray]:
    return scene.once("damper curve", lambda: _compare_along_damper_curve(scene))


def _compare_along_damper_curve(scene: Scene) -> dict[str, np.ndarray]:
    flow, damper, pressure = scene.trend("primary_flow"), scene.trend("damper_position"), _pressure_ratio(scene)
    moved = np.abs(np.diff(damper, prepend=np.nan))
    there = (flow > LEAST_FLOW) & (damper >= 5.0) & (moved <= 3.0)
    there &= ~(scene.air_handler("supply_fan_status") < 0.5)
    rows = np.flatnonzero(there)
    opening = damper[rows] / 100.0
    shape = np.stack([np.log(opening), opening])
    level = np.log(flow[rows]) - 0.5 * np.log(np.where(np.isnan(pressure[rows]), 1.0, pressure[rows]))
    group, weight = scene.group_of_day[rows], scene.hours[rows]
    slope, slope_doubt = _fit_within_days(scene, shape, level, group, weight, scene.code[rows])
    residual = level - (slope[:, scene.code[rows]] * shape).sum(axis=0)
    hours = np.bincount(group, weights=weight, minlength=scene.groups)
    day_level = _grouped_mean(scene, residual, group, weight)
    day_shape = np.stack([_grouped_mean(scene, row, group, weight) for row in shape])
    day_level = np.where(hours >= LEAST_HOURS, day_level, np.nan)
    pressure_unknown = _grouped_mean(scene, np.isnan(pressure[rows]).astype(float), group, weight)
    day_level = day_level - np.where(pressure_unknown > 0.5, _shared_by_air_handler(scene, day_level), 0.0)
    return _against_first_days(scene, day_level, day_shape, hours, slope_doubt)


def _fit_within_days(scene: Scene, shape, level, group, weight, code) -> tuple[np.ndarray, np.ndarray]:
    """Fit each terminal's damper curve to what the damper did within days, so that a drift over days stays out of it.

    Returns the two slopes and their uncertainty, each (2, terminals): least squares drawn towards ``CURVE_START``.
    """
    within = [column - _grouped_mean(scene, column, group, weight)[group] for column in shape]
    level = level - _grouped_mean(scene, level, group, weight)[group]
    pull = (SCATTER / CURVE_SPREAD) ** 2

    def product(a, b):
        return np.bincount(code, weights=a * b * weight, minlength=scene.count)

    a, b, d = product(within[0], within[0]) + pull, product(within[0], within[1]), product(within[1], within[1]) + pull
    e = product(within[0], level) + pull * CURVE_START[0]
    f = product(within[1], level) + pull * CURVE_START[1]
    determinant = a * d - b * b
    slope = np.stack([(d * e - b * f) / determinant, (a * f - b * e) / determinant])
    return slope, SCATTER * np.sqrt(np.stack([d, a]) / determinant)


def _shared_by_air_handler(scene: Scene, day_level: np.ndarray) -> np.ndarray:
    """What all terminals of an air handler share on a day, against their own usual: the median over five or more."""
    by_day = day_level.reshape(scene.count, -1)
    own = by_day - _median(by_day, axis=1)[:, None]
    air_handler, _ = pd.factorize(scene.words("air_handler"))
    table = pd.DataFrame(own).groupby(air_handler)
    shared = table.transform("median").where(table.transform("count") >= 5)
    return np.nan_to_num(shared.to_numpy()).reshape(-1)


def _against_first_days(scene: Scene, day_level, day_shape, hours, slope_doubt) -> dict[str, np.ndarray]:
    level = day_level.reshape(scene.count, -1)
    hours = np.where(np.isnan(level), 0.0, hours.reshape(level.shape))
    seen = np.cumsum(hours > 0, axis=1)
    weight = np.where(seen <= REFERENCE_DAYS, hours, 0.0)
    reference_hours = weight.sum(axis=1)
    safe = np.where(reference_hours > 0, reference_hours, np.nan)

    def away(daily):
        return daily - (np.nan_to_num(daily) * weight).sum(axis=1)[:, None] / safe[:, None]

    drift = np.expm1(away(level))
    travel = [away(row.reshape(level.shape)) for row in day_shape]
    with np.errstate(divide="ignore"):
        scatter = SCATTER * np.sqrt(1 / np.maximum(hours, 1.0) + 1 / np.maximum(safe, 1.0)[:, None])
    doubt = np.sqrt(
        np.square(scatter)
        + sum(np.square(doubt[:, None] * step) for doubt, step in zip(slope_doubt, travel, strict=True))
    )
    later = (seen > REFERENCE_DAYS) & (hours > 0) & (np.abs(travel[0]) <= np.log(FURTHEST_APART))
    return {
        "drift": np.where(later, drift, np.nan).reshape(-1),
        "uncertainty": np.where(later, 2 * doubt, np.nan).reshape(-1),
    }


def _mixing(scene: Scene) -> dict[str, np.ndarray]:
    return scene.once("mixing", lambda: _compare_by_mixing(scene))


def _compare_by_mixing(scene: Scene) -> dict[str, np.ndarray]:
    flow, discharge, plenum = scene.trend("primary_flow"), scene.trend("discharge_temp"), scene.trend("plenum_temp")
    primary, reheat = scene.value("primary_temp"), scene.trend("reheat_position")
    rise = airside.fan_temp_rise()
    share = airside.primary_share(discharge_temp=discharge, primary_temp=primary, plenum_temp=plenum, fan_rise=rise)
    accuracy = scene.site.accuracy
    doubt = airside.primary_share_uncertainty(
        share=share,
        primary_temp=primary,
        plenum_temp=plenum,
        discharge_accuracy=accuracy["discharge_temp"].of(discharge),
        primary_accuracy=accuracy["primary_temp"].of(primary),
        plenum_accuracy=accuracy["plenum_temp"].of(plenum),
        fan_rise_accuracy=rise / 2,
    )
    without_coil = scene.per_row(~scene.has_reheat)
    coil_off = since_change(~(reheat <= 2.0), scene.code, scene.first, scene.seconds) >= COIL_OFF_FOR
    # Air from a dedicated inlet joins the mixture at a temperature that no trend tells.
    without_inlet = scene.per_row(~scene.has_outdoor_air_inlet) | (scene.trend("outdoor_air_flow") < 1.0)
    there = scene.per_row(scene.kinds == "series") & without_inlet & (coil_off | without_coil)
    there &= scene.trend("fan_status") > 0.5
    there &= (np.abs(plenum - primary) >= LEAST_SPREAD) & (share >= LEAST_SHARE) & (flow > LEAST_FLOW)
    measured, fan = scene.trend("discharge_flow"), scene.per_row(scene.scheduled("fan_flow"))
    implied = share * np.where(np.isnan(measured), fan, measured)
    drift = _daily_median(scene, flow / without_zero(implied) - 1.0, there)
    of_share = _daily_median(scene, doubt / without_zero(share), there)
    return {"drift": drift, "uncertainty": np.hypot(of_share, BALANCING)}


# Days -------------------------------------------------------------------------------------------------------------


def _per_row(scene: Scene, daily: np.ndarray) -> np.ndarray:
    return daily[scene.group_of_day]


def _daily_median(scene: Scene, values: np.ndarray, there: np.ndarray) -> np.ndarray:
    rows = np.flatnonzero(there)
    return median_of_days(scene, values[rows], rows)


def _grouped_mean(scene: Scene, values, group, weight) -> np.ndarray:
    total = np.bincount(group, weights=weight, minlength=scene.groups)
    amount = np.bincount(group, weights=values * weight, minlength=scene.groups)
    return np.divide(amount, total, out=np.full(scene.groups, np.nan), where=total > 0)


def _median(values: np.ndarray, axis: int) -> np.ndarray:
    """Median that leaves missing values out, and is missing (without a warning) where all are."""
    return pd.DataFrame(values).median(axis=axis).to_numpy()
