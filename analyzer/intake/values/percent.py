"""Percent as 0-100 or as a share of one: decided for a whole point, never for a cell."""

from __future__ import annotations

import numpy as np

from analyzer.intake.points.point import Point
from analyzer.intake.values.reasons import USED
from analyzer.quantities import Unit

# A signal in percent that never passes 1, takes fractions and reaches this is a share of one.
SHARE_REACHES = 0.3


def read_percent(
    point: Point, unit: Unit | None, value: np.ndarray, reason: np.ndarray, word: np.ndarray | None
) -> None:
    """Bring a point's signal to percent, or its fraction to a share of one, where it stands.

    Parameters
    ----------
    unit : Unit or None
        What the file says.
    word : ndarray of bool or None
        Cells that were words ("open"): already in percent.
    """
    number = slice(None) if word is None else ~word
    used = value[number][reason[number] == USED]
    if not len(used):
        return
    if point.meaning.dimension == "fraction":
        in_percent = unit.scale == 0.01 if unit is not None else used.max() > 1.0
        if in_percent:
            value[number] *= 0.01
        return
    if unit is not None and unit.scale == 100.0:
        value[number] *= 100.0
    elif used.max() <= 1.0 and used.min() >= 0.0 and _is_share(used, told=unit is not None):
        value[number] *= 100.0
        point.take_unit("0-1", "values", "as it never passes 1 (1 = 100 %)")


def _is_share(used: np.ndarray, *, told: bool) -> bool:
    """Tell a share of one, or a stage that is off and on, from a signal that barely opens.

    Where the file says percent, only a signal that reaches 1 exactly is taken for a share all the same.
    """
    between = np.unique(used[(used > 0) & (used < 1)])
    if not len(between) or told:
        return used.max() == 1.0
    return len(between) >= 2 and used.max() >= SHARE_REACHES
