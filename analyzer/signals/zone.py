"""The zone: whether it had its time since its setpoints changed, how it swings, and when nobody is in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.signals.in_force import by_the_clock, in_use
from analyzer.signals.oscillation import Swing, sustained_swing
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import mean_about, stepped

# A setpoint that moves by less has not stepped [K].
LEAST_STEP = 0.2
# Moments closer than this are one [s].
MOMENT = 1e-3
QUARTER_HOUR = 900.0


@signal("state", settled_by="the trends heating_setpoint and cooling_setpoint, or setpoints in the site file")
def zone_had_its_time(scene: Scene, *, delay_per_kelvin: float, longest_delay: float) -> np.ndarray:
    """Whether the zone had its time since setpoints or mode last changed: so long for each kelvin that it lay outside.

    The distance is the zone's at the moment of the change, from the new setpoints. Sources: see the rule's limits.
    """
    occupied = stepped(scene.value("occupied"), scene.first) > 0.5  # where the mode changes and no setpoint does
    at = np.flatnonzero(_changed(scene, "heating_setpoint") | _changed(scene, "cooling_setpoint") | occupied)
    first = np.zeros(scene.size, dtype=bool)
    first[at], first[scene.first[:-1][scene.rows_of > 0]] = True, True
    begins = np.flatnonzero(first)
    changes = np.isin(begins, at)
    wait = np.minimum(_outside(scene, begins) * delay_per_kelvin, longest_delay)
    # The latest end so far within the terminal: terminals are kept apart by a span longer than any of them.
    start = scene.seconds.min(initial=np.inf)
    span = scene.seconds.max(initial=start) - start + 2 * longest_delay + 1.0
    until = np.where(changes, scene.seconds[begins] + wait - start, 0.0)
    apart = scene.code[begins] * span
    latest = np.maximum.accumulate(until + apart) - apart + start
    return (scene.seconds + MOMENT >= np.repeat(latest, np.diff(np.append(begins, scene.size)))).astype(float)


def _changed(scene: Scene, name: str) -> np.ndarray:
    """Tell at which rows a setpoint has stepped since the row before, or has only now come into force."""
    setpoint = scene.value(name)
    changed = np.abs(stepped(setpoint, scene.first)) >= LEAST_STEP
    unknown = np.isnan(setpoint)
    if unknown.any():
        changed[1:] |= unknown[:-1] & ~unknown[1:]
        changed[scene.first[:-1][scene.rows_of > 0]] = False
    return changed


def _outside(scene: Scene, rows: np.ndarray) -> np.ndarray:
    """Return how far the zone lies outside its setpoints at some rows [K]; endless where it is not known."""
    zone = scene.trend("zone_temp")[rows]
    below, above = scene.value("heating_setpoint")[rows] - zone, zone - scene.value("cooling_setpoint")[rows]
    outside = np.maximum(np.fmax(below, above), 0.0)
    return np.where(np.isnan(outside), np.inf, outside)


@dataclass(frozen=True)
class _Limits:
    """The limits that the swing of a zone is judged by; SI."""

    in_quarter_hour: float
    in_half_hour: float
    in_hour: float
    in_two_hours: float
    swings_in_a_row: float
    regularity: float
    longest_period: float
    delay_per_kelvin: float
    longest_delay: float


@signal("temperature_difference", needs=("zone_temp",), settled_by="the trend zone_temp", where_trended=("zone_temp",))
def zone_swing(
    scene: Scene,
    *,
    in_quarter_hour: float,
    in_half_hour: float,
    in_hour: float,
    in_two_hours: float,
    swings_in_a_row: float,
    regularity: float,
    longest_period: float,
    delay_per_kelvin: float,
    longest_delay: float,
) -> np.ndarray:
    """How far the zone swings from peak to peak while occupied, lastingly and regularly [K]; else 0."""
    limits = _Limits(
        in_quarter_hour,
        in_half_hour,
        in_hour,
        in_two_hours,
        swings_in_a_row,
        regularity,
        longest_period,
        delay_per_kelvin,
        longest_delay,
    )
    return 2 * _zone_swing(scene, limits).amplitude


@signal("time", needs=("zone_temp",), settled_by="the trend zone_temp", where_trended=("zone_temp",))
def zone_swing_period(
    scene: Scene,
    *,
    in_quarter_hour: float,
    in_half_hour: float,
    in_hour: float,
    in_two_hours: float,
    swings_in_a_row: float,
    regularity: float,
    longest_period: float,
    delay_per_kelvin: float,
    longest_delay: float,
) -> np.ndarray:
    """Period with which the zone swings about its slow mean [s]; unknown where it does not."""
    limits = _Limits(
        in_quarter_hour,
        in_half_hour,
        in_hour,
        in_two_hours,
        swings_in_a_row,
        regularity,
        longest_period,
        delay_per_kelvin,
        longest_delay,
    )
    return _zone_swing(scene, limits).period


@signal("temperature_difference", needs=("zone_temp",), settled_by="the trend zone_temp", where_trended=("zone_temp",))
def zone_swing_allowed(
    scene: Scene,
    *,
    in_quarter_hour: float,
    in_half_hour: float,
    in_hour: float,
    in_two_hours: float,
    swings_in_a_row: float,
    regularity: float,
    longest_period: float,
    delay_per_kelvin: float,
    longest_delay: float,
) -> np.ndarray:
    """How far a zone may go from peak to peak in half of its period [K]: the slower it swings, the further.

    Between the limits, which are given for a quarter of an hour up to two hours, along the logarithm of the time; a
    swing that takes less than a quarter of an hour from peak to peak may not go further than in a quarter. Where the
    zone does not swing it is the least of them.
    """
    limits = _Limits(
        in_quarter_hour,
        in_half_hour,
        in_hour,
        in_two_hours,
        swings_in_a_row,
        regularity,
        longest_period,
        delay_per_kelvin,
        longest_delay,
    )
    half = _zone_swing(scene, limits).period / 2
    half = np.where(np.isnan(half), QUARTER_HOUR, half)
    allowed = [in_quarter_hour, in_half_hour, in_hour, in_two_hours]
    return np.interp(np.log2(half / QUARTER_HOUR), [0, 1, 2, 3], allowed)


def _zone_swing(scene: Scene, limits: _Limits) -> Swing:
    return scene.once(
        ("zone swing", limits),
        lambda: sustained_swing(
            scene,
            _off_slow_mean(scene, limits),
            least_amplitude=limits.in_quarter_hour / 2,
            least_swings=limits.swings_in_a_row,
            least_regularity=limits.regularity,
            longest_period=limits.longest_period,
        ),
    )


def _off_slow_mean(scene: Scene, limits: _Limits) -> np.ndarray:
    """Zone temperature less its mean over the longest period about each moment, occupied and settled; else NaN."""
    zone, width = scene.trend("zone_temp"), limits.longest_period
    there = in_use(scene) & (scene.value("zone_had_its_time", vars(limits)) > 0.5) & ~np.isnan(zone)
    weight = scene.hours * there
    mean = mean_about(np.where(there, zone, 0.0), weight, scene.past(width / 2 + MOMENT), scene.ahead(width / 2), there)
    return zone - mean


@signal("state", settled_by="occupied hours in the site file, or the trend occupied")
def out_of_hours(scene: Scene) -> np.ndarray:
    """Whether it is outside the occupied hours: by the site file's, else by the trend, else by assumed office hours."""
    return 1.0 - (scene.value("occupied") if scene.site.occupied_hours is None else by_the_clock(scene))
