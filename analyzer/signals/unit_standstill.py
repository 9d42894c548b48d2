"""Sensors of air handlers that stand still while the plant runs.

A reading that did not move for a day of running, or not even when the fan stopped and started, is no live sensor's. A
setpoint is none and may rest. A standstill in which nothing else of the air handler moved is the log's; one at zero, or
of a point that is stored in coarse steps, says nothing: it is unknown whether the sensor lives.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.signals.register import signal
from analyzer.signals.scene import AIR_HANDLER_HOLD, Scene

# What is stored in coarser steps than this stands still by itself: temperatures [K]; flows and pressures, as a share of
# the reading. Judgement: a loop that is tuned well keeps within some tenths of a kelvin, and within 2 %.
COARSEST_TEMP, COARSEST_OUTDOORS, COARSEST_SHARE = 0.35, 0.7, 0.02
# Where the fan stopped meanwhile: flow and pressure go to nothing then, supply air takes the duct's temperature.
COARSEST_WITH_STOP, COARSEST_SHARE_WITH_STOP = 0.7, 0.25
# And where it stood for so many times as long: no load stays within a tenth of the pressure for three days.
MUCH_LONGER, COARSEST_SHARE_LONG = 3.0, 0.10
# Points of an air handler that move by themselves, or are moved, while it runs: they tell that the log is alive.
LIVE = (
    "supply_temp", "supply_flow", "duct_static_pressure", "supply_fan_speed", "heating_signal", "cooling_signal",
    "outdoor_air_flow", "outdoor_air_fraction",
)  # fmt: skip
# A temperature that stands for so long is no evidence of how warm the air is [s]. Judgement.
SURELY_LIVE = 3 * 3600.0
# Two readings closer than this are one value, converted.
LEAST_CHANGE = 1e-6


@signal("time", settled_by="the air handler's supply_temp", whole=True)
def supply_temp_stuck_for(scene: Scene, *, flat_time: float, flat_with_stop: float, least_rest: float) -> np.ndarray:
    """How long the air handler has run while its supply temperature stood at one value [s]; 0 where it is live.

    Parameters
    ----------
    flat_time : float
        So much running time at one value is no live sensor's [s].
    flat_with_stop : float
        So much is enough where the fan rested meanwhile, for ``least_rest`` [s].
    """
    return _stuck(scene, "supply_temp", flat_time, flat_with_stop, least_rest)


@signal("temperature", settled_by="the air handler's supply_temp", whole=True)
def live_supply_temp(scene: Scene) -> np.ndarray:
    """Supply air temperature of the air handler, unknown where it stands at one value for three hours or more."""

    def work_out(scene: Scene) -> np.ndarray:
        still = _Standstills(scene, "supply_temp")
        return still.laid(np.where(still.lasts >= SURELY_LIVE, np.nan, still.value))

    return scene.of_air_handlers("live supply temperature", work_out)


@signal("time", settled_by="the air handler's supply_flow", whole=True)
def supply_flow_stuck_for(scene: Scene, *, flat_time: float, flat_with_stop: float, least_rest: float) -> np.ndarray:
    """The same of its supply airflow."""
    return _stuck(scene, "supply_flow", flat_time, flat_with_stop, least_rest)


@signal("time", settled_by="the air handler's duct_static_pressure", whole=True)
def duct_pressure_stuck_for(scene: Scene, *, flat_time: float, flat_with_stop: float, least_rest: float) -> np.ndarray:
    """The same of its duct static pressure."""
    return _stuck(scene, "duct_static_pressure", flat_time, flat_with_stop, least_rest)


@signal("time", settled_by="the air handler's outdoor_air_flow", whole=True)
def unit_outdoor_flow_stuck_for(
    scene: Scene, *, flat_time: float, flat_with_stop: float, least_rest: float
) -> np.ndarray:
    """The same of its outdoor airflow."""
    return _stuck(scene, "outdoor_air_flow", flat_time, flat_with_stop, least_rest)


@signal("time", settled_by="the air handler's outdoor_temp", whole=True)
def outdoor_temp_stuck_for(scene: Scene, *, flat_outdoors: float) -> np.ndarray:
    """How long its outdoor temperature has stood at one value, whether it runs or not [s]; 0 where it is live.

    Parameters
    ----------
    flat_outdoors : float
        So much time at one value is no live sensor's [s].
    """

    def work_out(scene: Scene) -> np.ndarray:
        still = _Standstills(scene, "outdoor_temp")
        flat = still.lasts >= flat_outdoors
        says_nothing = flat & ~(still.others_move & ~(still.step > COARSEST_OUTDOORS))
        return still.laid(np.where(says_nothing, np.nan, np.where(flat, still.lasts, 0.0)))

    return scene.of_air_handlers(("outdoor_temp stuck", flat_outdoors), work_out)


@signal(
    "time",
    settled_by="the air handler's supply_temp, supply_flow, duct_static_pressure, outdoor_air_flow or outdoor_temp",
    whole=True,
)
def unit_reading_stuck_for(
    scene: Scene, *, flat_time: float, flat_with_stop: float, least_rest: float, flat_outdoors: float
) -> np.ndarray:
    """The longest standstill of the air handler's sensors about each moment [s]; 0 where those known are live."""
    limits = {"flat_time": flat_time, "flat_with_stop": flat_with_stop, "least_rest": least_rest}
    longest = scene.value("outdoor_temp_stuck_for", {"flat_outdoors": flat_outdoors}).copy()
    for name in ("supply_temp", "supply_flow", "duct_pressure", "unit_outdoor_flow"):
        np.fmax(longest, scene.value(f"{name}_stuck_for", limits), out=longest)
    return longest


def _stuck(scene: Scene, name: str, flat_time: float, flat_with_stop: float, least_rest: float) -> np.ndarray:
    def work_out(scene: Scene) -> np.ndarray:
        still = _Standstills(scene, name)
        ran, rested = still.total(still.hours_on), still.total(still.hours_off)
        stopped = (ran >= flat_with_stop) & (rested >= least_rest)
        long = ran >= MUCH_LONGER * flat_time
        if name == "supply_temp":
            coarsest = np.where(stopped | long, COARSEST_WITH_STOP, COARSEST_TEMP)
        else:
            share = np.where(long, COARSEST_SHARE_LONG, COARSEST_SHARE)
            coarsest = np.where(stopped, COARSEST_SHARE_WITH_STOP, share) * still.value
        # Nothing at all is what a point without a sensor shows.
        tells = ~(still.step > coarsest) & ((still.value > 0) | (name == "supply_temp"))
        flat = stopped | (ran >= flat_time)
        says_nothing = flat & ~(still.others_move & tells)
        return still.laid(np.where(says_nothing, np.nan, np.where(flat, ran, 0.0)))

    return scene.of_air_handlers((name, "stuck", flat_time, flat_with_stop, least_rest), work_out)


@dataclass
class _Standstills:
    """The stretches over which a point of an air handler holds one value, no more than an hour apart.

    Attributes
    ----------
    value, lasts : ndarray
        Of each stretch: its value, and from its first sample to its last [s].
    others_move : ndarray of bool
        Whether any other point of the air handler moved meanwhile, or none is logged.
    step : ndarray
        The step by which the air handler's point usually moves, else another's of the building; NaN where none does.
    hours_on, hours_off : ndarray
        Over the rows of the air handlers' axes: the time for which the row stands, where it supplies air, or not [s].
    """

    def __init__(self, scene: Scene, name: str):
        table = scene.trends.air_handlers
        self._scene = scene
        values = table[name].to_numpy()
        rows = np.flatnonzero(values == values)
        values, owner = values[rows], table["air_handler"].cat.codes.to_numpy()[rows]
        seconds = table["time"].astype("int64").to_numpy()[rows] / 1e6
        moved = np.abs(np.diff(values)) > LEAST_CHANGE
        apart = (owner[1:] != owner[:-1]) | (np.diff(seconds) > AIR_HANDLER_HOLD + 1.0)
        begins = np.flatnonzero(np.append(np.ones(min(len(rows), 1), dtype=bool), moved | apart))
        ends = np.append(begins[1:], len(rows))[: len(begins)] - 1
        self.value, self.lasts = values[begins], seconds[ends] - seconds[begins]
        self.step = _steps(np.abs(np.diff(values)), owner, moved & ~apart, len(table["air_handler"].cat.categories))[
            owner[begins]
        ]
        self.others_move = _others_move(table, name, rows[begins], rows[ends])
        number = np.full(len(table), np.nan)
        number[rows] = np.repeat(np.arange(len(begins)), ends + 1 - begins)
        self._number = scene.join(number)
        axes = scene.air_handler_axes
        on, hours = scene.value("supply_air_on")[axes.rows], scene.hours[axes.rows] * 3600.0
        self.hours_on, self.hours_off = hours * (on > 0.5), hours * (on < 0.5)

    def total(self, hours: np.ndarray) -> np.ndarray:
        """Sum what a row of the axes stands for over each stretch; of an air handler whose terminals keep several
        clocks, over that which holds most."""
        axes, known = self._scene.air_handler_axes, ~np.isnan(self._number)
        axis = np.repeat(np.arange(len(axes.first) - 1), np.diff(axes.first))
        count = max(len(self.value), 1)
        sums = np.bincount(
            axis[known] * count + self._number[known].astype(np.int64), hours[known], count * (len(axes.first) - 1)
        )
        return sums.reshape(-1, count).max(axis=0, initial=0.0)[: len(self.value)]

    def laid(self, of_stretch: np.ndarray) -> np.ndarray:
        """Lay a value for each stretch over the rows of the axes; NaN where the point is unknown."""
        at = np.nan_to_num(self._number).astype(np.int64)
        return np.where(np.isnan(self._number), np.nan, np.append(of_stretch, np.nan)[at])


def _steps(size: np.ndarray, owner: np.ndarray, moved: np.ndarray, count: int) -> np.ndarray:
    """The step that each air handler's point usually makes, as it is stored: a tenth of its steps are smaller."""
    usual = pd.Series(size[moved]).groupby(owner[1:][moved]).quantile(0.1).reindex(range(count)).to_numpy(dtype=float)
    known = usual[~np.isnan(usual)]
    return np.where(np.isnan(usual), np.median(known) if len(known) else np.nan, usual)


def _others_move(table: pd.DataFrame, name: str, first: np.ndarray, last: np.ndarray) -> np.ndarray:
    """Tell whether any other live point moves between two rows of the table, or none is logged there."""
    moves, logged = np.zeros(len(first), dtype=bool), np.zeros(len(first), dtype=bool)
    for other in LIVE:
        if other == name:
            continue
        values = table[other].groupby(table["air_handler"], observed=False).ffill().to_numpy()
        total = np.append(0, np.cumsum(np.append(0, (np.abs(np.diff(values)) > LEAST_CHANGE).astype(np.int64))))
        moves |= total[last + 1] > total[np.minimum(first + 1, last + 1)]
        logged |= ~np.isnan(values[last])
    return moves | ~logged
