"""Rows of a scene: what a rule's names are on them, and figures of them for each terminal."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from analyzer.engine.rule import Limit, Rule
from analyzer.signals import Scene

# Where no more than this share of the rows is looked at, a condition is worked out on them alone: to take a column's
# rows out costs about as much as three comparisons of the whole column. Measured.
FEW = 0.3


# What stands in the place of a limit at some rows.
Moved = Callable[[Limit, np.ndarray], np.ndarray | float]


def names_at(
    scene: Scene, rule: Rule, rows: np.ndarray | None = None, moved: Moved | None = None
) -> Callable[[str], np.ndarray | float]:
    """Return the function by which the rule's expressions find their names.

    Parameters
    ----------
    scene : Scene
    rule : Rule
    rows : ndarray of int, optional
        The rows to look at; all where not given.
    moved : callable, optional
        Takes a limit and the rows; returns what stands in the limit's place.
    """
    found: dict[str, np.ndarray | float] = {}

    def look_up(name: str):
        if name not in found:
            limit = rule.limits.get(name)
            if limit is not None:
                assert moved is None or rows is not None, "a limit is moved at rows that are named"
                found[name] = limit.value if moved is None or rows is None else moved(limit, rows)
            else:
                values = scene.value(name, rule.values)
                found[name] = values if rows is None else values[rows]
        return found[name]

    return look_up


def rows_of(scene: Scene, terminals: np.ndarray) -> np.ndarray:
    """Return the rows of the terminals that are marked, in order."""
    at = np.flatnonzero(terminals)
    return ranges(scene.first[at], scene.first[at + 1])


def ranges(start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Return the rows from each start up to before its end, one range after the other."""
    length = end - start
    return np.arange(length.sum()) + np.repeat(start - (np.cumsum(length) - length), length)


def by_terminal(scene: Scene, rows: np.ndarray, values: np.ndarray, *, how=np.add, none=0.0) -> np.ndarray:
    """Join the values of some rows into one for each terminal.

    Parameters
    ----------
    rows : ndarray of int
        In order.
    values : ndarray
        One for each of the rows.
    how : ufunc
        What joins two values.
    none : float
        What a terminal without any of the rows gets.
    """
    edge = np.searchsorted(rows, scene.first)
    some = edge[1:] > edge[:-1]
    joined = np.full(scene.count, none)
    if some.any():
        joined[some] = how.reduceat(values, edge[:-1][some], dtype=float)
    return joined


def hours_of(scene: Scene, rows: np.ndarray) -> np.ndarray:
    """Sum the hours for which some rows stand, over each terminal; the rows are in order."""
    hours = np.diff(np.searchsorted(rows, scene.first)) * scene.interval / 3600
    if scene.regular.all():
        return hours
    return np.where(scene.regular, hours, by_terminal(scene, rows, scene.hours[rows]))
