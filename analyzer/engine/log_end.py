"""Until when a rule could judge: the end of the log of what it rests on. A log that ends is no correction."""

from __future__ import annotations

import numpy as np

from analyzer.engine.rows import by_terminal, rows_of
from analyzer.engine.rule import Rule
from analyzer.signals import Scene
from analyzer.signals.made_of import TREND, inputs_of, made_of


def logged_until(scene: Scene, rule: Rule, terminals: np.ndarray) -> np.ndarray:
    """Return the moment at which the first of a rule's trends ends [s], per terminal; NaN where it is not asked for.

    Parameters
    ----------
    scene : Scene
    rule : Rule
        Of the trends that its conditions need, those that a terminal has are looked at.
    terminals : ndarray of bool
        The terminals that are asked for.
    """
    needed = {name for part in (*rule.judged_when.conjuncts, *rule.fault_when.conjuncts) for name in part.names}
    inputs = {wanted for name in needed - set(rule.limits) for wanted in inputs_of(made_of(name))}
    rows, end = rows_of(scene, terminals), np.full(scene.count, np.nan)
    for wanted in inputs:
        if wanted.sort == TREND:
            known = rows[~np.isnan(scene.trend(wanted.name)[rows])]
            ends = scene.seconds[known] + scene.hours[known] * 3600
            end = np.fmin(end, by_terminal(scene, known, ends, how=np.maximum, none=np.nan))
    return end
