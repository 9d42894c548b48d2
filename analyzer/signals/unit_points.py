"""The air handler's own points, as rules name them, and what follows from them alone."""

from __future__ import annotations

import numpy as np

from analyzer.signals.axes import QUARTER
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.unit_state import RUNNING_PRESSURE, frozen_for
from analyzer.signals.windows import since_change

# The pressure that is usual is one that it holds for a tenth of the time or more: a reset lowers it most of the time.
USUAL_QUANTILE = 0.9
# Pressure that is held about as usual. Judgement.
HELD_PRESSURE = 0.8
# The signals that are a point of the air handler as it is logged, and the point.
AS_LOGGED = {
    "supply_temp": "supply_temp", "supply_temp_setpoint": "supply_temp_setpoint",
    "duct_static_pressure": "duct_static_pressure", "duct_static_setpoint": "duct_static_setpoint",
    "supply_fan_speed": "supply_fan_speed", "heating_signal": "heating_signal", "unit_cooling_signal": "cooling_signal",
}  # fmt: skip


def over_quarters(scene: Scene, name: str) -> np.ndarray:
    """Return the mean of a signal of ``AS_LOGGED`` over the quarter hour that begins at each row.

    Air handlers are judged at quarter hours, by what is in force there; a figure of theirs is that of all readings.
    Where none falls into the quarter hour, it is what is in force.
    """
    table = scene.trends.air_handlers
    values = table[AS_LOGGED[name]].to_numpy()
    there = ~np.isnan(values)
    owner = table["air_handler"].cat.codes.to_numpy().astype(np.int64)
    key = owner * 2**40 + (table["time"].astype("int64").to_numpy() // (QUARTER * 1e6)).astype(np.int64)
    keys, at = np.unique(key[there], return_inverse=True)
    count = len(table["air_handler"].cat.categories)
    of_row = scene.of_owner(np.arange(count, dtype=float))
    wanted = np.nan_to_num(of_row, nan=-1.0).astype(np.int64) * 2**40 + (scene.seconds // QUARTER).astype(np.int64)
    in_force = scene.value(name)
    if not len(keys):
        return in_force
    means = np.bincount(at, values[there]) / np.bincount(at)
    place = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
    return np.where((keys[place] == wanted) & ~np.isnan(in_force), means[place], in_force)


@signal("temperature", settled_by="the air handler's supply_temp", whole=True)
def supply_temp(scene: Scene) -> np.ndarray:
    """Supply air temperature of the air handler."""
    return scene.air_handler("supply_temp")


@signal("temperature", settled_by="the air handler's supply_temp_setpoint", whole=True)
def supply_temp_setpoint(scene: Scene) -> np.ndarray:
    """Supply air temperature setpoint of the air handler."""
    return scene.air_handler("supply_temp_setpoint")


@signal("state", settled_by="the air handler's supply_fan_status", whole=True)
def supply_fan_status(scene: Scene) -> np.ndarray:
    """Whether the air handler's supply fan runs, by its own status."""
    return scene.air_handler("supply_fan_status")


@signal("pressure", settled_by="the air handler's duct_static_pressure", whole=True)
def duct_static_pressure(scene: Scene) -> np.ndarray:
    """Duct static pressure of the air handler."""
    return scene.air_handler("duct_static_pressure")


@signal("pressure", settled_by="the air handler's duct_static_setpoint", whole=True)
def duct_static_setpoint(scene: Scene) -> np.ndarray:
    """Duct static pressure setpoint of the air handler."""
    return scene.air_handler("duct_static_setpoint")


@signal("percent", settled_by="the air handler's supply_fan_speed", whole=True)
def supply_fan_speed(scene: Scene) -> np.ndarray:
    """Supply fan speed signal of the air handler."""
    return scene.air_handler("supply_fan_speed")


@signal("percent", settled_by="the air handler's heating_signal", whole=True)
def heating_signal(scene: Scene) -> np.ndarray:
    """Heating output of the air handler."""
    return scene.air_handler("heating_signal")


@signal("percent", settled_by="the air handler's cooling_signal", whole=True)
def unit_cooling_signal(scene: Scene) -> np.ndarray:
    """Cooling output of the air handler."""
    return scene.air_handler("cooling_signal")


@signal("pressure", settled_by="the air handler's duct_static_pressure", whole=True)
def usual_duct_pressure(scene: Scene) -> np.ndarray:
    """The pressure that the air handler's duct reaches for a tenth of the time that it runs."""

    def work_out():
        table = scene.trends.air_handlers
        pressure = table["duct_static_pressure"].where(table["duct_static_pressure"] > RUNNING_PRESSURE)
        usual = pressure.groupby(table["air_handler"], observed=False).quantile(USUAL_QUANTILE)
        return scene.of_owner(usual.to_numpy(dtype=float))

    return scene.once("usual duct pressure", work_out)


@signal("fraction", settled_by="the air handler's supply_flow, with its duct_static_pressure", whole=True)
def share_of_usual_supply(scene: Scene) -> np.ndarray:
    """Supply airflow, as a share of what the air handler supplies at its usual pressure for a tenth of that time.

    Its usual pressure is 80 % of ``usual_duct_pressure`` and more. What it has supplied at that pressure it can supply.
    """

    def work_out():
        table = scene.trends.air_handlers
        owner = table["air_handler"].cat.codes.to_numpy()
        pressure = table["duct_static_pressure"].where(table["duct_static_pressure"] > RUNNING_PRESSURE)
        usual = pressure.groupby(table["air_handler"], observed=False).quantile(USUAL_QUANTILE).to_numpy(dtype=float)
        held = pressure.to_numpy() >= HELD_PRESSURE * usual[owner]
        flow = table["supply_flow"].where(held)
        return scene.of_owner(
            flow.groupby(table["air_handler"], observed=False).quantile(USUAL_QUANTILE).to_numpy(dtype=float)
        )

    usual = scene.once("usual supply airflow", work_out)
    return scene.air_handler("supply_flow") / np.where(usual > 0, usual, np.nan)


@signal("time", settled_by="two or more of the air handler's own points", whole=True)
def points_frozen_for(scene: Scene) -> np.ndarray:
    """How long the air handler's own readings have all stood at the very same values."""
    return scene.of_air_handlers("points frozen for", lambda scene: scene.join(frozen_for(scene.trends.air_handlers)))


@signal("time", settled_by="the air handler's supply_fan_status, or its duct_static_pressure", whole=True)
def supply_air_on_for(scene: Scene) -> np.ndarray:
    """How long the air handler has supplied air [s]; 0 while it does not, unknown where nothing tells of it."""
    on = scene.value("supply_air_on")
    return np.where(np.isnan(on), np.nan, since_change(~(on > 0.5), scene.first, scene.seconds))


@signal("temperature", settled_by="the air handler's outdoor_temp", whole=True)
def unit_outdoor_temp(scene: Scene) -> np.ndarray:
    """Outdoor temperature as the air handler's points have it."""
    return scene.air_handler("outdoor_temp")
