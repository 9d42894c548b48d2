"""Which samples of a series a chart needs: all of a week, and of a longer period all that the eye could miss."""

from __future__ import annotations

import numpy as np

MOST_SAMPLES = 2600  # a week at 5 minutes is 2,016; twice the pixels of a wide chart


def kept_samples(values: np.ndarray, gaps: np.ndarray, *, most: int = MOST_SAMPLES) -> np.ndarray:
    """Choose the samples of a sampled series that are drawn.

    Parameters
    ----------
    values : float array, shape (n,)
        Without NaN.
    gaps : bool array, shape (n,)
        True where a gap lies before the sample; both its shores are kept, unless there are gaps without number.
    most : int
        As many samples are drawn in full. Of more, the lowest and the highest of each of ``most // 2`` equal runs
        are kept, and the first and last sample.

    Returns
    -------
    int array
        Positions, ascending.
    """
    n = len(values)
    size = run_size(n, most=most)
    if size == 1:
        return np.arange(n)
    padded = np.full(-(-n // size) * size, np.nan)
    padded[:n] = values
    runs = padded.reshape(-1, size)
    first = np.arange(len(runs)) * size
    keep = np.zeros(n, dtype=bool)
    keep[first + np.nanargmin(runs, axis=1)] = True
    keep[first + np.nanargmax(runs, axis=1)] = True
    return _with_ends(keep, gaps, most // 4)


def run_size(n: int, *, most: int = MOST_SAMPLES) -> int:
    """Return how many samples ``kept_samples`` gathers in a run, of which only the extremes are drawn; 1 draws all."""
    return 1 if n <= most else -(-n // (most // 2))


def kept_steps(values: np.ndarray, gaps: np.ndarray) -> np.ndarray:
    """Choose the samples of a series that holds its value: each change of value, so nothing is lost."""
    if not len(values):
        return np.arange(0)
    keep = np.ones(len(values), dtype=bool)
    keep[1:] = values[1:] != values[:-1]
    return _with_ends(keep, gaps, len(values))


def _with_ends(keep: np.ndarray, gaps: np.ndarray, most_gaps: int) -> np.ndarray:
    keep[[0, -1]] = True
    if np.count_nonzero(gaps) <= most_gaps:
        keep |= gaps
        keep[:-1] |= gaps[1:]
    return np.flatnonzero(keep)
