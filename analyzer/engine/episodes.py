"""Fault rows joined into episodes: what lasts long enough to count."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.engine.rows import Moved, names_at, ranges
from analyzer.engine.rule import Rule
from analyzer.quantities import TERMINAL
from analyzer.signals import HOLD_INTERVALS, Scene


@dataclass(frozen=True)
class Episodes:
    """Stretches of fault, one entry each: terminal, first and last row, start and end [s]; and the rows they hold."""

    terminal: np.ndarray
    first_row: np.ndarray
    last_row: np.ndarray
    start: np.ndarray
    end: np.ndarray
    row: np.ndarray

    def of(self, terminals: np.ndarray, code: np.ndarray) -> Episodes:
        """Return those of the terminals that are marked; ``code`` is row to terminal."""
        kept = terminals[self.terminal]
        return Episodes(
            self.terminal[kept], self.first_row[kept], self.last_row[kept], self.start[kept], self.end[kept],
            self.row[terminals[code[self.row]]],
        )  # fmt: skip


def fault_episodes(scene: Scene, rule: Rule, rows: np.ndarray, moved: Moved | None = None) -> Episodes:
    """Find the episodes that a rule's rows of fault make up, with its limits as they are or moved."""

    def is_clear(rows: np.ndarray) -> np.ndarray:
        look_up = names_at(scene, rule, rows, moved)
        judged, fault = rule.judged_when.truth(look_up), rule.fault_when.truth(look_up)
        clear = np.broadcast_to(judged.false | (judged.true & fault.false), len(rows))
        # What is left out of judging is not known to be faulty: an episode does not span it.
        return clear if scene.excluded is None else clear | scene.excluded[rows]

    longest_gap = HOLD_INTERVALS * np.nan_to_num(scene.interval)
    rows = rows[_logged(scene, rule, rows)]
    return find_episodes(rows, is_clear, scene.code, scene.seconds, scene.hours, longest_gap, rule.lasting)


def _logged(scene: Scene, rule: Rule, rows: np.ndarray) -> np.ndarray:
    """Tell which rows hold samples of the trends that the rule needs, and not the one before held over a gap.

    One sample and the gap after it are no fault that lasts. A point that is logged more slowly than its terminal is
    there between its samples.
    """
    logged = np.ones(len(rows), dtype=bool)
    for name in rule.needs:
        if name in TERMINAL and scene.trended(name).any():
            every_row = scene.logged_every(name) <= scene.interval
            logged &= ~(np.isnan(scene.column(name)[rows]) & every_row[scene.code[rows]])
    return logged


def find_episodes(rows, is_clear, code, seconds, hours, longest_gap, lasting: float) -> Episodes:
    """Join fault rows into episodes and keep those that last.

    Two fault rows belong to one episode when nothing between them is known to be clear, and no more than
    ``longest_gap`` lies between them: a short gap in the data does not end a fault, and a long one does.

    Parameters
    ----------
    rows : ndarray of int
        The rows that are known to be faulty, in order.
    is_clear : callable
        Takes rows between these; tells which are known not to be (or outside the rule's context). A row that is
        neither is unknown.
    code, seconds, hours : ndarray, one per row of all
        Terminal, time [s], and the time for which the row stands [h].
    longest_gap : ndarray, one per terminal
        The longest gap in the data that does not end an episode [s].
    lasting : float
        The shortest episode that counts [s], inclusive.
    """
    if not len(rows):
        empty = np.empty(0)
        none = empty.astype(int)
        return Episodes(none, none, none, empty, empty, none)
    owner, moment = code[rows], seconds[rows]
    joined = (owner[1:] == owner[:-1]) & (np.diff(moment) <= longest_gap[owner[1:]] + 1e-6)
    apart = np.flatnonzero(joined & (np.diff(rows) > 1))
    if len(apart):
        start, end = rows[apart] + 1, rows[apart + 1]
        clear = is_clear(ranges(start, end))
        joined[apart] = ~np.logical_or.reduceat(clear, np.cumsum(end - start) - (end - start))
    begins = np.concatenate([[True], ~joined])
    ends = np.concatenate([~joined, [True]])
    first, last = rows[begins], rows[ends]
    start, end = moment[begins], moment[ends] + hours[last] * 3600
    kept = end - start >= lasting - 1e-6
    number = np.cumsum(begins) - 1
    return Episodes(owner[begins][kept], first[kept], last[kept], start[kept], end[kept], rows[kept[number]])
