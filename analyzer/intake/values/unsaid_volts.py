"""Positions of dampers and valves without a unit that are volts: none passes 10, though airflow varies widely."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol

import numpy as np

from analyzer.intake.points.point import Point
from analyzer.intake.words.units import is_volts, unit_of

# Judgement, all that follows. Dampers that stop at 10 V, plus or minus what a converter's last bits come to, over so
# many samples of dampers and valves; and a terminal whose airflow, where it has any, is at times so many times as
# large as at others: no damper does that within its first 10 %.
HIGHEST, GIVE = 10.0, 0.1  # V
LEAST_SAMPLES = 1000
VARIES = 2.0
_FLOWING = 0.1  # share of a terminal's greatest airflow, below which it is off
_USUAL = (0.05, 0.95)  # quantiles of the airflow that are compared
_POSITIONS = ("damper_position", "reheat_position", "heating_signal", "cooling_signal")
_LOWEST = 2.0  # V, at which a signal of 2 to 10 V stands when off
_WHY = (
    "as no damper or valve of the exports passes 10 while airflow varies widely{} (if it is percent, say so in the "
    "point list)"
)
_OFF_AT_TWO = " and it never falls under 2"


class Read(Protocol):
    """A point that is read, its numbers as the file spells them, and whether nothing has told its unit yet."""

    point: Point

    @property
    def open(self) -> bool: ...

    def numbers(self) -> np.ndarray: ...


def settle_unsaid_volts(every: Sequence[Read]) -> None:
    """Give the positions of an export that are volts, and say no unit, the span of their volts, namesakes alike."""
    positions = [each for each in every if each.point.quantity in _POSITIONS and not each.point.stages]
    unsaid = [each for each in positions if each.open and not is_volts(each.point.unknown_unit)]
    if not unsaid or any(_told_otherwise(each.point) for each in positions) or _passes(unsaid):
        return
    numbers = [each.numbers() for each in unsaid]
    whole = np.concatenate(numbers)
    dampers = [n for n, each in enumerate(unsaid) if each.point.quantity == "damper_position" and len(numbers[n])]
    if len(whole) < LEAST_SAMPLES or not dampers or whole.min() < -GIVE or whole.max() > HIGHEST + GIVE:
        return
    if max(numbers[n].max() for n in dampers) < HIGHEST - GIVE:
        return
    tags = {unsaid[n].point.tag for n in dampers}
    if not any(_varies(each.numbers()) for each in every if _is_flow(each.point) and each.point.tag in tags):
        return
    alike: dict[tuple, list[int]] = {}
    for n, each in enumerate(unsaid):
        if len(numbers[n]):
            alike.setdefault((each.point.air_handler, each.point.quantity, each.point.words), []).append(n)
    for namesakes in alike.values():
        off_at_two = abs(min(numbers[n].min() for n in namesakes) - _LOWEST) <= GIVE
        for n in namesakes:
            unsaid[n].point.take_unit(
                "2-10 V" if off_at_two else "0-10 V", "values", _WHY.format(_OFF_AT_TWO if off_at_two else "")
            )


def _told_otherwise(point: Point) -> bool:
    """Tell a position whose unit is told, and is no volts."""
    return point.unit is not None and unit_of(point.unit, "percent") not in (
        unit_of("0-10 V", "percent"),
        unit_of("2-10 V", "percent"),
    )


def _passes(positions: Iterable[Read]) -> bool:
    """Tell whether one passes 10, by what is known without its numbers; one with a code beyond all signals may not."""
    return any(HIGHEST + GIVE < each.point.high <= each.point.meaning.high for each in positions)


def _is_flow(point: Point) -> bool:
    return point.meaning.dimension == "flow" and not point.air_handler


def _varies(flow: np.ndarray) -> bool:
    flow = flow[flow > _FLOWING * flow.max()] if len(flow) else flow
    if not len(flow):
        return False
    low, high = np.quantile(flow, _USUAL)
    return bool(low > 0 and high >= VARIES * low)
