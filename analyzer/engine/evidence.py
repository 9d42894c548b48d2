"""What a fault measures and what speaks for which cause: figures and sentences over the rows of its episodes."""

from __future__ import annotations

import numpy as np

from analyzer.engine.expressions import Expression
from analyzer.engine.rows import by_terminal, names_at
from analyzer.engine.rule import AIR_HANDLER, MeasureRule, Rule
from analyzer.signals import Scene
from analyzer.signals.unit_points import AS_LOGGED, over_quarters

# What the trends say of a likely cause, by its number.
SUPPORTED, RULED_OUT = "cause {} supported", "cause {} ruled out"


def figures(scene: Scene, rule: Rule, rows: np.ndarray) -> dict[str, np.ndarray]:
    """Return the rule's measures (SI), one figure per terminal; NaN where nothing is known.

    ``rows`` are those of the faults' episodes, in order.
    """
    if not len(rows):
        return {}
    look_up = names_at(scene, rule, rows)
    of_all = _of_all_readings(scene, rows, look_up) if AIR_HANDLER in rule.applies_to else look_up
    return {name: _figure(scene, measure, rows, look_up, of_all) for name, measure in rule.measures.items()}


def _of_all_readings(scene: Scene, rows: np.ndarray, look_up):
    """Return the function that finds names for means: of an air handler's points, over the quarter hour of each row."""
    return lambda name: over_quarters(scene, name)[rows] if name in AS_LOGGED else look_up(name)


def _figure(scene: Scene, measure: MeasureRule, rows: np.ndarray, look_up, of_all) -> np.ndarray:
    mean = measure.take == "mean"
    values = np.broadcast_to(measure.expression.number(of_all if mean else look_up), len(rows))
    if measure.when is not None:
        values = np.where(np.broadcast_to(measure.when.truth(look_up).true, len(rows)), values, np.nan)
    if measure.of is None:
        return _taken(scene, measure.take, rows, values)
    whole = np.broadcast_to(measure.of.number(look_up), len(rows))
    known = ~(np.isnan(values) | np.isnan(whole))
    part, whole = (_taken(scene, measure.take, rows[known], own[known]) for own in (values, whole))
    return np.divide(part, whole, out=np.full(scene.count, np.nan), where=whole > 0)


def evidence(scene: Scene, rule: Rule, rows: np.ndarray) -> dict[int | str, np.ndarray]:
    """Tell for each terminal what held for at least half of its fault rows.

    Each piece of evidence by its number, each grade by its name, and of likely causes ``SUPPORTED`` and ``RULED_OUT``
    with the cause's number.
    """
    if not len(rows):
        return {}
    conditions: dict[int | str, Expression] = {number: item.when for number, item in enumerate(rule.evidence)}
    conditions |= {name: grade.when for name, grade in rule.grades.items()}
    for number, cause in enumerate(rule.wording.likely_causes):
        for what, when in ((SUPPORTED, cause.when), (RULED_OUT, cause.unless)):
            if when is not None:
                conditions[what.format(number)] = when
    look_up = names_at(scene, rule, rows)
    least = np.maximum(0.5 * by_terminal(scene, rows, np.ones(len(rows))), 1)
    return {
        name: by_terminal(scene, rows, np.broadcast_to(when.truth(look_up).true, len(rows))) >= least
        for name, when in conditions.items()
    }


def _taken(scene: Scene, take: str, rows: np.ndarray, values: np.ndarray) -> np.ndarray:
    known = ~np.isnan(values)
    rows, values = rows[known], values[known]
    if take in ("max", "min"):
        return by_terminal(scene, rows, values, how=np.maximum if take == "max" else np.minimum, none=np.nan)
    hours = scene.hours[rows]
    total = by_terminal(scene, rows, values * hours, none=np.nan)
    if take == "total":
        return total
    weight = by_terminal(scene, rows, hours)
    return np.divide(total, weight, out=np.full(scene.count, np.nan), where=weight > 0)
