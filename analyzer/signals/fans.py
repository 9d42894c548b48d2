"""The terminal fan: how often it starts and how long it runs."""

from __future__ import annotations

import numpy as np

from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ratio, since_change, stepped, trailing_sum, trailing_total

HOUR = 3600.0
# A log this fine shows a terminal fan's every run: two minutes are less than any timer lets it run. Judgement. [s]
FINE = 120.0
# Most of the hour has to be there before starts in it are counted: a start that fell into a gap is not seen.
LEAST_SEEN = 0.75


@signal(
    "count",
    needs=("fan_status",),
    settled_by="the trend fan_status, logged on every change",
    where_trended=("fan_status",),
)
def fan_starts_in_hour(scene: Scene) -> np.ndarray:
    """Starts of the terminal fan within the past hour; unknown while less than three quarters of it were logged."""
    starts = scene.column("fan_starts")
    starts = np.where(starts == starts, starts, 0.0)
    starts[np.isnan(scene.trend("fan_status"))] = np.nan
    return trailing_total(starts, scene.hours, scene.past(HOUR), LEAST_SEEN)


@signal(
    "time",
    needs=("fan_status",),
    settled_by="the trend fan_status, logged on every change",
    where_trended=("fan_status",),
)
def fan_time_in_hour(scene: Scene) -> np.ndarray:
    """Time that the terminal fan ran within the past hour [s]."""
    ran = scene.trend("fan_status") * scene.hours * HOUR
    return trailing_total(ran, scene.hours, scene.past(HOUR), LEAST_SEEN)


@signal(
    "time",
    needs=("fan_status",),
    settled_by="the trend fan_status, logged on every change",
    where_trended=("fan_status",),
)
def fan_run_time(scene: Scene) -> np.ndarray:
    """Mean run of the terminal fan [s], over an hour with two starts or more, where its log is fine enough to show it.

    A log at an interval cannot show a run shorter than the interval; it is used where the interval is two minutes or
    less, or the fan was logged on every change.
    """
    starts = scene.value("fan_starts_in_hour")
    counted = scene.per_row(scene.logged_every("fan_status") <= FINE) & (starts >= 2)
    return ratio(scene.value("fan_time_in_hour"), starts, counted)


@signal(
    "state",
    needs=("fan_status",),
    settled_by="the trend fan_status, logged on every change",
    where_trended=("fan_status",),
)
def fan_may_start_unseen(scene: Scene) -> np.ndarray:
    """0 where the log shows every start of the past hour, unknown where it may hide some.

    A log at an interval hides runs and rests shorter than the interval. Where one lasted a single sample, others may
    have fallen between two: how often the fan started then cannot be told.
    """
    status = scene.trend("fan_status")
    turned = np.abs(stepped(status, scene.first)) > 0.5
    single = np.zeros(scene.size, dtype=np.int64)
    single[1:] = turned[1:] & turned[:-1]
    shown = scene.per_row(scene.logged_every("fan_status") <= FINE) | (trailing_sum(single, scene.past(HOUR)) == 0)
    return np.where(shown & ~np.isnan(status), 0.0, np.nan)


@signal("time", needs=("fan_command",), settled_by="the trend fan_command", where_trended=("fan_command",))
def fan_command_steady_for(scene: Scene) -> np.ndarray:
    """How long the command of the fan has been what it is [s]; 0 in the sample that shows it changed."""
    command = scene.trend("fan_command")
    steady = since_change(stepped(command, scene.first) != 0, scene.first, scene.seconds)
    return np.where(np.isnan(command), np.nan, steady)
