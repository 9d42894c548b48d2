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
# A reheat signal above this calls for all its heat, and so for the most air in heating [%]; below this there is none.
# Judgement: as heating-capacity-short takes a full call.
_HEATS, _NO_HEAT = 90.0, 5.0
# So far above its cooling setpoint a zone has its terminal at the maximum [K]. Judgement: past any throttling range.
_TOO_WARM = 0.7
_WITHIN = 0.005  # of a value: taken for the same
# A controller holds one and the same value for this share of the hours in question; demand control and a loop wander.
# Judgement.
_ONE_VALUE = 0.25
_LOWEST, _HIGHEST = 0.02, 0.98
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
    before = np.concatenate([[np.nan], setpoint[:-1]])
    before[scene.first[:-1][scene.rows_of > 0]] = np.nan
    rests = (np.abs(setpoint - before) <= _RESTS * setpoint) & (setpoint > 0)
    rests &= (scene.value("occupied") > 0.5) & (scene.value("air_available") > 0.5)
    reheat = scene.trend("reheat_position")
    no_heat = ~(reheat > _NO_HEAT)
    too_warm = scene.trend("zone_temp") > scene.value("cooling_setpoint") + _TOO_WARM
    most = _held(scene, setpoint, rests & no_heat & too_warm, _HIGHEST)
    cooled = scene.trend("zone_temp") > scene.value("cooling_setpoint") - _TOO_WARM  # the cooling loop may be at work
    least = _held(scene, setpoint, rests & no_heat & ~cooled, _LOWEST)
    # A cooling loop only adds to the minimum: what rests under the drawn one is the minimum at any zone temperature.
    under = rests & no_heat & (setpoint < scene.per_row(scene.scheduled("primary_min")))
    least = np.where(np.isnan(least), _held(scene, setpoint, under, _LOWEST), least)
    return {
        # Demand control takes the minimum down with the CO2: that contradicts no drawing.
        "minimum": np.where(scene.trended("co2"), np.nan, least),
        # One that stays at its minimum in a zone that is too warm is not asked for more.
        "maximum": np.where(most <= (1.0 + _WITHIN) * least, np.nan, most),
        "heating": _held(scene, setpoint, rests & (reheat >= _HEATS), _HIGHEST),
        "fan": unknown,
    }


def _held(scene: Scene, setpoint: np.ndarray, rows: np.ndarray, share: float) -> np.ndarray:
    """Return the value near a quantile of some rows, if the setpoint rests near it for long enough."""
    quantile = pd.Series(setpoint[rows]).groupby(scene.code[rows]).quantile(share)
    value = quantile.reindex(range(scene.count)).to_numpy(dtype=float)
    near = rows & (np.abs(setpoint - scene.per_row(value)) <= _WITHIN * setpoint)
    hours, asked = (scene.per_terminal(own * scene.hours) for own in (near, rows))
    return np.where((hours >= _RESTED_FOR) & (hours >= _ONE_VALUE * asked), value, np.nan)


def _gap(scene: Scene, figure: str) -> np.ndarray:
    """Return how far a figure's values lie apart, as a share of the largest; NaN where fewer than two are known.

    A terminal that was balanced to more than its drawn maximum, at a full damper, contradicts nothing.
    """
    drawn, balanced = scene.scheduled(_DRAWN[figure]), scene.scheduled(_BALANCED[figure])
    used = _in_use(scene)[figure]
    if figure == "maximum":
        compared = np.where(balanced > drawn, drawn, balanced)
        return np.fmax(_apart(drawn, compared), _apart(drawn, used))
    return np.fmax(np.fmax(_apart(drawn, balanced), _apart(drawn, used)), _apart(balanced, used))


def _apart(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    larger = np.maximum(one, other)
    return np.abs(one - other) / np.where(larger > 0, larger, np.nan)


@signal(
    "fraction",
    settled_by="primary_min and balanced_min in the terminal schedule, or the trend primary_flow_setpoint",
    whole=True,
)
def minimum_gap(scene: Scene) -> np.ndarray:
    """How far apart the minimum flows of drawings, balancing report and controller lie, as a share of the largest."""
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
