"""Reheat against the air that it heats."""

from __future__ import annotations

import numpy as np

from analyzer.signals.kinds import of_kind
from analyzer.signals.oscillation import Swing, sustained_swing
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import mean_about, stepped, surely_since, trailing_total

# A signal under this moves nothing [%]: signals rest a little above zero. Common practice, no source.
SHUT = 2.0


@signal("flow", settled_by="heating_primary (or primary_min) in the terminal schedule")
def heating_maximum(scene: Scene) -> np.ndarray:
    """The most primary air that the terminal is scheduled to take in heating: heating_primary, else its minimum.

    Not under the ventilation minimum, which holds in heating too.
    """
    scheduled = np.fmax(scene.scheduled("heating_primary"), scene.scheduled("primary_min"))
    known = ~np.isnan(scheduled)
    with_ventilation = np.fmax(scheduled, scene.scheduled("ventilation_min"))
    return scene.per_row(np.where(known, with_ventilation, np.nan))


@signal("state", settled_by="reheat in the terminal schedule")
def electric_heat(scene: Scene) -> np.ndarray:
    """Whether the terminal's reheat is electric, as scheduled."""
    kind = scene.words("reheat")
    return scene.per_row(np.where(kind == "", np.nan, np.where(kind == "electric", 1.0, 0.0)))


@signal("time", needs=("reheat_position",), settled_by="the trend reheat_position")
def reheat_shut_for(scene: Scene) -> np.ndarray:
    """How long the reheat signal has surely been at rest, at 2 % or less [s]; 0 while it is open."""
    shut = scene.trend("reheat_position") <= SHUT
    return surely_since(~shut, scene.first, scene.seconds, scene.interval)


@signal("time", needs=("reheat_position",), settled_by="the trend reheat_position")
def full_call_for(scene: Scene, *, full_call: float) -> np.ndarray:
    """How long the reheat signal has surely been at a full call [s]; 0 while it is below."""
    full = scene.trend("reheat_position") >= full_call
    return surely_since(~full, scene.first, scene.seconds, scene.interval)


@signal(
    "temperature_difference",
    needs=("discharge_temp", "primary_flow"),
    settled_by="the trends discharge_temp, primary_flow and primary_temp (or the air handler's supply_temp)",
    where_trended=("discharge_temp",),
)
def coil_rise(scene: Scene) -> np.ndarray:
    """How much warmer the discharge is than it would be with the coil off [K]."""
    return scene.trend("discharge_temp") - scene.value("coil_off_temp")


# Swinging ---------------------------------------------------------------------------------------------------------

# A signal that took no more than so many values while it was open is switched in stages, not modulated. Judgement:
# heaters have up to four stages.
MOST_STAGES = 4
HOUR = 3600.0
# Most of the hour has to be there before the travel in it is taken.
LEAST_SEEN = 0.75


@signal("state", needs=("reheat_position",), settled_by="the trend reheat_position")
def reheat_modulates(scene: Scene) -> np.ndarray:
    """Whether the reheat signal is modulated; 0 where it is switched in a few stages."""
    position = scene.trend("reheat_position")
    rows = np.flatnonzero(position > SHUT)
    value = np.clip(np.round(position[rows]), 0, 105).astype(np.int64)
    seen = np.bincount(scene.code[rows] * 106 + value, minlength=scene.count * 106).reshape(scene.count, 106)
    return scene.per_row(np.where((seen > 0).sum(axis=1) > MOST_STAGES, 1.0, 0.0))


@signal(
    "percent",
    needs=("reheat_position",),
    settled_by="the trend reheat_position, logged every minute or on change",
    where_trended=("reheat_position",),
)
def reheat_swing(
    scene: Scene, *, least_swing: float, swings_in_a_row: float, least_regularity: float, slowest_swing: float
) -> np.ndarray:
    """Amplitude of a lasting, regular oscillation of the reheat signal about its own slow mean [%]; 0 without one."""
    return _swing(scene, least_swing, swings_in_a_row, least_regularity, slowest_swing).amplitude


@signal(
    "time",
    needs=("reheat_position",),
    settled_by="the trend reheat_position, logged every minute or on change",
    where_trended=("reheat_position",),
)
def reheat_swing_period(
    scene: Scene, *, least_swing: float, swings_in_a_row: float, least_regularity: float, slowest_swing: float
) -> np.ndarray:
    """Period of a lasting, regular oscillation of the reheat signal [s]; unknown without one."""
    return _swing(scene, least_swing, swings_in_a_row, least_regularity, slowest_swing).period


@signal(
    "percent",
    needs=("reheat_position",),
    settled_by="the trend reheat_position, logged every minute or on change",
    where_trended=("reheat_position",),
)
def reheat_travel(scene: Scene) -> np.ndarray:
    """How far the modulated reheat signal went up and down within the past hour [%]: 200 is once open and shut."""
    position = _at_work(scene)
    step = np.abs(stepped(position, scene.first))
    return trailing_total(step, scene.hours, scene.past(HOUR), LEAST_SEEN)


def _swing(scene: Scene, amplitude: float, swings: float, regularity: float, slowest: float) -> Swing:
    def work_out():
        return sustained_swing(
            scene,
            _about_its_mean(scene, slowest),
            least_amplitude=amplitude,
            least_swings=swings,
            least_regularity=regularity,
            longest_period=slowest,
        )

    return scene.once(("reheat swing", amplitude, swings, regularity, slowest), work_out)


def _at_work(scene: Scene) -> np.ndarray:
    """The modulated signal while its loop has air to work on: a fan that stops and starts drags its reheat along."""

    def work_out():
        works = of_kind(scene, "single-duct") | (scene.value("fan_on") > 0.5)
        works &= scene.value("reheat_modulates") > 0.5
        return np.where(works, scene.trend("reheat_position"), np.nan)

    return scene.once("reheat at work", work_out)


def _about_its_mean(scene: Scene, width: float) -> np.ndarray:
    """Signal less its mean over a window about each row; unknown where it is switched in stages.

    The window is the slowest swing's: what is slower is a load that comes and goes, and goes out with the mean.
    """
    position = _at_work(scene)
    known = position == position
    # The same window looking back from half its width later is centred on the row.
    ahead = scene.ahead(0.5 * width)
    back = scene.past(width)[ahead - 1]
    return position - mean_about(np.where(known, position, 0.0), known, back, ahead, known)
