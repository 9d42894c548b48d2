"""Which air handler a terminal hangs on, where no schedule says: learned from what the two show at the same time.

Three ways, the surest first; each decides only where it speaks for one air handler and for no other. All are
judgement, after real trends: with the coil off the discharge follows its own air handler's supply temperature (about
0.9 between changes from quarter hour to quarter hour, less where a fan mixes in room air) and no other's (about 0).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from analyzer.signals.axes import QUARTER
from analyzer.signals.grouped import Groups

# The least correlation, and by how much it has to lie above that of the next best air handler.
LEAST = {"temperature": 0.35, "pressure": 0.8}
MARGIN = {"temperature": 0.25, "pressure": 0.3}
# A correlation of n pairs that have nothing to do with each other spreads by 1/sqrt(n): so many times that, at least.
SPREADS = 4.0
# Two air handlers that go more alike than this are not told apart by what they differ in.
MOST_ALIKE = 0.9
# Quarter hours that two have to show together: half a day.
LEAST_QUARTERS = 48
# Air flows at this share of the quarter hours at the least, or at no more than that, while a fan runs or stands.
FLOWS, FLOWS_NOT, FLOWS_ELSEWHERE = 0.5, 0.05, 0.3
# A change beyond this counts as this [K]: starts and stops come to all air handlers at the same hour.
MOST_CHANGE = 1.5
COIL_OFF, FULL_DAMPER = 5.0, 95.0  # %; as the rules take a coil for shut and a damper for open
STILL = 5.0  # L/s: next to no flow
RUNNING = 25.0  # Pa, as elsewhere where the fan's status is not trended
# With the fan known to run, from here on [Pa]: two steps of 0.01 in. w.c., in which it is usually stored.
READS = 5.0
# A pressure that barely moves tells nothing: its least spread, of the mean of its root.
LEAST_SPREAD = 0.03

BECAUSE = {
    "temperature": "the supply air temperature that their discharge follows with the coil off",
    "pressure": "the duct static pressure that their flow follows at full damper",
    "status": "the fan that stops when their flow does",
}


def learned_owners(scene, words: np.ndarray) -> np.ndarray:
    """Fill in, where ``words`` is blank, the air handler that was learned; "" where none can be told.

    Parameters
    ----------
    scene : Scene
        A whole one, with the points of every air handler that may be a terminal's.
    words : ndarray of str, one per terminal
        As scheduled.

    Returns
    -------
    ndarray of str
    """
    blank = words == ""
    tags = scene.trends.air_handlers["air_handler"].cat.categories.to_numpy(dtype=object)
    if not blank.any() or not len(tags):
        return words
    found = words.copy()
    for way, tell in (("temperature", _by_temperature), ("pressure", _by_pressure), ("status", _by_stops)):
        open_still = blank & (found == "")
        if open_still.any():
            best = tell(scene, open_still)
            decided = open_still & (best >= 0)
            found[decided] = tags[best[decided]]
            scene.learned.update((tag, way) for tag in found[decided])
    return found


def learned_told(learned: Counter) -> list[str]:
    """Say which air handlers were learned for how many terminals, and from what; nothing where none was."""
    return [
        f"{tag} was inferred for {count} terminal{'s' if count > 1 else ''} from {BECAUSE[way]}; no schedule names it."
        for (tag, way), count in sorted(learned.items())
    ]


def left_open_told(owners: dict[str, str], air_handlers: Sequence[str]) -> list[str]:
    """Say what a schedule would add where neither it nor the trends tell a terminal's air handler.

    Parameters
    ----------
    owners : dict of str to str
        The air handler of each terminal; "" where it is not known.
    air_handlers : sequence of str
        Those whose points are trended.
    """
    count = sum(owner == "" for owner in owners.values())
    if not count or not len(air_handlers):
        return []
    one = count == 1
    whose = " and ".join(air_handlers) if len(air_handlers) < 3 else f"{len(air_handlers)} air handlers"
    return [
        f"The air handler of {count} terminal{'' if one else 's'} is not known: no schedule names it and the trends do "
        f"not tell. Rules that use the trends of {whose} were not judged for {'it' if one else 'them'}; "
        "a schedule (terminals.csv, with terminal, kind and air_handler) would add it."
    ]


def correlations(own: np.ndarray, others: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Correlate each line of one table with each of another over the columns that both know.

    Returns
    -------
    found, count : ndarray, shape (lines, lines of others)
        NaN where fewer than ``LEAST_QUARTERS`` columns are known to both, or either does not vary; and how many are.
    """
    a, b = np.nan_to_num(own), np.nan_to_num(others)
    known_a, known_b = (~np.isnan(own)).astype(float), (~np.isnan(others)).astype(float)
    count = known_a @ known_b.T
    sum_a, sum_b = a @ known_b.T, known_a @ b.T
    with np.errstate(divide="ignore", invalid="ignore"):
        product = a @ b.T - sum_a * sum_b / count
        var_a = (a * a) @ known_b.T - sum_a**2 / count
        var_b = known_a @ (b * b).T - sum_b**2 / count
        found = product / np.sqrt(var_a * var_b)
    varies = (var_a > 1e-9 * count) & (var_b > 1e-9 * count)
    return np.where((count >= LEAST_QUARTERS) & varies, found, np.nan), count


def _clearly_best(own: np.ndarray, others: np.ndarray, way: str) -> np.ndarray:
    """Return the number of the air handler that is clearly each terminal's; -1 for none.

    What two air handlers have in common is taken out: the partial correlation, ``(a - b c) / sqrt((1 - b2)(1 - c2))``
    with a and b of the terminal with one and the other, c of the two with each other.
    """
    found, count = correlations(own, others)
    found, line = np.where(np.isnan(found), -1.0, found), np.arange(len(found))
    best = found.argmax(axis=1)
    first, by_chance = found[line, best], SPREADS / np.sqrt(np.maximum(count[line, best], 1.0))
    found[line, best] = -1.0
    next_best = found.argmax(axis=1)
    second, alike = np.maximum(found[line, next_best], 0.0), np.nan_to_num(correlations(others, others)[0])
    alike = np.where(next_best == best, 0.0, np.clip(alike[best, next_best], 0.0, MOST_ALIKE))
    lead = _partial(first, second, alike) - np.maximum(_partial(second, first, alike), 0.0)
    clear = (first >= np.maximum(LEAST[way], by_chance)) & (lead >= np.maximum(MARGIN[way], by_chance))
    return np.where(clear & (first > second), best, -1)


def _partial(one: np.ndarray, other: np.ndarray, alike: np.ndarray) -> np.ndarray:
    spread = np.sqrt(np.maximum((1.0 - other**2) * (1.0 - alike**2), 1e-6))
    return np.clip((one - other * alike) / spread, -1.0, 1.0)


# What is set side by side --------------------------------------------------------------------------------------------


def _by_temperature(scene, wanted: np.ndarray) -> np.ndarray:
    """Changes from quarter hour to quarter hour: of the discharge with air and the coil off, and of the supply air."""
    flow, coil = scene.column("primary_flow"), scene.column("reheat_position")
    discharge = scene.column("discharge_temp")
    there = scene.per_row(wanted) & (discharge == discharge) & ~(coil > COIL_OFF) & ~(flow <= STILL)
    supply = _points(scene, "supply_temp")
    supply[2] = np.where(_stands(scene), np.nan, supply[2])
    own, others = _side_by_side(scene, there, discharge, *supply)
    return _clearly_best(_changes(own), _changes(others), "temperature")


def _by_pressure(scene, wanted: np.ndarray) -> np.ndarray:
    """The flow at full damper, and the root of the duct's pressure while the fan runs.

    By its status where that is trended: a plenum under the floor, or a fan that is short of pressure, shows less than
    where the status has to be read from the pressure.
    """
    flow = scene.column("primary_flow")
    there = scene.per_row(wanted) & (scene.column("damper_position") >= FULL_DAMPER) & (flow > STILL)
    owner, seconds, pressure = _points(scene, "duct_static_pressure")
    status = scene.trends.air_handlers["supply_fan_status"].to_numpy()
    least = np.where(np.isnan(status), RUNNING, np.where(status > 0.5, READS, np.inf))
    root = np.sqrt(np.where(pressure > least, pressure, np.nan))
    own, others = _side_by_side(scene, there, flow, owner, seconds, root)
    known = ~np.isnan(others)
    count = np.maximum(known.sum(axis=1, keepdims=True), 1)
    level = np.sum(others, axis=1, keepdims=True, where=known) / count
    spread = np.sqrt(np.sum((others - level) ** 2, axis=1, keepdims=True, where=known) / count)
    return _clearly_best(own, np.where(spread >= LEAST_SPREAD * level, others, np.nan), "pressure")


def _by_stops(scene, wanted: np.ndarray) -> np.ndarray:
    """Air that flows while one fan runs and never while it stands, and that flows while every other fan stands."""
    flow = scene.column("primary_flow")
    there = scene.per_row(wanted) & (flow == flow)
    own, others = _side_by_side(scene, there, (flow > 2 * STILL).astype(float), *_points(scene, "supply_fan_status"))
    flows, known = np.nan_to_num(own), (~np.isnan(own)).astype(float)
    runs, stands = (others > 0.5).astype(float), (others < 0.5).astype(float)
    with np.errstate(divide="ignore", invalid="ignore"):
        while_it_runs, while_it_stands = (flows @ how.T / (known @ how.T) for how in (runs, stands))
    told = (known @ stands.T >= LEAST_QUARTERS) & (known @ runs.T >= LEAST_QUARTERS)
    its_own = told & (while_it_runs >= FLOWS) & (while_it_stands <= FLOWS_NOT)
    not_its = told & (while_it_stands >= FLOWS_ELSEWHERE)
    only = (its_own.sum(axis=1) == 1) & ((its_own | not_its).all(axis=1))
    return np.where(only, its_own.argmax(axis=1), -1)


def _points(scene, name: str) -> list[np.ndarray]:
    """A point of all air handlers: the number of each row's air handler, its time [s], its value."""
    table = scene.trends.air_handlers
    seconds = table["time"].astype("int64").to_numpy() / 1e6
    return [table["air_handler"].cat.codes.to_numpy().astype(np.int64), seconds, table[name].to_numpy()]


def _stands(scene) -> np.ndarray:
    """At which rows of the air handlers' table the fan is known to stand: then the duct drifts by itself."""
    return scene.trends.air_handlers["supply_fan_status"].to_numpy() < 0.5


def _side_by_side(scene, there, values, owner, seconds, points) -> tuple[np.ndarray, np.ndarray]:
    """Lay the rows of terminals, and those of air handlers, out by quarter hour: a line each, of means."""
    known = ~np.isnan(points)
    owner, seconds, points = owner[known], seconds[known], points[known]
    count = len(scene.trends.air_handlers["air_handler"].cat.categories)
    quarter = np.floor(seconds / QUARTER).astype(np.int64)
    quarters = np.unique(quarter)
    rows = np.flatnonzero(there)
    own_quarter = np.floor(scene.seconds[rows] / QUARTER).astype(np.int64)
    at = np.minimum(np.searchsorted(quarters, own_quarter), max(len(quarters) - 1, 0))
    both = quarters[at] == own_quarter if len(quarters) else np.zeros(len(rows), dtype=bool)
    own = _means(scene.code[rows[both]], at[both], values[rows[both]], scene.count, quarters)
    others = _means(owner, np.searchsorted(quarters, quarter), points, count, quarters)
    return own, others


def _means(line, column, values, lines: int, quarters) -> np.ndarray:
    """Average values by line and column; where quarter hours are left out, an unknown column stands between them."""
    gap = np.cumsum(np.append(0, np.diff(quarters) > 1)) if len(quarters) else np.empty(0, dtype=np.int64)
    width = len(quarters) + (gap[-1] if len(gap) else 0)
    place = line * width + column + gap[column] if len(column) else np.empty(0, dtype=np.int64)
    table = np.full(lines * width, np.nan)
    groups = Groups(place, lines * width)
    table[groups.present] = np.add.reduceat(values, groups.start) / groups.size if len(place) else []
    return table.reshape(lines, width)


def _changes(table: np.ndarray) -> np.ndarray:
    """Changes from column to column, none of them beyond ``MOST_CHANGE``."""
    return np.clip(np.diff(table, axis=1), -MOST_CHANGE, MOST_CHANGE)
