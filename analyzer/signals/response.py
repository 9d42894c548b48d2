"""How long the primary airflow takes to follow the steps of its setpoint, over the whole log."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analyzer.signals.airflow import air_turned
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.steps import Followed, Steps, follow, highest_in, last_known, steps_of

# A setpoint that creeps by no more than this share between two samples rests. Judgement: less than the tolerance.
CREEP = 0.03
# Both ends of a step [L/s]: below, no inlet sensor of a terminal tells the flow. Judgement.
LEAST_FLOW = 10.0
# A damper that is this far open [%] on the way has no more to give: what follows late then waits for pressure.
# ASHRAE Guideline 36, 5.6.8 (read in a restatement).
FULL_DAMPER = 95.0
# An actuator that is slow still has this share of its way to go at half time, where a sound one has long arrived and
# waits for pressure, and a loop that lacks pressure slows down. Judgement: two thirds of what an even pace leaves.
# Responses of fewer rows have no halves; a position that goes less far [%] tells nothing, of no response.
STILL_TO_GO, HALVES, LEAST_TRAVEL = 1 / 3, 3, 5.0


@dataclass(frozen=True)
class Responses:
    """The steps whose response can be timed, and the time to follow of each."""

    steps: Steps
    followed: Followed


def responses(
    scene: Scene, least_step: float, tolerance: float, least_pressure: float, longest_response: float
) -> Responses:
    """Find the steps of the airflow setpoint that were followed, and how long that took.

    Parameters
    ----------
    scene : Scene
    least_step : float
        A step goes at least this share of the greater of its two values.
    tolerance : float
        The airflow has followed where it lies this share of its new setpoint, or of the step, from the setpoint.
    least_pressure : float
        A duct with less pressure [Pa], where that is trended, is what the airflow waits for.
    longest_response : float
        What takes longer [s] waits for something else than the actuator.

    Notes
    -----
    Left out are steps that the airflow did not follow while they held (``primary-below-setpoint`` and its kin judge
    those), those it had followed before, those on whose way the damper stood open, and those without air.
    """
    key = ("responses", least_step, tolerance, least_pressure, longest_response)
    return scene.once(key, lambda: _timed(scene, least_step, tolerance, least_pressure, longest_response))


def _timed(scene: Scene, least_step: float, tolerance: float, least_pressure: float, longest: float) -> Responses:
    flow, setpoint, damper = map(scene.column, ("primary_flow", "primary_flow_setpoint", "damper_position"))
    every = np.fmax(np.nan_to_num(scene.trend_logged_every("primary_flow_setpoint")), np.nan_to_num(scene.interval))
    steps = steps_of(
        setpoint, scene.first, scene.seconds, least=LEAST_FLOW, least_share=least_step, still_share=CREEP, still=1.0,
        gap=3.5 * every,
    )  # fmt: skip
    turns = np.flatnonzero(air_turned(scene))
    next_turn = np.append(turns, scene.size)[np.searchsorted(turns, steps.before + 1)]
    steps = steps.ended_by(np.maximum(next_turn, steps.row))
    band = np.maximum(
        tolerance * np.maximum(steps.new, np.abs(steps.size)), scene.site.accuracy["primary_flow"].at_least
    )
    way, about = steps.over_rows(steps.sign, scene.size), steps.over_rows(band, scene.size)
    followed = follow(
        steps, way * (flow - scene.trend("primary_flow_setpoint")) >= -about, ~np.isnan(flow), scene.seconds
    )
    was = last_known(flow, steps.before, scene.first)
    moved = steps.sign * (was - steps.new) < -band
    open_wide = highest_in(damper, steps.row, np.where(followed.done, followed.at + 1, steps.row)) >= FULL_DAMPER
    air = scene.value("air_available")[steps.row] > 0.5 if len(steps) else np.zeros(0, dtype=bool)
    air &= ~(scene.value("duct_pressure")[np.maximum(followed.at, 0)] < least_pressure) if len(steps) else air
    timed = followed.done & moved & air & ~open_wide & (steps.new >= LEAST_FLOW)
    timed &= (followed.least <= longest) & _damper_under_way(scene, damper, steps, followed)
    return Responses(steps.where(timed), followed.where(timed))


def _damper_under_way(scene: Scene, damper: np.ndarray, steps: Steps, followed: Followed) -> np.ndarray:
    """Tell where the damper was still on its way in the second half of a response; where it rests, pressure is awaited.

    What followed within two samples has no halves. Where the damper barely moved no actuator was timed at all: a slow
    one goes such a way in time, too.
    """
    at = np.maximum(followed.at, steps.row)
    # Half time may lie between two samples: the mean of both.
    halves = (steps.row + at) // 2, (steps.row + at + 1) // 2
    was, end = (last_known(damper, rows, scene.first) for rows in (steps.before, at))
    half = sum(last_known(damper, rows, scene.first) for rows in halves) / 2
    travelled = np.abs(end - was)
    under_way = (at - steps.row < HALVES) | (np.abs(end - half) >= STILL_TO_GO * travelled)
    return (travelled >= LEAST_TRAVEL) & under_way


_TRENDS = ("primary_flow", "primary_flow_setpoint", "damper_position")
_SETTLED_BY = "the trends primary_flow, primary_flow_setpoint and damper_position"


@signal("count", needs=_TRENDS, settled_by=_SETTLED_BY, where_trended=_TRENDS)
def timed_steps(
    scene: Scene, *, least_step: float, tolerance: float, least_pressure: float, longest_response: float
) -> np.ndarray:
    """How many steps of the airflow setpoint could be timed at the terminal: followed, with air and pressure there."""
    found = responses(scene, least_step, tolerance, least_pressure, longest_response)
    return scene.per_row(np.bincount(scene.code[found.steps.row], minlength=scene.count).astype(float))


@signal("fraction", needs=_TRENDS, settled_by=_SETTLED_BY, where_trended=_TRENDS)
def late_share(
    scene: Scene, *, follows_within: float, least_step: float, tolerance: float, least_pressure: float,
    longest_response: float,
) -> np.ndarray:  # fmt: skip
    """The share of the steps that could be timed that the airflow followed later than ``follows_within``."""
    found = responses(scene, least_step, tolerance, least_pressure, longest_response)
    owner, late = scene.code[found.steps.row], found.followed.least > follows_within
    every = np.bincount(owner, minlength=scene.count)
    return scene.per_row(np.bincount(owner, late, minlength=scene.count) / np.maximum(every, 1))


@signal("state", needs=_TRENDS, settled_by=_SETTLED_BY, where_trended=_TRENDS)
def following(
    scene: Scene, *, least_step: float, tolerance: float, least_pressure: float, longest_response: float
) -> np.ndarray:
    """Whether the airflow is on its way to a new setpoint, of the steps that could be timed."""
    return (_on_its_way(scene, least_step, tolerance, least_pressure, longest_response) >= 0).astype(float)


@signal("time", needs=_TRENDS, settled_by=_SETTLED_BY, where_trended=_TRENDS)
def time_to_follow(
    scene: Scene, *, least_step: float, tolerance: float, least_pressure: float, longest_response: float
) -> np.ndarray:
    """How long the airflow surely takes to the setpoint that it is on its way to [s]; 0 while it is on none."""
    return np.nan_to_num(_on_its_way(scene, least_step, tolerance, least_pressure, longest_response))


def _on_its_way(scene: Scene, *limits: float) -> np.ndarray:
    """The least time to follow [s] over the rows from each step until it was followed; NaN elsewhere."""
    found = responses(scene, *limits)
    way = replace(found.steps, end=found.followed.at + 1)
    return way.over_rows(found.followed.least, scene.size)
