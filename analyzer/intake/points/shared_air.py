"""Supply temperatures of terminals that are the entering air's, and no discharge: by their values.

One is what several terminals repeat: the air handler's. Another is what stands beside a terminal's own discharge
temperature, which lies at it or above it, and above it by more than a sensor's error when heat or a fan warms the air.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import takewhile

import numpy as np

from analyzer.intake.points.cells import Cells, Opened
from analyzer.intake.points.point import Point
from analyzer.intake.words.names import concepts_of
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.wording import some

# Judgement. Two logs are of one sensor where at least this share of the samples that both have at one moment ...
_ALIKE = 0.9
_WITHIN = 0.15  # ... differ by no more than this [K or delta degF]: rounding to a tenth, and polls seconds apart,
_SAMPLES = 12  # ... where there are so many of them at least,
_MOVES = 10 * _WITHIN  # ... and where they move by this much: what stands still is alike by chance.
# Judgement. The discharge is no colder than what enters by more than this [K or delta degF]: the error of two sensors,
_COLDER = 1.0
_WARMED = 3.0  # ... and from one hour to another it is warmed by this much: two sensors of one air differ by the same.
_BESIDE = 0.5  # The log of what enters has this share of the discharge's samples: a few tell nothing of the others.
_BAD = 300.0  # A number that is no temperature; 0 is a dead sensor's.


def share_supply_air(logs: Sequence[Opened]) -> list[str]:
    """Take a "supply" temperature that other terminals repeat for the entering air's; leave it out where that is known.

    Returns
    -------
    list of str
        What was assumed.
    """
    points = [point for opened in logs for point in opened.points if point.mapped]
    supply = [point for point in points if _says_supply(point)]
    if not supply:
        return []
    cells = Cells(logs)
    entering = {point.tag for point in points if point.quantity == "primary_temp"}
    groups = _of_one_sensor(supply, cells)
    beside = _beside_a_discharge([point for point in supply if point.tag not in entering], points, cells)
    for point in beside:
        point.means("primary_temp")
    entering |= {point.tag for point in beside}
    said = _told_beside(beside)
    shared = [point for group in groups for point in group if point.quantity == "discharge_temp"]
    for point in shared:
        if point.tag in entering:
            point.give_up("other terminals repeat it: it is the air handler's, whose temperature is known", rival=True)
        else:
            point.means("primary_temp")
    if not shared:
        return said
    named = some(list(dict.fromkeys(point.column for point in shared)))
    return [
        *said,
        f"Supply temperatures that are the same at several terminals ({len(shared)} points) were taken as the air "
        f"handler's supply air, not as discharge temperatures: {named}.",
    ]


def _beside_a_discharge(supply: list[Point], points: list[Point], cells: Cells) -> list[Point]:
    """Return the supply temperatures that their terminal's discharge is warmed from."""
    named = {point.tag for point in supply}
    discharge: dict[str | None, list[Point]] = {}
    for point in points:
        if point.tag in named and not point.air_handler and point.quantity == "discharge_temp" and point not in supply:
            discharge.setdefault(point.tag, []).append(point)
    return [
        point for point in supply if any(_warms(cells.of(point), cells.of(own)) for own in discharge.get(point.tag, ()))
    ]


def _warms(entering: tuple[np.ndarray, np.ndarray], leaving: tuple[np.ndarray, np.ndarray]) -> bool:
    """Tell by the samples of one moment whether one temperature lies at another or under it, and is warmed to it."""
    (when, cold), (then, warm) = _good(*entering), _good(*leaving)
    _, at, at_leaving = np.intersect1d(when, then, return_indices=True)
    if len(at) < max(_SAMPLES, _BESIDE * len(then)) or np.ptp(cold[at]) < _MOVES:
        return False
    rise = warm[at_leaving] - cold[at]
    low, high = np.quantile(rise, [0.05, 0.95])
    return bool((rise >= -_COLDER).mean() >= _ALIKE and high - max(low, -_COLDER) >= _WARMED)


def _good(when: np.ndarray, value: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    good = (value != 0.0) & (np.abs(value) < _BAD)
    return when[good], value[good]


def _told_beside(points: list[Point]) -> list[str]:
    if not points:
        return []
    files = len({point.file for point in points})
    named = some(list(dict.fromkeys(repr(point.column) for point in points)))
    return [
        "A supply temperature logged beside the same terminal's discharge temperature, never above it, was taken as "
        f"its entering-air temperature: {named} in {files} file{'s' if files > 1 else ''}."
    ]


def _says_supply(point: Point) -> bool:
    """Tell a terminal's discharge temperature that is only called supply; the user's word on it stands."""
    if point.air_handler or point.quantity != "discharge_temp" or point.certainty == "point list":
        return False
    concepts = concepts_of(take_unit(point.column)[0])
    return "SUPPLY" in concepts and "DISCHARGE" not in concepts


@dataclass
class _Group:
    """Points of one sensor, as far as they are known; the mean and the spread of the first one's values."""

    mean: float
    spread: float
    points: list[Point]


def _of_one_sensor(points: list[Point], cells: Cells) -> list[list[Point]]:
    """Group points of several terminals that hold one sensor's values.

    Each is held against the first of the groups whose mean and spread are as good as its own: a building has many
    terminals.
    """
    found = [_Group(float(value.mean()), float(value.std()), [p]) for p in points if len(value := cells.of(p)[1])]
    groups: list[_Group] = []
    for mine in sorted(found, key=lambda group: group.mean):
        near = [each for each in takewhile(partial(_is_near, mine), reversed(groups)) if _is_spread(mine, each)]
        (point,) = mine.points
        other = next((each for each in near if _alike(cells.of(each.points[0]), cells.of(point))), None)
        if other is None:
            groups.append(mine)
        else:
            other.points.append(point)
    return [group.points for group in groups if len({point.tag for point in group.points}) > 1]


def _is_near(mine: _Group, other: _Group) -> bool:
    return mine.mean - other.mean <= 2 * _WITHIN


def _is_spread(mine: _Group, other: _Group) -> bool:
    return abs(mine.spread - other.spread) <= 2 * _WITHIN


def _alike(one: tuple[np.ndarray, np.ndarray], other: tuple[np.ndarray, np.ndarray]) -> bool:
    if len(one[0]) == len(other[0]) and (one[0] == other[0]).all():
        here, there = one[1], other[1]
    else:
        _, at, at_other = np.intersect1d(one[0], other[0], return_indices=True)
        here, there = one[1][at], other[1][at_other]
    if len(here) < _SAMPLES or np.ptp(here) < _MOVES:
        return False
    return bool((np.abs(here - there) <= _WITHIN).mean() >= _ALIKE)
