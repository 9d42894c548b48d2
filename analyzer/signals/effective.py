"""The one effective setpoint of a terminal: whether it is heating's or cooling's at each moment, by what shows it.

It is the heating setpoint while the terminal heats and the cooling setpoint while it cools. What tells them apart, the
surest first: which setpoint of a mode it equals; which of the occupied pair it is near; on which side of that pair it
lies; which of the two between which it goes to and fro; reheat or airflow; the side on which the zone lies, where that
is beyond doubt; and, on from all of these, its steps at a change of mode (``effective_steps.py``). Where nothing
tells, it is unknown which of the two it is. The zone alone tells little: a terminal that
has cooled keeps its cooling setpoint until the zone has fallen to the heating setpoint, and the other way round.
"""

from __future__ import annotations

import numpy as np

from analyzer.signals.days import day_moves
from analyzer.signals.effective_steps import COOLING, HEATING, side_by_steps
from analyzer.signals.grouped import Groups, least_of
from analyzer.signals.scene import Scene
from analyzer.signals.standing import SAME

# Mode to its (heating, cooling) setpoints, one per row [degC].
Pairs = dict[str, tuple[np.ndarray, np.ndarray]]
# Which mode is looked at first, in and out of hours.
_ORDER = {True: ("occupied", "standby", "unoccupied"), False: ("unoccupied", "occupied", "standby")}
# An adjusted setpoint is that from which it was moved by less than this share of the distance between the two.
# Judgement: half would be the middle between them.
NEAR = 1 / 3
# Two setpoints between which an effective one goes to and fro are so far apart to be heating's and cooling's [K]:
# nearer, one may be standby's, which lies a degree or two Fahrenheit off; eleven degrees at the most. Judgement.
APART = 1.5, 6.2
# The upper one is heating's too, and they are no such pair, where reheat works at it for more than this share of its
# time at work. Judgement: a tail after a change of side.
HEATS_AT_UPPER = 0.1
# They hold so much of its time in one state, each at least so much, and it goes up and down so often. Judgement.
ON_EITHER, ON_EACH, TO_AND_FRO = 0.9, 0.05, 2
# Out of hours it rests on its setback for so much of the time that it spends beyond the occupied pair. Judgement.
RESTS = 0.5
# Reheat over this is at work [%]; the rules' own limit for a valve that is shut.
REHEAT_AT_WORK = 5.0
# Airflow so far over the minimum is cooling, with the reheat shut. Judgement: the accuracy of the sensor, three times.
OVER_MINIMUM = 1.15
# A flow that moves by no larger share of its most within a day's hours in use stands, and is no word of a setpoint:
# a damper that is stuck, under a pressure that is held. So much is air [L/s]; from so long on the day has settled [s].
STANDS, AIR, SETTLED = 0.3, 10.0, 1800.0
# How far beyond the pair a zone's side is beyond doubt [K]: by a controller's band. Judgement. Where nobody tells the
# distance of the pair, it is taken for the widest.
BEYOND = 0.5
# Out of hours no heating setpoint lies above the occupied cooling setpoint, and no cooling setpoint under the occupied
# heating setpoint. Where those are not known, these stand in their place [degC]: 69 and 76 degF, the limits of
# setpoint-out-of-policy. Judgement.
NO_COOLING_UNDER, NO_HEATING_OVER = 20.5, 24.5
# Over this an effective setpoint is no heating setpoint, whatever the reheat does [degC]: 83 degF. Judgement.
NEVER_HEATING = 28.5


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
    by_mode = by_mode | {"unoccupied": _learned(scene, effective, by_mode, occupied)}
    gap, behaviour = _gap(scene, by_mode, occupied), _side_by_behaviour(scene, effective)
    for in_hours in (True, False):
        for mode in _ORDER[in_hours]:
            if not all(np.isnan(own).all() for own in by_mode[mode]):
                _by_equality(found, effective, by_mode[mode], occupied == in_hours)
    _by_nearness(found, effective, by_mode["occupied"], occupied)
    _outside_the_pair(found, effective, by_mode["occupied"], occupied, behaviour)
    for in_hours in (True, False):
        _by_two_levels(scene, found, effective, occupied == in_hours, both_ways=not in_hours)
    _set_side(found, effective, gap, np.where(behaviour >= 0, behaviour, _side_by_zone(scene, effective, gap)))
    _set_side(found, effective, gap, side_by_steps(scene, effective, _one_side(found, effective)))
    return found


def _one_side(found, effective: np.ndarray) -> np.ndarray:
    """Return the side that the effective setpoint was found to be of; -1 where it is of none or of both."""
    is_heating, is_cooling = (np.abs(effective - own) < SAME for own in found)
    return np.where(is_heating & ~is_cooling, HEATING, np.where(is_cooling & ~is_heating, COOLING, -1))


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


def _learned(scene: Scene, effective: np.ndarray, by_mode: Pairs, occupied: np.ndarray):
    """Return the unoccupied pair: as logged, else where the effective setpoint rests out of hours beyond the other.

    Over the occupied cooling setpoint that is cooling's, under the occupied heating setpoint heating's. In hours it
    says something only where the terminal's usual one is another: of a holiday that nobody listed.
    """
    low, high = by_mode["occupied"]
    beyond = effective < low - SAME, effective > high + SAME
    in_hours = _where_it_rests(scene, effective, occupied & ~np.isnan(effective))
    learned = (_where_it_rests(scene, effective, ~occupied & rows) for rows in beyond)
    learned = (np.where(occupied & (np.abs(own - in_hours) < SAME), np.nan, own) for own in learned)
    return tuple(np.where(np.isnan(pair), own, pair) for pair, own in zip(by_mode["unoccupied"], learned, strict=True))


def _where_it_rests(scene: Scene, effective: np.ndarray, where: np.ndarray) -> np.ndarray:
    """Return per row the value on which a terminal's effective setpoint rests most of some rows' time; NaN for none."""
    rows = np.flatnonzero(where)
    groups = Groups(scene.code[rows], scene.count)
    usual = groups.median(effective[rows])
    rests = groups.sum(np.abs(effective[rows] - groups.spread(usual)) < SAME) >= RESTS * groups.sum(np.ones(len(rows)))
    return scene.per_row(np.where(rests, usual, np.nan))


def _outside_the_pair(found, effective: np.ndarray, pair, occupied: np.ndarray, behaviour: np.ndarray) -> None:
    """Take a setpoint over the occupied pair for cooling's and one under it for heating's; the other is not known.

    Out of hours it was set back to there, but where reheat works up to it. In hours it is that of another mode, or one
    that was moved far: then reheat or airflow, where they tell, go before.
    """
    heating = np.where(np.isnan(pair[HEATING]) & ~occupied, NO_COOLING_UNDER, pair[HEATING])
    cooling = np.where(np.isnan(pair[COOLING]) & ~occupied, NO_HEATING_OVER, pair[COOLING])
    side = np.where(effective < heating - SAME, HEATING, np.where(effective > cooling + SAME, COOLING, -1))
    side = np.where((occupied & (behaviour >= 0)) | (behaviour == HEATING) & (side == COOLING), -1, side)
    _set_side(found, effective, np.full(len(effective), np.nan), side)


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


def _by_two_levels(scene: Scene, found, effective: np.ndarray, where: np.ndarray, *, both_ways: bool) -> None:
    """Take the two values between which it goes to and fro within a spell for the pair.

    Out of hours it has to go both ways: warm-up alone goes one way every morning.
    """
    rows = np.flatnonzero(where & _open(found, effective))
    if not len(rows):
        return
    value, code = effective[rows], scene.code[rows]
    groups = Groups(code, scene.count)
    low, high = (groups.spread(each) for each in _two_levels(value, code, scene.count))
    is_low, is_high = np.abs(value - low) < SAME, np.abs(value - high) < SAME
    begins = np.concatenate([[True], (np.diff(rows) > 1) | (np.diff(code) != 0)])
    up = ~begins & is_high & np.concatenate([[False], is_low[:-1]])
    down = ~begins & is_low & np.concatenate([[False], is_high[:-1]])
    size = np.bincount(code, minlength=scene.count)
    ups, downs = groups.sum(up), groups.sum(down)
    good = (np.minimum(ups, downs) >= TO_AND_FRO) if both_ways else (ups + downs > TO_AND_FRO)
    good &= groups.sum(is_low | is_high) >= ON_EITHER * size
    good &= np.minimum(groups.sum(is_low), groups.sum(is_high)) >= ON_EACH * size
    heats = reheat_holds(scene, effective)[rows]
    good &= groups.sum(heats & is_high) <= HEATS_AT_UPPER * groups.sum(heats)
    hit = good[code] & (is_low | is_high) & (high - low >= APART[0]) & (high - low <= APART[1])
    found[HEATING][rows[hit]], found[COOLING][rows[hit]] = low[hit], high[hit]


def _two_levels(value: np.ndarray, code: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return per terminal the two values about which its rows gather: the medians below and above their middle."""
    least, most = least_of(value, code, count), -least_of(-value, code, count)
    below = value <= ((least + most) / 2)[code]
    low, high = (Groups(code[part], count).median(value[part]) for part in (below, ~below))
    return low, high


def reheat_holds(scene: Scene, setpoint: np.ndarray) -> np.ndarray:
    """Tell where reheat works while the zone is at or under a setpoint: over it something else keeps it open."""
    return (scene.trend("reheat_position") > REHEAT_AT_WORK) & ~(scene.trend("zone_temp") > setpoint + SAME)


def _side_by_behaviour(scene: Scene, effective: np.ndarray) -> np.ndarray:
    """Return HEATING or COOLING at each row by reheat or airflow; -1 where neither tells."""
    flow = scene.trend("primary_flow_setpoint")
    flow = np.where(np.isnan(flow), scene.trend("primary_flow"), flow)
    minimum = scene.per_row(np.fmax(scene.scheduled("primary_min"), scene.scheduled("heating_primary")))
    heats = reheat_holds(scene, effective) & ~(scene.value("reheat_in_hand") > 0.5)
    cools = (flow > OVER_MINIMUM * minimum) & ~(scene.trend("reheat_position") > REHEAT_AT_WORK)
    cools &= _flow_moves(scene, flow)
    cools &= ~(scene.trend("zone_temp") < effective - BEYOND)  # under it the air is for something else
    heats &= ~(effective > NEVER_HEATING)
    return np.where(heats, HEATING, np.where(cools, COOLING, -1))


def _flow_moves(scene: Scene, flow: np.ndarray) -> np.ndarray:
    """Tell at which rows a flow is controlled: within the day's hours in use it takes more than about one value."""
    settled = (flow > AIR) & (scene.value("time_in_use") >= SETTLED)
    return day_moves(scene, flow, settled, STANDS, of_most=True)


def _side_by_zone(scene: Scene, effective: np.ndarray, gap: np.ndarray) -> np.ndarray:
    """Return the side on which the zone lies further off than the pair is apart, and so the terminal; -1 elsewhere.

    Not under it while reheat is known to be shut and no fan is called: the controller does not heat, and its zone
    sensor may stand still. Nor is it heating's at the site file's cooling setpoint or over it, nor cooling's at its
    heating setpoint or under it, by the zone alone.
    """
    zone, reach = scene.trend("zone_temp"), np.where(np.isnan(gap), APART[1], gap) + BEYOND
    idle = (scene.trend("reheat_position") <= REHEAT_AT_WORK) & ~(scene.trend("fan_command") > 0.5)
    heating, cooling = (scene.site.setpoints.get(which, np.nan) for which in ("heating", "cooling"))
    under = (zone < effective - reach) & ~idle & ~(effective > cooling - SAME) & ~(effective > NEVER_HEATING)
    over = (zone > effective + reach) & ~(effective < heating + SAME)
    return np.where(under, HEATING, np.where(over, COOLING, -1))
