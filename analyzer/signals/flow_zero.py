"""What the inlet sensor reads where no air can flow: with the air handler off, else with the damper surely shut."""

from __future__ import annotations

import numpy as np

from analyzer.signals.any_air_handler import all_off_for
from analyzer.signals.days import median_of_days
from analyzer.signals.duct_pressure import pressure_ratio
from analyzer.signals.grouped import median_of_known
from analyzer.signals.kinds import of_kind
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import since_change

# Air comes to rest, and a damper arrives, within this time [s]: ASHRAE Guideline 36, 5.5.6 and 5.9.6, waits 10 minutes.
AT_REST_FOR = 600.0
# Position at which a damper is shut [%]. Common practice, no source.
SHUT = 2.0
# What a sound sensor reads with the air handler off: 0 to 3, sometimes 10 cfm, in trends of real buildings [L/s].
ZERO_ALLOWED = 5.0
# The same as a share of the maximum, for large inlets. Judgement: their sensors show as much at the same pressure.
ZERO_SHARE = 0.03
# A highest reading under this is no maximum of a terminal [L/s]. Judgement: the smallest inlets are made for more.
LEAST_LARGEST = 30.0
# What a shut damper may leak, as a share of the maximum: ASHRAE Guideline 36, 5.5.6, alarms past 10 %.
LEAKAGE = 0.10
# Behind a damper this far open [%] a sensor with a wrong zero reads so much more than behind a shut one; a blade that
# stays where it is lets the same through. Judgement: by the ordinary curve a fifth of the maximum passes, on top of
# the wrong zero.
OPEN, ANSWERS = 30.0, 1.25


def largest_flow(scene: Scene) -> np.ndarray:
    """The balanced maximum of each terminal, else its scheduled one, else the highest reading seen [L/s]."""

    def work_out():
        balanced, scheduled = scene.scheduled("balanced_max"), scene.scheduled("primary_max")
        known = np.where(np.isnan(balanced), scheduled, balanced)
        seen = scene.reduce(np.fmax, scene.trend("primary_flow"), np.nan)
        known = np.where(np.isnan(known) & (seen >= LEAST_LARGEST), seen, known)
        return np.where(known > 0, known, np.nan)

    return scene.once("largest flow", work_out)


@signal("flow", settled_by="primary_max in the terminal schedule, or the trend primary_flow at a larger flow")
def small_flow(scene: Scene, *, small_share: float) -> np.ndarray:
    """A flow that is small at a terminal of its size: a share of its maximum, as balanced, scheduled or seen.

    No less than what a sound sensor may read without air.
    """
    return scene.per_row(np.maximum(small_share * largest_flow(scene), ZERO_ALLOWED))


@signal("state", settled_by="the trends fan_status and damper_position")
def fan_draws_air(scene: Scene) -> np.ndarray:
    """Whether a series fan may draw air through its open damper while the air handler is off; never unknown.

    So it may where it is not known to rest, and its damper not known to be shut.
    """
    runs = of_kind(scene, "series") & ~(scene.value("fan_on") < 0.5)
    return np.where(runs & ~(scene.trend("damper_position") <= SHUT), 1.0, 0.0)


def zero_allowed(scene: Scene) -> np.ndarray:
    """What a sound sensor of each terminal may read without air [L/s]."""
    return np.fmax(ZERO_ALLOWED, ZERO_SHARE * largest_flow(scene))


def zero_is_right(scene: Scene) -> np.ndarray:
    """Tell for each terminal whether it was seen to read nothing with the air handler off."""
    return np.abs(_off_readings(scene)) <= zero_allowed(scene)


@signal("state", settled_by="the air handler's supply_fan_status, over a night with it off")
def reads_none_with_air_off(scene: Scene) -> np.ndarray:
    """Whether the terminal's flow sensor reads none with the air handler off; unknown where it was never seen off."""
    read = np.abs(_off_readings(scene))
    return scene.per_row(np.where(np.isnan(read), np.nan, read <= zero_allowed(scene)))


def zero_is_wrong(scene: Scene) -> np.ndarray:
    """Tell for each terminal whether it was seen to read air with the air handler off."""
    return np.abs(_off_readings(scene)) > zero_allowed(scene)


def _off_readings(scene: Scene) -> np.ndarray:
    return scene.once("zero of terminals", lambda: median_of_known(reading_with_air_off(scene)))


def reading_with_air_off(scene: Scene) -> np.ndarray:
    """Median reading of each day with the air handler off [L/s], shape (terminals, days); NaN where it never was.

    A series fan that runs behind an open damper draws real air through the duct: that time is left out. A terminal
    whose air handler is not known has no air while all of the building are off.
    """

    def work_out():
        of_none = scene.per_row(scene.words("air_handler").astype(str) == "")
        off = np.where(of_none, all_off_for(scene), scene.value("supply_air_off_for")) >= AT_REST_FOR
        rows = np.flatnonzero(off & (scene.value("fan_draws_air") < 0.5))
        return median_of_days(scene, scene.trend("primary_flow")[rows], rows).reshape(scene.count, -1)

    return scene.once("reading with air off", work_out)


def zero_of_days(scene: Scene) -> dict[str, np.ndarray]:
    """Reading without air, as a share of the maximum, and how far a sound terminal's may lie from none; by day.

    With the air handler off, where the terminal ever saw it off; else with a damper shut whose position can be
    believed, which may leak.
    """
    return scene.once("zero of days", lambda: _zero(scene))


def _zero(scene: Scene) -> dict[str, np.ndarray]:
    off, largest = reading_with_air_off(scene), largest_flow(scene)[:, None]
    seen_off = ~np.isnan(off).all(axis=1, keepdims=True)
    shut = _reading_shut(scene)
    allowed = np.broadcast_to(zero_allowed(scene)[:, None] / largest, off.shape)
    return {
        "drift": (np.where(seen_off, off, shut) / largest).reshape(-1),
        "uncertainty": np.where(seen_off, allowed, LEAKAGE).reshape(-1),
    }


def _reading_shut(scene: Scene) -> np.ndarray:
    """Median reading of each day behind a shut damper [L/s], shape (terminals, days).

    Left out where so much is read that only the sensor can be to blame or the blade, and the readings behind an open
    damper do not show that the blade moves.
    """
    position, flow = scene.trend("damper_position"), scene.trend("primary_flow")
    pressure = pressure_ratio(scene)
    at_usual = flow / np.sqrt(np.where(pressure > 0, pressure, 1.0))
    shut_for = since_change(~(position <= SHUT), scene.first, scene.seconds)
    rows = np.flatnonzero((scene.value("shut_is_credible") > 0.5) & (shut_for >= AT_REST_FOR))
    shut = median_of_days(scene, flow[rows], rows).reshape(scene.count, -1)
    behind_shut = median_of_days(scene, at_usual[rows], rows).reshape(scene.count, -1)
    rows = np.flatnonzero((position >= OPEN) & (scene.value("air_available") > 0.5))
    opened = median_of_days(scene, at_usual[rows], rows).reshape(scene.count, -1)
    moves = median_of_known(opened) >= ANSWERS * median_of_known(behind_shut)
    return np.where((shut > LEAKAGE * largest_flow(scene)[:, None]) & ~moves[:, None], np.nan, shut)
