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

from dataclasses import dataclass

import numpy as np

from analyzer import airside
from analyzer.airside.air import without_zero
from analyzer.signals.agreed import agreed, shown
from analyzer.signals.days import LEAST_HOURS, median_of_days, per_row_of_day
from analyzer.signals.grouped import Groups, grouped_median, median_of_known
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ROUNDING, since_change, stepped

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
LEVEL = "flow level"
# What the terminals of an air handler share is taken from so many or more.
LEAST_SHARING = 5
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
# A comparison that can be off by more than this share cannot say that there is no drift: twice what the rule allows.
MOST_DOUBT = 0.30
# Scatter of one stable reading about its curve, samples of an hour being taken as one (they are not independent).
SCATTER = 0.05


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position", whole=True)
def drift_at_full_damper(scene: Scene, *, full_damper: float) -> np.ndarray:
    """Reading at full damper against the balanced maximum, by day, as a share."""
    return per_row_of_day(scene, _full_damper(scene, full_damper)["drift"])


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position", whole=True)
def drift_at_full_damper_uncertainty(scene: Scene, *, full_damper: float) -> np.ndarray:
    """How far the comparison at full damper can be off, as a share."""
    return per_row_of_day(scene, _full_damper(scene, full_damper)["uncertainty"])


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position", whole=True)
def drift_by_damper_curve(scene: Scene) -> np.ndarray:
    """Reading against what the same damper position read in the first days, by day, as a share."""
    return per_row_of_day(scene, _damper_curve(scene)["drift"])


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position", whole=True)
def drift_by_damper_curve_uncertainty(scene: Scene) -> np.ndarray:
    """How far the comparison along the damper curve can be off, as a share."""
    return per_row_of_day(scene, _damper_curve(scene)["uncertainty"])


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position", whole=True)
def drift_at_zero(scene: Scene) -> np.ndarray:
    """Reading without flow (damper shut, or air handler off), by day, as a share of the balanced maximum."""
    return per_row_of_day(scene, _zero(scene)["drift"])


@signal("fraction", needs=("primary_flow", "damper_position"), settled_by="the trend damper_position", whole=True)
def drift_at_zero_uncertainty(scene: Scene) -> np.ndarray:
    """How far the reading without flow may lie from zero for a damper that leaks, as a share."""
    return per_row_of_day(scene, _zero(scene)["uncertainty"])


@signal(
    "fraction",
    needs=("primary_flow", "discharge_temp", "plenum_temp"),
    settled_by="the trends discharge_temp and plenum_temp",
    whole=True,
)
def drift_by_mixing(scene: Scene) -> np.ndarray:
    """Reading against the primary flow that the mixing temperatures of a series unit imply, by day, as a share."""
    return per_row_of_day(scene, _mixing(scene)["drift"])


@signal(
    "fraction",
    needs=("primary_flow", "discharge_temp", "plenum_temp"),
    settled_by="the trends discharge_temp and plenum_temp",
    whole=True,
)
def drift_by_mixing_uncertainty(scene: Scene) -> np.ndarray:
    """How far the comparison by mixing temperatures can be off, as a share."""
    return per_row_of_day(scene, _mixing(scene)["uncertainty"])


@signal("fraction", needs=("primary_flow",), settled_by="the trend damper_position", whole=True)
def flow_drift(scene: Scene, *, full_damper: float) -> np.ndarray:
    """What the ways together make of the drift, by day, as a share: 0 where none sees more than its own uncertainty.

    Of those that do, the mean, each weighted by its certainty. A way that sees nothing is left out where another does:
    the damper curve cannot see a bias that was there from the start. Where the mixing temperatures deny what the damper
    position says, the air is short and not its reading: that is left out too. A way that sees nothing, and would see
    nothing of a large drift either, says nothing: where there is no other the drift is unknown.
    """
    return per_row_of_day(scene, _together(scene, full_damper)["drift"])


@signal("fraction", needs=("primary_flow",), settled_by="the trend damper_position", whole=True)
def flow_drift_uncertainty(scene: Scene, *, full_damper: float) -> np.ndarray:
    """How far the drift can be off, as a share, from the uncertainties of the ways that it is the mean of."""
    return per_row_of_day(scene, _together(scene, full_damper)["uncertainty"])


def _together(scene: Scene, full_damper: float) -> dict[str, np.ndarray]:
    return scene.once(("drift", full_damper), lambda: _weigh(scene, full_damper))


def _weigh(scene: Scene, full_damper: float) -> dict[str, np.ndarray]:
    by_damper = [_unless_mixing_denies(scene, way) for way in (_full_damper(scene, full_damper), _damper_curve(scene))]
    ways = *by_damper, _zero(scene), _mixing(scene)
    drift = np.stack([way["drift"] for way in ways])
    doubt = np.stack([way["uncertainty"] for way in ways])
    drift = np.where((doubt > MOST_DOUBT) & (np.abs(drift) <= doubt), np.nan, drift)
    weight = np.where(np.abs(drift) > doubt, 1.0 / np.square(doubt), 0.0)
    total = weight.sum(axis=0)
    mean = np.divide((np.nan_to_num(drift) * weight).sum(axis=0), total, out=np.zeros(total.shape), where=total > 0)
    return {
        "drift": np.where(np.isnan(drift).all(axis=0), np.nan, mean),
        "uncertainty": np.divide(1.0, np.sqrt(total), out=np.full(total.shape, np.nan), where=total > 0),
    }


def _unless_mixing_denies(scene: Scene, way: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Take back what a damper position says where the mixing temperatures, over all days, see no drift."""
    mixing = {name: median_of_known(values.reshape(scene.count, -1)) for name, values in _mixing(scene).items()}
    mixing = {name: np.repeat(values, scene.days) for name, values in mixing.items()}
    apart = np.abs(way["drift"] - mixing["drift"]) > np.hypot(way["uncertainty"], mixing["uncertainty"])
    denied = apart & (np.abs(mixing["drift"]) <= mixing["uncertainty"])
    return {"drift": np.where(denied, 0.0, way["drift"]), "uncertainty": way["uncertainty"]}


# The four ways, a value per terminal and day -----------------------------------------------------------------------


def _full_damper(scene: Scene, full_damper: float) -> dict[str, np.ndarray]:
    return scene.once(("full damper", full_damper), lambda: _compare_at_full_damper(scene, full_damper))


def _compare_at_full_damper(scene: Scene, full_damper: float) -> dict[str, np.ndarray]:
    flow, balanced = scene.trend("primary_flow"), _balanced_maximum(scene)
    there = (scene.trend("damper_position") >= full_damper) & (flow > LEAST_FLOW) & ~_fan_is_off(scene)
    rows = np.flatnonzero(there & scene.per_row(~np.isnan(balanced)))
    pressure = _pressure_ratio(scene)[rows]
    known = ~np.isnan(pressure)
    ratio = flow[rows] / balanced[scene.code[rows]] / np.sqrt(np.where(known, pressure, 1.0))
    drift = median_of_days(scene, ratio - 1.0, rows)
    unknown = median_of_days(scene, (~known).astype(float), rows)
    balancing = np.where(drift > 0, SPARE, BALANCING)
    return {"drift": drift, "uncertainty": np.hypot(balancing, UNKNOWN_PRESSURE * unknown)}


def _balanced_maximum(scene: Scene) -> np.ndarray:
    """The balanced maximum of each terminal, else its scheduled one [L/s]."""
    balanced = scene.scheduled("balanced_max")
    return np.where(np.isnan(balanced), scene.scheduled("primary_max"), balanced)


def _fan_is_off(scene: Scene) -> np.ndarray:
    """Tell at which rows the air handler's fan is known to be off."""
    return scene.of_air_handlers("its fan is off", lambda scene: scene.joined("supply_fan_status") < 0.5)


def _zero(scene: Scene) -> dict[str, np.ndarray]:
    return scene.once("zero", lambda: _compare_at_zero(scene))


def _compare_at_zero(scene: Scene) -> dict[str, np.ndarray]:
    flows = ~((scene.trend("damper_position") <= SHUT) | _fan_is_off(scene))
    rows = np.flatnonzero(since_change(flows, scene.first, scene.seconds) >= AT_REST_FOR)
    reading = scene.trend("primary_flow")[rows] / _balanced_maximum(scene)[scene.code[rows]]
    drift = median_of_days(scene, reading, rows)
    return {"drift": drift, "uncertainty": np.full(scene.groups, LEAKAGE)}


def _pressure_ratio(scene: Scene) -> np.ndarray:
    """Duct static pressure of the air handler over its usual value while it runs; NaN where it is not trended."""

    def work_out(scene):
        pressure, axes = scene.joined("duct_static_pressure"), scene.air_handler_axes
        rows = np.flatnonzero(pressure > 10.0)
        count = len(axes.terminal)
        axis = np.repeat(np.arange(count), np.diff(axes.first))
        usual = grouped_median(pressure[rows], axis[rows], count)
        ratio = np.full(len(pressure), np.nan)
        ratio[rows] = pressure[rows] / usual[axis[rows]]
        return ratio

    return scene.of_air_handlers("pressure ratio", work_out)


def _damper_curve(scene: Scene) -> dict[str, np.ndarray]:
    return scene.once("damper curve", lambda: _compare_along_damper_curve(scene))


def _compare_along_damper_curve(scene: Scene) -> dict[str, np.ndarray]:
    levels = _day_levels(scene)
    shared = np.nan_to_num(agreed(scene, LEVEL)).reshape(-1)
    day_level = levels.level - np.where(levels.pressure_unknown, shared, 0.0)
    return _against_first_days(scene, day_level, levels.shape, levels.hours, levels.slope_doubt)


@shown(LEVEL, least=LEAST_SHARING)
def _level_by_air_handler(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """The level of each day against the terminal's own usual one; those of no known air handler are taken together."""
    by_day = _day_levels(scene).level.reshape(scene.count, -1)
    return scene.words("air_handler").astype(str), by_day - median_of_known(by_day)[:, None]


@dataclass(frozen=True)
class DayLevels:
    """What each terminal's flow was of a day, its damper curve taken out; arrays over terminals and days.

    ``level`` is the mean logarithm of the flow less the curve, ``shape`` the mean of the curve's two shapes, ``hours``
    what they rest on, ``pressure_unknown`` whether static pressure could not be taken out; ``slope_doubt`` is how far
    the curve's two slopes can be off, one per terminal.
    """

    level: np.ndarray
    shape: list[np.ndarray]
    hours: np.ndarray
    pressure_unknown: np.ndarray
    slope_doubt: np.ndarray


def _day_levels(scene: Scene) -> DayLevels:
    return scene.once(LEVEL, lambda: _along_damper_curve(scene))


def _along_damper_curve(scene: Scene) -> DayLevels:
    flow, damper = scene.trend("primary_flow"), scene.trend("damper_position")
    there = (flow > LEAST_FLOW) & (damper >= 5.0) & (np.abs(stepped(damper, scene.first)) <= 3.0)
    rows = np.flatnonzero(there & ~_fan_is_off(scene))
    opening, pressure = damper[rows] / 100.0, _pressure_ratio(scene)[rows]
    without_pressure = np.isnan(pressure)
    shape = np.log(opening), opening
    level = np.log(flow[rows] / np.sqrt(np.where(without_pressure, 1.0, pressure)))
    terminals, days = Groups(scene.code[rows], scene.count), Groups(scene.group_of_day[rows], scene.groups)
    weight = scene.hours[rows]
    hours = days.sum(weight)
    seen = np.where(hours > 0, hours, np.nan)
    day_level, *day_shape = (days.mean(column, weight, seen) for column in (level, *shape))
    within = [column - days.spread(mean) for column, mean in zip((level, *shape), (day_level, *day_shape), strict=True)]
    slope, slope_doubt = _fit_within_days(terminals, within[0], within[1], within[2], weight)
    # The mean of what the curve leaves over is the day's level less the curve at the day's mean shape.
    day_level = day_level - sum(np.repeat(of, scene.days) * mean for of, mean in zip(slope, day_shape, strict=True))
    day_level = np.where(hours >= LEAST_HOURS - ROUNDING, day_level, np.nan)
    return DayLevels(day_level, day_shape, hours, days.mean(without_pressure, weight, seen) > 0.5, slope_doubt)


def _fit_within_days(terminals: Groups, level, logarithm, opening, weight) -> tuple[np.ndarray, np.ndarray]:
    """Fit each terminal's damper curve to what the damper did within days, so that a drift over days stays out of it.

    Takes the level of the flow and the damper's two shapes, each less its mean of the day. Returns the two slopes and
    their uncertainty, each (2, terminals): least squares drawn towards ``CURVE_START``.
    """
    pull = (SCATTER / CURVE_SPREAD) ** 2
    by_log, by_opening = logarithm * weight, opening * weight
    a, b = terminals.sum(logarithm * by_log) + pull, terminals.sum(opening * by_log)
    d = terminals.sum(opening * by_opening) + pull
    e = terminals.sum(level * by_log) + pull * CURVE_START[0]
    f = terminals.sum(level * by_opening) + pull * CURVE_START[1]
    determinant = a * d - b * b
    slope = np.stack([(d * e - b * f) / determinant, (a * f - b * e) / determinant])
    return slope, SCATTER * np.sqrt(np.stack([d, a]) / determinant)


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
    rows = np.flatnonzero(_mixes_alone(scene))
    flow, discharge, plenum = (scene.trend(name)[rows] for name in ("primary_flow", "discharge_temp", "plenum_temp"))
    primary = scene.value("primary_temp")[rows]
    rise = airside.fan_temp_rise()
    share = airside.primary_share(discharge_temp=discharge, primary_temp=primary, plenum_temp=plenum, fan_rise=rise)
    tells = (np.abs(plenum - primary) >= LEAST_SPREAD) & (share >= LEAST_SHARE) & (flow > LEAST_FLOW)
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
    measured, fan = scene.trend("discharge_flow")[rows], scene.scheduled("fan_flow")[scene.code[rows]]
    implied = share * np.where(np.isnan(measured), fan, measured)
    drift = median_of_days(scene, np.where(tells, flow / without_zero(implied) - 1.0, np.nan), rows)
    of_share = median_of_days(scene, np.where(tells, doubt / without_zero(share), np.nan), rows)
    return {"drift": drift, "uncertainty": np.hypot(of_share, BALANCING)}


def _mixes_alone(scene: Scene) -> np.ndarray:
    """Tell at which rows the discharge of a series unit is primary and plenum air and nothing else."""
    able = (scene.kinds == "series") & scene.trended("discharge_temp") & scene.trended("plenum_temp")
    at = scene.part(able)
    if not at.size:
        return np.zeros(scene.size, dtype=bool)
    heats = ~(at.trend("reheat_position") <= 2.0)
    coil_off = (since_change(heats, at.first, at.seconds) >= COIL_OFF_FOR) | at.per_row(~at.has_reheat)
    # Air from a dedicated inlet joins the mixture at a temperature that no trend tells.
    without_inlet = at.per_row(~at.has_outdoor_air_inlet) | (at.trend("outdoor_air_flow") < 1.0)
    return scene.lay(at, coil_off & without_inlet & (at.trend("fan_status") > 0.5), False)
