"""Firm or marginal: does a fault still stand with every limit moved against it?

A limit is moved by its sensor's accuracy, and by how far what is held against it can be off for other reasons.
"""

from __future__ import annotations

import numpy as np

from analyzer.engine.episodes import fault_episodes
from analyzer.engine.rows import hours_of, names_at, rows_of
from analyzer.engine.rule import Limit, Rule
from analyzer.signals import Scene


def firm(scene: Scene, rule: Rule, faulty: np.ndarray, least: np.ndarray) -> np.ndarray:
    """Tell which of the faulty terminals' faults stand firm; one bool per terminal.

    ``least``: the hours of fault that each takes. A fault that rests on assumed occupied hours is never firm.
    """
    if not faulty.any():
        return faulty
    stands = faulty & ~scene.assumed(rule.names)
    movable = [limit for limit in rule.limits.values() if limit.accuracy or limit.uncertainty]
    for turn in _turns(rule, movable):
        if stands.any():
            stands &= _still_faulty(scene, rule, turn, stands, least)
    return stands


def _turns(rule: Rule, movable: list[Limit]) -> list[dict[str, int]]:
    """Which way to move each limit so that the fault is harder to see; both ways where that cannot be told."""
    if not movable:
        return []
    turn, unclear = {}, []
    for limit in movable:
        ways = {rule.judged_when.direction(limit.name), rule.fault_when.direction(limit.name)} - {0}
        if ways == {1} or ways == {-1}:
            turn[limit.name] = -1 if ways == {1} else 1
        else:
            unclear.append(limit.name)
    if not unclear:
        return [turn]
    return [{**turn, **dict.fromkeys(unclear, way)} for way in (+1, -1)]


def _still_faulty(scene: Scene, rule: Rule, turn: dict[str, int], faulty: np.ndarray, least: np.ndarray) -> np.ndarray:
    """Judge the faulty terminals' rows again with the limits moved."""

    def moved(limit: Limit, rows: np.ndarray):
        return limit.value + turn[limit.name] * _doubt(scene, rule, limit, rows) if limit.name in turn else limit.value

    rows = rows_of(scene, faulty)
    if scene.excluded is not None:
        rows = rows[~scene.excluded[rows]]
    for condition in (*rule.judged_when.conditions(), *rule.fault_when.conditions()):
        rows = rows[np.broadcast_to(condition(names_at(scene, rule, rows, moved)).true, len(rows))]
    return hours_of(scene, fault_episodes(scene, rule, rows, moved).row) >= least


def _doubt(scene: Scene, rule: Rule, limit: Limit, rows: np.ndarray):
    """Return by how much a limit is moved, in its own unit: by two errors that have nothing to do with each other."""
    of_sensor = _accuracy(scene, limit, rows)
    if limit.uncertainty is None:
        return of_sensor
    return np.hypot(of_sensor, limit.uncertainty.number(names_at(scene, rule, rows)))


def _accuracy(scene: Scene, limit: Limit, rows: np.ndarray):
    """Return a limit's accuracy in the limit's own unit.

    A limit that is a share of a flow (or of another quantity) is moved by the sensor's share; its absolute part is set
    against the largest that the terminal is scheduled for or was seen to read, not against the reading: an error of
    5 L/s is a small share of what is asked for, however little flows.
    """
    if limit.accuracy is None or (accuracy := scene.site.accuracy.get(limit.accuracy)) is None:
        return 0.0
    if limit.dimension != "fraction":
        if not accuracy.of_reading:
            return accuracy.at_least
        return accuracy.of(np.nan_to_num(scene.trend(limit.accuracy)[rows]))
    largest = _largest(scene, limit.accuracy)
    share = np.divide(accuracy.at_least, largest, out=np.ones(scene.count), where=largest > 0)
    return np.maximum(accuracy.of_reading, np.minimum(share, 1.0))[scene.code[rows]]


def _largest(scene: Scene, name: str) -> np.ndarray:
    """The largest reading of each terminal, or what it is scheduled for; 0 where neither is known."""

    def work_out():
        reading = np.nan_to_num(np.fmax.reduceat(np.abs(scene.trend(name)), scene.first[:-1]))
        return np.fmax(reading, scene.scheduled("primary_max")) if name == "primary_flow" else reading

    return scene.once(("largest", name), work_out)
