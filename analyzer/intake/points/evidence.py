"""What the values of points say where several names claim one quantity of a terminal, and the names say as much."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.intake.points.cells import Cells, Opened
from analyzer.intake.points.point import Point
from analyzer.intake.points.usual import USUAL, fitting_units

# What a point moves with, the more telling first: air with its setpoint and its damper, discharge with its heat.
_COMPANIONS = {
    "damper_position": ("primary_flow", "primary_flow_setpoint"),
    "primary_flow": ("primary_flow_setpoint", "damper_position"),
    "primary_flow_setpoint": ("primary_flow", "damper_position"),
    "reheat_position": ("discharge_temp",),
    "discharge_temp": ("reheat_position",),
    "heating_setpoint": ("cooling_setpoint", "zone_temp"),
    "cooling_setpoint": ("heating_setpoint", "zone_temp"),
    "zone_temp": ("cooling_setpoint", "heating_setpoint"),
    "supply_temp": ("supply_temp_setpoint",),
    "duct_static_pressure": ("duct_static_setpoint", "supply_fan_speed"),
    "supply_fan_speed": ("duct_static_pressure",),
}  # fmt: skip
# Judgement, all that follows: values decide only where they differ by more than noise does.
_COVERS = 0.1  # of the cells hold a number: a step of coverage
_FINER = 2.0  # times as many distinct values: a step of resolution
_MOVES_WITH = 0.2  # of correlation: a step of moving together
_RESTLESS = 0.3  # of the samples differ from the one before: what is measured does, a setpoint does not
_SHARED = 24  # samples at the same moments, below which moving together says nothing


class Evidence:
    """Weighs points by their values: the greater what is returned, the likelier the point is what it claims."""

    def __init__(self, logs: Sequence[Opened]):
        self._cells = Cells(logs)
        self._by_key: dict[tuple, list[Point]] = {}
        for opened in logs:
            for point in opened.points:
                if point.mapped:
                    self._by_key.setdefault(point.key, []).append(point)

    def span(self, same: list[Point]) -> tuple[int, int] | None:
        """Return the first and the last moment [us, UTC] at which a point holds a number; None where it holds none."""
        time = self._joined(same)[0]
        return (int(time.min()), int(time.max())) if len(time) else None

    def apart(self, point: Point, other: Point) -> bool:
        """Tell whether one of two points ends before the other begins, in another file."""
        mine, its = self.span([point]), self.span([other])
        if mine is None or its is None or point.file == other.file:
            return False
        return mine[1] < its[0] or its[1] < mine[0]

    def is_restless(self, point: Point) -> bool:
        """Tell whether a point's value differs from the one before it as often as that of something measured does."""
        time, value = self._joined([point])
        steps = np.diff(value[np.argsort(time, kind="stable")]) != 0
        return len(steps) >= _SHARED and bool(steps.mean() >= _RESTLESS)

    def weigh(self, same: list[Point]) -> tuple[bool, bool, int, int, int]:
        """Return whether the values are usual and whether they move; then coverage, resolution and company, in steps.

        Parameters
        ----------
        same : list of Point
            The parts of one point, file by file.
        """
        time, value = self._joined(same)
        if not len(value):
            return False, False, 0, 0, 0
        distinct = len(np.unique(value))
        covered = len(value) / max(1, sum(map(self._cells.rows, same)))
        finer = int(np.log(distinct) / np.log(_FINER))
        return _fits(same[0], value), distinct > 1, int(covered / _COVERS), finer, self._follows(same[0], time, value)

    def _joined(self, same: list[Point]) -> tuple[np.ndarray, np.ndarray]:
        times, values = zip(*map(self._cells.of, same), strict=True)
        return np.concatenate(times), np.concatenate(values)

    def _follows(self, point: Point, time: np.ndarray, value: np.ndarray) -> int:
        """Tell how closely a point moves with the first of its companions that its terminal has."""
        for quantity in _COMPANIONS.get(point.quantity or "", ()):
            others = self._by_key.get((point.air_handler, point.tag, quantity), [])
            if len({other.column for other in others}) != 1:
                continue
            when, what = self._joined(others)
            _, here, there = np.intersect1d(time, when, return_indices=True)
            if len(here) >= _SHARED and np.ptp(value[here]) and np.ptp(what[there]):
                return int(abs(np.corrcoef(value[here], what[there])[0, 1]) / _MOVES_WITH)
        return 0


def _fits(point: Point, value: np.ndarray) -> bool:
    """Tell whether values are usual for what a point claims, in whatever unit."""
    meaning = point.meaning
    if meaning.dimension == "percent":
        return bool(value.min() >= meaning.low and value.max() <= meaning.high)
    return point.quantity not in USUAL or bool(fitting_units(point.quantity, meaning.dimension, value))
