"""Where a rule judged too little: which of its conditions was not met, and which of its names was not known.

Worked out for the terminals that came to no verdict, on the rows that are left as one condition after another is found
not to hold.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.engine.expressions import Conjunct
from analyzer.engine.rows import by_terminal, hours_of, names_at, rows_of
from analyzer.engine.rule import Rule
from analyzer.signals import Scene

# A name limits what can be judged where it is unknown in this share of what could not be.
MOSTLY = 0.5


@dataclass
class Limits:
    """What limited a rule; arrays run over the terminals of the scene.

    Attributes
    ----------
    in_context : ndarray of float
        Hours in which all conditions of the context are known to hold.
    possible : ndarray of float
        Hours in which none of them is known not to hold.
    but_for : list of ndarray of float
        For each condition of the context: hours in which it alone is known not to hold.
    unknown : dict
        Name to the terminals at which it limits what could be judged.
    rows : ndarray of int
        The rows that could not be judged for what is unknown there, in order.
    """

    in_context: np.ndarray
    possible: np.ndarray
    but_for: list[np.ndarray]
    unknown: dict[str, np.ndarray]
    rows: np.ndarray


def limits(scene: Scene, rule: Rule, terminals: np.ndarray) -> Limits:
    """Find what limited a rule at some terminals (a bool each)."""
    context = rule.judged_when.conjuncts()
    rows, failed, doubtful = _narrowed(scene, rule, context, terminals)
    but_for = [hours_of(scene, rows[failed == number]) for number in range(len(context))]
    rows, doubtful = rows[failed < 0], doubtful[failed < 0]
    met = rows[doubtful == 0]
    fault = rule.fault_when.truth(names_at(scene, rule, met))
    doubtful[doubtful == 0] = np.where(np.broadcast_to(fault.true | fault.false, len(met)), 0, 1 << len(context))
    dark = doubtful > 0
    parts = [*context, *rule.fault_when.conjuncts()]
    return Limits(
        hours_of(scene, met), hours_of(scene, rows), but_for,
        _unknown_names(scene, rule, parts, len(context), rows[dark], doubtful[dark]), rows[dark],
    )  # fmt: skip


def _narrowed(
    scene: Scene, rule: Rule, context: list[Conjunct], terminals: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the rows at which at most one condition is known not to hold; which (-1: none); and which are unknown.

    The last is a number whose bits stand for the conditions. That a name is known is no condition of the building:
    where it is asked for and is not, the condition is unknown.
    """
    rows = rows_of(scene, terminals)
    if scene.excluded is not None:
        rows = rows[~scene.excluded[rows]]
    failed, doubtful = np.full(len(rows), -1), np.zeros(len(rows), dtype=np.int64)
    for number, condition in enumerate(context):
        truth = condition.truth(names_at(scene, rule, rows))
        holds, fails = np.broadcast_to(truth.true, len(rows)), np.broadcast_to(truth.false, len(rows))
        if condition.asks_only_for:
            fails = np.zeros(len(rows), dtype=bool)
        doubtful |= (~holds & ~fails).astype(np.int64) << number
        kept = ~(fails & (failed >= 0))
        failed = np.where(fails, number, failed)[kept]
        rows, doubtful = rows[kept], doubtful[kept]
    return rows, np.where(doubtful > 0, np.where(failed >= 0, len(context), failed), failed), doubtful


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
    """Tell of a condition's names at which terminals each is unknown in most of some rows."""
    whole = hours_of(scene, rows)
    found = {}
    for name in sorted(part.names - set(rule.limits)):
        missing = np.isnan(scene.value(name, rule.values)[rows])
        hours = by_terminal(scene, rows[missing], scene.hours[rows[missing]])
        found[name] = (whole > 0) & (hours >= MOSTLY * whole)
    return found
