"""Each terminal's clock: its step, and where on the clock its slots fall."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.intake.grid.logs import SECOND, Logs
from analyzer.intake.grid.moments import Series
from analyzer.intake.limits import EVENT_GRID_SECONDS

_SEVERAL_SECONDS = 15 * SECOND
_ONE_MINUTE = 60 * SECOND  # less is not worth a sentence; judgement


@dataclass
class Clock:
    """Every owner's grid: ``step`` and ``phase`` [us]."""

    step: np.ndarray
    phase: np.ndarray

    def nearest(self, time: np.ndarray, owner: np.ndarray) -> np.ndarray:
        """Return the owner's slot nearest to a moment."""
        step, phase = self._of(owner)
        return (time + (step // 2 - phase)) // step

    def following(self, time: np.ndarray, owner: np.ndarray) -> np.ndarray:
        """Return the owner's first slot at or after a moment."""
        step, phase = self._of(owner)
        return (time + (step - 1 - phase)) // step

    def before(self, time: np.ndarray, owner: np.ndarray) -> np.ndarray:
        """Return the owner's last slot at or before a moment."""
        step, phase = self._of(owner)
        return (time - phase) // step

    def moment(self, slot: np.ndarray, owner: np.ndarray) -> np.ndarray:
        """Return the moment of the owner's slot."""
        step, phase = self._of(owner)
        time = slot * step
        time += phase
        return time

    def moments(self, places: np.ndarray, base: np.ndarray, rows: np.ndarray) -> np.ndarray:
        """Return the moments of places among the slots of all, so many rows of one owner after those of another."""
        time = np.repeat(self.phase - base * self.step, rows)
        step = self.step[0] if (self.step == self.step[0]).all() else np.repeat(self.step, rows)
        time += places * step
        return time

    def _of(self, owner: np.ndarray):
        """Return step and phase for the owners; plain numbers where all share them, which divides much faster."""
        if (self.step == self.step[0]).all() and (self.phase == self.phase[0]).all():
            return self.step[0], self.phase[0]
        return self.step[owner], self.phase[owner]


def set_clocks(every: list[Series], logs: Logs, owners: int) -> Clock:
    """Find every owner's grid: the finest interval of its interval logs, and where on the clock it falls.

    Stamps a few seconds off the full interval belong to it; a log that is steadily further off keeps its own place.
    """
    seconds = np.full(owners, np.inf)
    np.minimum.at(seconds, logs.owner, np.where(logs.interval > 0, logs.interval, np.inf))
    step = np.round(np.where(np.isfinite(seconds), seconds, EVENT_GRID_SECONDS) * SECOND).astype(np.int64)
    phase = np.zeros(owners, np.int64)
    finest = logs.take((logs.interval > 0) & (np.round(logs.interval * SECOND) == step[logs.owner]))
    if not len(finest.owner):
        return Clock(step, phase)
    each = step[finest.owner]
    offs = [(stamp + each // 2) % each - each // 2 for stamp in _three_stamps(every, finest)]
    off = np.median(offs, axis=0).astype(np.int64)
    off = np.where(np.abs(off) <= _slack(each), 0, off)
    nearest = pd.DataFrame({"owner": finest.owner, "off": off, "size": np.abs(off)}).sort_values("size", kind="stable")
    nearest = nearest.drop_duplicates("owner")
    phase[nearest["owner"]] = nearest["off"]
    return Clock(step, phase)


def moved(every: list[Series], logs: Logs, clock: Clock) -> np.ndarray:
    """Return how far [s] each interval log's stamps are from the rows of its owner that they are put on; 0 for others.

    Less than a clock that is a few seconds off counts as nothing.
    """
    far = np.zeros(len(logs.owner))
    regular = np.flatnonzero(logs.interval > 0)
    if len(regular):
        mine = logs.take(regular)
        step, phase = clock.step[mine.owner], clock.phase[mine.owner]
        offs = [np.abs((stamp - phase + step // 2) % step - step // 2) for stamp in _three_stamps(every, mine)]
        off = np.median(offs, axis=0)
        far[regular] = np.where(off > np.maximum(_ONE_MINUTE, _slack(step)), off, 0) / SECOND
    return far


def _slack(step: np.ndarray) -> np.ndarray:
    return np.minimum(np.maximum(_SEVERAL_SECONDS, step // 10), step // 4)


def _three_stamps(every: list[Series], logs: Logs) -> list[np.ndarray]:
    """Return the first, a middle and the last stamp at which each log has a value: rows of others stand between."""
    stamps = np.zeros((3, len(logs.owner)), np.int64)
    for number in np.unique(logs.series).tolist():
        mine = logs.series == number
        series, column, run = every[number], logs.column[mine], logs.run[mine]
        begin, last = series.begin[run], series.begin[run + 1] - 1
        at = np.array([begin, (begin + last) // 2, last])
        for n in np.flatnonzero(np.isnan(series.value[column, at]).any(axis=0)).tolist():
            filled = np.flatnonzero(~np.isnan(series.value[column[n], begin[n] : last[n] + 1]))
            if len(filled):
                at[:, n] = begin[n] + filled[[0, len(filled) // 2, -1]]
        stamps[:, mine] = series.time[at]
    return list(stamps)
