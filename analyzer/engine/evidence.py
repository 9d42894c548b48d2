"""What a fault measures and what speaks for which cause: figures and sentences over the rows of its episodes."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.engine.rule import Rule
from analyzer.signals import Scene


def figures(scene: Scene, rule: Rule, rows: np.ndarray, faulty: np.ndarray) -> pd.DataFrame:
    """Return the rule's measures (SI): index number of the faulty terminal, a column per measure.

    ``rows`` are the rows of the faulty terminals' episodes.
    """
    code, hours = scene.code[rows], scene.hours[rows]
    at = np.flatnonzero(faulty)
    if not len(at):
        return pd.DataFrame(columns=list(rule.measures), index=at, dtype=float)
    look_up = _look_up(scene, rule, rows)
    measured = {
        name: _taken(measure.take, np.broadcast_to(measure.expression.number(look_up), len(rows)), hours, code)
        for name, measure in rule.measures.items()
    }
    return pd.DataFrame(measured, index=at)


def evidence(scene: Scene, rule: Rule, rows: np.ndarray, faulty: np.ndarray) -> pd.DataFrame:
    """Tell for each faulty terminal what held for at least half of its fault rows: evidence, and the milder case."""
    conditions = {number: item.when for number, item in enumerate(rule.evidence)}
    if rule.milder:
        conditions["milder"] = rule.milder.when
    at = np.flatnonzero(faulty)
    if not len(at):
        return pd.DataFrame(columns=list(conditions), index=at, dtype=bool)
    look_up, code = _look_up(scene, rule, rows), scene.code[rows]
    total = np.bincount(code, minlength=scene.count)
    held = {
        name: np.bincount(code, weights=np.broadcast_to(when.truth(look_up).true, len(rows)), minlength=scene.count)
        >= np.maximum(0.5 * total, 1)
        for name, when in conditions.items()
    }
    return pd.DataFrame({name: values[at] for name, values in held.items()}, index=at)


def _look_up(scene: Scene, rule: Rule, rows: np.ndarray):
    def look_up(name):
        limit = rule.limits.get(name)
        return scene.value(name, rule.values)[rows] if limit is None else limit.value

    return look_up


def _taken(take: str, values, hours, code) -> pd.Series:
    known = ~np.isnan(values)
    table = pd.DataFrame({"value": values[known], "hours": hours[known]})
    table["product"] = table["value"] * table["hours"]
    grouped = table.groupby(code[known])
    if take == "total":
        return grouped["product"].sum()
    if take == "mean":
        return grouped["product"].sum() / grouped["hours"].sum()
    return grouped["value"].max() if take == "max" else grouped["value"].min()
