"""The terminal fan: how often it starts, how long it runs, and whether it runs with its air handler."""

from __future__ import annotations

import numpy as np

from analyzer.signals.agreed import agreed, shown
from analyzer.signals.axes import QUARTER
from analyzer.signals.days import per_row_of_day
from analyzer.signals.flow_zero import zero_is_wrong
from analyzer.signals.grouped import Groups
from analyzer.signals.in_force import in_use
from analyzer.signals.kinds import of_kind
from analyzer.signals.mixing import RUNNING_PRESSURE
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.unit_state import state_by_quarter
from analyzer.signals.windows import (
    mean_about,
    ratio,
    running_total,
    since_change,
    stepped,
    trailing_sum,
    trailing_total,
)

HOUR = 3600.0
# On a slow log a fan is not seen to stay apart from its command before it had one for so long while its air handler ran
# [h]. Judgement: night cycles of a quarter hour look like a dead fan to a log of that pace, however many nights.
LEAST_COMMANDED = 4.0
# A log this fine shows a terminal fan's every run: two minutes are less than any timer lets it run. Judgement. [s]
FINE = 120.0
# So many terminals' fans tell what the fans of an air handler do. Judgement: one of two may be overridden.
LEAST_FANS = 3
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


@signal(
    "state",
    needs=("fan_status", "fan_command"),
    settled_by="the trends fan_status and fan_command, logged on every change",
    where_trended=("fan_command",),
)
def fan_stays_apart(scene: Scene, *, fine_log: float, seldom: float, about: float) -> np.ndarray:
    """Whether the fan surely does not follow its command: by a log as fine as ``fine_log``, or rarely for days.

    A slow log shows a fan that comes and goes at other moments than its command, at the log's own pace for hours on
    end. A fan that is dead, or a relay that is welded, does not follow for ``about`` before and after either; one that
    follows, then or ever after, in more than ``seldom`` of the time with such a command is unknown.
    """
    command, status = scene.trend("fan_command"), scene.trend("fan_status")
    known = ~np.isnan(command) & ~np.isnan(status)
    apart = scene.per_row(scene.logged_every("fan_status") <= fine_log)
    by_day = in_use(scene) & ~(scene.value("supply_air_on") < 0.5)
    for state in (0.0, 1.0):
        here = known & (command == state)
        follows = (here & (status == state)).astype(float)
        share = mean_about(follows, scene.hours * here, scene.past(about), scene.ahead(about), here)
        later = mean_about(follows, scene.hours * here, np.arange(scene.size), scene.first[scene.code + 1], here)
        commanded = running_total(scene.hours * (here & by_day))
        about_it = commanded[scene.ahead(about)] - commanded[scene.past(about)]
        apart = apart | ((share <= seldom) & (later <= seldom) & (about_it >= LEAST_COMMANDED))
    return np.where(apart & known, 1.0, np.nan)


@signal("state", settled_by="the kind in the terminal schedule")
def fan_is_there(scene: Scene) -> np.ndarray:
    """Whether the terminal has a fan: as scheduled, seen to run, commanded on and off, or as most that have its points.

    Many controllers command, throughout, a fan that is not there: where most fans of the building that have both points
    are seen to run, a point means a fan.
    """
    scheduled = (scene.words("kind") == "series") | (scene.words("kind") == "parallel")
    usual = agreed(scene, "fans that run").ravel() > 0.5
    command = scene.trend("fan_command")
    ran = _ever_ran(scene)
    turned = scene.reduce(np.fmax, command, np.nan) > scene.reduce(np.fmin, command, np.nan)
    return scene.per_row(np.where(scheduled | ran | turned | usual, 1.0, np.nan))


def _ever_ran(scene: Scene) -> np.ndarray:
    return scene.reduce(np.fmax, scene.trend("fan_status"), np.nan) > 0.5


@shown("fans that run", least=LEAST_FANS)
def _which_run(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Whether each terminal's fan was ever seen to run, of those with status and command, all over the building."""
    both = scene.trended("fan_status") & scene.trended("fan_command")
    return np.full(scene.count, "building"), np.where(both, _ever_ran(scene).astype(float), np.nan)


# A fan and its air handler ----------------------------------------------------------------------------------------

# A day tells what a fan does out of hours where so many of them were logged [h]. Judgement.
LEAST_OUT_OF_HOURS = 2.0


@signal("state", settled_by="the air handler's supply_fan_status, or its duct_static_pressure", whole=True)
def air_handler_runs(scene: Scene, *, air_comes: float) -> np.ndarray:
    """Whether the air handler runs: by its own points, or by the primary air at the terminal (``air_comes``).

    Off only by its own points: shut dampers of its terminals do not tell that it is off. Of a terminal whose air
    handler is not known: as long as any runs by its points, that may be its own; it is off where all are. A flow sensor
    that reads air with the air handler off tells nothing of it.
    """
    status, pressure = scene.air_handler("supply_fan_status"), scene.air_handler("duct_static_pressure")
    by_pressure = np.where(np.isnan(pressure), np.nan, (pressure > RUNNING_PRESSURE).astype(float))
    runs = np.where(np.isnan(status), by_pressure, (status > 0.5).astype(float))
    nobodys = scene.per_row(scene.words("air_handler") == "")
    if nobodys.any():
        runs[nobodys] = _any_runs(scene)[nobodys]
    has_air = (scene.trend("primary_flow") > air_comes) & ~scene.per_row(zero_is_wrong(scene))
    return np.where(has_air | (scene.value("supply_air_on") > 0.5), 1.0, runs)


def _any_runs(scene: Scene) -> np.ndarray:
    """Whether any air handler runs by its own points, by the quarter hour; NaN where none tells."""
    table = scene.trends.air_handlers
    tags = table["air_handler"].cat.categories.astype(str).to_numpy()
    if not len(tags):
        return np.full(scene.size, np.nan)
    runs = state_by_quarter(table, tags)["runs"].groupby(level="quarter").max()
    return runs.reindex((scene.seconds // QUARTER).astype(np.int64)).to_numpy()


@signal("fraction", settled_by="the trend fan_status of the air handler's other terminals", whole=True)
def fans_run_alike(scene: Scene) -> np.ndarray:
    """Part of the unoccupied hours of the day in which the fans of the air handler's terminals ran: their median.

    Of terminals of one kind; of the whole building where no air handler is known. Fans that run together follow
    something that they share.
    """
    return per_row_of_day(scene, agreed(scene, "fans out of hours").ravel())


@signal("fraction", needs=("fan_status",), settled_by="the trend fan_status", where_trended=("fan_status",))
def fan_out_of_hours(scene: Scene) -> np.ndarray:
    """Part of its unoccupied hours of the day in which the terminal's fan ran."""
    return per_row_of_day(scene, _share_out_of_hours(scene))


@shown("fans out of hours", least=LEAST_FANS)
def _ran_out_of_hours(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """What the fan of each terminal did out of hours, beside those of its kind on its air handler."""
    label = np.char.add(np.char.add(scene.words("air_handler").astype(str), "/"), scene.kinds.astype(str))
    return label, _share_out_of_hours(scene).reshape(scene.count, -1)


def _share_out_of_hours(scene: Scene) -> np.ndarray:
    """Part of its unoccupied hours in which each terminal's fan ran, by day; NaN where too little was logged."""
    ran = np.where(of_kind(scene, "single-duct"), np.nan, scene.trend("fan_status"))
    rows = np.flatnonzero((scene.value("occupied") <= 0.5) & ~np.isnan(ran))
    groups = Groups(scene.group_of_day[rows], scene.groups)
    hours = groups.sum(scene.hours[rows])
    total = np.where(hours >= LEAST_OUT_OF_HOURS, hours, np.nan)
    return groups.mean(ran[rows], scene.hours[rows], total)


@signal(
    "state",
    needs=("zone_temp",),
    settled_by="the trends heating_setpoint and zone_temp, or reheat_position and the air handler's supply_fan_status",
)
def fan_has_no_call(
    scene: Scene,
    *,
    past_setpoint: float,
    near_setpoint: float,
    past_cooling: float,
    warm_enough: float,
    reheat_open: float,
    air_comes: float,
) -> np.ndarray:
    """Whether the zone gives its fan nothing to do out of hours: it is neither near heating nor near cooling.

    It is clear of heating ``past_setpoint`` above its setpoint; with reheat shut and the air handler off by its own
    points ``near_setpoint`` above it, or from ``warm_enough`` on where no setpoint is known. Near cooling
    (``past_cooling``) counts as long as the air handler may run. In a cooler zone it is unknown without one.
    """
    zone, heating, cooling = (scene.value(name) for name in ("zone_temp", "heating_setpoint", "cooling_setpoint"))
    off = scene.value("air_handler_runs", {"air_comes": air_comes}) < 0.5
    idle = off & (scene.trend("reheat_position") <= reheat_open)
    clear = (zone > heating + past_setpoint) | (idle & (zone > heating + near_setpoint))
    clear |= idle & np.isnan(heating) & (zone > warm_enough)
    unknown = np.isnan(zone) | (np.isnan(heating) & ~clear)
    return np.where(unknown, np.nan, (clear & ~(~off & (zone > cooling - past_cooling))).astype(float))


@signal("state", settled_by="the trend primary_temp, or the air handler's supply_temp")
def primary_may_heat(scene: Scene) -> np.ndarray:
    """Whether primary air alone may be heating the zone: it is warm, or not known out of occupied hours."""
    primary = scene.value("primary_temp")
    warm = primary > np.fmax(scene.trend("zone_temp"), scene.value("heating_setpoint"))
    return (warm | (np.isnan(primary) & ~in_use(scene))).astype(float)
