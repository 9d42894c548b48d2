"""Sensors that cannot be believed: a reading that stands still, or one that nothing in a building can bring about."""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.signals.agreed import agreed, shown
from analyzer.signals.grouped import least_of
from analyzer.signals.register import signal
from analyzer.signals.scene import HOLD_INTERVALS, Scene

# A point that is stored in coarser steps than this stands still for days in a calm zone, and says nothing by it.
COARSEST_STEP = {"zone_temp": 0.35, "discharge_temp": 0.7, "plenum_temp": 0.7, "primary_temp": 0.7, "co2": 30.0}
STEP = "stored step of "
# The flow may stand still as long as the damper does; it is blamed once the damper has moved by this [%].
DAMPER_MOVED = 20.0
# Two readings closer than this are one value, converted.
LEAST_CHANGE = 1e-6
# Faster than this no air enters a terminal [m/s]: 4,000 ft/min, twice what inlets are chosen for. Judgement.
FASTEST_AIR = 20.0


@signal("time", needs=("zone_temp",), settled_by="the trend zone_temp")
def zone_temp_flat_for(scene: Scene) -> np.ndarray:
    """How long in all the zone temperature stands at the very same value about each moment [s]."""
    return _flat_for(scene, "zone_temp")


@signal("time", needs=("discharge_temp",), settled_by="the trend discharge_temp")
def discharge_temp_flat_for(scene: Scene) -> np.ndarray:
    """How long in all the discharge temperature stands at the very same value about each moment [s]."""
    return _flat_for(scene, "discharge_temp")


@signal("time", needs=("plenum_temp",), settled_by="the trend plenum_temp")
def plenum_temp_flat_for(scene: Scene) -> np.ndarray:
    """How long in all the plenum temperature stands at the very same value about each moment [s]."""
    return _flat_for(scene, "plenum_temp")


@signal("time", needs=("primary_temp",), settled_by="the trend primary_temp")
def primary_temp_flat_for(scene: Scene) -> np.ndarray:
    """How long in all the terminal's own entering-air temperature stands at the very same value [s]."""
    return _flat_for(scene, "primary_temp")


@signal("time", needs=("co2",), settled_by="the trend co2")
def co2_flat_for(scene: Scene) -> np.ndarray:
    """How long in all the zone's carbon dioxide stands at the very same value about each moment [s]."""
    return _flat_for(scene, "co2")


@signal(
    "time",
    needs=("primary_flow", "damper_position"),
    settled_by="the trends primary_flow and damper_position",
    where_trended=("primary_flow",),
)
def primary_flow_flat_for(scene: Scene) -> np.ndarray:
    """How long the flow stands at the very same value above zero while the damper moves [s]; 0 where that rests."""
    still = _Standstills(scene, "primary_flow")
    damper = scene.trend("damper_position")[still.rows]
    travel = still.reduce(np.fmax, damper) - still.reduce(np.fmin, damper)
    blamed = (still.value > 0) & (travel >= DAMPER_MOVED)
    return still.spread(np.where(np.isnan(travel), np.nan, np.where(blamed, still.length, 0.0)))


def _flat_for(scene: Scene, name: str) -> np.ndarray:
    still = _Standstills(scene, name)
    flat = still.spread(still.length)
    step = scene.once(("smallest step", name), still.smallest_step)
    if np.isnan(step).any():  # where it never moved, it is taken to be stored as is usual at its air handler
        step = np.where(np.isnan(step), agreed(scene, f"{STEP}{name}").ravel(), step)
    too_coarse = step > COARSEST_STEP[name] + 1e-9
    if too_coarse.any():
        flat[scene.per_row(too_coarse)] = np.nan
    return flat


def _show_steps_of(name: str) -> None:
    @shown(f"{STEP}{name}", least=1)
    def steps(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
        step = scene.once(("smallest step", name), lambda: _Standstills(scene, name).smallest_step())
        return scene.words("air_handler").astype(str), step


for _name in COARSEST_STEP:
    _show_steps_of(_name)


class _Standstills:
    """The stretches over which a point holds one value without a gap; a value that is held by no other is one too.

    Attributes
    ----------
    rows : ndarray of int, or slice
        The rows of the scene at which the point is known; they are cut into the stretches.
    value, length : ndarray
        The value of each stretch, and how long it lasts [s], its last sample included.
    """

    def __init__(self, scene: Scene, name: str):
        self.scene = scene
        values = scene.trend(name)
        known = values == values
        self.rows = slice(None) if known.all() else np.flatnonzero(known)
        values, hours = values[self.rows], scene.hours[self.rows]
        # How far each row's value is from the one before it; endless where that is not the row before it in time.
        self._step = np.empty(len(values))
        np.subtract(values[1:], values[:-1], out=self._step[1:])
        np.abs(self._step, out=self._step)
        self._step[self._apart()] = np.inf
        self._first = np.flatnonzero(self._step > LEAST_CHANGE)
        self._size = np.diff(np.append(self._first, len(values)))
        self.value = values[self._first]
        seconds, last = scene.seconds[self.rows], self._first + self._size - 1
        self.length = seconds[last] - seconds[self._first] + hours[last] * 3600.0

    def _apart(self) -> np.ndarray:
        """Return which of ``rows`` follow none of their terminal, or not within what a value is held for."""
        scene = self.scene
        if isinstance(self.rows, slice) and scene.regular.all():
            return scene.first[:-1][scene.rows_of > 0]
        seconds, code = scene.seconds[self.rows], scene.code[self.rows]
        longest = HOLD_INTERVALS * np.nan_to_num(scene.interval) + 1e-6
        apart = (code[1:] != code[:-1]) | (seconds[1:] - seconds[:-1] > longest[code[1:]])
        return np.concatenate([np.arange(min(len(code), 1)), np.flatnonzero(apart) + 1])

    def reduce(self, function, values: np.ndarray) -> np.ndarray:
        """Reduce a value for each of ``rows`` to one a stretch."""
        return function.reduceat(values, self._first) if len(self._first) else np.empty(0)

    def spread(self, of_stretch: np.ndarray) -> np.ndarray:
        """Lay a value a stretch over the scene; NaN where the point is unknown."""
        if isinstance(self.rows, slice):
            return np.repeat(of_stretch, self._size)
        result = np.full(self.scene.size, np.nan)
        result[self.rows] = np.repeat(of_stretch, self._size)
        return result

    def smallest_step(self) -> np.ndarray:
        """The smallest step by which each terminal's point moved between two samples; NaN where it never did."""
        least = least_of(self._step[self._first], self.scene.code[self.rows][self._first], self.scene.count)
        return np.where(np.isinf(least), np.nan, least)


@signal("flow", settled_by="inlet_diameter in the terminal schedule")
def most_flow_of_inlet(scene: Scene) -> np.ndarray:
    """More than any fan drives through the terminal's inlet: 20 m/s in it."""
    return scene.per_row(airside.inlet_area(diameter=scene.scheduled("inlet_diameter")) * FASTEST_AIR * 1000.0)


@signal("time", settled_by="a trend of zone, discharge, plenum or entering air temperature, or of carbon dioxide")
def reading_flat_for(scene: Scene) -> np.ndarray:
    """The longest standstill of the terminal's temperatures and carbon dioxide about each moment [s]."""
    first, *others = COARSEST_STEP
    longest = scene.value(f"{first}_flat_for").copy()
    for name in others:
        np.fmax(longest, scene.value(f"{name}_flat_for"), out=longest)
    return longest
