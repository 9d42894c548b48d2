"""Setpoints where their log is silent: for how long, and in which mode, what was logged stays in force."""

from __future__ import annotations

import numpy as np

from analyzer.signals.grouped import grouped_median
from analyzer.signals.layout import HOLD_INTERVALS
from analyzer.signals.scene import Scene
from analyzer.signals.windows import hold

# Setpoints closer than this are the same [K]. Judgement: half a degree Fahrenheit, the usual step of an adjustment,
# and what a setpoint logged in whole tenths of another unit loses.
SAME = 0.28
# A point that is logged more seldom than this is not bridged from sample to sample: the mode changes in between [s].
SEEN_SELDOM = 3600.0
# The share of a mode's rows that an active setpoint spends on one value, for that to be the mode's own. Judgement:
# warm-up and an evening's override take a quarter of the unoccupied hours at most.
STEADY = 0.75


def logged(scene: Scene, name: str) -> np.ndarray:
    """Return a setpoint as logged, short gaps bridged; one that is logged seldom for no more than an hour.

    A log of changes stands from one change to the next, for as long as ``setpoint_hold`` says.
    """
    values = scene.trend(name)
    every = np.nan_to_num(scene.logged_every(name))
    if (every > SEEN_SELDOM).any():
        column = scene.column(name)
        longest = np.fmax(HOLD_INTERVALS * scene.interval, SEEN_SELDOM)
        bridged = hold(column, np.flatnonzero(np.isnan(column)), scene.code, scene.first, scene.seconds, longest)
        values = np.where(scene.per_row(every > SEEN_SELDOM), bridged, values)
    of_changes = (scene.logged_every(name) == 0) & scene.trended(name)
    if not of_changes.any():
        return values
    last, following = _neighbours(scene, values)
    between = scene.per_row(of_changes) & np.isnan(values) & (last >= 0) & (following >= 0)
    between &= scene.seconds - scene.seconds[last] <= scene.site.setpoint_hold
    return np.where(between, values[last], values)


def stands(scene: Scene, name: str, longest: float) -> np.ndarray:
    """Return the setpoint of a mode at every row: the last one logged, for as long as it may stand.

    Parameters
    ----------
    longest : float
        For how long [s]. Before its first sample a setpoint counts only where it was never another.
    """
    values = scene.column(name)
    if not scene.trended(name).any():
        return values
    last, following = _neighbours(scene, values)
    early = (last < 0) & (following >= 0) & scene.per_row(_constant(scene, values))
    at = np.where(last >= 0, last, np.where(early, following, -1))
    near = np.abs(scene.seconds - scene.seconds[at]) <= longest
    return np.where((at >= 0) & near, values[at], np.nan)


def in_its_state(scene: Scene, values: np.ndarray, name: str, longest: float) -> np.ndarray:
    """Return an active setpoint at the rows where it is not logged: what it was in the same state of occupancy.

    Its usual value in that state, where it spends most of its time on one; else the last one while occupied, and
    nothing while unoccupied, when it is set back at any hour. Before its first sample in a state only where it was
    never another.

    Parameters
    ----------
    longest : float
        How far from a sample in the same state it may stand [s].
    """
    held = np.full(scene.size, np.nan)
    if not scene.trended(name).any() or not np.isnan(values).any():
        return held
    state = scene.value("occupied")
    for occupied in (True, False):
        rows = np.flatnonzero((state > 0.5) if occupied else (state <= 0.5))
        if len(rows):
            held[rows] = _in_one_state(scene, values[rows], rows, occupied, longest)
    held[~np.isnan(values)] = np.nan
    return held


def _in_one_state(scene: Scene, own: np.ndarray, rows: np.ndarray, occupied: bool, longest: float) -> np.ndarray:
    code, known, seconds = scene.code[rows], ~np.isnan(own), scene.seconds[rows]
    usual = grouped_median(own, code, scene.count)
    near = np.abs(own - usual[code]) < SAME
    samples = np.bincount(code[known], minlength=scene.count)
    steady = np.bincount(code[known & near], minlength=scene.count) >= STEADY * samples
    constant = np.bincount(code[known & near], minlength=scene.count) == samples
    last, following = _around(known, code)
    value = np.where(steady[code], usual[code], own[last] if occupied else np.nan)
    stands = (last >= 0) & (seconds - seconds[last] <= longest)
    early = (last < 0) & (following >= 0) & constant[code] & (seconds[following] - seconds <= longest)
    return np.where(stands | early, value, np.nan)


def _neighbours(scene: Scene, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return _around(~np.isnan(values), scene.code)


def _around(known: np.ndarray, code: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return for each row the last row at or before it, and the first at or after it, that is known; -1 for none."""
    number = np.arange(len(known))
    last = np.maximum.accumulate(np.where(known, number, -1))
    last[code[last] != code] = -1
    size = len(known)
    following = np.minimum.accumulate(np.where(known, number, size)[::-1])[::-1]
    following[following == size] = -1
    following[code[following] != code] = -1
    return last, following


def _constant(scene: Scene, values: np.ndarray) -> np.ndarray:
    """Tell for each terminal whether a point never had another value."""
    return scene.reduce(np.fmax, values, np.nan) - scene.reduce(np.fmin, values, np.nan) < SAME
