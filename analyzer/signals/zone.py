"""The zone: its temperature beside its setpoints, how it swings, and what changes when nobody is in."""

from __future__ import annotations

import numpy as np

from analyzer.quantities import to_shown
from analyzer.signals.grouped import grouped_median
from analyzer.signals.in_force import by_the_clock, in_use
from analyzer.signals.oscillation import Swing, sustained_swing
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import mean_about, stepped

# A zone gets this long after a step of its setpoints before it is blamed: 18 min for each kelvin of the step, and never
# more than two hours: ASHRAE Guideline 36, 5.1.20.
DELAY_PER_KELVIN = 18 * 60.0
LONGEST_DELAY = 7200.0
# A setpoint that moves by less has not stepped [K].
LEAST_STEP = 0.2
# Moments closer than this are one [s].
MOMENT = 1e-3


@signal("state", settled_by="the trends heating_setpoint and cooling_setpoint, or setpoints in the site file")
def zone_had_its_time(scene: Scene) -> np.ndarray:
    """Whether the zone had its time since its setpoints last stepped: 18 minutes per kelvin, two hours at the most."""
    step = np.fmax(_step(scene, "heating_setpoint"), _step(scene, "cooling_setpoint"))
    at = np.flatnonzero(step >= LEAST_STEP)
    first = np.zeros(scene.size, dtype=bool)
    first[at], first[scene.first[:-1][scene.rows_of > 0]] = True, True
    begins = np.flatnonzero(first)
    wait = np.minimum(step[begins] * DELAY_PER_KELVIN, LONGEST_DELAY)
    # The latest end so far within the terminal: terminals are kept apart by a span longer than any of them.
    start = scene.seconds.min(initial=np.inf)
    span = scene.seconds.max(initial=start) - start + 2 * LONGEST_DELAY
    until = np.where(step[begins] >= LEAST_STEP, scene.seconds[begins] + wait - start, 0.0)
    apart = scene.code[begins] * span
    latest = np.maximum.accumulate(until + apart) - apart + start
    return (scene.seconds + MOMENT >= np.repeat(latest, np.diff(np.append(begins, scene.size)))).astype(float)


def _step(scene: Scene, name: str) -> np.ndarray:
    """How far a setpoint moved since the row before [K]; endless where it only now came into force."""
    setpoint = scene.value(name)
    step = np.abs(stepped(setpoint, scene.first))
    unknown = np.isnan(setpoint)
    if unknown.any():
        step[1:][unknown[:-1] & ~unknown[1:]] = np.inf
        step[scene.first[:-1][scene.rows_of > 0]] = 0.0
    return step


@signal(
    "temperature_difference",
    needs=("heating_setpoint", "cooling_setpoint"),
    settled_by="the trend heating_setpoint or cooling_setpoint",
    whole=True,
)
def setpoints_apart(scene: Scene, *, least_deadband: float) -> np.ndarray:
    """How far the cooling setpoint lies above the heating setpoint, where either of them is trended [K].

    Where neither is, both are the site file's: how far apart those are is one line of it, and is said once.
    """
    apart = scene.value("cooling_setpoint") - scene.value("heating_setpoint")
    own = scene.trended("heating_setpoint") | scene.trended("cooling_setpoint")
    by_site = [scene.site.setpoints.get(which, np.nan) for which in ("heating", "cooling")]
    if not own.all() and by_site[1] - by_site[0] < least_deadband:
        scene.note(
            f"The site file's setpoints lie {_difference(scene, by_site[1] - by_site[0])} apart, less than the "
            f"{_difference(scene, least_deadband)} that setpoints-too-close asks for: where none is trended, that is "
            "one line of the site file to look at and no finding of a terminal."
        )
    return np.where(scene.per_row(own), apart, np.nan)


def _difference(scene: Scene, kelvins: float) -> str:
    units = scene.site.units
    return f"{to_shown(kelvins, 'temperature_difference', units):.3g} {'K' if units == 'si' else 'degF'}"


@signal("temperature_difference", needs=("zone_temp",), settled_by="the trend zone_temp", where_trended=("zone_temp",))
def zone_swing(
    scene: Scene, *, least_swing: float, swings_in_a_row: float, regularity: float, longest_period: float
) -> np.ndarray:
    """Amplitude with which the zone swings about its slow mean while occupied, lastingly and regularly [K]; else 0."""
    return _zone_swing(scene, least_swing, swings_in_a_row, regularity, longest_period).amplitude


@signal("time", needs=("zone_temp",), settled_by="the trend zone_temp", where_trended=("zone_temp",))
def zone_swing_period(
    scene: Scene, *, least_swing: float, swings_in_a_row: float, regularity: float, longest_period: float
) -> np.ndarray:
    """Period with which the zone swings about its slow mean [s]; unknown where it does not."""
    return _zone_swing(scene, least_swing, swings_in_a_row, regularity, longest_period).period


def _zone_swing(scene: Scene, least_swing, swings_in_a_row, regularity, longest_period) -> Swing:
    return scene.once(
        ("zone swing", least_swing, swings_in_a_row, regularity, longest_period),
        lambda: sustained_swing(
            scene,
            _off_slow_mean(scene, longest_period),
            least_amplitude=least_swing,
            least_swings=swings_in_a_row,
            least_regularity=regularity,
            longest_period=longest_period,
        ),
    )


def _off_slow_mean(scene: Scene, width: float) -> np.ndarray:
    """Zone temperature less its mean over ``width`` [s] about each moment, while occupied and settled; else NaN."""
    zone = scene.trend("zone_temp")
    there = in_use(scene) & (scene.value("zone_had_its_time") > 0.5) & ~np.isnan(zone)
    weight = scene.hours * there
    mean = mean_about(np.where(there, zone, 0.0), weight, scene.past(width / 2 + MOMENT), scene.ahead(width / 2), there)
    return zone - mean


@signal("state", settled_by="occupied hours in the site file, or the trend occupied")
def out_of_hours(scene: Scene) -> np.ndarray:
    """Whether it is outside the occupied hours: by the site file's, else by the trend, else by assumed office hours."""
    return 1.0 - (scene.value("occupied") if scene.site.occupied_hours is None else by_the_clock(scene))


@signal("temperature_difference", needs=("heating_setpoint",), settled_by="the trend heating_setpoint")
def heating_setback(scene: Scene) -> np.ndarray:
    """How far the heating setpoint lies under its usual one of the occupied hours [K]."""
    return _usual_when_occupied(scene, "heating_setpoint") - scene.trend("heating_setpoint")


@signal("temperature_difference", needs=("cooling_setpoint",), settled_by="the trend cooling_setpoint")
def cooling_setback(scene: Scene) -> np.ndarray:
    """How far the cooling setpoint lies over its usual one of the occupied hours [K]."""
    return scene.trend("cooling_setpoint") - _usual_when_occupied(scene, "cooling_setpoint")


def _usual_when_occupied(scene: Scene, name: str) -> np.ndarray:
    setpoint = scene.trend(name)
    rows = np.flatnonzero(scene.value("out_of_hours") < 0.5)
    return scene.per_row(grouped_median(setpoint[rows], scene.code[rows], scene.count))
