"""Columns of numbers as short JSON: whole numbers, as differences, repeated differences counted.

``{"d": [first, difference, ...]}`` or, where that is shorter, ``{"r": [difference, times, difference, times, ...]}``,
both summed up from zero. The browser expands them (``assets/sequence.js``).
"""

from __future__ import annotations

import numpy as np


def pack(numbers: np.ndarray) -> dict[str, list[int]]:
    """Pack whole numbers, in the shorter of the two forms.

    Parameters
    ----------
    numbers : int array, shape (n,)

    Returns
    -------
    dict
        ``{"d": ...}`` or ``{"r": ...}``.
    """
    differences = np.diff(numbers, prepend=0)
    if not len(differences):
        return {"d": []}
    starts = np.flatnonzero(np.diff(differences, prepend=differences[0] - 1))
    if 2 * len(starts) < len(differences):
        runs = np.stack([differences[starts], np.diff(starts, append=len(differences))], axis=1)
        return {"r": runs.ravel().tolist()}
    return {"d": differences.tolist()}
