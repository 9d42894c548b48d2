"""The rows that are left out of judging: windows of the site file, ``[[exclude]]``."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.site.model import Exclusion


def excluded_rows(
    excluded: Sequence[Exclusion], terminals: np.ndarray, first: np.ndarray, seconds: np.ndarray
) -> np.ndarray | None:
    """Tell which rows lie in a window that is left out: from its start up to, but not at, its end.

    Parameters
    ----------
    excluded : sequence of Exclusion
    terminals : ndarray of str
        The tags, in the order of the rows.
    first : ndarray of int
        First row of each terminal, and the number of rows at the end.
    seconds : ndarray of float
        Time of each row [s].

    Returns
    -------
    ndarray of bool, one per row, or None
        None where no row is left out.
    """
    out = np.zeros(len(seconds), dtype=bool)
    for window in excluded:
        inside = (seconds >= window.start.timestamp()) & (seconds < window.end.timestamp())
        if window.terminals:
            inside &= np.repeat(np.isin(terminals, window.terminals), np.diff(first))
        out |= inside
    return out if out.any() else None


def moments_excluded(excluded: Sequence[Exclusion], seconds: np.ndarray) -> np.ndarray:
    """Tell which moments [s] lie in a window that is left out at every terminal."""
    none = np.empty(0, dtype=object)
    for_all = [window for window in excluded if not window.terminals]
    found = excluded_rows(for_all, none, np.zeros(1, dtype=int), seconds)
    return np.zeros(len(seconds), dtype=bool) if found is None else found
