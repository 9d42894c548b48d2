"""The terminal fan: how often it starts and how long it runs."""

from __future__ import annotations

import numpy as np

from analyzer.signals.scene import Scene, signal
from analyzer.signals.windows import since_change, trailing_sum

HOUR = 3600.0
# A log this fine shows a terminal fan's every run: two minutes are less than any timer lets it run. Judgement. [s]
FINE = 120.0
# Most of the hour has to be there before starts in it are counted: a start that fell into a gap is not seen.
LEAST_SEEN = 0.75


@signal("count", needs=("fan_status",), settled_by="the trend fan_status, logged on every change")
def fan_starts_in_hour(scene: Scene) -> np.ndarray:
    """Starts of the terminal fan within the past hour; unknown while less than three quarters of it were logged."""
    return _per_hour(scene, np.nan_to_num(scene.table["fan_starts"].to_numpy()))


@signal("time", needs=("fan_status",), settled_by="the trend fan_status, logged on every change")
def fan_time_in_hour(scene: Scene) -> np.ndarray:
    """Time that the terminal fan ran within the past hour [s]."""
    return _per_hour(scene, np.nan_to_num(scene.trend("fan_status")) * scene.hours * HOUR)


@signal("time", needs=("fan_status",), settled_by="the trend fan_status, logged on every change")
def fan_run_time(scene: Scene) -> np.ndarray:
    """Mean run of the terminal fan [s], over an hour with two starts or more, where its log is fine enough to show it.

    A log at an interval cannot show a run shorter than the interval; it is used where the interval is two minutes or
    less, or the fan was logged on every change.
    """
    starts = scene.value("fan_starts_in_hour")
    fine = scene.per_row(scene.logged_every("fan_status") <= FINE)
    counted = fine & (starts >= 2)
    return np.divide(scene.value("fan_time_in_hour"), starts, out=np.full(scene.size, np.nan), where=counted)


@signal("state", needs=("fan_status",), settled_by="the trend fan_status, logged on every change")
def fan_may_start_unseen(scene: Scene) -> np.ndarray:
    """0 where the log shows every start of the past hour, unknown where it may hide some.

    A log at an interval hides runs and rests shorter than the interval. Where one lasted a single sample, others may
    have fallen between two: how often the fan started then cannot be told.
    """
    status = scene.trend("fan_status")
    turned = np.zeros(scene.size, dtype=bool)
    turned[1:] = (np.abs(np.diff(status)) > 0.5) & (scene.code[1:] == scene.code[:-1])
    single = np.zeros(scene.size)
    single[1:] = turned[1:] & turned[:-1]
    since = scene.past(HOUR)
    shown = scene.per_row(scene.logged_every("fan_status") <= FINE) | (trailing_sum(single, since) == 0)
    return np.where(shown & ~np.isnan(status), 0.0, np.nan)


@signal("time", needs=("fan_command",), settled_by="the trend fan_command")
def fan_command_steady_for(scene: Scene) -> np.ndarray:
    """How long the command of the fan has been what it is [s]; 0 in the sample that shows it changed."""
    command = scene.trend("fan_command")
    turned = np.diff(command, prepend=np.nan) != 0
    return np.where(np.isnan(command), np.nan, since_change(turned, scene.code, scene.first, scene.seconds))


def _per_hour(scene: Scene, amount: np.ndarray) -> np.ndarray:
    since = scene.past(HOUR)
    known = ~np.isnan(scene.trend("fan_status"))
    seen = trailing_sum(np.where(known, scene.hours, 0.0), since)
    return np.where(seen >= LEAST_SEEN, trailing_sum(np.where(known, amount, 0.0), since), np.nan)
