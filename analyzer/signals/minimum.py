"""The minimum flow that a terminal keeps: beside the scheduled one, beside its maximum, and the heat it takes."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer import airside
from analyzer.signals.design_figures import apart
from analyzer.signals.in_force import in_use
from analyzer.signals.mixing import density
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene

# Up to half of its signal reheat only warms the minimum flow; from there on a dual maximum may raise it [%]. G36, 5.6.5
# (read in a restatement): the first half of the heating loop resets the discharge temperature, the second the flow.
FIRST_HALF = 50.0
# The flow that all but this share of the hours pass is the least that the terminal takes. Judgement: sensor noise.
LEAST_SHARE = 0.05
# So much of it has to be there [h], with the flow settled for so long [s]. Judgement: half a working day.
LEAST_HOURS, SETTLED = 4.0, 600.0
# A day counts where its air handler's terminals got air in so much of its occupied hours; the outdoor air in it from
# the first hour on [s]: a unit begins with none. Judgement.
LEAST_IN_USE, FIRST_HOUR = 0.5, 3600.0
# The most that ventilation asks of primary air is what it asks in all but this share of the hours in use: the outdoor
# air in it grows and shrinks with the weather, and a minimum is set for the least. Judgement.
HARDEST = 0.9


@signal(
    "fraction",
    settled_by="primary_min in the terminal schedule, and the trend primary_flow_setpoint over hours without heating",
    whole=True,
)
def minimum_off(scene: Scene) -> np.ndarray:
    """How far the minimum setpoint in use lies off the scheduled minimum, as a share of the larger.

    Where the balancing report gives another one, off the nearer of the two: that these differ is a matter of the
    documents.
    """
    used = scene.value("minimum_in_use")
    drawn, balanced = (scene.per_row(scene.scheduled(name)) for name in ("primary_min", "balanced_min"))
    return np.fmin(apart(used, drawn), apart(used, balanced))


@signal(
    "fraction",
    settled_by="primary_min in the terminal schedule, and the trend primary_flow_setpoint over hours without heating",
    whole=True,
)
def minimum_beside_schedule(scene: Scene) -> np.ndarray:
    """How far the minimum setpoint in use lies off the scheduled minimum, as a share of the scheduled one.

    Where the schedule gives none, of the balancing report's. This is what a reader works out from the two airflows;
    a verdict rests on ``minimum_off``.
    """
    drawn, balanced = (scene.per_row(scene.scheduled(name)) for name in ("primary_min", "balanced_min"))
    given = np.where(np.isnan(drawn), balanced, drawn)
    return np.abs(scene.value("minimum_in_use") - given) / np.where(given > 0, given, np.nan)


@signal("flow", needs=("primary_flow",), settled_by="the trend primary_flow over occupied hours")
def least_flow_taken(scene: Scene) -> np.ndarray:
    """The least primary flow that the terminal takes in occupied hours, settled, its reheat at half signal or less.

    Where its setpoint is trended and higher, that one: a flow that is short of it is no minimum.
    """
    return scene.per_row(_least_taken(scene))


def _least_taken(scene: Scene) -> np.ndarray:
    def work_out():
        flow = np.fmax(scene.trend("primary_flow"), scene.trend("primary_flow_setpoint"))
        rows = (
            _supplied(scene) & ~(scene.trend("reheat_position") > FIRST_HALF) & ~np.isnan(scene.trend("primary_flow"))
        )
        least = pd.Series(flow[rows]).groupby(scene.code[rows]).quantile(LEAST_SHARE)
        enough = scene.per_terminal(rows * scene.hours) >= LEAST_HOURS
        return np.where(enough, least.reindex(range(scene.count)).to_numpy(dtype=float), np.nan)

    return scene.once("least flow taken", work_out)


def _supplied(scene: Scene) -> np.ndarray:
    """Tell in which occupied rows the air handler supplies air, and did for a while; not on a day that nobody works."""
    day_in_use = ~(scene.value("others_get_air") < LEAST_IN_USE)
    given = (scene.value("air_available") > 0.5) & (scene.value("flow_settled_for") >= SETTLED)
    return in_use(scene) & given & day_in_use


@signal(
    "fraction",
    needs=("primary_flow",),
    settled_by="primary_max in the terminal schedule, or the trend primary_flow_setpoint while the zone is too warm",
    whole=True,
)
def least_flow_share(scene: Scene) -> np.ndarray:
    """The least flow that the terminal takes in occupied hours, as a share of its maximum: scheduled, else in use."""
    scheduled = scene.per_row(np.fmax(scene.scheduled("primary_max"), scene.scheduled("balanced_max")))
    most = np.where(np.isnan(scheduled), scene.value("maximum_in_use"), scheduled)
    return scene.value("least_flow_taken") / np.where(most > 0, most, np.nan)


@signal("flow", settled_by="heating_primary (or primary_max) in the terminal schedule")
def flow_without_cooling(scene: Scene, *, at_its_maximum: float) -> np.ndarray:
    """The most that the terminal takes with no call for cooling: its heating maximum, or its minimum if that is higher.

    A least flow of ``at_its_maximum`` or more of the maximum is no minimum: something calls for cooling all the time.
    """
    least = np.where(scene.value("least_flow_share") < at_its_maximum, scene.value("least_flow_taken"), np.nan)
    return np.fmax(scene.value("heating_maximum"), np.where(np.isnan(scene.value("heating_maximum")), np.nan, least))


@signal(
    "flow",
    settled_by="ventilation_min in the terminal schedule, or the zone's outdoor air and the outdoor-air fraction",
)
def ventilation_at_most(scene: Scene) -> np.ndarray:
    """The most primary air that ventilation needs in the occupied hours of the log: what a minimum is set for."""

    def work_out():
        need = scene.value("ventilation_primary")
        rows = _supplied(scene) & (scene.value("time_in_use") >= FIRST_HOUR) & ~np.isnan(need)
        most = pd.Series(need[rows]).groupby(scene.code[rows]).quantile(HARDEST)
        return most.reindex(range(scene.count)).to_numpy(dtype=float)

    return scene.per_row(scene.once("ventilation at most", work_out))


@signal("power", settled_by="the trend primary_temp, or the air handler's supply_temp; and primary_max in the schedule")
def reheat_of_excess_air(scene: Scene, *, needed_share: float) -> np.ndarray:
    """Heat that warms primary air beyond the need to the zone's temperature [W], no more than reheat gives.

    The need is what ventilation takes, and at least ``needed_share`` of the maximum.
    """
    share = needed_share * scene.per_row(scene.scheduled("primary_max"))
    excess = scene.trend("primary_flow") - np.fmax(share, scene.value("ventilation_at_most"))
    colder = scene.trend("zone_temp") - scene.value("primary_temp")
    wasted = airside.sensible_heat(
        flow=np.maximum(excess, 0.0), temperature_difference=np.maximum(colder, 0.0), density=density(scene)
    )
    return np.fmin(wasted, scene.value("reheat_given"))
