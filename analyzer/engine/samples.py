"""How much there is of an input that is there, and not where it is wanted: its samples, and when they end."""

from __future__ import annotations

import numpy as np

from analyzer.signals import Scene
from analyzer.signals.axes import local_time
from analyzer.signals.made_of import TREND, Input, known_at

# A log that ends this much before the terminal's others do has stopped, as a share of the terminal's time.
STOPPED = 0.02


def samples_told(scene: Scene, wanted: Input, at: int, rows: np.ndarray, parameters: dict[str, float]) -> str:
    """Say how sparse an input is at a terminal.

    Parameters
    ----------
    scene : Scene
    wanted : Input
        Something that is there at the terminal.
    at : int
        The terminal's number.
    rows : ndarray of int
        The rows at which it was wanted, in order, for what is no trend.
    parameters : dict
        The rule's limits, for signals that take them.
    """
    if wanted.sort != TREND:
        own = rows[scene.code[rows] == at]
        hours = scene.hours[own]
        known = known_at(scene, wanted, parameters, own)
        name = f"the air handler's {wanted.name}" if wanted.sort.startswith("point") else wanted.name
        return f"{name} is known in {hours[known].sum():,.1f} h of {hours.sum():,.1f} h"
    first, end = scene.first[at : at + 2]
    known = np.flatnonzero(~np.isnan(scene.column(wanted.name)[first:end]))
    told = f"{wanted.name} has {len(known):,} samples of {end - first:,}"
    seconds = scene.seconds[first:end]
    if not len(known) or seconds[-1] - seconds[known[-1]] <= STOPPED * (seconds[-1] - seconds[0]):
        return told
    return f"{told}, the last on {local_time(seconds[known[-1:]], scene.time_zone)[0]:%Y-%m-%d %H:%M}"
