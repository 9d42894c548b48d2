"""The air handler behind a terminal: whether it supplies air, as trended or as its terminals show."""

from __future__ import annotations

import numpy as np

from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import since_change

# Duct static pressure from which on the air handler is taken to run, where its fan is not trended [Pa]. Judgement: a
# tenth of an inch of water; nothing but a fan holds that.
RUNNING_PRESSURE = 25.0


@signal("state", settled_by="the air handler's supply_fan_status, or its duct_static_pressure", whole=True)
def supply_air_on(scene: Scene) -> np.ndarray:
    """Whether the air handler supplies air: by its fan's status, else by the pressure in the duct."""
    return scene.of_air_handlers("supply air on", _supplies)


@signal("time", settled_by="the air handler's supply_fan_status, or its duct_static_pressure", whole=True)
def supply_air_off_for(scene: Scene) -> np.ndarray:
    """How long the air handler has been off [s]; 0 while it runs, unknown where it is not trended."""

    def work_out(scene):
        on, axes = _supplies(scene), scene.air_handler_axes
        return np.where(np.isnan(on), np.nan, since_change(~(on < 0.5), axes.first, scene.seconds[axes.rows]))

    return scene.of_air_handlers("supply air off for", work_out)


def supply_air_is_off(scene: Scene) -> np.ndarray:
    """Tell at which rows the air handler is known to be off."""
    return scene.of_air_handlers("supply air is off", lambda scene: _supplies(scene) < 0.5)


def _supplies(scene: Scene) -> np.ndarray:
    """Whether each air handler supplies air, over the rows of the air handlers' axes."""

    def work_out():
        status, pressure = scene.joined("supply_fan_status"), scene.joined("duct_static_pressure")
        by_pressure = np.where(np.isnan(pressure), np.nan, (pressure > RUNNING_PRESSURE).astype(float))
        return np.where(np.isnan(status), by_pressure, status)

    return scene.once("air handlers supply", work_out)


def supply_air_turned(scene: Scene) -> np.ndarray:
    """Tell at which rows the air handler has just gone on or off."""

    def work_out(scene):
        on = np.nan_to_num(_supplies(scene), nan=1.0)
        return np.diff(on, prepend=on[:1]) != 0

    return scene.of_air_handlers("supply air turned", work_out)


@signal("state", settled_by="the air handler's supply_fan_status, or its duct_static_pressure", whole=True)
def air_available(scene: Scene) -> np.ndarray:
    """Whether air may be expected at the terminal: 0 where its air handler is known or seen to be off or without air.

    Never unknown: where nothing tells of the air handler, air is expected.
    """
    return np.where(supply_air_is_off(scene), 0.0, 1.0)
