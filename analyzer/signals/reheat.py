"""Reheat against the air that it heats."""

from __future__ import annotations

import numpy as np

from analyzer.signals.days import day_moves
from analyzer.signals.in_force import in_use
from analyzer.signals.kinds import of_kind
from analyzer.signals.oscillation import Swing, sustained_swing
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import mean_about, stepped, surely_since, trailing_total

# A signal under this moves nothing [%]: signals rest a little above zero. Common practice, no source.
SHUT = 2.0


# Where the schedule gives no heating flow, a terminal may take this share of its maximum in heating (dual maximum):
# ASHRAE 90.1-2013, 6.5.2.1 exception 2 (read in official interpretation IC 90.1-2013-6).
STANDARD_SHARE = 0.50


@signal("flow", settled_by="heating_primary (or primary_max) in the terminal schedule")
def heating_maximum(scene: Scene) -> np.ndarray:
    """The most primary air that the terminal may take in heating: heating_primary, else half of its maximum.

    A dual maximum raises the flow with the heat by design: a blank heating flow means the standard's half of the
    maximum, not the minimum. Not under the minimum or the ventilation minimum, which hold in heating too.
    """
    by_standard = np.fmax(STANDARD_SHARE * scene.scheduled("primary_max"), _minimum(scene))
    by_standard = np.where(np.isnan(scene.scheduled("primary_max")), np.nan, by_standard)
    scheduled = _heating_scheduled(scene)
    return scene.per_row(np.where(np.isnan(scheduled), by_standard, scheduled))


@signal("flow", settled_by="heating_primary in the terminal schedule")
def heating_flow_scheduled(scene: Scene) -> np.ndarray:
    """The primary air that the terminal is scheduled to take in heating; not under its minimum of any kind."""
    return scene.per_row(_heating_scheduled(scene))


@signal("flow", settled_by="primary_min (or ventilation_min) in the terminal schedule")
def minimum_scheduled(scene: Scene) -> np.ndarray:
    """The larger of the scheduled minimum and ventilation minimum; 0 where the schedule gives neither."""
    return scene.per_row(_minimum(scene))


def _heating_scheduled(scene: Scene) -> np.ndarray:
    heating = scene.scheduled("heating_primary")
    return np.where(np.isnan(heating), np.nan, np.fmax(heating, _minimum(scene)))


def _minimum(scene: Scene) -> np.ndarray:
    return np.fmax(np.fmax(scene.scheduled("primary_min"), scene.scheduled("ventilation_min")), 0.0)


@signal("state", settled_by="distribution in the terminal schedule")
def from_the_floor(scene: Scene) -> np.ndarray:
    """Whether the terminal's air comes from the floor (underfloor distribution), as scheduled."""
    told = scene.words("distribution")
    return scene.per_row(np.where(told == "", np.nan, np.where(told == "underfloor", 1.0, 0.0)))


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


# A signal that moves by less within the hours of a day in use is moved by no controller [%]. Judgement: an override.
IN_HAND = 2.0


@signal("state", needs=("reheat_position",), settled_by="the trend reheat_position", where_trended=("reheat_position",))
def reheat_in_hand(scene: Scene) -> np.ndarray:
    """Whether reheat stands at one value through all of the day's hours in use, as an override does."""
    reheat = scene.trend("reheat_position")
    stands = ~day_moves(scene, reheat, in_use(scene), IN_HAND)
    return np.where(np.isnan(reheat), np.nan, (stands & (reheat > SHUT)).astype(float))


# Swinging ---------------------------------------------------------------------------------------------------------

# A signal that took no more than so many values while it was open is switched in stages, not modulated. Judgement:
# heaters have up to four stages.
MOST_STAGES = 4
HOUR = 3600.0
# Most of the hour has to be there before the travel in it is taken.
LEAST_SEEN = 0.75


@signal("state", settled_by="the trends reheat_position, logged every 5 min, and heating_setpoint")
def reheat_surely_shut(scene: Scene, *, fine_log: float, no_call: float, longest: float) -> np.ndarray:
    """Whether no heat can have come between two samples of a shut signal; else unknown.

    A heater that is switched comes and goes within minutes: a slower log than ``fine_log`` meets it always at rest, for
    hours. There it is shut for sure with the zone ``no_call`` above its heating setpoint, or after ``longest``: no
    heater keeps the log's pace for so long. One that is never seen on does not hide.
    """
    hides = scene.per_row(scene.interval > fine_log) & (scene.value("reheat_modulates") < 0.5)
    idle = scene.trend("zone_temp") > scene.value("heating_setpoint") + no_call
    return np.where(~hides | idle | (scene.value("reheat_shut_for") >= longest), 1.0, np.nan)


@signal("state", needs=("reheat_position",), settled_by="the trend reheat_position")
def reheat_modulates(scene: Scene) -> np.ndarray:
    """Whether the reheat signal is modulated; 0 where it is switched in a few stages; unknown where it never opened."""
    position = scene.trend("reheat_position")
    rows = np.flatnonzero(position > SHUT)
    value = np.clip(np.round(position[rows]), 0, 105).astype(np.int64)
    seen = np.bincount(scene.code[rows] * 106 + value, minlength=scene.count * 106).reshape(scene.count, 106)
    values = (seen > 0).sum(axis=1)
    return scene.per_row(np.where(values == 0, np.nan, np.where(values > MOST_STAGES, 1.0, 0.0)))


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
