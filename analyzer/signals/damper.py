"""What the flow makes of the damper's travel, and what pressure must stand before a damper that passes so much.

Both only where the damper's position can be believed (``damper_credible``).
"""

from __future__ import annotations

import numpy as np

from analyzer.signals.agreed import agreed, shown
from analyzer.signals.damper_caught import opening_curve
from analyzer.signals.damper_counted import positions_are_counted
from analyzer.signals.days import per_row_of_day
from analyzer.signals.duct_pressure import pressure_ratio
from analyzer.signals.flow_zero import largest_flow
from analyzer.signals.grouped import Groups
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ROUNDING, ratio

# Dampers differ from the ordinary curve (``opening_curve``): one terminal's flow by the curve can be off by this
# factor, and the median of five or more of one air handler by the other. Judgement.
OWN_DOUBT, SHARED_DOUBT = 1.6, 1.3
EXCESS = "inlet pressure excess"
LEAST_SHARING = 5
# Between these positions the curve says something [%]: below, leakage and play; above, the damper is open.
CURVE_FROM, CURVE_TO = 15.0, 80.0
# Less flow than this says little [share of the maximum].
LEAST_FLOW = 0.10
# A day needs this much to count [h].
LEAST_HOURS = 1.0
# Nearer shut than this, leakage and play pass what the curve does not [%]; a reading under this share of the maximum is
# taken for it. Judgement.
LEAKS_UNDER, LEAST_READING = 5.0, 0.01
NO_READING = 5.0  # [L/s]: 10 cfm, as sound sensors read with the air handler off


@signal(
    "fraction",
    needs=("damper_position",),
    settled_by="the trend damper_position",
    where_trended=("damper_position", "primary_flow"),
)
def flow_change_expected(scene: Scene) -> np.ndarray:
    """Factor by which the day's travel would change the flow through an ordinary damper, air being supplied.

    From twice the standard deviation of the logarithm of the ordinary curve. Unknown where positions cannot be
    believed.
    """
    return per_row_of_day(scene, _answer(scene)["expected"])


@signal(
    "fraction",
    needs=("damper_position", "primary_flow"),
    settled_by="the trends damper_position and primary_flow",
    where_trended=("damper_position", "primary_flow"),
)
def flow_answer(scene: Scene) -> np.ndarray:
    """Share of the change that the day's travel would make that the flow shows: 1 as an ordinary damper, 0 not at all.

    The slope of the logarithm of flow over the root of duct pressure (where that is trended) against the ordinary
    curve's.
    """
    return per_row_of_day(scene, _answer(scene)["answer"])


def _answer(scene: Scene) -> dict[str, np.ndarray]:
    return scene.once("flow answer", lambda: _fit_answer(scene))


def _fit_answer(scene: Scene) -> dict[str, np.ndarray]:
    """Fit the logarithm of flow to that of the ordinary damper's flow for each terminal and day, by least squares."""
    flow, damper = scene.trend("primary_flow"), scene.trend("damper_position")
    # A setpoint, or duct pressure to take out: a flow that is held against neither says nothing of the blade. Counted
    # positions creep while a flow is held, and only a setpoint shows that it is.
    by_pressure = ~np.isnan(pressure_ratio(scene)) & ~positions_are_counted(scene)
    told = (scene.trend("primary_flow_setpoint") >= 0) | by_pressure
    asked = told & (scene.value("air_available") > 0.5)
    asked &= scene.value("damper_credible") > 0.5
    rows = np.flatnonzero(asked & ~np.isnan(flow + damper))
    days, weight = Groups(scene.group_of_day[rows], scene.groups), scene.hours[rows]
    hours = days.sum(weight)
    hours = np.where(hours >= LEAST_HOURS - ROUNDING, hours, np.nan)
    least = np.fmax(LEAST_READING * largest_flow(scene), 1.0)[scene.code[rows]]
    pressure = pressure_ratio(scene)[rows]
    level = np.log(np.maximum(flow[rows], least)) - 0.5 * np.log(np.where(np.isnan(pressure), 1.0, pressure))
    opening = opening_curve(np.maximum(damper[rows], LEAKS_UNDER))
    opening = opening - days.spread(days.mean(opening, weight, hours))
    weighed = opening * weight
    # A sensor that reads next to none all day shows no answer, whatever the blade does.
    reads = days.sum(weight * (flow[rows] > NO_READING)) > 0
    variance = np.where(reads, days.sum(opening * weighed) / hours, np.nan)
    slope = ratio(days.sum(weighed * level) / hours, variance, variance > 0.01)
    return {"expected": np.exp(2.0 * np.sqrt(variance)), "answer": slope}


@signal(
    "fraction",
    needs=("damper_position", "primary_flow"),
    settled_by="the trends damper_position and primary_flow, and balanced_max or primary_max in the terminal schedule",
    whole=True,
)
def inlet_pressure_excess(scene: Scene) -> np.ndarray:
    """Pressure at the inlet over design, at the least: what the flow through the throttled damper takes, by day.

    By the median of five or more terminals of the air handler where there are as many, else by the terminal's own
    damper; either allows for dampers that differ from the ordinary curve. Unknown where the position cannot be
    believed.
    """
    excess = per_row_of_day(scene, _inlet_pressure(scene))
    return np.where(scene.value("damper_credible") > 0.5, excess, np.nan)


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
    there &= (scene.value("air_available") > 0.5) & (scene.value("damper_credible") > 0.5)
    rows = np.flatnonzero(there)
    at_full = np.log(flow[rows] / balanced[scene.code[rows]]) - opening_curve(damper[rows])
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
