"""Why a verdict is what it is, and what would settle the rest: one sentence per terminal and rule."""

from __future__ import annotations

import numpy as np

from analyzer.engine.lacking import IN_SCHEDULE, asked, by_pattern, in_words, lacking, listed, only
from analyzer.engine.limiting import BUT_FOR
from analyzer.engine.reasons import MOSTLY, Reasons
from analyzer.engine.rows import hours_of, names_at
from analyzer.engine.samples import samples_told
from analyzer.quantities import half_up
from analyzer.signals import SIGNALS, Scene
from analyzer.signals.made_of import Formula, Input, all_of, inputs_of, made_of

# The setpoints in force, which may be known of the occupied hours alone.
IN_FORCE = ("heating_setpoint", "cooling_setpoint")
# Hours that could not be judged are told where they are so large a part of those that were. Judgement.
LARGE_PART = 0.1
# What the clock tells of a row that was left out.
BY_THE_CLOCK = {"occupied", "out_of_hours", "time_since_occupancy", "time_to_occupancy"}


class Sentences:
    """The sentences of one rule, from what it lacked and what limited it."""

    def __init__(self, own: Reasons):
        self.own = own
        self._left_out_hours: np.ndarray | None = None

    def all(self, faulty, enough, fault_hours) -> np.ndarray:
        """Return one sentence per terminal."""
        told = np.full(self.own.scene.count, "", dtype=object)
        self._tell_missing(told)
        self._tell_coarse(told)
        self._tell_context(told)
        self._tell_dark(told)
        told[self.own.applies & self.own.left_out] = self._why_left_out()
        partly = self._partly()
        for at in np.flatnonzero(self.own.applies & enough):
            seen = f"fault in {_hours(fault_hours[at])} of" if faulty[at] else "no fault in"
            told[at] = f"{seen} {_hours(self.own.judged_hours[at])} judged{partly[at]}"
        return told

    def _tell_missing(self, told: np.ndarray) -> None:
        """One sentence for each combination of missing things, given to all terminals that share it."""
        own = self.own
        for at, names, ways in own.missing_by_pattern(own.applies & own.missing):
            parts = [in_words(own.lack_of(names, at))] if names else []
            if ways:
                either = [in_words(lacks) for lacks in _the_least(own.lack_of_ways(ways, at))]
                either = [] if any(_named_in(parts, one) for one in either) else either
                if either:
                    parts.append(f"{'one of: ' if len(either) > 1 else ''}{'; or '.join(either)}")
            told[at] = f"missing: {'; and '.join(parts)}"

    def _tell_coarse(self, told: np.ndarray) -> None:
        own = self.own
        for at, marks in by_pattern(list(own.coarse.values()), own.applies & own.too_coarse):
            names = listed([name for name, coarse in zip(own.coarse, marks, strict=True) if coarse])
            enough = _minutes(own.rule.longest_interval)
            told[at] = (
                f"logging interval too long to show it: {names}; {enough} or less is needed, or a log on every change"
            )

    def _tell_context(self, told: np.ndarray) -> None:
        own = self.own
        if not own.no_context.any():
            return
        least, besides = _hours(own.rule.judged_hours_at_least), self._would_settle(own.wanted({}), own.other_way)
        for at in np.flatnonzero(own.no_context).tolist():
            also = f"; also {told[at]}" if told[at] else besides[at]
            but_for = self._but_for(at) if own.limits.but_for else ""
            left_out = "" if own.scene.excluded is None else self._also_left_out(at)
            # What was judged was in context, however much of it a missing point leaves in doubt.
            hours = _hours(max(own.limits.in_context[at], own.judged_hours[at]))
            # What is counted by events takes next to no time: a figure of 0.0 h says nothing.
            needed = "" if least == _hours(0.0) else f": {hours} of the {least} required"
            told[at] = f"{own.rule.text.context}{needed}{but_for}{also}{left_out}"

    def _but_for(self, at: int) -> str:
        """Say what alone kept the rule from judging, where one thing did and it can be said in words."""
        limits, least = self.own.limits, self.own.rule.least_judged_hours
        for name, hours in limits.but_for.items():
            if limits.possible[at] < least <= hours[at] + limits.possible[at]:
                return f" ({_hours(hours[at])} more {BUT_FOR[name]})"
        return ""

    def _tell_dark(self, told: np.ndarray) -> None:
        """Say of a context that came, or may have, what was not known in it."""
        for at, found, names in self.own.dark:
            for one in at:
                told[one] = self._of_dark(one, found, names) + self._also_left_out(one)

    def _of_dark(self, at: int, found: Formula | None, names: list[str]) -> str:
        own = self.own
        possible, judged = _hours(own.limits.possible[at]), _hours(own.judged_hours[at])
        of_these = f"only {judged} of {possible} could be judged"
        if found is None:
            return self._unexplained(at, names, of_these)
        absent = [wanted for wanted in inputs_of(found) if not own.there(wanted)[at]]
        there = [wanted for wanted in inputs_of(found) if wanted not in absent]
        parts = [f"missing: {in_words(only(found, absent))}"] if absent else []
        sides = [wanted for wanted in there if self._side_unknown(wanted, at)]
        if sides:
            parts.append("it is not known whether the effective setpoint was heating's or cooling's")
        there = [wanted for wanted in there if wanted not in sides]
        set_back = [wanted for wanted in there if self._of_occupied_hours_only(wanted, at)]
        if set_back:
            parts.append(f"missing: {listed([wanted.name for wanted in set_back])} outside the occupied hours")
        there = [wanted for wanted in there if wanted not in set_back]
        if there:
            sparse = [samples_told(own.scene, wanted, at, own.limits.rows, own.rule.values) for wanted in there]
            parts.append(f"samples are missing or too far apart: {listed(sparse)}")
        told = "; ".join([*parts, of_these])
        mostly = (
            own.limits.possible[at] >= MOSTLY * own.scene.hours[own.scene.first[at] : own.scene.first[at + 1]].sum()
        )
        if absent or mostly or own.limits.in_context[at] >= own.rule.least_judged_hours:
            return told
        # Most of the time is known, and was not what the rule waits for.
        least = _hours(own.rule.judged_hours_at_least)
        return f"{own.rule.text.context}: {_hours(own.limits.in_context[at])} of the {least} required; also {told}"

    def _of_occupied_hours_only(self, wanted: Input, at: int) -> bool:
        """Whether a setpoint is known, but of none of the hours in question, which are all unoccupied."""
        scene, own = self.own.scene, self._in_question(at)
        if wanted.name not in IN_FORCE or not len(own):
            return False
        return bool(np.isnan(scene.value(wanted.name)[own]).all() and (scene.value("occupied")[own] <= 0.5).all())

    def _in_question(self, at: int) -> np.ndarray:
        """Return the rows of a terminal that could not be judged for what is unknown there."""
        rows = self.own.limits.rows
        return rows[self.own.scene.code[rows] == at]

    def _side_unknown(self, wanted: Input, at: int) -> bool:
        """Whether a setpoint in force is unknown although the one effective setpoint is logged: which it is, is not."""
        scene = self.own.scene
        if wanted.name not in IN_FORCE or not scene.trended("effective_setpoint")[at]:
            return False
        own = self._in_question(at)
        return len(own) > 0 and float(np.isnan(scene.trend("effective_setpoint")[own]).mean()) < 0.5

    def _unexplained(self, at: int, names: list[str], of_these: str) -> str:
        """Say what was not known though all that it is made of is there."""
        finer = self.own.finer_wanted(at, names)
        if finer:
            return f"samples are missing or too far apart: it takes {SIGNALS[finer[0]].settled_by}; {of_these}"
        return f"{self.own.rule.text.context}: {of_these}"

    def _why_left_out(self) -> str:
        why = listed(list(dict.fromkeys(window.why for window in self.own.scene.site.excluded)))
        return f"left out of judging by the site file: {why}"

    def _also_left_out(self, at: int) -> str:
        if self.own.scene.excluded is None:
            return ""
        if self._left_out_hours is None:
            self._left_out_hours = self._hours_left_out()
        hours = self._left_out_hours[at]
        return f"; {_hours(hours)} were left out of judging by the site file" if hours > 0 else ""

    def _hours_left_out(self) -> np.ndarray:
        """The hours of the windows left out in which, by the clock, the rule could have judged."""
        scene, rule = self.own.scene, self.own.rule
        assert scene.excluded is not None, "asked for where a window is left out"
        rows = np.flatnonzero(scene.excluded)
        for condition in rule.judged_when.conjuncts:
            if condition.mentioned - set(rule.limits) <= BY_THE_CLOCK and len(rows):
                never = np.broadcast_to(condition.truth(names_at(scene, rule, rows)).false, len(rows))
                rows = rows[~never]
        return hours_of(scene, rows)

    def _partly(self) -> np.ndarray:
        """What a verdict that was reached could not take into account."""
        own = self.own
        told = self._would_settle(own.wanted(own.better), own.applies & ~own.missing)
        best = own.rule.best_interval
        if best is not None:
            for at in np.flatnonzero(own.applies & own.could_be_finer()):
                told[at] += f"; a log every {_minutes(best)} or on change would show more"
        return told + self._without_side()

    def _without_side(self) -> np.ndarray:
        """Say how long an occupied setpoint in force was not known, as the effective one's side was not."""
        own, scene = self.own, self.own.scene
        told = np.full(scene.count, "", dtype=object)
        asks = own.rule.judged_when.names | own.rule.fault_when.names
        if not ("occupied" in asks and asks & set(IN_FORCE)) or not scene.trended("effective_setpoint").any():
            return told
        hours = scene.once("hours without a side", lambda: _hours_without_side(scene))
        for at in np.flatnonzero(hours >= np.maximum(1.0, LARGE_PART * own.judged_hours)):
            told[at] = (
                f"; for {_hours(hours[at])} more of the occupied time it is not known whether the effective setpoint "
                "was heating's or cooling's"
            )
        return told

    def _would_settle(self, wanted: dict[str, np.ndarray], among: np.ndarray) -> np.ndarray:
        """Say what is really absent of some names that terminals lack."""
        own = self.own
        told = np.full(own.scene.count, "", dtype=object)
        for at, marks in by_pattern(list(wanted.values()), among):
            names = [name for name, mark in zip(wanted, marks, strict=True) if mark]
            if not names:
                continue
            same = np.zeros(own.scene.count, dtype=bool)
            same[at] = True
            for some, found in lacking(all_of(map(made_of, names)), own.there, same):
                if found is not None:
                    told[some] = f"; more could be judged with {in_words(found)}"
        return told


def _named_in(parts: list[str], words: str) -> bool:
    """Tell whether what a way takes was named already."""
    return any(words.removesuffix(IN_SCHEDULE) in part for part in parts)


def _the_least(ways: list[Formula]) -> list[Formula]:
    """Leave out the ways that ask for all that another asks for, and more."""
    needed = [set(asked(way)) for way in ways]
    return [way for way, own in zip(ways, needed, strict=True) if not any(other < own for other in needed)]


def _hours_without_side(scene: Scene) -> np.ndarray:
    """Return for each terminal the occupied hours in which its effective setpoint is known, and its side is not."""
    unknown = ~np.isnan(scene.trend("effective_setpoint")) & (scene.value("occupied") > 0.5)
    for name in IN_FORCE:
        unknown &= np.isnan(scene.value(name))
    return scene.per_terminal(scene.hours * unknown)


def _hours(hours: float) -> str:
    return f"{half_up(hours, 1)} h"


def _minutes(seconds: float) -> str:
    return f"{seconds / 60:g} min"
