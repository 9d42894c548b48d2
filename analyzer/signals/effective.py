"""The one effective setpoint of a terminal: whether it is heating's or cooling's at each moment, by what shows it.

It is the heating setpoint while the terminal heats and the cooling setpoint while it cools. What tells them apart, the
surest first: which setpoint of a mode it equals; which of the two between which it goes to and fro; reheat or airflow;
the side on which the zone lies, where that is beyond doubt. Where nothing tells, it is unknown which of the two it is.
"""

from __future__ import annotations

import numpy as np

from analyzer.signals.grouped import Groups
from analyzer.signals.scene import Scene
from analyzer.signals.standing import SAME

# Mode to its (heating, cooling) setpoints, one per row [degC].
Pairs = dict[str, tuple[np.ndarray, np.ndarray]]
HEATING, COOLING = 0, 1
# Which mode is looked at first, in and out of hours.
_ORDER = {True: ("occupied", "standby", "unoccupied"), False: ("unoccupied", "occupied", "standby")}
# An adjusted setpoint is that from which it was moved by less than this share of the distance between the two.
# Judgement: half would be the middle between them.
NEAR = 1 / 3
# Two setpoints between which an effective one goes to and fro are so far apart [K]: a degree Fahrenheit and a half at
# least (Guideline 36 keeps them a degree apart), eleven at the most. Judgement.
APART = 0.8, 6.2
# They hold so much of its time in one state, each at least so much, and it goes up and down so often. Judgement.
ON_EITHER, ON_EACH, TO_AND_FRO = 0.9, 0.05, 2
# Reheat over this is at work [%]; the rules' own limit for a valve that is shut.
REHEAT_AT_WORK = 5.0
# Airflow so far over the minimum is cooling, with the reheat shut. Judgement: the accuracy of the sensor, three times.
OVER_MINIMUM = 1.15
# The distance of the pair where nobody tells it, and how far beyond it a zone's side is beyond doubt [K]. Judgement:
# ASHRAE 90.1 asks for 2.8 K (5 degF) between them.
USUAL_GAP, BEYOND = 2.8, 0.5


def sides_of(scene: Scene, effective: np.ndarray, by_mode: Pairs) -> tuple[np.ndarray, np.ndarray]:
    """Return the heating and the cooling setpoint in force [degC] by an effective setpoint, NaN where unknown.

    Parameters
    ----------
    effective : ndarray of float
        One per row [degC].
    by_mode : dict
        The setpoints of each mode.
    """
    found = np.full(scene.size, np.nan), np.full(scene.size, np.nan)
    if np.isnan(effective).all():
        return found
    occupied = scene.value("occupied") > 0.5
    for in_hours in (True, False):
        for mode in _ORDER[in_hours]:
            _by_equality(found, effective, by_mode[mode], occupied == in_hours)
    _by_nearness(found, effective, by_mode["occupied"], occupied)
    for in_hours in (True, False):
        _by_two_levels(scene, found, effective, occupied == in_hours)
    gap = _gap(scene, by_mode, occupied)
    side = _side_by_behaviour(scene, effective, gap)
    _set_side(found, effective, gap, side)
    return found


def _open(found, effective: np.ndarray) -> np.ndarray:
    """Tell where the effective setpoint is known and its side is not."""
    return ~np.isnan(effective) & np.isnan(found[HEATING]) & np.isnan(found[COOLING])


def _by_equality(found, effective: np.ndarray, pair: tuple[np.ndarray, np.ndarray], where: np.ndarray) -> None:
    """Take the pair of a mode where the effective setpoint is one of it."""
    is_heating, is_cooling = (np.abs(effective - own) < SAME for own in pair)
    hit = where & _open(found, effective) & (is_heating | is_cooling)
    found[HEATING][hit] = np.where(is_heating, effective, pair[HEATING])[hit]
    found[COOLING][hit] = np.where(is_cooling, effective, pair[COOLING])[hit]


def _by_nearness(found, effective: np.ndarray, pair: tuple[np.ndarray, np.ndarray], where: np.ndarray) -> None:
    """Take an adjusted setpoint for the one of the occupied pair that it lies much nearer to; the gap goes with it."""
    gap = pair[COOLING] - pair[HEATING]
    off = [np.abs(effective - own) for own in pair]
    side = np.where(off[HEATING] <= NEAR * gap, HEATING, np.where(off[COOLING] <= NEAR * gap, COOLING, -1))
    _set_side(found, effective, gap, np.where(where, side, -1))


def _set_side(found, effective: np.ndarray, gap: np.ndarray, side: np.ndarray) -> None:
    """Lay the effective setpoint to one side where that is known, and the other side a gap from it."""
    to_settle = _open(found, effective)
    for own, other, step in ((HEATING, COOLING, gap), (COOLING, HEATING, -gap)):
        rows = to_settle & (side == own)
        found[own][rows] = effective[rows]
        found[other][rows] = (effective + step)[rows]


def _gap(scene: Scene, by_mode: Pairs, occupied: np.ndarray) -> np.ndarray:
    """Return the distance of the pair in force [K]: its mode's, else the site file's while occupied, else unknown."""
    modes = [by_mode[mode][COOLING] - by_mode[mode][HEATING] for mode in ("occupied", "unoccupied")]
    by_site = scene.site.setpoints.get("cooling", np.nan) - scene.site.setpoints.get("heating", np.nan)
    return np.where(occupied, np.where(np.isnan(modes[0]), by_site, modes[0]), modes[1])


def _by_two_levels(scene: Scene, found, effective: np.ndarray, where: np.ndarray) -> None:
    """Take the two values between which it goes to and fro within a spell for the pair."""
    rows = np.flatnonzero(where & _open(found, effective))
    if not len(rows):
        return
    value, code = effective[rows], scene.code[rows]
    groups = Groups(code, scene.count)
    low, high = (groups.spread(each) for each in _two_levels(value, code, groups, scene.count))
    is_low, is_high = np.abs(value - low) < SAME, np.abs(value - high) < SAME
    begins = np.concatenate([[True], (np.diff(rows) > 1) | (np.diff(code) != 0)])
    up = ~begins & is_high & np.concatenate([[False], is_low[:-1]])
    down = ~begins & is_low & np.concatenate([[False], is_high[:-1]])
    size = np.bincount(code, minlength=scene.count)
    good = np.minimum(groups.sum(up), groups.sum(down)) >= TO_AND_FRO
    good &= groups.sum(is_low | is_high) >= ON_EITHER * size
    good &= np.minimum(groups.sum(is_low), groups.sum(is_high)) >= ON_EACH * size
    hit = good[code] & (is_low | is_high) & (high - low >= APART[0]) & (high - low <= APART[1])
    found[HEATING][rows[hit]], found[COOLING][rows[hit]] = low[hit], high[hit]


def _two_levels(value: np.ndarray, code: np.ndarray, groups: Groups, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return per terminal the two values about which its rows gather: the medians below and above their middle."""
    least, most = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(least, code, value)
    np.maximum.at(most, code, value)
    below = value <= ((least + most) / 2)[code]
    sides = (Groups(code[part], count).median(value[part]) for part in (below, ~below))
    low, high = sides
    return low, high


def _side_by_behaviour(scene: Scene, effective: np.ndarray, gap: np.ndarray) -> np.ndarray:
    """Return HEATING or COOLING at each row by reheat, airflow or the zone; -1 where none of them tells."""
    reheat, zone = scene.trend("reheat_position"), scene.trend("zone_temp")
    heats = reheat > REHEAT_AT_WORK
    flow = np.where(np.isnan(scene.trend("primary_flow_setpoint")), scene.trend("primary_flow"),
                    scene.trend("primary_flow_setpoint"))  # fmt: skip
    minimum = scene.per_row(np.fmax(scene.scheduled("primary_min"), scene.scheduled("heating_primary")))
    cools = (flow > OVER_MINIMUM * minimum) & (reheat <= REHEAT_AT_WORK)
    reach = np.where(np.isnan(gap), USUAL_GAP, gap) + BEYOND
    side = np.where(zone < effective - reach, HEATING, np.where(zone > effective + reach, COOLING, -1))
    return np.where(heats, HEATING, np.where(cools, COOLING, side))
