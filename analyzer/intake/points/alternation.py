"""Whether the readings of two logs take turns and jump each time: they are of two things, whatever their names say."""

from __future__ import annotations

import numpy as np

# Judgement. Two logs alternate where at least so many times one follows the other, and that is this share of the
# shorter one's samples; they are of two things where the step from one to the other is usually this many times a log's
# own step, and more than this share of the spread of what both read.
ALTERNATIONS, OF_THE_SHORTER = 12, 0.25
JUMPS = 3.0
OF_THE_SPREAD = 0.05


def alternate(one: tuple[np.ndarray, np.ndarray], other: tuple[np.ndarray, np.ndarray]) -> bool:
    """Tell whether the readings of two logs take turns, and the step from one to the other is no log's own.

    Parameters
    ----------
    one, other : tuple of ndarray
        Moments and values.
    """
    if min(len(one[0]), len(other[0])) < 2 or one[0].max() < other[0].min() or other[0].max() < one[0].min():
        return False
    time, value = (np.concatenate(pair) for pair in zip(one, other, strict=True))
    mine = np.r_[np.zeros(len(one[0]), bool), np.ones(len(other[0]), bool)]
    order = np.argsort(time, kind="stable")
    time, value, mine = time[order], value[order], mine[order]
    turns = (mine[1:] != mine[:-1]) & (time[1:] > time[:-1])
    shorter = min(len(one[0]), len(other[0]))
    if turns.sum() < max(ALTERNATIONS, OF_THE_SHORTER * shorter):
        return False
    across = np.median(np.abs(np.diff(value))[turns])
    own = max(float(np.median(np.abs(np.diff(values)))) for values in (value[mine], value[~mine]))
    spread = float(np.ptp(np.quantile(value, [0.05, 0.95])))
    return bool(across > JUMPS * own and across > OF_THE_SPREAD * spread)
