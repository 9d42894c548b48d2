"""Where a rule judged too little: which of its conditions was not met, and which of its names was not known.

Worked out for the terminals that came to no verdict, on the rows that are left as one condition after another is found
not to hold.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from analyzer.engine.expressions import Conjunct
from analyzer.engine.rows import FEW, by_terminal, hours_of, names_at, rows_of
from analyzer.engine.rule import Rule
from analyzer.signals import Scene

# A name limits what can be judged where it is unknown in this share of what could not be.
MOSTLY = 0.5
# Where no condition is known not to hold.
NONE = -1


# What may keep a rule from judging while all else is met, in words, by the only name of its condition.
BUT_FOR = {
    "air_available": "with the air handler off or without air",
    "supply_air_on": "with the air handler off",
    "occupied": "outside the occupied hours",
    "out_of_hours": "in the occupied hours",
    "time_since_occupancy": "in the first hours after occupancy or of the log",
    "time_to_occupancy": "in the last hours before occupancy",
    "setpoint_steady_for": "just after a change of setpoint",
    "zone_had_its_time": "just after a change of setpoint",
    "air_steady_for": "before the air was steady",
    "flow_settled_for": "before the flow had settled",
}


Lacks = Callable[[str], np.ndarray]


@dataclass
class Limits:
    """What limited a rule; arrays run over the terminals of the scene.

    Attributes
    ----------
    in_context : ndarray of float
        Hours in which all conditions of the context are known to hold.
    possible : ndarray of float
        Hours in which none of them is known not to hold.
    but_for : dict
        A name of ``BUT_FOR`` to the hours in which its condition alone is known not to hold.
    unknown : dict
        Name to the terminals at which it limits what could be judged.
    rows : ndarray of int
        The rows that could not be judged for what is unknown there, in order.
    """

    in_context: np.ndarray
    possible: np.ndarray
    but_for: dict[str, np.ndarray]
    unknown: dict[str, np.ndarray]
    rows: np.ndarray


def limits(scene: Scene, rule: Rule, terminals: np.ndarray, lacks: Lacks, no_way: np.ndarray) -> Limits:
    """Find what limited a rule at some terminals (a bool each).

    ``lacks`` tells of a name at which terminals something that it is made of is missing: a condition that needs it is
    not known there, whatever a signal makes of nothing. ``no_way`` tells which terminals lack something of every way of
    judging: a condition that looks whether one of these is there does not tell against the context either.
    """
    context, told = _ordered(rule)
    rows, doubtful, but_for = _narrowed(scene, rule, context, told, terminals, lacks, no_way)
    met = rows[doubtful == 0]
    if len(met):
        fault = rule.fault_when.truth(names_at(scene, rule, met))
        doubtful[doubtful == 0] = np.where(np.broadcast_to(fault.true | fault.false, len(met)), 0, 1 << len(context))
    dark = doubtful > 0
    parts = [*context, *rule.fault_when.conjuncts]
    return Limits(
        hours_of(scene, met), hours_of(scene, rows), but_for,
        _unknown_names(scene, rule, parts, len(context), rows[dark], doubtful[dark]), rows[dark],
    )  # fmt: skip


def nothing(count: int) -> Limits:
    """What limits a rule that came to a verdict wherever it was asked for one; of so many terminals."""
    return Limits(np.zeros(count), np.zeros(count), {}, {}, np.empty(0, dtype=int))


def _ordered(rule: Rule) -> tuple[list[Conjunct], list[str]]:
    """Return the conditions of the context, those last that alone can be told in words; and the names of these."""
    told = {}
    for condition in rule.judged_when.conjuncts:
        names = condition.mentioned - set(rule.limits)
        if len(names) == 1 and (name := next(iter(names))) in BUT_FOR:
            told[name] = condition
    others = [condition for condition in rule.judged_when.conjuncts if condition not in told.values()]
    return [*others, *told.values()], list(told)


def _narrowed(
    scene: Scene,
    rule: Rule,
    context: list[Conjunct],
    told: list[str],
    terminals: np.ndarray,
    lacks: Lacks,
    no_way: np.ndarray,
) -> tuple[np.ndarray, np.ndarray, dict[str, np.ndarray]]:
    """Return the rows at which no condition is known not to hold, which are unknown there, and ``but_for``.

    Which are unknown is a number whose bits stand for the conditions. That a name is known is no condition of the
    building: where it is asked for and is not, the condition is unknown.
    """
    rows = rows_of(scene, terminals)
    if scene.excluded is not None:
        rows = rows[~scene.excluded[rows]]
    failed, of_ways = None, {name for way in rule.needs_one_of for name in way}
    for number, condition in enumerate(context):
        if condition.asks_only_for:
            continue
        fails = _fails(scene, rule, condition, rows)
        for name in condition.mentioned - set(rule.limits):
            without = lacks(name) & terminals & (True if name in condition.names else no_way & (name in of_ways))
            if without.any():
                fails = fails & ~without[scene.code[rows]]
        last = number - len(context) + len(told)  # from 0 on it is one of those that can be told
        if last < 0:
            rows = rows[~fails]
            continue
        failed = np.full(len(rows), NONE, dtype=np.int8) if failed is None else failed
        kept = ~fails | (failed == NONE)
        rows, failed = rows[kept], np.where(fails, np.int8(last), failed)[kept]
    doubtful = _doubtful(scene, rule, context, rows, lacks)
    if failed is None:
        return rows, doubtful, {}
    # Of a row at which one is known not to hold it is asked whether all others are known to hold.
    but_for = {
        name: hours_of(scene, rows[(failed == at) & (doubtful & ~(1 << len(context) - len(told) + at) == 0)])
        for at, name in enumerate(told)
    }
    return rows[failed == NONE], doubtful[failed == NONE], but_for


def _fails(scene: Scene, rule: Rule, condition: Conjunct, rows: np.ndarray) -> np.ndarray:
    """Tell at which rows a condition is known not to hold."""
    if len(rows) > FEW * scene.size:
        return np.broadcast_to(condition.truth(names_at(scene, rule)).false, scene.size)[rows]
    return np.broadcast_to(condition.truth(names_at(scene, rule, rows)).false, len(rows))


def _doubtful(scene: Scene, rule: Rule, context: list[Conjunct], rows: np.ndarray, lacks: Lacks) -> np.ndarray:
    """Return for each row, as bits of a number, which conditions are not known to hold.

    Once something is unknown at every row the rest is not asked: it would have to be worked out first.
    """
    doubtful, look_up = np.zeros(len(rows), dtype=np.int32), names_at(scene, rule, rows)
    for number, condition in enumerate(context):
        if (doubtful > 0).all():
            break
        holds = condition.truth(look_up).true
        for name in condition.names - set(rule.limits):
            holds = holds & ~lacks(name)[scene.code[rows]]
        doubtful |= np.where(holds, 0, 1 << number).astype(np.int32)
    return doubtful


def _unknown_names(
    scene: Scene, rule: Rule, parts: list[Conjunct], first_of_fault: int, rows: np.ndarray, doubtful: np.ndarray
) -> dict[str, np.ndarray]:
    """Find the names that are unknown where a condition is: of the condition that is unknown for the longest."""
    hours = np.array([
        hours_of(scene, rows[doubtful >> min(number, first_of_fault) & 1 > 0]) for number, _ in enumerate(parts)
    ])  # fmt: skip
    longest = np.where(hours.max(axis=0, initial=0.0) > 0, hours.argmax(axis=0), -1)
    found: dict[str, np.ndarray] = {}
    for number, part in enumerate(parts):
        terminals = longest == min(number, first_of_fault)
        if terminals.any():
            at = rows[(doubtful >> min(number, first_of_fault) & 1 > 0) & terminals[scene.code[rows]]]
            for name, limiting in _limiting(scene, rule, part, at).items():
                found[name] = found.get(name, np.zeros(scene.count, dtype=bool)) | limiting
    return found


def _limiting(scene: Scene, rule: Rule, part: Conjunct, rows: np.ndarray) -> dict[str, np.ndarray]:
    """Tell of a condition's names at which terminals each is unknown in most of some rows, where it could decide."""
    whole = hours_of(scene, rows)
    bears, found = part.bears(names_at(scene, rule, rows)), {}
    for name in sorted(part.names - set(rule.limits)):
        missing = np.isnan(scene.value(name, rule.values)[rows]) & bears[name]
        hours = by_terminal(scene, rows[missing], scene.hours[rows[missing]])
        found[name] = (whole > 0) & (hours >= MOSTLY * whole)
    return found
