"""Signals to percent: by the unit that their file states, which is believed, or by the one that was settled."""

from __future__ import annotations

import numpy as np

from analyzer.intake.points.point import Point
from analyzer.intake.points.told import Told
from analyzer.intake.values.reasons import USED
from analyzer.quantities import Unit

# A signal that never passes 1, takes fractions and reaches this is a share of one. Judgement: a valve that is asked for
# at all goes further than a third of a percent.
SHARE_REACHES = 0.3
_VOLTS = (10.0, 12.5)  # % a volt, of 0-10 V and of 2-10 V
_MILLIAMPERES = {6.25: "4 to 20 mA", 5.0: "0 to 20 mA"}  # by % a milliampere


def read_percent(
    point: Point, unit: Unit | None, value: np.ndarray, reason: np.ndarray, word: np.ndarray | None, told: Told
) -> None:
    """Bring a point's signal to percent, or its fraction to a share of one, where it stands.

    Parameters
    ----------
    unit : Unit or None
        What the file says, or what was settled.
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
    elif unit is not None and unit.scale != 1.0:
        value[number] = unit.to_si(value[number])
        if unit.scale in _VOLTS:
            told.of(point, f"Signals in volts were read as {point.unit} = 0 to 100 %: {{points}}.")
        elif unit.scale in _MILLIAMPERES:
            span = _MILLIAMPERES[unit.scale]
            told.of(point, f"Signals in milliamperes were read as {span} = 0 to 100 %: {{points}}.")
    elif unit is not None and point.unit_from != "values" and is_share(used):
        told.of(
            point,
            "Signals that never pass 1 were read in %, as their unit says, so that 1 is 1 %: {points}. If 1 means "
            "100 %, correct the unit in the export.",
        )


def is_share(used: np.ndarray) -> bool:
    """Tell a share of one, or a stage that is off and on, from a signal that barely opens."""
    if not len(used) or used.max() > 1.0 or used.min() < 0.0:
        return False
    between = np.unique(used[(used > 0) & (used < 1)])
    if not len(between):
        return bool(used.max() == 1.0)
    return len(between) >= 2 and bool(used.max() >= SHARE_REACHES)
