"""Until when a rule could judge: the end of the log of what it rests on. A log that ends is no correction."""

from __future__ import annotations

import numpy as np

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
    end = np.where(terminals, np.inf, np.nan)
    for wanted in inputs:
        if wanted.sort == TREND:
            end = np.fmin(end, np.where(terminals, _last(scene, wanted.name), np.nan))
    return np.where(np.isinf(end), np.nan, end)


def _last(scene: Scene, name: str) -> np.ndarray:
    """The end of the last sample of a trend [s], per terminal; NaN where there is none."""

    def work_out():
        known = np.flatnonzero(~np.isnan(scene.trend(name)))
        at = np.searchsorted(known, scene.first[1:]) - 1
        there = np.diff(np.searchsorted(known, scene.first)) > 0
        found = np.full(scene.count, np.nan)
        rows = known[at[there]]
        found[there] = scene.seconds[rows] + scene.hours[rows] * 3600
        return found

    return scene.once(("last known", name), work_out)
