"""Packed columns of numbers expanded as the browser does it."""

import numpy as np


def expand(packed: dict[str, list[int]]) -> np.ndarray:
    """Return the whole numbers that ``analyzer.report.sequence.pack`` packed."""
    if "r" in packed:
        runs = np.asarray(packed["r"], dtype=np.int64).reshape(-1, 2)
        return np.cumsum(np.repeat(runs[:, 0], runs[:, 1]))
    return np.cumsum(np.asarray(packed["d"], dtype=np.int64))
