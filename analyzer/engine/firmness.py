"""Firm or marginal: does a fault still stand with every limit moved against it by its sensor's accuracy?"""

from __future__ import annotations

import numpy as np

from analyzer.engine.episodes import find_episodes
from analyzer.engine.rule import Limit, Rule
from analyzer.signals import HOLD_INTERVALS, Scene


def firm(scene: Scene, rule: Rule, faulty: np.ndarray) -> np.ndarray:
    """Tell which of the faulty terminals' faults stand firm; one bool per terminal.

    A fault that rests on assumed occupied hours is never firm.
    """
    stands = faulty & ~scene.assumed(rule.names)
    movable = [limit for limit in rule.limits.values() if limit.accuracy]
    for turn in _turns(rule, movable):
        if stands.any():
            stands &= _still_faulty(scene, rule, turn, stands)
    return stands


def _turns(rule: Rule, movable: list[Limit]) -> list[dict[str, int]]:
    """Which way to move each limit so that the fault is harder to see; both ways where that cannot be told."""
    if not movable:
        return []
    turn, unclear = {}, []
    for limit in movable:
        ways = {rule.judged_when.direction(limit.name), rule.fault_when.direction(limit.name)} - {0}
        if ways == {1} or ways == {-1}:
            turn[limit.name] = -ways.pop()
        else:
            unclear.append(limit.name)
    if not unclear:
        return [turn]
    return [{**turn, **dict.fromkeys(unclear, way)} for way in (+1, -1)]


def _still_faulty(scene: Scene, rule: Rule, turn: dict[str, int], faulty: np.ndarray) -> np.ndarray:
    """Judge the faulty terminals' rows again with the limits moved."""
    rows = np.flatnonzero(scene.per_row(faulty))

    def look_up(name):
        limit = rule.limits.get(name)
        if limit is None:
            return scene.value(name, rule.values)[rows]
        return limit.value + turn[name] * _accuracy(scene, limit, rows) if name in turn else limit.value

    judged, fault = rule.judged_when.truth(look_up), rule.fault_when.truth(look_up)
    is_fault = np.broadcast_to(judged.true & fault.true, len(rows))
    is_clear = np.broadcast_to(judged.false | fault.false, len(rows))
    code, hours = scene.code[rows], scene.hours[rows]
    longest_gap = HOLD_INTERVALS * np.nan_to_num(scene.interval)
    kept = find_episodes(is_fault, is_clear, code, scene.seconds[rows], hours, longest_gap, rule.lasting).row
    total = np.bincount(code[kept], weights=hours[kept], minlength=scene.count)
    return total >= max(rule.fault_hours_at_least, 1e-9)


def _accuracy(scene: Scene, limit: Limit, rows: np.ndarray):
    """Return a limit's accuracy in the limit's own unit.

    A limit that is a share of a flow (or of another quantity) is moved by the sensor's share; its absolute part is set
    against the largest that the terminal is scheduled for or was seen to read, not against the reading: an error of
    5 L/s is a small share of what is asked for, however little flows.
    """
    accuracy = scene.site.accuracy.get(limit.accuracy)
    if accuracy is None:
        return 0.0
    reading = np.abs(scene.trend(limit.accuracy))
    if limit.dimension != "fraction":
        return accuracy.of(np.nan_to_num(reading[rows])) if accuracy.of_reading else accuracy.at_least
    largest = np.maximum.reduceat(np.nan_to_num(reading), scene.first[:-1])
    if limit.accuracy == "primary_flow":
        largest = np.fmax(largest, scene.scheduled("primary_max"))
    share = np.divide(accuracy.at_least, largest, out=np.ones(scene.count), where=largest > 0)
    return np.maximum(accuracy.of_reading, np.minimum(share, 1.0))[scene.code[rows]]
