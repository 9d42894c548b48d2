"""Whether an inlet flow sensor has drifted: only on evidence that cannot be short air or an untrue damper position.

Eight ways, each a figure by day with its own uncertainty; each tells by what share the reading lies above (+) or below
(-) what it is held against:

at zero             nothing, with the air handler off (or a damper that is surely shut); as a share of the maximum
air not read        air that moves although the sensor reads next to none
by mixing           for series units, the primary flow that the temperatures imply while the coil is off
by heat             for single-duct terminals, the flow that the coil's heat implies while it holds the zone
by zone             for single-duct terminals that overcool their zone behind an open damper, half of the largest flow
at full damper      the terminal's own flow over the root of duct pressure in its first days: it sees a change
by damper curve     the terminal's own flow at the same damper positions in its first days: it sees a change
above balanced      what balancing measured at full damper, by the root of the two pressures: it sees far too much

The ways stand in the order in which they are believed. A terminal is judged by the first that sees a drift for as
long as the rule asks; the figure that is told is that way's, with its own uncertainty. Low flow at a full damper,
held against the balanced maximum, is a shortage of air (``starved-terminal``) and no way of seeing drift.
"""

from __future__ import annotations

import numpy as np

from analyzer.signals.air_not_read import air_not_read_of_days
from analyzer.signals.damper_curve import curve_of_days
from analyzer.signals.days import per_row_of_day
from analyzer.signals.flow_by_heat import heat_of_days
from analyzer.signals.flow_by_mixing import mixing_of_days
from analyzer.signals.flow_by_zone import zone_of_days
from analyzer.signals.flow_zero import zero_is_right, zero_of_days
from analyzer.signals.full_damper_ratio import above_balanced_of_days, ratio_of_days
from analyzer.signals.grouped import median_of_known
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene

# A drift is seen on so many days, and on this share of the days on which the way tells anything: a single odd day in a
# month is none. Judgement.
LEAST_DAYS, LEAST_SHARE = 2, 0.1

# By the damper curve, and at zero, it is still off on most of so many last days. Judgement.
LAST_DAYS = 3

# Numbers of the ways, as ``drift_way`` tells them; above balanced is 8.
ZERO, NOT_READ, MIXING, HEAT, ZONE, FULL_DAMPER, CURVE = range(1, 8)
# These show on days with a fault only: all days of the log could have shown it.
ON_FAULTY_DAYS = NOT_READ, HEAT, ZONE

# As the limits of flow-sensor-drift stand.
USUAL_DRIFT, USUAL_DOUBT = 0.15, 0.30

_SETTLED_BY = (
    "a night with the air handler off and its supply_fan_status, the air handler's duct_static_pressure, or the trends "
    "discharge_temp and plenum_temp of a series unit"
)


@signal("fraction", needs=("primary_flow",), settled_by=_SETTLED_BY, whole=True)
def flow_drift(scene: Scene, *, full_damper: float, drift_allowed: float, doubt_allowed: float) -> np.ndarray:
    """Drift of the reading by day, as a share: that of the way that the terminal is judged by; 0 where none sees any.

    Unknown on days on which no way tells anything to within ``doubt_allowed``.
    """
    return per_row_of_day(scene, _judged(scene, full_damper, drift_allowed, doubt_allowed)["drift"])


@signal("fraction", needs=("primary_flow",), settled_by=_SETTLED_BY, whole=True)
def flow_drift_uncertainty(
    scene: Scene, *, full_damper: float, drift_allowed: float, doubt_allowed: float
) -> np.ndarray:
    """How far the drift may be off, as a share: of the way that the terminal is judged by."""
    return per_row_of_day(scene, _judged(scene, full_damper, drift_allowed, doubt_allowed)["uncertainty"])


@signal("count", needs=("primary_flow",), settled_by=_SETTLED_BY, whole=True)
def drift_way(scene: Scene, *, full_damper: float, drift_allowed: float, doubt_allowed: float) -> np.ndarray:
    """Which way the terminal is judged by: 1 zero, 2 air not read, 3 mixing, 4 heat, 5 zone, 6 full damper,
    7 damper curve, 8 above balanced; 0 none.
    """
    return scene.per_row(_judged(scene, full_damper, drift_allowed, doubt_allowed)["way"])


@signal("state", needs=("primary_flow",), settled_by=_SETTLED_BY, whole=True)
def reads_low(scene: Scene, *, full_damper: float) -> np.ndarray:
    """Whether the flow sensor was shown to read low by something other than the damper; never unknown.

    By air that moves under a reading of none, by mixing, by heat or by an overcooled zone, a sixth and more: as
    ``flow-sensor-drift`` is set up.
    """
    judged = _judged(scene, full_damper, USUAL_DRIFT, USUAL_DOUBT)
    low = np.nan_to_num(judged["drift"]).reshape(scene.count, -1).min(axis=1) < -USUAL_DRIFT
    return scene.per_row(np.where(np.isin(judged["way"], (NOT_READ, MIXING, HEAT, ZONE)) & low, 1.0, 0.0))


def _judged(scene: Scene, full_damper: float, drift_allowed: float, doubt_allowed: float) -> dict[str, np.ndarray]:
    return scene.once(
        ("drift", full_damper, drift_allowed, doubt_allowed),
        lambda: _weigh(scene, full_damper, drift_allowed, doubt_allowed),
    )


def _weigh(scene: Scene, full_damper: float, drift_allowed: float, doubt_allowed: float) -> dict[str, np.ndarray]:
    drift, doubt = _ways(scene, full_damper)
    # What cannot be told from no drift is none; what could hide a large one tells nothing.
    size = np.abs(drift)
    seen = size > doubt
    told = ~np.isnan(drift) & (seen | (doubt <= doubt_allowed))
    # What is worked out is a drift, or may be one, by two errors that have nothing to do with each other.
    worked_out = ~np.isin(np.arange(len(drift)) + 1, (ZERO, NOT_READ))[:, None, None]
    told &= ~(worked_out & seen & (size > drift_allowed) & (size <= np.hypot(doubt, drift_allowed)))
    drift = np.where(told, np.where(seen, drift, 0.0), np.nan)
    drift = _one_direction(drift, drift_allowed)
    days = (np.abs(drift) > drift_allowed).sum(axis=2)
    told_days = told.sum(axis=2)
    on_faulty = np.isin(np.arange(len(days)) + 1, ON_FAULTY_DAYS)[:, None]
    wanted = np.minimum(LEAST_DAYS, np.where(on_faulty, scene.days, told_days))
    enough = days >= np.maximum(wanted, LEAST_SHARE * told_days)
    enough &= days > 0
    enough[CURVE - 1] &= days[CURVE - 1] >= LEAST_DAYS
    for way in (ZERO, CURVE):
        enough[way - 1] &= _to_the_end(told[way - 1], np.abs(drift[way - 1]) > drift_allowed)
    first = np.argmax(enough, axis=0)
    found = enough.any(axis=0)
    at = first, np.arange(scene.count)
    judged = np.where(found[:, None], drift[at], np.where(told.any(axis=0), 0.0, np.nan))
    uncertainty = np.where(found[:, None] & (np.abs(judged) > 0), doubt[at], np.nan)
    return {
        "drift": judged.reshape(-1),
        "uncertainty": uncertainty.reshape(-1),
        "way": np.where(found, first + 1.0, 0.0),
    }


def _to_the_end(told: np.ndarray, off: np.ndarray) -> np.ndarray:
    """Tell which terminals are off on the last days that tell anything, or most of them; each of (terminals, days).

    A sensor that has drifted does not come back by itself; a counted position that has slipped is homed again.
    """
    from_last = np.cumsum(told[:, ::-1], axis=1)[:, ::-1]
    last = told & (from_last <= LAST_DAYS)
    return 2 * (last & off).sum(axis=1) > last.sum(axis=1)


def _one_direction(drift: np.ndarray, drift_allowed: float) -> np.ndarray:
    """Leave of a way's days those of the direction that most have: a sensor that drifts does not do it both ways."""
    high, low = ((sign * drift > drift_allowed).sum(axis=2, keepdims=True) for sign in (1.0, -1.0))
    against = np.where(high >= low, drift < 0, drift > 0) & (high != low)
    both = (high == low) & (high > 0)
    return np.where(against | both, 0.0 * drift, drift)


def _ways(scene: Scene, full_damper: float) -> tuple[np.ndarray, np.ndarray]:
    """Return drift and uncertainty of the ways, in their order, each of shape (ways, terminals, days)."""
    mixing = mixing_of_days(scene)
    ways = (
        zero_of_days(scene),
        air_not_read_of_days(scene),
        mixing,
        heat_of_days(scene),
        zone_of_days(scene),
        _unless_mixing_denies(scene, ratio_of_days(scene, full_damper), mixing),
        _unless_zero_denies(scene, _unless_mixing_denies(scene, curve_of_days(scene), mixing)),
        _unless_mixing_denies(scene, above_balanced_of_days(scene, full_damper), mixing),
    )
    shape = len(ways), scene.count, scene.days
    drift, doubt = (np.stack([way[name] for way in ways]).reshape(shape) for name in ("drift", "uncertainty"))
    return drift, doubt


def _unless_mixing_denies(
    scene: Scene, way: dict[str, np.ndarray], mixing: dict[str, np.ndarray]
) -> dict[str, np.ndarray]:
    """Take back what a damper position says where the mixing temperatures, over all days, see no drift."""
    overall = {name: median_of_known(values.reshape(scene.count, -1)) for name, values in mixing.items()}
    overall = {name: np.repeat(values, scene.days) for name, values in overall.items()}
    apart = np.abs(way["drift"] - overall["drift"]) > np.hypot(way["uncertainty"], overall["uncertainty"])
    sure = overall["uncertainty"] <= USUAL_DRIFT
    denied = (apart | sure) & (np.abs(overall["drift"]) <= overall["uncertainty"])
    return {"drift": np.where(denied, 0.0, way["drift"]), "uncertainty": way["uncertainty"]}


def _unless_zero_denies(scene: Scene, way: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Take back what the damper curve says where the sensor reads nothing with the air handler off.

    Judgement: positions are counted more often than measured, and slip unseen; a zero that is right leaves the position
    as the likelier of the two.
    """
    right = np.repeat(zero_is_right(scene), scene.days)
    return {"drift": np.where(right & ~np.isnan(way["drift"]), 0.0, way["drift"]), "uncertainty": way["uncertainty"]}
