"""What the flow makes of the damper's travel, and what pressure must stand before a damper that passes so much."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.scene import Scene, signal

# How the flow of an ordinary round damper grows with its opening x: x exp((x - 1) / 2). Judgement, from inherent curves
# of round dampers with some resistance behind them. Dampers differ: one terminal's flow by the curve can be off by this
# factor, and the median of five or more of one air handler by the other.
OWN_DOUBT, SHARED_DOUBT = 1.6, 1.3
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
)
def damper_spread(scene: Scene) -> np.ndarray:
    """How far the damper's position spreads within the day, air being called for: twice its standard deviation [%]."""
    return _answer(scene)["spread"][scene.group_of_day]


@signal(
    "fraction",
    needs=("damper_position", "primary_flow", "primary_flow_setpoint"),
    settled_by="the trends damper_position, primary_flow and primary_flow_setpoint",
)
def flow_answer(scene: Scene) -> np.ndarray:
    """By how much the flow grows over the damper's full stroke, by the day's own travel, as a share of the maximum."""
    return _answer(scene)["answer"][scene.group_of_day]


def _answer(scene: Scene) -> dict[str, np.ndarray]:
    return scene.once("flow answer", lambda: _fit_answer(scene))


def _fit_answer(scene: Scene) -> dict[str, np.ndarray]:
    """Fit flow to damper position for each terminal and day, by least squares."""
    flow, damper = scene.trend("primary_flow"), scene.trend("damper_position")
    setpoint = scene.trend("primary_flow_setpoint")
    there = (setpoint > 0) & ~np.isnan(flow) & ~np.isnan(damper) & ~(scene.value("supply_air_on") < 0.5)
    rows = np.flatnonzero(there)
    group, weight = scene.group_of_day[rows], scene.hours[rows]
    hours = np.bincount(group, weights=weight, minlength=scene.groups)
    enough = hours >= LEAST_HOURS

    def mean(values):
        total = np.bincount(group, weights=values * weight, minlength=scene.groups)
        return np.divide(total, hours, out=np.full(scene.groups, np.nan), where=enough)

    opening = damper[rows] - mean(damper[rows])[group]
    variance = mean(np.square(opening))
    together = mean(opening * flow[rows])
    slope = np.divide(together, variance, out=np.full(scene.groups, np.nan), where=variance > 1.0)
    most = np.repeat(_most(scene), scene.groups // max(scene.count, 1))
    return {"spread": 2.0 * np.sqrt(variance), "answer": slope * 100.0 / most}


def _most(scene: Scene) -> np.ndarray:
    """The scheduled maximum, else the highest setpoint seen; NaN where neither is above zero."""
    setpoint = scene.trend("primary_flow_setpoint")
    seen = pd.Series(setpoint).groupby(scene.code).max().reindex(range(scene.count)).to_numpy()
    scheduled = scene.scheduled("primary_max")
    most = np.where(np.isnan(scheduled), seen, scheduled)
    return np.where(most > 0, most, np.nan)


@signal(
    "fraction",
    needs=("damper_position", "primary_flow"),
    settled_by="the trends damper_position and primary_flow, and balanced_max or primary_max in the terminal schedule",
)
def inlet_pressure_excess(scene: Scene) -> np.ndarray:
    """Pressure at the inlet over design, at the least: what the flow through the throttled damper takes, by day.

    By the median of five or more terminals of the air handler where there are as many, else by the terminal's own
    damper; either allows for dampers that differ from the ordinary curve.
    """
    return scene.once("inlet pressure", lambda: _inlet_pressure(scene))[scene.group_of_day]


def _inlet_pressure(scene: Scene) -> np.ndarray:
    damper, flow = scene.trend("damper_position"), scene.trend("primary_flow")
    balanced = scene.scheduled("balanced_max")
    balanced = scene.per_row(np.where(np.isnan(balanced), scene.scheduled("primary_max"), balanced))
    there = (damper >= CURVE_FROM) & (damper <= CURVE_TO) & (flow > LEAST_FLOW * balanced)
    there &= ~(scene.value("supply_air_on") < 0.5)
    rows = np.flatnonzero(there)
    opening = damper[rows] / 100.0
    at_full = flow[rows] / (opening * np.exp(0.5 * (opening - 1.0))) / balanced[rows]
    group, weight = scene.group_of_day[rows], scene.hours[rows]
    hours = np.bincount(group, weights=weight, minlength=scene.groups)
    # The mean of logarithms: a few samples of a damper on its way weigh little.
    total = np.bincount(group, weights=np.log(at_full) * weight, minlength=scene.groups)
    own = np.divide(total, hours, out=np.full(scene.groups, np.nan), where=hours >= LEAST_HOURS)
    own = own.reshape(scene.count, -1)
    shared = _shared(scene, own)
    least = np.where(np.isnan(shared), own - np.log(OWN_DOUBT), shared - np.log(SHARED_DOUBT))
    return np.exp(2.0 * least).reshape(-1)


def _shared(scene: Scene, own: np.ndarray) -> np.ndarray:
    """The day's median over an air handler's terminals, where five or more are known."""
    air_handler, _ = pd.factorize(scene.words("air_handler"))
    table = pd.DataFrame(own).groupby(
        np.where(scene.words("air_handler") == "", -1 - np.arange(scene.count), air_handler)
    )
    return table.transform("median").where(table.transform("count") >= LEAST_SHARING).to_numpy()
