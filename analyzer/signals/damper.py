"""What the flow makes of the damper's travel, and what pressure must stand before a damper that passes so much."""

from __future__ import annotations

import numpy as np

from analyzer.signals.agreed import agreed, shown
from analyzer.signals.days import per_row_of_day
from analyzer.signals.grouped import Groups
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.supply_air import supply_air_is_off
from analyzer.signals.windows import ROUNDING, ratio

# How the flow of an ordinary round damper grows with its opening x: x exp((x - 1) / 2). Judgement, from inherent curves
# of round dampers with some resistance behind them. Dampers differ: one terminal's flow by the curve can be off by this
# factor, and the median of five or more of one air handler by the other.
OWN_DOUBT, SHARED_DOUBT = 1.6, 1.3
EXCESS = "inlet pressure excess"
LEAST_SHARING = 5
# Between these positions the curve says something [%]: below, leakage and play; above, the damper is open.
CURVE_FROM, CURVE_TO = 15.0, 80.0
# Less flow than this says little [share of the maximum].
LEAST_FLOW = 0.10
# A day needs this much to count [h].
LEAST_HOURS = 1.0


@signal(
    "percent",
    needs=("damper_position", "primary_flow_setpoint"),
    settled_by="the trends damper_position and primary_flow_setpoint",
    where_trended=("damper_position", "primary_flow_setpoint"),
)
def damper_spread(scene: Scene) -> np.ndarray:
    """How far the damper's position spreads within the day, air being called for: twice its standard deviation [%]."""
    return per_row_of_day(scene, _answer(scene)["spread"])


@signal(
    "fraction",
    needs=("damper_position", "primary_flow", "primary_flow_setpoint"),
    settled_by="the trends damper_position, primary_flow and primary_flow_setpoint",
    where_trended=("damper_position", "primary_flow", "primary_flow_setpoint"),
)
def flow_answer(scene: Scene) -> np.ndarray:
    """By how much the flow grows over the damper's full stroke, by the day's own travel, as a share of the maximum."""
    return per_row_of_day(scene, _answer(scene)["answer"])


def _answer(scene: Scene) -> dict[str, np.ndarray]:
    return scene.once("flow answer", lambda: _fit_answer(scene))


def _fit_answer(scene: Scene) -> dict[str, np.ndarray]:
    """Fit flow to damper position for each terminal and day, by least squares."""
    flow, damper = scene.trend("primary_flow"), scene.trend("damper_position")
    asked = (scene.trend("primary_flow_setpoint") > 0) & ~supply_air_is_off(scene)
    rows = np.flatnonzero(asked & ~np.isnan(flow + damper))
    days, weight = Groups(scene.group_of_day[rows], scene.groups), scene.hours[rows]
    hours = days.sum(weight)
    hours = np.where(hours >= LEAST_HOURS - ROUNDING, hours, np.nan)
    opening = damper[rows]
    opening = opening - days.spread(days.mean(opening, weight, hours))
    weighed = opening * weight
    variance = days.sum(opening * weighed) / hours
    slope = ratio(days.sum(weighed * flow[rows]) / hours, variance, variance > 1.0)
    most = np.repeat(_most(scene), scene.days)
    return {"spread": 2.0 * np.sqrt(variance), "answer": slope * 100.0 / most}


def _most(scene: Scene) -> np.ndarray:
    """The scheduled maximum, else the highest setpoint seen; NaN where neither is above zero."""
    seen = scene.reduce(np.fmax, scene.trend("primary_flow_setpoint"), np.nan)
    scheduled = scene.scheduled("primary_max")
    most = np.where(np.isnan(scheduled), seen, scheduled)
    return np.where(most > 0, most, np.nan)


@signal(
    "fraction",
    needs=("damper_position", "primary_flow"),
    settled_by="the trends damper_position and primary_flow, and balanced_max or primary_max in the terminal schedule",
    whole=True,
)
def inlet_pressure_excess(scene: Scene) -> np.ndarray:
    """Pressure at the inlet over design, at the least: what the flow through the throttled damper takes, by day.

    By the median of five or more terminals of the air handler where there are as many, else by the terminal's own
    damper; either allows for dampers that differ from the ordinary curve.
    """
    return per_row_of_day(scene, _inlet_pressure(scene))


def _inlet_pressure(scene: Scene) -> np.ndarray:
    shared = agreed(scene, EXCESS)
    least = np.where(np.isnan(shared), _own_excess(scene) - np.log(OWN_DOUBT), shared - np.log(SHARED_DOUBT))
    return np.exp(2.0 * least).reshape(-1)


def _own_excess(scene: Scene) -> np.ndarray:
    return scene.once(EXCESS, lambda: _excess_by_own_damper(scene))


def _excess_by_own_damper(scene: Scene) -> np.ndarray:
    """Logarithm of the flow at full damper over design, by the terminal's own damper, shape (terminals, days)."""
    damper, flow = scene.trend("damper_position"), scene.trend("primary_flow")
    balanced = scene.scheduled("balanced_max")
    balanced = np.where(np.isnan(balanced), scene.scheduled("primary_max"), balanced)
    there = (damper >= CURVE_FROM) & (damper <= CURVE_TO) & (flow > scene.per_row(LEAST_FLOW * balanced))
    rows = np.flatnonzero(there & ~supply_air_is_off(scene))
    opening = damper[rows] / 100.0
    at_full = np.log(flow[rows] / (opening * balanced[scene.code[rows]])) - 0.5 * (opening - 1.0)
    days, weight = Groups(scene.group_of_day[rows], scene.groups), scene.hours[rows]
    hours = days.sum(weight)
    # The mean of logarithms: a few samples of a damper on its way weigh little.
    own = days.mean(at_full, weight, np.where(hours >= LEAST_HOURS - ROUNDING, hours, np.nan))
    return own.reshape(scene.count, -1)


@shown(EXCESS, least=LEAST_SHARING)
def _excess_by_air_handler(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """A terminal of no air handler that is known has no other beside it: its label is its own tag."""
    words = scene.words("air_handler").astype(str)
    alone = np.char.add("alone ", scene.terminals.astype(str))
    return np.where(words == "", alone, np.char.add("of ", words)), _own_excess(scene)
