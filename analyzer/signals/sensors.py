"""Sensors that cannot be believed: a reading that stands still, or one that nothing in a building can bring about."""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.signals.agreed import agreed, shown
from analyzer.signals.grouped import Groups, least_of
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
    length = np.where(np.isnan(travel), np.nan, np.where(blamed, still.length, 0.0))
    return still.spread(length, np.where(np.isnan(damper), np.nan, 0.0))


def _flat_for(scene: Scene, name: str) -> np.ndarray:
    still = _Standstills(scene, name)
    flat = still.spread(still.length, scene.hours[still.rows] * 3600.0)
    step = still.smallest_step()
    if np.isnan(step).any():  # where it never moved, it is taken to be stored as is usual at its air handler
        step = np.where(np.isnan(step), agreed(scene, f"{STEP}{name}").ravel(), step)
    too_coarse = step > COARSEST_STEP[name] + 1e-9
    if too_coarse.any():
        flat[scene.per_row(too_coarse)] = np.nan
    return flat


def _show_steps_of(name: str) -> None:
    @shown(f"{STEP}{name}", least=1)
    def steps(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
        return scene.words("air_handler").astype(str), _Standstills(scene, name).smallest_step()


for _name in COARSEST_STEP:
    _show_steps_of(_name)


class _Standstills:
    """The stretches over which a point holds one value for two samples or more, without a gap.

    Attributes
    ----------
    rows : ndarray of int, or slice
        The rows of the scene at which the point is known; a stretch is counted within them.
    value, length : ndarray
        The value of each stretch, and how long it lasts [s], its last sample included.
    """

    def __init__(self, scene: Scene, name: str):
        self.scene = scene
        values = scene.trend(name)
        known = values == values
        self.rows = slice(None) if known.all() else np.flatnonzero(known)
        values, seconds, hours = values[self.rows], scene.seconds[self.rows], scene.hours[self.rows]
        self._terminals = Groups(scene.code[self.rows], scene.count)
        self._step = np.abs(np.diff(values, prepend=np.nan))
        longest = self._terminals.spread(HOLD_INTERVALS * np.nan_to_num(scene.interval) + 1e-6)
        self._together = np.diff(seconds, prepend=np.nan) <= longest
        self._together[self._terminals.start] = False
        edge = np.flatnonzero(np.diff(self._together & (self._step <= LEAST_CHANGE), append=False))
        self.first, self.last = edge[::2], edge[1::2]
        self.value = values[self.first]
        self.length = seconds[self.last] - seconds[self.first] + hours[self.last] * 3600.0

    def reduce(self, function, values: np.ndarray) -> np.ndarray:
        """Reduce a value for each of ``rows`` to one a stretch."""
        if not len(self.first):
            return np.empty(0)
        return function.reduceat(np.append(values, np.nan), np.column_stack([self.first, self.last + 1]).ravel())[::2]

    def spread(self, of_stretch: np.ndarray, elsewhere: np.ndarray) -> np.ndarray:
        """Lay a value a stretch, and one for each of ``rows`` that is in none, over the scene; NaN where unknown."""
        size = self.last - self.first + 1
        within = np.arange(size.sum()) + np.repeat(self.first - (np.cumsum(size) - size), size)
        elsewhere[within] = np.repeat(of_stretch, size)
        result = np.full(self.scene.size, np.nan)
        result[self.rows] = elsewhere
        return result

    def smallest_step(self) -> np.ndarray:
        """The smallest step by which each terminal's point moved between two samples; NaN where it never did."""
        moved = self._together & (self._step > LEAST_CHANGE)
        return least_of(self._step[moved], self.scene.code[self.rows][moved], self.scene.count)


@signal("flow", settled_by="inlet_diameter in the terminal schedule")
def most_flow_of_inlet(scene: Scene) -> np.ndarray:
    """More than any fan drives through the terminal's inlet: 20 m/s in it."""
    return scene.per_row(airside.inlet_area(diameter=scene.scheduled("inlet_diameter")) * FASTEST_AIR * 1000.0)


@signal("time", settled_by="a trend of zone, discharge, plenum or entering air temperature, or of carbon dioxide")
def reading_flat_for(scene: Scene) -> np.ndarray:
    """The longest standstill of the terminal's temperatures and carbon dioxide about each moment [s]."""
    return np.fmax.reduce([scene.value(f"{name}_flat_for") for name in COARSEST_STEP])
