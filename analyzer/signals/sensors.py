"""Sensors that cannot be believed: a reading that stands still, or one that nothing in a building can bring about."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer import airside
from analyzer.signals.scene import HOLD_INTERVALS, Scene, signal

# A point that is stored in coarser steps than this stands still for days in a calm zone, and says nothing by it.
COARSEST_STEP = {"zone_temp": 0.35, "discharge_temp": 0.7, "plenum_temp": 0.7, "primary_temp": 0.7, "co2": 30.0}
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


@signal("time", needs=("primary_flow", "damper_position"), settled_by="the trends primary_flow and damper_position")
def primary_flow_flat_for(scene: Scene) -> np.ndarray:
    """How long the flow stands at the very same value above zero while the damper moves [s]; 0 where that rests."""
    runs = _Runs(scene, "primary_flow")
    damper = scene.trend("damper_position")[runs.rows]
    travel = runs.reduce(np.fmax, damper) - runs.reduce(np.fmin, damper)
    blamed = np.where(runs.value > 0, travel >= DAMPER_MOVED, False)
    length = np.where(np.isnan(travel), np.nan, np.where(blamed, runs.length, 0.0))
    return runs.spread(length)


def _flat_for(scene: Scene, name: str) -> np.ndarray:
    runs = _Runs(scene, name)
    too_coarse = _stored_step(scene, runs) > COARSEST_STEP[name] + 1e-9
    return runs.spread(np.where(too_coarse[runs.code], np.nan, runs.length))


class _Runs:
    """The stretches over which a point holds one value, without a gap: arrays with one entry a run."""

    def __init__(self, scene: Scene, name: str):
        self.scene = scene
        values = scene.trend(name)
        self.rows = np.flatnonzero(~np.isnan(values))
        known, code, seconds = values[self.rows], scene.code[self.rows], scene.seconds[self.rows]
        step = np.abs(np.diff(known))
        moved = step > LEAST_CHANGE
        longest = HOLD_INTERVALS * np.nan_to_num(scene.interval) + 1e-6
        apart = (code[1:] != code[:-1]) | (np.diff(seconds) > longest[code[1:]])
        self.starts = np.concatenate([[0], np.flatnonzero(moved | apart) + 1]) if len(known) else np.empty(0, int)
        last = np.append(self.starts[1:], len(known))[: len(self.starts)] - 1
        self.value, self.code = known[self.starts], code[self.starts]
        self.length = seconds[last] - seconds[self.starts] + scene.hours[self.rows[last]] * 3600.0
        self.size = last - self.starts + 1
        together = moved & ~apart
        self.steps, self.steps_of = step[together], code[1:][together]

    def reduce(self, function, values: np.ndarray) -> np.ndarray:
        return function.reduceat(values, self.starts) if len(self.starts) else np.empty(0)

    def spread(self, of_run: np.ndarray) -> np.ndarray:
        result = np.full(self.scene.size, np.nan)
        result[self.rows] = np.repeat(of_run, self.size)
        return result


def _stored_step(scene: Scene, runs: _Runs) -> np.ndarray:
    """The finest step in which each terminal's point is stored; the building's usual where the point never moved."""
    finest = pd.Series(runs.steps).groupby(runs.steps_of).min().reindex(range(scene.count))
    return finest.fillna(finest.dropna().median()).fillna(0.0).to_numpy()


@signal("flow", settled_by="inlet_diameter in the terminal schedule")
def most_flow_of_inlet(scene: Scene) -> np.ndarray:
    """More than any fan drives through the terminal's inlet: 20 m/s in it."""
    return scene.per_row(airside.inlet_area(diameter=scene.scheduled("inlet_diameter")) * FASTEST_AIR * 1000.0)


@signal("time", settled_by="a trend of zone, discharge, plenum or entering air temperature, or of carbon dioxide")
def reading_flat_for(scene: Scene) -> np.ndarray:
    """The longest standstill of the terminal's temperatures and carbon dioxide about each moment [s]."""
    return np.fmax.reduce([scene.value(f"{name}_flat_for") for name in COARSEST_STEP])
