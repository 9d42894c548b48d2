"""A zone sensor held against others of its room, and against the air of the room that the terminal's own fan draws.

In an open room that has been left alone for long, sensors read alike; in use they do not: sun, people, windows and the
terminals themselves make real differences between them.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.agreed import agreed, shown
from analyzer.signals.air_signs import STILL
from analyzer.signals.axes import QUARTER
from analyzer.signals.days import median_of_days
from analyzer.signals.grouped import grouped_median, median_of_known
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import since_change

# A coil that was warm, or air that moved, is felt in the room for so long [s]. Judgement: the air of a room; its mass
# takes longer, which is what ``alone_for`` is for.
COOLS_FOR = 3 * 3600.0
# No sun from then to then [local hours]. Common practice, no source: also in June.
DARK_FROM, DARK_UNTIL = 22, 5
# Of the fan's own air: it has run for so long, without heat or primary air [s]. Judgement: casing and coil take on
# the air's temperature.
RUNS_FOR = 1800.0
# What is held against it has to be told in so many hours, or on so many days. Judgement.
LEAST_HOURS, LEAST_DAYS = 4.0, 2
# Nights on which it is off by amounts further apart than this are no offset [K]. Judgement: twice a sensor's accuracy.
STEADY = 1.0
FANS = "night with the fan on: {}"


@signal(
    "temperature_difference",
    needs=("zone_temp",),
    settled_by="two or more other zone temperatures of the same open zone over a weekend, and the outdoor temperature",
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


def _left_alone(scene: Scene, alone_for: float, most_outdoors: float) -> np.ndarray:
    """Tell the rows at which a room has been left to itself, in the dark, in mild weather."""
    zone, outdoors = scene.trend("zone_temp"), scene.air_handler("outdoor_temp")
    disturbed = (scene.trend("reheat_position") > 5.0) | (scene.trend("primary_flow") > 2 * STILL)
    alone = (scene.value("time_since_occupancy") >= alone_for) & ~np.isnan(zone)
    alone &= since_change(disturbed, scene.first, scene.seconds) >= COOLS_FOR
    return alone & _dark(scene) & (np.abs(zone - outdoors) <= most_outdoors)


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


@signal(
    "temperature_difference",
    needs=("zone_temp", "discharge_temp", "fan_status"),
    settled_by="nights with the terminal fan on and no heat, at this terminal and three others of its air handler",
    whole=True,
)
def zone_off_own_air(scene: Scene, *, same_air: float) -> np.ndarray:
    """How far the zone temperature lies over the room air that the fan draws, more than at like terminals [K].

    At night with the fan on, no heat and no primary air the discharge has the temperature of the room's own air, and
    what plenum and fan add. Held against the median of the air handler's terminals in the same state: of the zone less
    the discharge. Known only where the discharge itself lies within ``same_air`` of theirs, so that the discharge
    sensor is not to blame, on two days at least that agree.
    """
    own = _of_nights(scene)
    off = {name: own[name] - agreed(scene, FANS.format(name)) for name in own}
    off_by = np.where(np.abs(off["discharge"]) <= same_air, off["apart"], np.nan)
    usual = median_of_known(off_by)
    strays = median_of_known(np.abs(off_by - usual[:, None]))
    days = (~np.isnan(off_by)).sum(axis=1)
    usual[(days < LEAST_DAYS) | (strays > STEADY / 2)] = np.nan
    return np.where(_draws_room_air(scene), scene.per_row(usual), np.nan)


def _draws_room_air(scene: Scene) -> np.ndarray:
    """Tell the rows at which the terminal's fan has moved nothing but room air for a while, at night."""

    def work_out():
        flow, reheat = scene.trend("primary_flow"), scene.trend("reheat_position")
        no_air = (flow <= STILL) | (np.isnan(flow) & (scene.value("supply_air_on") < 0.5))
        heated = scene.per_row(scene.has_reheat)
        alone = (scene.trend("fan_status") > 0.5) & no_air & (~heated | (reheat <= 0.0))
        since = since_change(~alone, scene.first, scene.seconds)
        return (since >= RUNS_FOR) & (scene.value("occupied") < 0.5) & _dark(scene)

    return scene.once("draws room air", work_out)


def _of_nights(scene: Scene) -> dict[str, np.ndarray]:
    """Return by day the zone less the discharge, and the discharge, with nothing but room air: (terminals, days)."""

    def work_out():
        zone, discharge = scene.trend("zone_temp"), scene.trend("discharge_temp")
        rows = np.flatnonzero(_draws_room_air(scene) & ~np.isnan(zone) & ~np.isnan(discharge))
        told = {"apart": zone - discharge, "discharge": discharge}
        return {name: median_of_days(scene, told[name][rows], rows).reshape(scene.count, -1) for name in told}

    return scene.once("nights with the fan on", work_out)


def _show(name: str) -> None:
    @shown(FANS.format(name), least=4)
    def of_nights(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
        return scene.words("air_handler").astype(str), _of_nights(scene)[name]


for _name in ("apart", "discharge"):
    _show(_name)


@signal(
    "temperature_difference",
    needs=("zone_temp",),
    settled_by="a weekend of two or more other zone temperatures of its open zone, or nights with its fan on",
    whole=True,
)
def zone_sensor_off(
    scene: Scene, *, alone_for: float, most_outdoors: float, alike: float, same_air: float
) -> np.ndarray:
    """How far the zone sensor reads too high [K], by its neighbors or by its own air; unknown where they disagree.

    One a terminal, at the rows that tell it.
    """
    limits = {"alone_for": alone_for, "most_outdoors": most_outdoors, "alike": alike, "same_air": same_air}
    neighbours = scene.value("zone_off_neighbours", limits)
    own = scene.value("zone_off_own_air", limits)
    of_neighbours, of_own = (scene.reduce(np.fmax, told, np.nan) for told in (neighbours, own))
    disagree = scene.per_row(np.abs(of_neighbours - of_own) > 2 * STEADY)
    return np.where(disagree, np.nan, np.where(np.isnan(own), neighbours, own))
