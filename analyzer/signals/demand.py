"""What the terminals of an air handler ask of it, counted by quarter hour: air, cooling, heat, or nothing.

Counts add up over groups of terminals (``analyzer.signals.agreed``): a terminal is held against all others of its air
handler, and an air handler against all of its terminals, however they are judged.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analyzer.signals.agreed import counted, in_few_bytes, in_four_bytes, settled
from analyzer.signals.air_signs import CALLED, COARSEST, NEAR_COOLING, by_quarter, most_seen
from analyzer.signals.axes import QUARTER
from analyzer.signals.damper_caught import caught
from analyzer.signals.scene import Scene

DEMAND = "demand of terminals"
# A zone calls for heat up to so far above its heating setpoint [K]: the band of its loop, its fan and its sensor; or
# while its reheat is open by more than this [%]. Judgement; a public restatement of ASHRAE Guideline 36 takes a signal
# under 5 % for closed (library's own).
CALLS_WITHIN, REHEAT_OPEN = 1.0, 5.0
# Reheat that is more than a signal about shut [%]. Judgement.
REHEATS = 10.0
# A damper, or a valve, has nothing left to give from here on [%]: it asks for more pressure, for hotter water (ASHRAE
# Guideline 36, 5.6.8, secondary).
FULL = 95.0
# A zone so far above its cooling setpoint [K], with this share of its maximum flow, cools all it can: a terminal holds
# its flow within 5 % (UFC 4-214-02, 10-6.2), its sensor reads within 5 %. Of the maximum as scheduled or as balanced,
# whichever is less: balancing may leave the two a tenth apart, and nobody says which one the controller holds.
PAST_COOLING, FULL_FLOW = 0.5, 0.9
# A terminal that holds its flow holds it this well (UFC 4-214-02, 10-6.2).
HELD = 0.95

# By terminal and quarter hour: there at all; occupied, and by hours that were told; of whose zone is known what it asks
# for, and asking for heat, for cooling; whose reheat is known, and reheating; of whom is known whether all its cooling
# is on, and that it is; whose damper is known and was not caught at being miscounted, and fully open for want of air;
# whose valve is known and of hot water, and fully open; whose damper was caught.
SIGNS = (
    "present", "in_use", "hours_told", "zoned", "cold", "warm", "heated", "reheats", "cooled", "all_cooling", "dampers",
    "damper_full", "valves", "valve_full", "miscounted",
)  # fmt: skip
HIGHEST = "most_open"
# The sum of their primary airflows [L/s], and of how many terminals it is.
AIR, AIR_TOLD = "air", "air_told"


def demand_of(scene: Scene) -> tuple[np.ndarray, np.ndarray, dict[str, np.ndarray]]:
    """Return terminals, quarter hours, and at each what of ``SIGNS`` holds; ``most_open``, the damper's position, and
    ``air``, the airflow.

    A damper whose position was caught at being miscounted has none.
    """
    return scene.once("demand by quarter hours", lambda: _demand(scene))


def _demand(scene: Scene):
    rows = np.flatnonzero(scene.per_row(~(scene.interval > COARSEST)))
    signs = np.stack([np.broadcast_to(sign, len(rows)) for sign in _signs(scene, rows)])
    terminal, quarter, held = by_quarter(scene, rows, signs)
    found = dict(zip(SIGNS, held, strict=True))
    found[HIGHEST] = np.where(found["dampers"], _mean(scene, "damper_position", rows, terminal, quarter), np.nan)
    found[AIR] = _mean(scene, "primary_flow", rows, terminal, quarter)
    return terminal, quarter, found


def _signs(scene: Scene, rows: np.ndarray) -> tuple[np.ndarray, ...]:
    zone, reheat = scene.trend("zone_temp")[rows], scene.trend("reheat_position")[rows]
    flow, damper = scene.trend("primary_flow")[rows], scene.trend("damper_position")[rows]
    above_heating = zone - scene.value("heating_setpoint")[rows]
    above_cooling = zone - scene.value("cooling_setpoint")[rows]
    code = scene.code[rows]
    hours_told = scene.trended("occupied") | (scene.site.occupied_hours is not None)
    wrong = caught(scene)[code] & (damper == damper)
    right = (damper == damper) & ~wrong
    most = np.fmin(most_seen(scene), scene.scheduled("primary_max"))[code]
    hot_water = (scene.words("reheat") == "hot-water")[code] & (reheat == reheat)
    zoned, cools = above_heating == above_heating, above_cooling == above_cooling
    moves = ~(flow <= 0)
    # A position that is counted may show full opening for weeks while the flow is held at its setpoint: no word on air.
    setpoint = scene.trend("primary_flow_setpoint")[rows]
    untold = (setpoint != setpoint) & (above_cooling > PAST_COOLING)
    wants_more = ((flow < HELD * setpoint) & (setpoint >= CALLED)) | untold
    at_most = (flow >= FULL_FLOW * most) | (right & (damper >= FULL))
    return (
        np.ones(len(rows), dtype=bool),
        scene.value("occupied")[rows] > 0.5,
        hours_told[code],
        zoned,
        (above_heating < CALLS_WITHIN) | (reheat > REHEAT_OPEN),
        above_cooling > -NEAR_COOLING,
        reheat == reheat,
        (reheat > REHEATS) & moves,
        cools & ((flow == flow) | right),
        cools & (above_cooling > PAST_COOLING) & at_most,
        right,
        right & (damper >= FULL) & wants_more,
        hot_water,
        hot_water & (reheat >= FULL) & moves,
        wrong,
    )


def _mean(scene: Scene, name: str, rows: np.ndarray, terminal: np.ndarray, quarter: np.ndarray) -> np.ndarray:
    """The mean of a trend of each terminal in its quarter hours; of a row that stands for several, its."""
    values, own = scene.trend(name)[rows], (scene.seconds[rows] // QUARTER).astype(np.int64)
    known = values == values
    key = scene.code[rows][known] * 2**40 + own[known]
    keys, number = np.unique(key, return_inverse=True)
    mean = np.bincount(number, values[known], len(keys)) / np.maximum(np.bincount(number, minlength=len(keys)), 1)
    if not len(keys):
        return np.full(len(terminal), np.nan)
    at = np.maximum(np.searchsorted(keys, terminal * 2**40 + quarter, side="right") - 1, 0)
    return np.where(keys[at] // 2**40 == terminal, mean[at], np.nan)


def _add(tables: Sequence[pd.DataFrame]) -> pd.DataFrame:
    how = dict.fromkeys((*SIGNS, AIR, AIR_TOLD), "sum") | {HIGHEST: "max"}
    return in_few_bytes(pd.concat(tables).groupby(["owner", "quarter"], as_index=False, sort=True).agg(how))


def _settle(counts: pd.DataFrame) -> pd.DataFrame:
    return in_four_bytes(counts.sort_values(["owner", "quarter"], ignore_index=True))


@counted(DEMAND, add=_add, settle=_settle)
def demand_counts(scene: Scene) -> pd.DataFrame:
    """Count by air handler and quarter hour.

    Returns
    -------
    DataFrame
        ``owner, quarter``, then ``SIGNS``; ``most_open``: the highest position of a damper that is believed [%];
        ``air``: the sum of the primary airflows that are known [L/s], and ``air_told``: of how many terminals it is.
    """
    terminal, quarter, found = demand_of(scene)
    tags, owner = np.unique(scene.words("air_handler").astype(str), return_inverse=True)
    place = owner.reshape(-1)[terminal] * 2**40 + quarter
    places, number = np.unique(place, return_inverse=True)
    table = pd.DataFrame({name: np.bincount(number, found[name], len(places)).astype(np.int32) for name in SIGNS})
    highest = np.full(len(places), -np.inf)
    known = ~np.isnan(found[HIGHEST])
    np.maximum.at(highest, number[known], found[HIGHEST][known])
    table[HIGHEST] = np.where(np.isinf(highest), np.nan, highest)
    told = ~np.isnan(found[AIR])
    table[AIR] = np.bincount(number, np.where(told, found[AIR], 0.0), len(places)).astype(np.float32)
    table[AIR_TOLD] = np.bincount(number, told, len(places)).astype(np.int32)
    table.insert(0, "owner", tags.astype(object)[places // 2**40])
    table.insert(1, "quarter", places % 2**40)
    return in_few_bytes(table)


def demand_at(scene: Scene, name: str) -> np.ndarray:
    """Return per row a count, or the highest damper position, of the terminal's air handler at its quarter hour.

    NaN where no air handler is known, or none of its terminals has a row.
    """
    return scene.of_air_handlers(("demand", name), lambda scene: _looked_up(scene, name))


def demand_of_nobodys(scene: Scene, name: str) -> np.ndarray:
    """Return the same of the terminals of no known air handler: each may hang on any. NaN where there are none."""
    return scene.of_air_handlers(("demand of nobody's", name), lambda scene: _looked_up(scene, name, nobodys=True))


def _looked_up(scene: Scene, name: str, *, nobodys: bool = False) -> np.ndarray:
    table, at = settled(scene, DEMAND), scene.once(("demand, places", nobodys), lambda: _places(scene, nobodys))
    if not len(table):
        return np.full(len(at), np.nan)
    return np.where(at >= 0, table[name].to_numpy(dtype=float)[at], np.nan)


def _places(scene: Scene, nobodys: bool) -> np.ndarray:
    """Find the row of the table of the air handler and quarter hour of each of the axes' rows; -1 for none."""
    table, axes = settled(scene, DEMAND), scene.air_handler_axes
    if not len(table):
        return np.full(len(axes.rows), -1)
    tags, code = scene.whole_scene.once("demand, owners", lambda: _keys(table))
    words = scene.words("air_handler").astype(str)
    unknown = words == ""
    owner = pd.Index(tags).get_indexer(np.full(len(words), "") if nobodys else words)
    owner[unknown] = -1  # what hangs on no known air handler is held against none
    owner = np.repeat(owner[axes.terminal], np.diff(axes.first))
    place = owner * 2**40 + (scene.seconds[axes.rows] // QUARTER).astype(np.int64)
    at = np.minimum(np.searchsorted(code, place), len(code) - 1)
    return np.where((owner >= 0) & (code[at] == place), at, -1)


def _keys(table: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """The air handlers of the table, and a number for each of its rows, rising."""
    tags, code = np.unique(table["owner"].to_numpy().astype(str), return_inverse=True)
    return tags, code.reshape(-1) * 2**40 + table["quarter"].to_numpy()
