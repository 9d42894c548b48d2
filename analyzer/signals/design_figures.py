"""What the drawings, the balancing report and the controller name as a terminal's flows, held against each other.

What the controller uses is read off the airflow setpoint where it rests: on its lowest value while occupied (the
minimum), on its highest while the zone is too warm (the maximum), and on its highest at a full call for heat (heating).
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.register import signal
from analyzer.signals.scene import Scene

# A setpoint rests where it stays within this share of its last value. Judgement: rounding of what is logged.
_RESTS = 0.005
# So many hours at one value make it one that the controller holds. Judgement: two hours are no chance meeting of a
# loop under way.
_RESTED_FOR = 2.0
# A reheat signal above this calls for all its heat, and so for the most air in heating [%]; below this there is none;
# and so of the cooling loop.
# Judgement: as heating-capacity-short takes a full call.
_HEATS, _NO_CALL = 90.0, 5.0
# So far above its cooling setpoint a zone has its terminal at the maximum [K]. Judgement: past any throttling range.
_TOO_WARM = 0.7
# Heat comes where the discharge is so far above the zone [K]. Judgement; ASHRAE Guideline 36, 5.6.5 (read in a
# restatement): the flow is raised only after the discharge temperature.
_HEAT_COMES = 3.0
_WITHIN = 0.005  # of a value: taken for the same
# A controller holds one and the same value for this share of the hours in question; demand control and a loop wander.
# Judgement.
_ONE_VALUE = 0.25
_LOWEST, _HIGHEST = 0.02, 0.98
# A minimum is held for this share of the time in the deadband; a setpoint within so much of the scheduled minimum, for
# this share of it, holds the scheduled one. Judgement: after cooling the loop comes down within the hour.
_MOST_OF_DEADBAND, _SOME_OF_DEADBAND, _NEAR_DRAWN = 0.4, 0.1, 0.02
# From this share of the scheduled maximum on a setpoint is at it. Judgement: rounding.
_AT_MAXIMUM = 0.95
FIGURES = ("minimum", "maximum", "heating", "fan")
_DRAWN = {"minimum": "primary_min", "maximum": "primary_max", "heating": "heating_primary", "fan": "fan_flow"}
_BALANCED = {"minimum": "balanced_min", "maximum": "balanced_max", "heating": "balanced_heating", "fan": "balanced_fan"}


def _in_use(scene: Scene) -> dict[str, np.ndarray]:
    return scene.once("flows in use", lambda: _work_out(scene))


def _work_out(scene: Scene) -> dict[str, np.ndarray]:
    """Return the flows that each terminal's controller holds [L/s], NaN where none is seen."""
    setpoint = scene.trend("primary_flow_setpoint")
    unknown = np.full(scene.count, np.nan)
    if not scene.trended("primary_flow_setpoint").any():
        return dict.fromkeys(FIGURES, unknown)
    at_work = (scene.value("occupied") > 0.5) & (scene.value("air_available") > 0.5) & (setpoint > 0)
    before = np.concatenate([[np.nan], setpoint[:-1]])
    before[scene.first[:-1][scene.rows_of > 0]] = np.nan
    rests = (np.abs(setpoint - before) <= _RESTS * setpoint) & at_work
    reheat = scene.trend("reheat_position")
    idle = at_work & _without_heat(scene, reheat)
    too_warm = scene.trend("zone_temp") > scene.value("cooling_setpoint") + _TOO_WARM
    most = _held(scene, setpoint, rests & idle & too_warm, _HIGHEST)
    least = _least(scene, setpoint, rests, idle)
    # A full call in a zone that is warm enough meets a flow that cooling may have raised.
    calls = (reheat >= _HEATS) & ~(scene.trend("zone_temp") > scene.value("cooling_setpoint") - _TOO_WARM)
    # A dual maximum adds no cold air while the coil gives no heat.
    calls &= ~(scene.trend("discharge_temp") < scene.trend("zone_temp") + _HEAT_COMES)
    heating = _held(scene, setpoint, rests & calls, _HIGHEST)
    raised = (heating <= (1.0 + _WITHIN) * least) & (least > scene.scheduled("heating_primary"))
    return {
        "minimum": least,
        # One that stays at its minimum in a zone that is too warm is not asked for more.
        "maximum": np.where(most <= (1.0 + _NEAR_DRAWN) * np.fmax(least, scene.scheduled("primary_min")), np.nan, most),
        # A minimum above the heating flow holds in heating too: that is the minimum's trouble.
        "heating": np.where(raised, np.nan, heating),
        "fan": unknown,
    }


def _without_heat(scene: Scene, reheat: np.ndarray) -> np.ndarray:
    """Tell where the terminal does not heat: its reheat is shut; or not trended, and the zone clear of heating."""
    clear = scene.trend("zone_temp") > scene.value("heating_setpoint") + _TOO_WARM
    blind = scene.per_row(scene.has_reheat & ~scene.trended("reheat_position"))
    return ~(reheat > _NO_CALL) & (~blind | clear)


def _least(scene: Scene, setpoint: np.ndarray, rests: np.ndarray, idle: np.ndarray) -> np.ndarray:
    """Return the minimum that each controller holds [L/s].

    In the deadband, where it holds one value for most of the time. A cooling loop only adds to the minimum: what rests
    under the scheduled one is the minimum at any zone temperature, as long as nobody saw it hold the scheduled one in
    the deadband: a standby mode has a minimum of its own. Demand control takes the minimum down with the carbon
    dioxide: that contradicts no drawing, and where it is trended no minimum is told.
    """
    drawn = scene.per_row(scene.scheduled("primary_min"))
    deadband = idle & (scene.trend("zone_temp") <= scene.value("cooling_setpoint") - _TOO_WARM)
    deadband &= ~(scene.trend("cooling_signal") > _NO_CALL)
    # One at its maximum is called to cool, by whatever, though the zone is in no need of it.
    low = ~(setpoint >= _AT_MAXIMUM * scene.per_row(scene.scheduled("primary_max")))
    least = _held(scene, setpoint, rests & deadband & low, _LOWEST, of=deadband, share=_MOST_OF_DEADBAND)
    under = _held(scene, setpoint, rests & idle & (setpoint < drawn), _LOWEST, of=idle)
    least = np.where(np.isnan(least), under, least)
    # One that heats all the time is seen at its minimum where it heats at that: with a fan, as scheduled.
    same = (scene.kinds != "single-duct") & (scene.scheduled("heating_primary") <= scene.scheduled("primary_min"))
    heats = (scene.trend("reheat_position") > _NO_CALL) & scene.per_row(same) & (scene.value("air_available") > 0.5)
    heats &= scene.value("occupied") > 0.5
    in_heating = _held(scene, setpoint, rests & heats & low, _LOWEST, of=heats, share=_MOST_OF_DEADBAND)
    least = np.where(np.isnan(least), in_heating, least)
    near = deadband & rests & (np.abs(setpoint - drawn) <= _NEAR_DRAWN * drawn) & ~_about_to_heat(scene)
    hours, asked = (scene.per_terminal(rows * scene.hours) for rows in (near, deadband))
    as_drawn = (hours >= _RESTED_FOR) & (hours >= _SOME_OF_DEADBAND * asked) & (least < scene.scheduled("primary_min"))
    least = np.where(as_drawn, scene.scheduled("primary_min"), least)
    return np.where(scene.trended("co2"), np.nan, least)


def _about_to_heat(scene: Scene) -> np.ndarray:
    """Tell where a terminal may hold its heating flow before any heat: its zone has come down, or its fan runs."""
    cool = scene.trend("zone_temp") <= scene.value("heating_setpoint") + _TOO_WARM
    parallel = (scene.kinds == "parallel") & scene.trended("fan_status")
    return cool | (scene.per_row(parallel) & (scene.trend("fan_status") > 0.5))


def _held(
    scene: Scene, setpoint: np.ndarray, rows: np.ndarray, quantile: float, *, of=None, share: float = _ONE_VALUE
) -> np.ndarray:
    """Return the value near a quantile of some rows, if the setpoint rests near it for long enough.

    That is for a ``share`` of the time of these rows, or of the rows ``of`` which they are some.
    """
    found = pd.Series(setpoint[rows]).groupby(scene.code[rows]).quantile(quantile)
    value = found.reindex(range(scene.count)).to_numpy(dtype=float)
    near = rows & (np.abs(setpoint - scene.per_row(value)) <= _WITHIN * setpoint)
    hours, asked = (scene.per_terminal(own * scene.hours) for own in (near, rows if of is None else of))
    return np.where((hours >= _RESTED_FOR) & (hours >= share * asked), value, np.nan)


def _gap(scene: Scene, figure: str) -> np.ndarray:
    """Return how far a figure's values lie apart, as a share of the largest; NaN where fewer than two are known.

    A terminal that was balanced to more than its drawn maximum, at a full damper, contradicts nothing.
    """
    drawn, balanced = scene.scheduled(_DRAWN[figure]), scene.scheduled(_BALANCED[figure])
    used = _in_use(scene)[figure]
    if figure == "minimum":  # what the controller holds beside these has a rule of its own
        return apart(drawn, balanced)
    if figure == "maximum":
        compared = np.where(balanced > drawn, drawn, balanced)
        return np.fmax(apart(drawn, compared), apart(drawn, used))
    return np.fmax(np.fmax(apart(drawn, balanced), apart(drawn, used)), apart(balanced, used))


def apart(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Return how far two figures lie apart, as a share of the larger; NaN where one is not known."""
    larger = np.maximum(one, other)
    return np.abs(one - other) / np.where(larger > 0, larger, np.nan)


@signal(
    "fraction",
    settled_by="primary_min and balanced_min in the terminal schedule",
    whole=True,
)
def minimum_gap(scene: Scene) -> np.ndarray:
    """How far apart the minimum flows of drawings and balancing report lie, as a share of the larger."""
    return scene.per_row(_gap(scene, "minimum"))


@signal(
    "fraction",
    settled_by="primary_max and balanced_max in the terminal schedule, or the trend primary_flow_setpoint",
    whole=True,
)
def maximum_gap(scene: Scene) -> np.ndarray:
    """How far apart the maximum flows of drawings, balancing report and controller lie, as a share of the largest."""
    return scene.per_row(_gap(scene, "maximum"))


@signal(
    "fraction",
    settled_by="heating_primary and balanced_heating in the terminal schedule, or the trend primary_flow_setpoint",
    whole=True,
)
def heating_gap(scene: Scene) -> np.ndarray:
    """How far apart the heating flows of drawings, balancing report and controller lie, as a share of the largest."""
    return scene.per_row(_gap(scene, "heating"))


@signal("fraction", settled_by="fan_flow and balanced_fan in the terminal schedule", whole=True)
def fan_gap(scene: Scene) -> np.ndarray:
    """How far apart the fan flows of drawings and balancing report lie, as a share of the largest."""
    return scene.per_row(_gap(scene, "fan"))


@signal(
    "fraction",
    settled_by="a second source of a design flow: balanced values in the terminal schedule, or the trend "
    "primary_flow_setpoint",
    whole=True,
)
def design_gap(scene: Scene) -> np.ndarray:
    """The largest of the gaps of minimum, maximum, heating and fan flow."""
    gaps = [scene.value(f"{figure}_gap") for figure in FIGURES]
    largest = gaps[0]
    for gap in gaps[1:]:
        largest = np.fmax(largest, gap)
    return largest


@signal("flow", settled_by="the trend primary_flow_setpoint over occupied hours without heating", whole=True)
def minimum_in_use(scene: Scene) -> np.ndarray:
    """The lowest airflow setpoint that the controller holds for hours while occupied and not heating [L/s]."""
    return scene.per_row(_in_use(scene)["minimum"])


@signal("flow", settled_by="the trend primary_flow_setpoint over hours in which the zone is too warm", whole=True)
def maximum_in_use(scene: Scene) -> np.ndarray:
    """The highest airflow setpoint that the controller holds while the zone is above its cooling setpoint [L/s]."""
    return scene.per_row(_in_use(scene)["maximum"])


@signal("flow", settled_by="the trends primary_flow_setpoint and reheat_position over hours of heating", whole=True)
def heating_in_use(scene: Scene) -> np.ndarray:
    """The airflow setpoint that the controller holds at a full call for heat [L/s]."""
    return scene.per_row(_in_use(scene)["heating"])
