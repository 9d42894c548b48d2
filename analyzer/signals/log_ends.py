"""Points whose log ends, or repeats one value, while the other points of the terminal go on."""

from __future__ import annotations

import numpy as np

from analyzer.quantities import TERMINAL
from analyzer.signals.air_signs import MOVES
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.sensors import COARSEST_FLOW, Standstills, no_sensor_of_it
from analyzer.signals.silent import RESTLESS

# Starts are counted from the status: they have no log of their own.
ENDING = tuple(name for name in TERMINAL if name != "fan_starts")
# Flows whose standstill no damper tells: primary flow where no damper is trended.
REPEATING = ("primary_flow", "discharge_flow", "outdoor_air_flow")


def _ended_for(scene: Scene, name: str, logged_for: float) -> np.ndarray:
    """Return how long a point's log had ended by the end of the others' [s]: after its end; 0 before it.

    A log of changes tells of its end only where the point never rests: a setpoint that does not change logs nothing.
    """
    if not scene.size:
        return np.empty(0)
    first, last = _logged_rows(scene, name)
    there, at = last >= 0, np.maximum(last, 0)
    ends = scene.seconds[at] + scene.hours[at] * 3600.0
    long_enough = there & (ends - scene.seconds[np.minimum(first, scene.size - 1)] >= logged_for)
    tells = long_enough if name in RESTLESS else long_enough & (scene.trend_logged_every(name) != 0)
    others_end = _others_end(scene)
    # A point that is logged seldom has not ended before its next sample is due.
    every = np.nan_to_num(scene.trend_logged_every(name))
    due = ends + np.where(every > np.nan_to_num(scene.interval), every, 0.0)
    length = np.where(tells, np.maximum(others_end - due, 0.0), np.nan)
    ended = scene.per_row(length)
    if (length > 0).any():  # most logs end with the others
        after = np.arange(scene.size) > scene.per_row(last)
        ended[(ended > 0) & ~(after & (scene.seconds <= scene.per_row(others_end)))] = 0.0
    return ended


def _logged_rows(scene: Scene, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Return each terminal's first and last row at which a point is known; the number of all rows and -1 for none."""
    known = np.flatnonzero(~np.isnan(scene.column(name)))
    edge = np.searchsorted(known, scene.first)
    there = edge[1:] > edge[:-1]
    first, last = np.full(scene.count, scene.size), np.full(scene.count, -1)
    first[there], last[there] = known[edge[:-1][there]], known[edge[1:][there] - 1]
    return first, last


def _others_end(scene: Scene) -> np.ndarray:
    """Return the moment at which each terminal's last log ends [s]; NaN where nothing of it is logged."""

    def work_out():
        trended = [name for name in ENDING if scene.trended(name).any()]
        last = (
            np.max([_logged_rows(scene, name)[1] for name in trended], axis=0) if trended else np.full(scene.count, -1)
        )
        at = np.maximum(last, 0)
        return np.where(last >= 0, scene.seconds[at] + scene.hours[at] * 3600.0, np.nan)

    return scene.once("the last log ends", work_out)


def _register(name: str) -> None:
    def ended(scene: Scene, *, logged_for: float) -> np.ndarray:
        return _ended_for(scene, name, logged_for)

    ended.__name__ = f"{name}_log_ended_for"
    ended.__doc__ = (
        f"How long the log of {name} had ended when the terminal's other logs end [s]; 0 up to its end.\n\n"
        "Unknown where it was logged for less than ``logged_for``, or only on change and may rest."
    )
    signal("time", needs=(name,), settled_by=f"the trend {name}", where_trended=(name,))(ended)


for _name in ENDING:
    _register(_name)


@signal("time", settled_by="two trends of the terminal, logged for days")
def log_ended_for(scene: Scene, *, logged_for: float) -> np.ndarray:
    """How long the first log to end had ended when the terminal's others end [s]; 0 up to its end."""
    longest = np.full(scene.size, np.nan)
    for name in ENDING:
        if scene.trended(name).any():
            np.fmax(longest, scene.value(f"{name}_log_ended_for", {"logged_for": logged_for}), out=longest)
    return longest


@signal("time", settled_by="the trend discharge_flow or outdoor_air_flow, or primary_flow without a damper position")
def flow_repeats_for(scene: Scene) -> np.ndarray:
    """How long a flow stands at the very same value while air moves, about each moment, that no damper tells of [s]."""
    longest = np.full(scene.size, np.nan)
    for name in REPEATING:
        there = scene.trended(name)
        if name == "primary_flow":
            there = there & ~scene.trended("damper_position")
        if there.any():
            part = scene.part(there)
            longest = np.fmax(longest, scene.lay(part, _repeats_for(part, name)))
    return longest


def _repeats_for(scene: Scene, name: str) -> np.ndarray:
    still = Standstills(scene, name)
    too_coarse = still.smallest_step() > COARSEST_FLOW
    unknown = too_coarse[still.owner] | no_sensor_of_it(scene, still, name, True)
    return still.spread(np.where(unknown, np.nan, np.where(still.value > MOVES, still.length, 0.0)))
