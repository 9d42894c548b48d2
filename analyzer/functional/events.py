"""The steps that lie within a functional test: of mode and zone setpoints, of the airflow setpoint, of commands."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from analyzer.engine import Limit
from analyzer.quantities import TERMINAL
from analyzer.report import words
from analyzer.signals import Scene
from analyzer.signals.setpoints import setpoints_in_force
from analyzer.signals.steps import ONE_STEP, Steps, joined, last_known, steps_of
from analyzer.site.model import FunctionalTest

# An airflow setpoint that creeps by no more than this share between two samples rests; so does a position or output
# that moves by no more than so many points. Judgement: a loop's own trim.
CREEP, TRIM = 0.02, 2.0
# The least step of an airflow setpoint [L/s]. Judgement: what no inlet sensor of a terminal tells from nothing.
LEAST_FLOW_STEP = 10.0
# What is logged of the mode and the zone setpoints.
_LOGGED = ("occupied", *(name for name in TERMINAL if name.endswith(("heating_setpoint", "cooling_setpoint"))))
# An effective setpoint that moves by the gap between heating and cooling, to within so much [K], may change sides.
ANOTHER_THAN_THE_GAP = 0.3
# A command is one where the output then rests for so many samples, and as long as a stroke takes.
RESTS_FOR = 2


@dataclass(frozen=True)
class Events:
    """Steps of one sort.

    Attributes
    ----------
    steps : Steps
    kind : list of str
        What each is, in the words of ``analyzer.site.functional_tests.STEP_KINDS``.
    told : list of str
        Each in words, such as "airflow setpoint 200 to 450 cfm".
    """

    steps: Steps
    kind: list[str]
    told: list[str]

    def of(self, *kinds: str) -> Events:
        """Return those of some kinds."""
        at = [number for number, kind in enumerate(self.kind) if kind in kinds]
        return Events(self.steps.where(np.array(at, dtype=int)), [self.kind[i] for i in at], [self.told[i] for i in at])


class Window:
    """The rows of a functional test in a scene in which nothing is left out of judging.

    Parameters
    ----------
    scene : Scene
    test : FunctionalTest
    limits : dict of Limit
    """

    def __init__(self, scene: Scene, test: FunctionalTest, limits: dict[str, Limit]):
        self.scene, self.test, self.limits = scene, test, limits
        self.start, self.end = test.start.timestamp(), test.end.timestamp()
        own = np.isin(scene.terminals, test.terminals) if test.terminals else np.ones(scene.count, dtype=bool)
        self.own = scene.per_row(own)
        self.inside = self.own & (scene.seconds >= self.start) & (scene.seconds < self.end)

    def last_row(self, rows: np.ndarray) -> np.ndarray:
        """Return for each of some rows the row after the last of its terminal that lies in the window."""
        return self.row_at(rows, np.full(len(rows), self.end))

    def row_at(self, rows: np.ndarray, seconds: np.ndarray) -> np.ndarray:
        """Return the first row of the terminal of each of some rows at or after a moment [s]."""
        scene = self.scene
        owner = scene.code[rows]
        begin, span = scene.seconds.min(), np.ptp(scene.seconds) + 1.0
        key = scene.code * span + (scene.seconds - begin)
        wanted = owner * span + np.clip(seconds - begin, 0.0, span)
        return np.clip(np.searchsorted(key, wanted), scene.first[owner], scene.first[owner + 1])

    def within(self, steps: Steps) -> Steps:
        """Return the steps that begin in the window, their holds ended with it."""
        chosen = steps.where(self.inside[steps.row])
        return chosen.ended_by(self.last_row(chosen.row))

    def gap(self, name: str) -> np.ndarray:
        """How far apart two samples of a point may lie at each terminal [s]; a point logged on change has no gap."""
        every = self.scene.trend_logged_every(name)
        return np.where(every == 0, np.inf, 3.5 * np.fmax(np.nan_to_num(every), np.nan_to_num(self.scene.interval)))

    def plain_steps(self, name: str, **least: float) -> Steps:
        """Return the steps of a trend within the window."""
        scene = self.scene
        return self.within(steps_of(scene.column(name), scene.first, scene.seconds, gap=self.gap(name), **least))


def events_in(window: Window) -> Events:
    """Return every step within a functional test's window."""
    found = [sort(window) for sort in (_of_mode, _of_flow_setpoint, _of_damper, _of_reheat, _of_fan)]
    kinds, told = ([word for sort in found for word in getattr(sort, name)] for name in ("kind", "told"))
    return Events(joined([sort.steps for sort in found]), kinds, told)


def _of_flow_setpoint(window: Window) -> Events:
    least = window.limits["flow_step"].value
    steps = window.plain_steps(
        "primary_flow_setpoint", least=LEAST_FLOW_STEP, least_share=least, still_share=CREEP, still=1.0
    )
    return _told(window, steps, "flow setpoint", "airflow setpoint", "flow")


def _of_damper(window: Window) -> Events:
    """Steps of the damper that the airflow setpoint does not explain: it was commanded, or overridden.

    They are so where the airflow was at its setpoint before, and the setpoint stays; the later ones of that terminal
    undo it. A damper that moves as its airflow is off the setpoint follows that.
    """
    scene, least = window.scene, window.limits["command_step"].value
    steps = _resting(window, window.plain_steps("damper_position", least=least, still=TRIM), "airflow_within")
    flow, setpoint = (
        [last_known(scene.column(name), rows, scene.first) for rows in (steps.before, steps.arrived)]
        for name in ("primary_flow", "primary_flow_setpoint")
    )
    band = np.fmax(window.limits["airflow_tolerance"].value * setpoint[0], scene.site.accuracy["primary_flow"].at_least)
    stays = ~(np.abs(setpoint[1] - setpoint[0]) > band)
    unprompted = stays & ~(np.abs(flow[0] - setpoint[0]) > band)
    owner = scene.code[steps.row]
    earliest = np.full(scene.count, scene.size)
    np.minimum.at(earliest, owner[unprompted], steps.row[unprompted])
    return _told(window, steps.where(stays & (steps.row >= earliest[owner])), "damper", "damper", "percent")


def _of_reheat(window: Window) -> Events:
    least = window.limits["command_step"].value
    steps = _resting(window, window.plain_steps("reheat_position", least=least, still=TRIM), "discharge_within")
    return _told(window, steps, "reheat", "reheat output", "percent")


def _of_fan(window: Window) -> Events:
    steps = window.plain_steps("fan_command", least=0.5)
    told = [f"fan command {'off to on' if up else 'on to off'}" for up in steps.sign > 0]
    return Events(steps, ["fan"] * len(steps), told)


def _resting(window: Window, steps: Steps, limit: str) -> Steps:
    """Keep the steps after which the output rests until what follows is due: what moves on before is a loop at work."""
    seconds = window.scene.seconds
    last = np.maximum(steps.end - 1, steps.row)
    rested = seconds[last] - seconds[steps.arrived]
    rests = (rested >= ONE_STEP) & (steps.end - steps.arrived >= RESTS_FOR)
    return steps.where(rests & (~steps.moved_again | (rested >= window.limits[limit].value)))


def _told(window: Window, steps: Steps, kind: str, name: str, dimension: str) -> Events:
    units = window.scene.site.units
    told = [f"{name} {_from_to(old, new, dimension, units)}" for old, new in zip(steps.old, steps.new, strict=True)]
    return Events(steps, [kind] * len(steps), told)


def _from_to(old: float, new: float, dimension: str, units: str) -> str:
    """Spell two values, the unit once."""
    ends = [words.shown(value, dimension, units) for value in (old, new)]
    number, _, unit = ends[0].rpartition("\u202f")
    return f"{number if unit else ends[0]} to {ends[1]}"


# Mode and zone setpoints ---------------------------------------------------------------------------------------------


def _of_mode(window: Window) -> Events:
    """Steps of occupancy and of the zone setpoints in force; what moves together is one step."""
    scene = window.scene
    sides = {side: np.where(found.seen, found.value, np.nan) for side, found in setpoints_in_force(scene).items()}
    occupied = np.where(scene.per_row(scene.trended("occupied")), scene.column("occupied"), np.nan)
    least = window.limits["zone_step"].value
    gap = 3.5 * np.nan_to_num(scene.interval, nan=np.inf)
    by = [steps_of(occupied, scene.first, scene.seconds, least=0.5, gap=gap)]
    by += [steps_of(side, scene.first, scene.seconds, least=least, gap=gap) for side in sides.values()]
    steps = window.within(_merged(by, scene))
    steps = steps.where(_seen_moving(scene, steps))
    return Events(steps, *_named(window, steps, occupied, sides))


def _seen_moving(scene: Scene, steps: Steps) -> np.ndarray:
    """Tell whether a logged setpoint or the logged occupancy moved with each step.

    Which side an effective setpoint belongs to is inferred: that it is taken for the other side is no step, and one
    that moves by the gap between the sides may have gone over to the other.
    """
    moved = np.zeros(len(steps), dtype=bool)
    for name in _LOGGED:
        if scene.trended(name).any():
            moved |= _move_of(scene, scene.column(name), steps) > 1e-6
    effective = _move_of(scene, scene.column("effective_setpoint"), steps)
    gap = scene.value("cooling_setpoint") - scene.value("heating_setpoint")
    apart = np.abs(effective - last_known(gap, steps.before, scene.first))
    return moved | ((effective > 1e-6) & (apart > ANOTHER_THAN_THE_GAP))


def _move_of(scene: Scene, column: np.ndarray, steps: Steps) -> np.ndarray:
    """How far a column moved with each step."""
    old, new = (last_known(column, rows, scene.first) for rows in (steps.before, steps.arrived))
    return np.abs(new - old)


def _merged(by: list[Steps], scene: Scene) -> Steps:
    """Put steps of several columns in order; those that come within one step's time are one."""
    every = joined(by)
    every = every.where(np.argsort(every.row, kind="stable"))
    if not len(every):
        return every
    near = np.maximum(ONE_STEP, np.nan_to_num(scene.interval))[scene.code[every.row]]
    apart = np.diff(scene.seconds[every.row]) > near[1:]
    starts = np.flatnonzero(np.concatenate([[True], apart | (np.diff(scene.code[every.row]) > 0)]))
    merged = every.where(starts)
    following, own_end = np.append(merged.row[1:], scene.size), scene.first[scene.code[merged.row] + 1]
    again, end = following < own_end, np.minimum(following, own_end)
    arrived = np.minimum(np.maximum.reduceat(every.arrived, starts), end - 1)
    before = np.minimum.reduceat(every.before, starts)
    return Steps(before, merged.row, arrived, end, merged.old, merged.new, again)


def _named(window: Window, steps: Steps, occupied: np.ndarray, sides: dict[str, Any]) -> tuple[list[str], list[str]]:
    """Return what each step of the mode is, and its words."""
    scene, units = window.scene, window.scene.site.units
    then, now = steps.before, steps.arrived
    demand = demand_after(window, steps)
    ends = {
        side: tuple(last_known(column, rows, scene.first) for rows in (then, now)) for side, column in sides.items()
    }
    was, became = (last_known(occupied, rows, scene.first) for rows in (then, now))
    kinds, told = [], []
    for at in range(len(steps)):
        parts = []
        if was[at] != became[at] and was[at] == was[at] and became[at] == became[at]:
            kinds.append("occupied" if became[at] > 0.5 else "unoccupied")
            parts.append("unoccupied to occupied" if became[at] > 0.5 else "occupied to unoccupied")
        else:
            kinds.append(demand[at])
        for side, (old, new) in ends.items():
            if abs(new[at] - old[at]) >= window.limits["zone_step"].value - 1e-6:
                parts.append(f"{side} setpoint {_from_to(old[at], new[at], 'temperature', units)}")
        told.append("; ".join(parts))
    return kinds, told


def demand_after(window: Window, steps: Steps) -> list[str]:
    """Say what the zone asks for after each step of mode: "heating", "cooling", or "minimum" in between."""
    scene = window.scene
    zone = last_known(scene.column("zone_temp"), steps.arrived, scene.first)
    low, high = (
        last_known(scene.value(f"{side}_setpoint"), steps.arrived, scene.first) for side in ("heating", "cooling")
    )
    return np.select([zone < low, zone > high], ["heating", "cooling"], "minimum").tolist()
