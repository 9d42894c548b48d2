"""How often switched heat starts: contactors and stages, counted in the reheat signal."""

from __future__ import annotations

import numpy as np

from analyzer.signals.effective import REHEAT_AT_WORK
from analyzer.signals.fans import FINE
from analyzer.signals.register import signal
from analyzer.signals.reheat import SHUT
from analyzer.signals.scene import Scene
from analyzer.signals.windows import stepped, trailing_sum, trailing_total

HOUR = 3600.0
# Most of the hour has to be there before starts in it are counted: a start that fell into a gap is not seen.
LEAST_SEEN = 0.75
# A signal that is switched goes up by so much with a stage [%]. Judgement: heaters have up to four stages.
STAGE = 15.0


@signal(
    "count",
    needs=("reheat_position",),
    settled_by="the trend reheat_position, logged every minute or on change",
    where_trended=("reheat_position",),
)
def heat_starts_in_hour(scene: Scene) -> np.ndarray:
    """Starts of a heater's contactors within the past hour: from off to on, and a stage more where it has stages.

    Unknown while less than three quarters of the hour were logged.
    """
    starts = _starts(scene).astype(float)
    starts[np.isnan(scene.trend("reheat_position"))] = np.nan
    return trailing_total(starts, scene.hours, scene.past(HOUR), LEAST_SEEN)


@signal(
    "state",
    needs=("reheat_position",),
    settled_by="the trend reheat_position, logged every minute or on change",
    where_trended=("reheat_position",),
)
def heat_may_start_unseen(scene: Scene) -> np.ndarray:
    """0 where the log shows every start of the past hour, unknown where it may hide some.

    A log at an interval hides runs and rests shorter than the interval. Where one lasted a single sample, others may
    have fallen between two.
    """
    on = _on(scene)
    turned = np.zeros(scene.size, dtype=bool)
    turned[1:] = on[1:] != on[:-1]
    turned[scene.first[:-1][scene.rows_of > 0]] = False
    single = np.zeros(scene.size, dtype=np.int64)
    single[1:] = turned[1:] & turned[:-1]
    shown = scene.per_row(scene.logged_every("reheat_position") <= FINE) | (trailing_sum(single, scene.past(HOUR)) == 0)
    return np.where(shown & ~np.isnan(scene.trend("reheat_position")), 0.0, np.nan)


def _starts(scene: Scene) -> np.ndarray:
    """Tell at which rows heat went on, or a stage up."""
    on, position = _on(scene), scene.trend("reheat_position")
    begins = np.zeros(scene.size, dtype=bool)
    begins[1:] = on[1:] & ~on[:-1]
    stage = (stepped(position, scene.first) >= STAGE) & (scene.value("reheat_modulates") < 0.5)
    starts = begins | (stage & on)
    starts[scene.first[:-1][scene.rows_of > 0]] = False
    return starts


def _on(scene: Scene) -> np.ndarray:
    """Tell at which rows heat is on: from over 5 % until it is shut; a missing sample leaves it as it was."""

    def work_out():
        position = scene.trend("reheat_position")
        told = (position > REHEAT_AT_WORK) | (position <= SHUT)
        last = np.where(told, np.arange(scene.size), -1)
        np.maximum.accumulate(last, out=last)
        known = last >= scene.per_row(scene.first[:-1])
        return known & (position[np.maximum(last, 0)] > REHEAT_AT_WORK)

    return scene.once("heat is on", work_out)
