"""Fault rows joined into episodes: what lasts long enough to count, over whole columns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Episodes:
    """Stretches of fault, one entry each: terminal, first and last row, start and end [s]; and the rows they hold."""

    terminal: np.ndarray
    first_row: np.ndarray
    last_row: np.ndarray
    start: np.ndarray
    end: np.ndarray
    row: np.ndarray


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
