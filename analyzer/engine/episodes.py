"""Fault rows joined into episodes: what lasts long enough to count, over whole columns."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from analyzer.engine.rows import names_at
from analyzer.engine.rule import Limit, Rule
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


def fault_episodes(
    scene: Scene, rule: Rule, rows: np.ndarray, moved: Callable[[Limit], np.ndarray | float] | None = None
) -> Episodes:
    """Find a rule's episodes of fault on the rows of some terminals, with its limits as they are or moved."""
    look_up = names_at(scene, rule, rows, moved)
    judged, fault = rule.judged_when.truth(look_up), rule.fault_when.truth(look_up)
    is_fault = np.broadcast_to(judged.true & fault.true, len(rows))
    is_clear = np.broadcast_to(judged.false | (judged.true & fault.false), len(rows))
    longest_gap = HOLD_INTERVALS * np.nan_to_num(scene.interval)
    found = find_episodes(
        is_fault, is_clear, scene.code[rows], scene.seconds[rows], scene.hours[rows], longest_gap, rule.lasting
    )
    return replace(found, first_row=rows[found.first_row], last_row=rows[found.last_row], row=rows[found.row])


def find_episodes(fault, clear, code, seconds, hours, longest_gap, lasting: float) -> Episodes:
    """Join fault rows into episodes and keep those that last.

    Two fault rows belong to one episode when nothing between them is known to be clear, and no more than
    ``longest_gap`` lies between them: a short gap in the data does not end a fault, and a long one does.

    Parameters
    ----------
    fault, clear : ndarray of bool, one per row
        Known to be faulty; known not to be (or outside the rule's context). A row that is neither is unknown.
    code, seconds, hours : ndarray, one per row
        Terminal, time [s], and the time for which the row stands [h].
    longest_gap : ndarray, one per terminal
        The longest gap in the data that does not end an episode [s].
    lasting : float
        The shortest episode that counts [s], inclusive.
    """
    rows = np.flatnonzero(fault)
    if not len(rows):
        empty = np.empty(0)
        none = empty.astype(int)
        return Episodes(none, none, none, empty, empty, none)
    cleared = np.concatenate([[0], np.cumsum(clear)])
    before, after = rows[:-1], rows[1:]
    joined = (
        (code[before] == code[after])
        & (cleared[after] == cleared[before])
        & (seconds[after] - seconds[before] <= longest_gap[code[before]] + 1e-6)
    )
    begins = np.concatenate([[True], ~joined])
    ends = np.concatenate([~joined, [True]])
    first, last = rows[begins], rows[ends]
    start = seconds[first]
    end = seconds[last] + hours[last] * 3600
    kept = end - start >= lasting - 1e-6
    number = np.cumsum(begins) - 1
    return Episodes(code[first][kept], first[kept], last[kept], start[kept], end[kept], rows[kept[number]])
