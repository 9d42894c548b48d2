"""Static pressure of the air handler's duct, beside what it usually is: what flow at a given opening goes with."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.grouped import grouped_median
from analyzer.signals.in_force import in_use
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene

# Less is no pressure that a running fan holds [Pa]. Judgement: a tenth of an inch of water.
RUNNING_PRESSURE = 25.0


@signal("pressure", settled_by="the air handler's duct_static_pressure", whole=True)
def duct_pressure(scene: Scene) -> np.ndarray:
    """Static pressure of the air handler's duct [Pa]; unknown where it is not trended."""
    return scene.air_handler("duct_static_pressure")


def pressure_ratio(scene: Scene) -> np.ndarray:
    """Duct static pressure of the air handler over its median while it runs, per row; NaN at rest or not trended."""

    def work_out(scene):
        pressure, axes = scene.joined("duct_static_pressure"), scene.air_handler_axes
        rows = np.flatnonzero(pressure > RUNNING_PRESSURE)
        count = len(axes.terminal)
        axis = np.repeat(np.arange(count), np.diff(axes.first))
        usual = grouped_median(pressure[rows], axis[rows], count)
        ratio = np.full(len(pressure), np.nan)
        ratio[rows] = pressure[rows] / usual[axis[rows]]
        return ratio

    return scene.of_air_handlers("pressure ratio", work_out)


@signal("state", settled_by="the air handler's duct_static_pressure", whole=True)
def duct_pressure_is_reset(scene: Scene, *, reset_moves: float) -> np.ndarray:
    """Whether the duct's pressure is moved on purpose while the zones are occupied: its tenths are apart by a factor.

    Parameters
    ----------
    reset_moves : float
        The pressure of which a tenth of the time lies above, over that of which a tenth lies below.
    """
    pressure = scene.value("duct_pressure")
    rows = np.flatnonzero((pressure > RUNNING_PRESSURE) & in_use(scene))
    by_terminal = pd.Series(pressure[rows]).groupby(scene.code[rows])
    spread = (by_terminal.quantile(0.9) / by_terminal.quantile(0.1)).reindex(range(scene.count)).to_numpy()
    return scene.per_row(np.where(np.isnan(spread), np.nan, (spread >= reset_moves).astype(float)))
