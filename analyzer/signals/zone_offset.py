"""A zone sensor held against the others of its open room.

In an open room that has been left alone for long, sensors read alike; in use they do not: sun, people, windows and the
terminals themselves make real differences between them. The air that a terminal's own fan draws at night settles
nothing: what the plenum adds to it differs from terminal to terminal by as much as a sensor may be off.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.air_signs import STILL
from analyzer.signals.axes import QUARTER
from analyzer.signals.grouped import grouped_median
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import since_change

# A coil that was warm, or air that moved, is felt in the room for so long [s]. Judgement: the air of a room; its mass
# takes longer, which is what ``alone_for`` is for.
COOLS_FOR = 3 * 3600.0
# No sun from then to then [local hours]. Common practice, no source: also in June.
DARK_FROM, DARK_UNTIL = 22, 5
# It has to be told in so many hours. Judgement: half of a night.
LEAST_HOURS = 4.0
# Nights on which it is off by amounts further apart than this are no offset [K]. Judgement: twice a sensor's accuracy.
STEADY = 1.0


@signal(
    "temperature_difference",
    needs=("zone_temp",),
    settled_by="two or more other zone temperatures of the same open zone that agree with each other",
    whole=True,
)
def zone_off_neighbours(scene: Scene, *, alone_for: float, most_outdoors: float, alike: float) -> np.ndarray:
    """How far the zone temperature lies over the median of the other sensors of its open zone, left alone [K].

    At night, ``alone_for`` after the last occupancy, with no heat and no air at any of them; outdoor air no further
    than ``most_outdoors`` from the zone; the others, at least two, within ``alike`` of each other. The median over all
    such hours, unknown with fewer than four of them or where nights differ.
    """
    zones, of_zone = np.unique(scene.words("open_zone").astype(str), return_inverse=True)
    shared = (np.bincount(of_zone, minlength=len(zones)) > 2)[of_zone] & (scene.words("open_zone") != "")
    if not shared.any():
        return np.full(scene.size, np.nan)
    at = scene.part(shared)
    rows = np.flatnonzero(_left_alone(at, alone_for, most_outdoors))
    apart = np.full(at.size, np.nan)
    if len(rows):
        place = pd.factorize(of_zone[shared][at.code[rows]] * 2**40 + (at.seconds[rows] // QUARTER).astype(np.int64))[0]
        apart[rows] = _off_others(at.trend("zone_temp")[rows], at.code[rows], place, alike)
    return scene.lay(at, _steady(at, apart))


@signal("state", needs=("zone_temp",), settled_by="the air handler's outdoor_temp")
def zone_left_alone(scene: Scene, *, alone_for: float, most_outdoors: float) -> np.ndarray:
    """Whether a room has been left to itself for ``alone_for``, in the dark, no further than ``most_outdoors`` from
    the outdoor air; unknown where only the outdoor air is.
    """
    alone, zone = _alone(scene, alone_for), scene.trend("zone_temp")
    apart = np.abs(zone - scene.air_handler("outdoor_temp"))
    mild = np.where(np.isnan(apart), np.nan, apart <= most_outdoors)
    return np.where(np.isnan(zone), np.nan, np.where(alone, mild, 0.0))


def _left_alone(scene: Scene, alone_for: float, most_outdoors: float) -> np.ndarray:
    """Tell the rows at which a room has been left to itself, in the dark, in mild weather."""
    outdoors = scene.air_handler("outdoor_temp")
    return _alone(scene, alone_for) & (np.abs(scene.trend("zone_temp") - outdoors) <= most_outdoors)


def _alone(scene: Scene, alone_for: float) -> np.ndarray:
    """Tell the rows at which nobody, no heat and no air has disturbed a room, in the dark."""
    zone = scene.trend("zone_temp")
    disturbed = (scene.trend("reheat_position") > 5.0) | (scene.trend("primary_flow") > 2 * STILL)
    alone = (scene.value("time_since_occupancy") >= alone_for) & ~np.isnan(zone)
    alone &= since_change(disturbed, scene.first, scene.seconds) >= COOLS_FOR
    return alone & _dark(scene)


def _dark(scene: Scene) -> np.ndarray:
    return scene.by_clock("dark", lambda local: np.asarray((local.hour >= DARK_FROM) | (local.hour < DARK_UNTIL)))


def _off_others(zone: np.ndarray, code: np.ndarray, place: np.ndarray, alike: float) -> np.ndarray:
    """Return how far each reading lies over the median of the others of its place, each terminal once;
    NaN where they differ.

    ``place`` is the number of the open zone and quarter hour.
    """
    table = pd.DataFrame({"place": place, "code": code, "zone": zone})
    each = table.groupby(["place", "code"], as_index=False)["zone"].mean()
    off = _off_rest(each["zone"].to_numpy(), each["place"].to_numpy(), alike)
    return off[table.groupby(["place", "code"]).ngroup().to_numpy()]


def _off_rest(zone: np.ndarray, place: np.ndarray, alike: float) -> np.ndarray:
    order = np.lexsort((zone, place))
    ranked, of_place = zone[order], place[order]
    first = np.searchsorted(of_place, of_place)
    others = np.searchsorted(of_place, of_place, side="right") - first - 1
    rank = np.arange(len(ranked)) - first

    def of_others(number: np.ndarray) -> np.ndarray:
        """The others' reading of this rank, from 0 on: one's own reading is passed over."""
        return ranked[np.minimum(first + number + (number >= rank), len(ranked) - 1)]

    median = (of_others(np.maximum(others - 1, 0) // 2) + of_others(others // 2)) / 2
    spread = of_others(np.maximum(others - 1, 0)) - of_others(np.zeros_like(others))
    off = np.empty(len(zone))
    off[order] = np.where((others >= 2) & (spread <= alike), ranked - median, np.nan)
    return off


def _steady(scene: Scene, apart: np.ndarray) -> np.ndarray:
    """Return each terminal's median of what is known, at those rows; NaN where it is too little, or goes to and fro."""
    rows = np.flatnonzero(~np.isnan(apart))
    usual = grouped_median(apart[rows], scene.code[rows], scene.count)
    strays = grouped_median(np.abs(apart[rows] - usual[scene.code[rows]]), scene.code[rows], scene.count)
    hours = np.bincount(scene.code[rows], scene.hours[rows], scene.count)
    usual[(hours < LEAST_HOURS - 1e-9) | (strays > STEADY / 2)] = np.nan
    return np.where(np.isnan(apart), np.nan, scene.per_row(usual))
