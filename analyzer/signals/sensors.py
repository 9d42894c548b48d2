"""Sensors that cannot be believed: a reading that stands still, or one that nothing in a building can bring about."""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.signals.agreed import agreed, shown
from analyzer.signals.air_signs import MOVES
from analyzer.signals.grouped import grouped_median, least_of
from analyzer.signals.layout import HOLD_INTERVALS
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene

# A point that is stored in coarser steps than this stands still for days in a calm zone, and says nothing by it.
COARSEST_STEP = {"zone_temp": 0.35, "discharge_temp": 0.7, "plenum_temp": 0.7, "primary_temp": 0.7, "co2": 30.0}
STEP = "stored step of "
# A flow that is stored in coarser steps stays at one value while it is controlled well [L/s]: 5 cfm are 2.4. Judgement.
COARSEST_FLOW = 2.0
# The flow may stand still as long as the damper does; it is blamed once the damper has moved by this [%]. Its largest
# single step does not count: a position that is counted jumps when it is homed.
DAMPER_MOVED = 20.0
# Of a standstill this long it is asked whether the whole log stands still [s]: a day; a day and a half is blamed.
LONG = 24 * 3600.0
# Air that does not move may keep its temperature: within a standstill of the discharge, the entering air or the plenum
# air has to have moved for this long in all [h]; a flow read at this or less is none [L/s]. Judgement.
LEAST_AIR, NO_AIR = 6.0, 5.0
# Points that a live terminal moves, by which a log is known to be alive.
LIVE = (
    "zone_temp", "primary_flow", "damper_position", "reheat_position", "discharge_temp", "primary_temp", "plenum_temp",
    "co2", "discharge_flow", "outdoor_air_flow", "fan_speed",
)  # fmt: skip
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
    """How long in all the zone's CO2 stands at the very same value about each moment [s]."""
    return _flat_for(scene, "co2")


@signal(
    "time",
    needs=("primary_flow", "damper_position"),
    settled_by="the trends primary_flow and damper_position",
    where_trended=("primary_flow",),
)
def primary_flow_flat_for(scene: Scene) -> np.ndarray:
    """How long the flow stands at the very same value above zero while the damper moves [s]; 0 where that rests."""
    still = Standstills(scene, "primary_flow")
    damper = scene.trend("damper_position")[still.rows]
    reach = still.reduce(np.fmax, damper) - still.reduce(np.fmin, damper)
    # Next to no flow that rests is sound, but where the air handler is known to supply air.
    with_air = still.reduce(np.fmin, scene.value("supply_air_on")[still.rows]) > 0.5
    blamed = (still.value > 0) & ((still.value > MOVES) | with_air) & (reach >= DAMPER_MOVED)
    if blamed.any():
        step = still.within(np.abs(np.diff(damper, prepend=damper[:1])))
        blamed &= still.reduce(np.add, step) - still.reduce(np.fmax, step) >= DAMPER_MOVED
        blamed &= ~(still.smallest_step()[still.owner] > COARSEST_FLOW)
        # A log of changes tells a flow only once it has moved by its increment, which is the step it usually makes.
        of_changes = scene.logged_every("primary_flow") == 0
        blamed &= ~(of_changes & (still.usual_step() > COARSEST_FLOW))[still.owner]
    # Of no flow for a day on end it is not asked whether the log is alive: it says nothing of the sensor.
    resting = (still.value <= 0) & (still.length >= LONG)
    unknown = np.isnan(reach) | resting | no_sensor_of_it(scene, still, "primary_flow", ~resting)
    return still.spread(np.where(unknown, np.nan, np.where(blamed, still.length, 0.0)))


def _flat_for(scene: Scene, name: str) -> np.ndarray:
    still = Standstills(scene, name)
    flat = still.spread(np.where(no_sensor_of_it(scene, still, name, True), np.nan, still.length))
    step = scene.once(("smallest step", name), still.smallest_step)
    if np.isnan(step).any():  # where it never moved, it is taken to be stored as is usual at its air handler
        step = np.where(np.isnan(step), agreed(scene, f"{STEP}{name}").ravel(), step)
    too_coarse = step > COARSEST_STEP[name] + 1e-9
    if too_coarse.any():
        flat[scene.per_row(too_coarse)] = np.nan
    return flat


def no_sensor_of_it(scene: Scene, still: Standstills, name: str, among) -> np.ndarray:
    """Tell which standstills (of those ``among``) are no sensor's: the whole log stands still, or no air moved."""
    long = (still.length >= LONG) & among
    if not long.any():
        return long
    at = np.flatnonzero(long)
    rows, first = still.rows_of(at)
    owners = np.unique(still.owner[at])
    own = _spread_out(scene.first[owners], scene.rows_of[owners])
    beside = np.zeros(scene.count, dtype=bool)
    moved = np.zeros(len(at), dtype=bool)
    for other in LIVE:
        if other == name or not scene.trended(other).any():
            continue
        values = scene.column(other)
        beside[scene.code[own[values[own] > 0]]] = True
        values = values[rows]
        moved |= np.fmax.reduceat(values, first) - np.fmin.reduceat(values, first) > LEAST_CHANGE
    found = long.copy()
    found[at] = beside[still.owner[at]] & ~moved
    if name in ("discharge_temp", "primary_temp", "plenum_temp"):
        air = np.add.reduceat(scene.hours[rows] * _air_moves(scene, rows), first)
        found[at] |= air < LEAST_AIR
    return found


def _air_moves(scene: Scene, rows: np.ndarray) -> np.ndarray:
    """Tell at which of some rows air may move past the sensors: supplied and not read as none, or drawn by the fan."""
    supplied = (scene.value("air_available")[rows] > 0.5) & ~(scene.trend("primary_flow")[rows] <= NO_AIR)
    return supplied | (scene.value("fan_on")[rows] > 0.5)


def _spread_out(start: np.ndarray, size: np.ndarray) -> np.ndarray:
    """Return the numbers of some ranges, by their starts and sizes, one range after another."""
    return np.arange(size.sum()) + np.repeat(start - (np.cumsum(size) - size), size)


def _show_steps_of(name: str) -> None:
    @shown(f"{STEP}{name}", least=1)
    def steps(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
        step = scene.once(("smallest step", name), lambda: Standstills(scene, name).smallest_step())
        return scene.words("air_handler").astype(str), step


for _name in COARSEST_STEP:
    _show_steps_of(_name)


class Standstills:
    """The stretches over which a point holds one value without a gap; a value that is held by no other is one too.

    Attributes
    ----------
    rows : ndarray of int, or slice
        The rows of the scene at which the point is known; they are cut into the stretches.
    value, length, owner : ndarray
        The value of each stretch, how long it lasts [s], its last sample included, and the number of its terminal.
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
        self.value, self.owner = values[self._first], scene.code[self.rows][self._first]
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

    def within(self, steps: np.ndarray) -> np.ndarray:
        """Return steps from one of ``rows`` to the next, without those from one stretch to another."""
        steps = np.nan_to_num(steps)
        steps[self._first] = 0.0
        return steps

    def rows_of(self, stretches: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the rows of the scene that some stretches hold, in order, and the first of each among them."""
        size = self._size[stretches]
        at = _spread_out(self._first[stretches], size)
        return (at if isinstance(self.rows, slice) else self.rows[at]), np.cumsum(size) - size

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

    def usual_step(self) -> np.ndarray:
        """The step by which each terminal's point usually moves from one value to the next; NaN where it never did."""
        step, code = self._step[self._first], self.scene.code[self.rows][self._first]
        moved = ~np.isinf(step)
        return grouped_median(step[moved], code[moved], self.scene.count)


@signal("flow", settled_by="inlet_diameter in the terminal schedule")
def most_flow_of_inlet(scene: Scene) -> np.ndarray:
    """More than any fan drives through the terminal's inlet: 20 m/s in it."""
    return scene.per_row(airside.inlet_area(diameter=scene.scheduled("inlet_diameter")) * FASTEST_AIR * 1000.0)


# Readings out of range -----------------------------------------------------------------------------------------------


@signal("state", settled_by="reheat in the terminal schedule")
def with_reheat(scene: Scene) -> np.ndarray:
    """Whether the terminal has reheat: as scheduled, else as its reheat is trended."""
    return scene.per_row(scene.has_reheat.astype(float))


@signal("temperature", needs=("zone_temp",), settled_by="the trend zone_temp", where_trended=("zone_temp",))
def zone_temp_out_of_range(scene: Scene, *, coldest_zone: float, warmest_zone: float) -> np.ndarray:
    """The zone temperature where it is out of range; unknown elsewhere."""
    return _outside(scene.trend("zone_temp"), coldest_zone, warmest_zone)


@signal("temperature", needs=("plenum_temp",), settled_by="the trend plenum_temp", where_trended=("plenum_temp",))
def plenum_temp_out_of_range(scene: Scene, *, coldest_plenum: float, warmest_plenum: float) -> np.ndarray:
    """The plenum temperature where it is out of range; unknown elsewhere."""
    return _outside(scene.trend("plenum_temp"), coldest_plenum, warmest_plenum)


@signal(
    "temperature", needs=("discharge_temp",), settled_by="the trend discharge_temp", where_trended=("discharge_temp",)
)
def discharge_temp_out_of_range(
    scene: Scene, *, coldest_air: float, warmest_air: float, warmest_by_heater: float
) -> np.ndarray:
    """The discharge temperature where it is out of range; unknown elsewhere."""
    warmest = np.where(scene.value("with_reheat") > 0.5, warmest_by_heater, warmest_air)
    return _outside(
        scene.trend("discharge_temp"), np.where(scene.value("air_available") > 0.5, coldest_air, -np.inf), warmest
    )


@signal("flow", needs=("primary_flow",), settled_by="the trend primary_flow", where_trended=("primary_flow",))
def primary_flow_out_of_range(scene: Scene, *, negative_flow: float) -> np.ndarray:
    """The primary airflow where it is negative, or more than passes through the inlet; unknown elsewhere."""
    most = scene.value("most_flow_of_inlet")
    return _outside(scene.trend("primary_flow"), negative_flow, np.where(np.isnan(most), np.inf, most))


def _outside(values: np.ndarray, low, high) -> np.ndarray:
    return np.where((values < low) | (values > high), values, np.nan)


@signal("time", settled_by="a trend of zone, discharge, plenum or entering air temperature, or of CO2")
def reading_flat_for(scene: Scene) -> np.ndarray:
    """The longest standstill of the terminal's temperatures and CO2 about each moment [s]."""
    first, *others = COARSEST_STEP
    longest = scene.value(f"{first}_flat_for").copy()
    for name in others:
        np.fmax(longest, scene.value(f"{name}_flat_for"), out=longest)
    return longest
