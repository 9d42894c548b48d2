"""The zone setpoints in force at each moment, from whatever of them is logged, and where each value comes from.

In this order, each side by itself: the active setpoint as logged; the one effective setpoint, where it is known whether
it is heating's or cooling's (``effective.py``); the setpoint of the mode in force; what was logged of them at another
time, as long as nothing contradicts it (``standing.py``); the site file's, while occupied.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.signals.effective import OVER_MINIMUM, REHEAT_AT_WORK, Pairs, sides_of
from analyzer.signals.grouped import grouped_median, least_of
from analyzer.signals.kinds import of_kind
from analyzer.signals.scene import Scene
from analyzer.signals.standing import SAME, SEEN_SELDOM, in_its_state, logged, stands

SIDES = ("heating", "cooling")
MODES = ("occupied", "standby", "unoccupied")
# Where a value in force comes from. ``BY_MODE`` is known to be in force: the mode itself is logged, or both modes have
# the same setpoint; ``BY_CLOCK`` is the setpoint of the mode that the clock says.
UNKNOWN, ACTIVE, EFFECTIVE, BY_MODE, BY_CLOCK, HELD, SITE = range(7)
# An active setpoint that is the same in and out of hours, this far from the terminal's unoccupied one, is the occupied
# setpoint under another name [K]. Judgement: as far as no adjustment of one and the same setpoint goes unnoticed.
ANOTHER = 1.0
# Standby is in use where a terminal neither heats nor cools between its standby and its occupied setpoints, so far
# beyond these [K], for this share of the occupied hours. Judgement: a controller's band, and an hour a week.
BEYOND, STANDBY_SHARE = 0.5, 0.02
# The share of rows on which an effective setpoint that is neither of the active pair says that the pair is not active.
# Judgement: more than changes of mode that two logs show a sample apart.
NEITHER = 0.2
# A terminal that heats this far above the site file's cooling setpoint [K], for so long [h] and for this share of the
# time that it is above it, keeps another setpoint. Judgement: its own controller does not heat a zone that it cools.
HEATS_ABOVE, HEATS_FOR, HEATS_OFTEN = 1.0, 2.0, 0.1
# Of how many hours on values that were held it is said. Judgement: a night of a gap is not worth a line.
WORTH_TELLING = 12.0


@dataclass(frozen=True)
class InForce:
    """One side's setpoint in force [degC] per row, NaN where unknown, and where it comes from."""

    value: np.ndarray
    source: np.ndarray

    @property
    def seen(self) -> np.ndarray:
        """Tell at which rows it is known to have been in force: logged then, not held and not by the clock."""
        return (self.source >= ACTIVE) & (self.source <= BY_MODE)


def setpoints_in_force(scene: Scene) -> dict[str, InForce]:
    """Return the setpoints in force of both sides."""
    return scene.once("setpoints in force", lambda: _in_force(scene))


def _in_force(scene: Scene) -> dict[str, InForce]:
    """Take the active pair where it is complete; work the rest out, on the terminals that need it only."""
    active = {side: logged(scene, f"{side}_setpoint") for side in SIDES}
    found = {side: InForce(active[side], np.where(np.isnan(active[side]), UNKNOWN, ACTIVE)) for side in SIDES}
    asks = _asks(scene, active)
    if not asks.any():
        return found
    part = scene.part(asks)
    worked_out = _of_part(part)
    return {
        side: InForce(
            part_lay(scene, part, worked_out[side].value, found[side].value),
            part_lay(scene, part, worked_out[side].source.astype(float), found[side].source).astype(np.int8),
        )
        for side in SIDES
    }


def part_lay(scene: Scene, part: Scene, values: np.ndarray, elsewhere: np.ndarray) -> np.ndarray:
    """Lay a part's values over the scene, among what holds elsewhere."""
    return scene.lay(part, values, elsewhere)


def _asks(scene: Scene, active: dict[str, np.ndarray]) -> np.ndarray:
    """Tell for each terminal whether there is more to its setpoints than an active pair without a gap."""
    complete = ~(np.isnan(active["heating"]) | np.isnan(active["cooling"]))
    asks = ~scene.reduce(np.logical_and, complete, True)
    for name in ("effective", *(f"{mode}_{side}" for mode in MODES for side in SIDES)):
        asks |= scene.trended(f"{name}_setpoint")
    return asks


def _of_part(scene: Scene) -> dict[str, InForce]:
    longest = scene.site.setpoint_hold
    active = {side: logged(scene, f"{side}_setpoint") for side in SIDES}
    by_mode: Pairs = {
        mode: (
            stands(scene, f"{mode}_heating_setpoint", longest),
            stands(scene, f"{mode}_cooling_setpoint", longest),
        )
        for mode in MODES
    }
    effective = logged(scene, "effective_setpoint")
    by_mode["occupied"] = _with_passive(scene, active, by_mode, effective)
    held = {side: in_its_state(scene, active[side], f"{side}_setpoint", longest) for side in SIDES}
    now, kept = ~np.isnan(effective), in_its_state(scene, effective, "effective_setpoint", longest)
    by_side = sides_of(scene, np.where(now, effective, kept), by_mode)
    found, standby = {}, scene.per_row(_standby_in_use(scene, by_mode))
    for at, side in enumerate(SIDES):
        mode, sure = _of_mode(scene, by_mode, at, standby)
        layers = [
            (ACTIVE, active[side]),
            (EFFECTIVE, np.where(now, by_side[at], np.nan)),
            (BY_MODE, np.where(sure, mode, np.nan)),
            (BY_CLOCK, mode),
            (HELD, held[side]),
            (HELD, by_side[at]),
            (SITE, _of_site(scene, side)),
        ]
        found[side] = _first_known(layers, only_effective=now & np.isnan(active[side]))
    found = _without_contradicted(scene, found)
    _tell(scene, found)
    return found


def _first_known(layers: list[tuple[int, np.ndarray]], only_effective: np.ndarray) -> InForce:
    """Take the first source that is known at each row; none but the effective setpoint where it is logged."""
    value, source = np.full(len(only_effective), np.nan), np.zeros(len(only_effective), np.int8)
    for number, candidate in layers:
        take = np.isnan(value) & ~np.isnan(candidate)
        if number > EFFECTIVE:
            take &= ~only_effective
        value[take], source[take] = candidate[take], number
    return InForce(value, source)


def _with_passive(scene: Scene, active: dict, by_mode: Pairs, effective: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Take an "active" setpoint that is not for the occupied one: out of ``active``, into the occupied pair."""
    occupied = list(by_mode["occupied"])
    neither = _is_neither(scene, active, effective)
    for at, side in enumerate(SIDES):
        passive = neither | _never_moves(scene, active[side], by_mode["unoccupied"][at])
        if passive.any():
            rows = scene.per_row(passive)
            scene.tally(
                "The {side} setpoint of {count} terminals does not follow their mode; it was taken for the occupied "
                "one.".replace("{side}", side),
                passive,
            )
            held = in_its_state(scene, active[side], f"{side}_setpoint", scene.site.setpoint_hold)
            own = np.where(np.isnan(active[side]), held, active[side])
            occupied[at] = np.where(rows & np.isnan(occupied[at]), own, occupied[at])
            active[side] = np.where(rows, np.nan, active[side])
    return occupied[0], occupied[1]


def _never_moves(scene: Scene, active: np.ndarray, unoccupied: np.ndarray) -> np.ndarray:
    """Tell terminals whose "active" setpoint stays the same out of hours, while their unoccupied one is another."""
    state = scene.value("occupied")
    usual = [_usual(scene, active, state == mode) for mode in (1.0, 0.0)]
    other = _usual(scene, unoccupied, ~np.isnan(unoccupied))
    return (np.abs(usual[0] - usual[1]) < SAME) & (np.abs(usual[0] - other) >= ANOTHER)


def _is_neither(scene: Scene, active: dict, effective: np.ndarray) -> np.ndarray:
    """Tell terminals whose effective setpoint is often neither of the active pair."""
    off = np.fmin(np.abs(effective - active["heating"]), np.abs(effective - active["cooling"]))
    off[np.isnan(active["heating"]) | np.isnan(active["cooling"])] = np.nan
    known = scene.per_terminal((~np.isnan(off)).astype(float))
    return (known > 0) & (scene.per_terminal((off > SAME).astype(float)) > NEITHER * known)


def _usual(scene: Scene, values: np.ndarray, where: np.ndarray) -> np.ndarray:
    rows = np.flatnonzero(where)
    return grouped_median(values[rows], scene.code[rows], scene.count)


def _of_mode(scene: Scene, by_mode: Pairs, at: int, standby: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the setpoint of the mode in force by the occupancy, and whether that mode is known to be in force.

    While occupied the occupied one counts as known; out of hours only where the mode is logged, or where both modes
    have the same setpoint. Where standby is in use and no log tells when, it is the wider one of the two while
    occupied.
    """
    state = scene.value("occupied")
    occupied, unoccupied = by_mode["occupied"][at], by_mode["unoccupied"][at]
    wider = np.fmin if at == 0 else np.fmax
    in_hours = np.where(standby, wider(occupied, by_mode["standby"][at]), occupied)
    value = np.where(state > 0.5, in_hours, np.where(state <= 0.5, unoccupied, np.nan))
    sure = (state > 0.5) | scene.per_row(scene.trended("occupied")) | (np.abs(occupied - unoccupied) < SAME)
    return value, sure


def _standby_in_use(scene: Scene, by_mode: Pairs) -> np.ndarray:
    """Tell terminals that leave their zone between the occupied and the standby setpoint, and neither heat nor cool."""
    if not scene.trended("standby_heating_setpoint").any():
        return np.zeros(scene.count, dtype=bool)
    zone, reheat, flow = (scene.trend(name) for name in ("zone_temp", "reheat_position", "primary_flow"))
    low, high = by_mode["occupied"]
    lowest, highest = by_mode["standby"]
    minimum = scene.per_row(scene.scheduled("primary_min"))
    cold = (zone < low - BEYOND) & (zone > lowest - BEYOND) & (reheat <= REHEAT_AT_WORK)
    warm = (zone > high + BEYOND) & (zone < highest + BEYOND) & (flow <= OVER_MINIMUM * minimum)
    in_hours = (scene.value("occupied") > 0.5) & (lowest < highest)
    left = scene.per_terminal((in_hours & (cold | warm)) * scene.hours)
    return left > STANDBY_SHARE * scene.per_terminal(in_hours * scene.hours)


def _of_site(scene: Scene, side: str) -> np.ndarray:
    """Return the site file's setpoint while occupied, where the terminal logs none of the side."""
    fixed = scene.site.setpoints.get(side)
    if fixed is None:
        return np.full(scene.size, np.nan)
    own = scene.trended(f"{side}_setpoint") | scene.trended("effective_setpoint")
    for mode in MODES:
        own = own | scene.trended(f"{mode}_{side}_setpoint")
    if not own.all():
        scene.note(f"Where no {side} setpoint is trended, the site file's is used for the occupied hours.")
    others = _keeps_another(scene) & ~own
    if side == "cooling":  # said once, not for each side
        scene.tally(
            "{count} terminals log no cooling setpoint, and heat well above that of the site file: they keep another, "
            "which is not known.",
            others,
        )
    return np.where((scene.value("occupied") > 0.5) & ~scene.per_row(own | others), fixed, np.nan)


def _keeps_another(scene: Scene) -> np.ndarray:
    """Tell terminals that heat while their zone is well above the site file's cooling setpoint: theirs is another.

    By reheat that is controlled, or a parallel fan that comes and goes; what stands by hand says nothing of setpoints.
    """

    def work_out():
        above = scene.trend("zone_temp") > scene.site.setpoints.get("cooling", np.nan) + HEATS_ABOVE
        hours = scene.hours * (above & (scene.value("occupied") > 0.5))
        warm = scene.per_terminal(hours)
        reheats = (scene.trend("reheat_position") > REHEAT_AT_WORK) & ~(scene.value("reheat_in_hand") > 0.5)
        runs = (scene.trend("fan_command") > 0.5) & of_kind(scene, "parallel")
        heated, fan = (scene.per_terminal(hours * rows) / np.where(warm > 0, warm, np.nan) for rows in (reheats, runs))
        heats = (heated >= HEATS_OFTEN) | ((fan >= HEATS_OFTEN) & (fan <= 1.0 - HEATS_OFTEN))
        return (warm >= HEATS_FOR) & heats

    return scene.once("keeps another setpoint", work_out)


def _without_contradicted(scene: Scene, found: dict[str, InForce]) -> dict[str, InForce]:
    """Take a held setpoint back where the other side, which is logged, has come nearer than it ever was to it."""
    heating, cooling = found["heating"], found["cooling"]
    apart = cooling.value - heating.value
    both = np.flatnonzero(heating.seen & cooling.seen)
    nearest = np.nan_to_num(least_of(apart[both], scene.code[both], scene.count))
    crossing = apart < scene.per_row(nearest) - SAME
    return {
        side: _without(own, crossing & (own.source == HELD) & other.seen)
        for side, own, other in (("heating", heating, cooling), ("cooling", cooling, heating))
    }


def _without(own: InForce, rows: np.ndarray) -> InForce:
    return InForce(np.where(rows, np.nan, own.value), np.where(rows, UNKNOWN, own.source)) if rows.any() else own


def _tell(scene: Scene, found: dict[str, InForce]) -> None:
    """Say for how many terminals setpoints were held that were logged at another time."""
    held = np.zeros(scene.size, dtype=bool)
    for side in SIDES:
        by_mode = [f"{mode}_{side}_setpoint" for mode in MODES]
        held |= found[side].source == HELD
        gone = np.logical_and.reduce([np.isnan(scene.trend(name)) for name in by_mode])
        # An effective setpoint is read by the pairs of the modes: they stay in force beside it.
        paired = np.logical_or.reduce([scene.trended(name) for name in by_mode])
        held |= gone & scene.per_row(paired) & np.isin(found[side].source, (EFFECTIVE, BY_MODE, BY_CLOCK))
    # Hours in which all points stand frozen are logged, and told by themselves.
    if scene.silent is not None:
        held &= ~scene.silent
    for_long = scene.per_terminal(held * scene.hours) >= WORTH_TELLING
    days = scene.site.setpoint_hold / 86400
    scene.tally(
        f"Setpoints of {{count}} terminals are logged for part of the time only; the logged value is assumed to stay "
        f"in force, in its mode, for up to {days:g} days (setpoint_hold in the site file).",
        for_long,
    )
    seldom = np.zeros(scene.count, dtype=bool)
    for side in SIDES:
        seldom |= np.nan_to_num(scene.logged_every(f"{side}_setpoint")) > SEEN_SELDOM
    scene.tally("Setpoints of {count} terminals are logged less than once an hour.", seldom)
