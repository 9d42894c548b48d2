"""Carbon dioxide of the zone: what people breathe, airflow with it, and the reading of an empty room."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.register import signal
from analyzer.signals.scene import Scene

# The room has to have been empty for this much longer before its lowest is taken [h]. Judgement: in a tight room the
# air of the day is washed out by leakage alone only over a night.
LEAST_EMPTY = 6.0
# More than a flow sensor's zero shows [L/s].
MOVING_AIR = 10.0
# So many nights, about each, are taken together; of these so many have to be known. Judgement: a working week, and
# two that agree.
NIGHTS, LEAST_NIGHTS = 5, 2
# In a room that leaks, what people left behind falls by more than this share of its excess over outdoor air from the
# fourth hour before the end of the night to the last one: an air change in 60 hours. Judgement: the tightest of
# buildings leak several times that.
FALLS = 0.05
# The flow at much and at little carbon dioxide takes so many hours each to be known [h]. Judgement.
LEAST_TOLD = 2.0


@signal("concentration", needs=("co2",), settled_by="the trend co2", where_trended=("co2",))
def co2_out_of_range(scene: Scene, *, no_sensor: float, least_co2: float) -> np.ndarray:
    """Carbon dioxide where it reads less than outdoor air has, and more than a point without a sensor; else unknown."""
    co2 = scene.trend("co2")
    return np.where((co2 > no_sensor) & (co2 < least_co2), co2, np.nan)


@signal(
    "concentration",
    needs=("co2",),
    settled_by="the trends co2 and occupied, or occupied hours in the site file",
    where_trended=("co2",),
)
def co2_lowest_when_empty(
    scene: Scene, *, no_sensor: float, empty_for: float, air_for: float, outdoor_co2: float
) -> np.ndarray:
    """The lowest carbon dioxide of five nights about each: in no night does the empty room come further down.

    Of the hours from ``empty_for`` after occupancy on, at least six of them. The air of the day has to be gone: air
    moved for ``air_for`` among them, or the reading does not fall any more, which it does in any room as long as there
    is more than outdoor air (``outdoor_co2``) has. Unknown with fewer than two such nights, and where occupied hours
    are assumed.
    """
    return _nights(scene, no_sensor, empty_for, air_for, outdoor_co2)["lowest"]


@signal(
    "concentration",
    needs=("co2",),
    settled_by="the trends co2 and occupied, or occupied hours in the site file",
    where_trended=("co2",),
)
def co2_usual_when_empty(
    scene: Scene, *, no_sensor: float, empty_for: float, air_for: float, outdoor_co2: float
) -> np.ndarray:
    """The median, over five nights about each, of the lowest carbon dioxide of the empty room.

    Of the same nights as ``co2_lowest_when_empty``.
    """
    return _nights(scene, no_sensor, empty_for, air_for, outdoor_co2)["usual"]


def _nights(scene: Scene, *limits: float) -> dict[str, np.ndarray]:
    return scene.once(("nights of carbon dioxide", limits), lambda: _of_nights(scene, *limits))


def _of_nights(
    scene: Scene, no_sensor: float, empty_for: float, air_for: float, outdoor_co2: float
) -> dict[str, np.ndarray]:
    co2 = scene.trend("co2")
    empty = (scene.value("time_since_occupancy") >= empty_for) & (scene.value("occupied") < 0.5) & (co2 > no_sensor)
    empty &= ~scene.per_row(scene.assumed(("occupied",)))
    rows = np.flatnonzero(empty)
    found = {name: np.full(scene.size, np.nan) for name in ("lowest", "usual")}
    if not len(rows):
        return found
    apart = (np.diff(rows) > 1) | (np.diff(scene.code[rows]) > 0)
    first = np.concatenate([[0], np.flatnonzero(apart) + 1])
    lowest = np.minimum.reduceat(co2[rows], first)
    moves = (scene.trend("primary_flow")[rows] > MOVING_AIR) | (scene.value("supply_air_on")[rows] > 0.5)
    long_enough = np.add.reduceat(scene.hours[rows], first) >= LEAST_EMPTY - 1e-9
    aired = np.add.reduceat(scene.hours[rows] * moves, first) >= air_for / 3600.0 - 1e-9
    tells = long_enough & (aired | ~_still_falls(co2[rows], scene.seconds[rows], first, outdoor_co2))
    nights = pd.Series(lowest[tells]).groupby(scene.code[rows][first][tells])
    about = nights.rolling(NIGHTS, center=True, min_periods=LEAST_NIGHTS)
    for name, of_nights in (("lowest", about.min()), ("usual", about.median())):
        night = np.full(len(first), np.nan)
        night[tells] = of_nights.droplevel(0).sort_index().to_numpy()
        found[name][rows] = np.repeat(night, np.diff(np.append(first, len(rows))))
    return found


def _still_falls(co2: np.ndarray, seconds: np.ndarray, first: np.ndarray, outdoor_co2: float) -> np.ndarray:
    """Tell for each stretch whether its carbon dioxide fell in its last four hours."""
    last = np.append(first[1:], len(co2)) - 1
    to_end = np.repeat(seconds[last], last - first + 1) - seconds

    def mean(rows: np.ndarray) -> np.ndarray:
        count = np.add.reduceat(rows.astype(float), first)
        return np.add.reduceat(np.where(rows, co2, 0.0), first) / np.where(count > 0, count, np.nan)

    before, end = mean((to_end > 3 * 3600.0) & (to_end <= 4 * 3600.0)), mean(to_end <= 3600.0)
    return ~(before - end <= FALLS * np.maximum(before - outdoor_co2, 0.0))


@signal("concentration", needs=("co2",), settled_by="the trend co2", where_trended=("co2",))
def co2_breathed(
    scene: Scene, *, no_sensor: float, empty_for: float, air_for: float, outdoor_co2: float, most_co2_empty: float
) -> np.ndarray:
    """Carbon dioxide of the zone, less what the sensor reads too much where its nights show that it does.

    As read, where the lowest of its nights does not lie over ``most_co2_empty``; unknown of a point without a sensor.
    """
    co2 = scene.trend("co2")
    lowest = scene.reduce(np.fmin, _nights(scene, no_sensor, empty_for, air_for, outdoor_co2)["lowest"], np.nan)
    too_much = np.where(lowest > most_co2_empty, lowest - outdoor_co2, 0.0)
    return np.where(co2 > no_sensor, co2 - scene.per_row(too_much), np.nan)


@signal("fraction", needs=("co2", "primary_flow"), settled_by="the trends co2 and primary_flow", where_trended=("co2",))
def flow_answer_to_co2(scene: Scene, *, most_co2: float, little_co2: float) -> np.ndarray:
    """Mean primary airflow in use at carbon dioxide over ``most_co2``, as a multiple of that under ``little_co2``.

    Unknown with fewer than two hours of either.
    """
    co2, flow = scene.trend("co2"), scene.trend("primary_flow")
    told = (scene.value("occupied") > 0.5) & (scene.value("air_available") > 0.5) & ~np.isnan(flow)
    much, little = (_mean(scene, flow, told & rows) for rows in (co2 > most_co2, co2 < little_co2))
    return scene.per_row(much / np.where(little > 0, little, np.nan))


def _mean(scene: Scene, values: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Average a value over some rows of each terminal; NaN where these are too few hours."""
    hours = scene.per_terminal(scene.hours * rows)
    total = scene.per_terminal(np.where(rows, values, 0.0) * scene.hours)
    return total / np.where(hours >= LEAST_TOLD - 1e-9, hours, np.nan)
