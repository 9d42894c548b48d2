"""The few terminals that drive an air handler: what they ask for at full, as few others do, holds its resets."""

from __future__ import annotations

import numpy as np

from analyzer.signals.axes import QUARTER
from analyzer.signals.demand import demand_at, demand_of
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene

# What is at full, and of whom it is known: the damper holds the pressure, the zone that cools all it can the supply air
# temperature, the hot-water valve the water's.
ASKED = {"damper_full": "dampers", "all_cooling": "cooled", "valve_full": "valves"}
_SETTLED_BY = "the trend damper_position, or reheat_position of a hot-water coil; air_handler in the terminal schedule"


@signal("state", settled_by=_SETTLED_BY, whole=True)
def holds_a_reset(scene: Scene, *, few_share: float) -> np.ndarray:
    """Whether its damper, its cooling or its hot-water valve is at full, as at few others of its air handler.

    Parameters
    ----------
    few_share : float
        One terminal, and no more than this share of the air handler's, are few.
    """
    few = np.maximum(1.0, np.floor(few_share * demand_at(scene, "present") + 1e-9))
    return _at_full(scene, lambda count: count <= few)


@signal("state", settled_by=_SETTLED_BY, whole=True)
def holds_a_reset_alone(scene: Scene) -> np.ndarray:
    """Whether its damper, its cooling or its hot-water valve is at full, and no other of its air handler is."""
    return _at_full(scene, lambda count: count <= 1)


@signal("state", settled_by="the trend damper_position (measured, not counted from run time)", whole=True)
def damper_at_full(scene: Scene) -> np.ndarray:
    """Whether its damper stands at 95 % or more for want of air, as far as its position can be believed.

    It wants air where its flow is 5 % under its setpoint; or, that not being trended, where its zone is half a kelvin
    above its cooling setpoint: a position that is counted may show full opening while the flow is held.
    """
    return np.where(_own(scene, "dampers") > 0, _own(scene, "damper_full"), np.nan)


@signal("state", settled_by="the trends zone_temp and primary_flow, and a cooling setpoint", whole=True)
def cools_all_it_can(scene: Scene) -> np.ndarray:
    """Whether its zone is half a kelvin above its cooling setpoint at 90 % of its maximum flow, or a full damper."""
    return np.where(_own(scene, "cooled") > 0, _own(scene, "all_cooling"), np.nan)


@signal("state", settled_by="the trend reheat_position, and reheat in the terminal schedule", whole=True)
def valve_at_full(scene: Scene) -> np.ndarray:
    """Whether its hot-water valve is at 95 % or more with air moving."""
    return np.where(_own(scene, "valves") > 0, _own(scene, "valve_full"), np.nan)


def _at_full(scene: Scene, are_few) -> np.ndarray:
    holds, known = np.zeros(scene.size, dtype=bool), np.zeros(scene.size, dtype=bool)
    for name, told in ASKED.items():
        holds |= (_own(scene, name) > 0) & are_few(demand_at(scene, name))
        known |= _own(scene, told) > 0
    known &= ~np.isnan(demand_at(scene, "present"))
    return np.where(known, holds.astype(float), np.nan)


def _own(scene: Scene, name: str) -> np.ndarray:
    """What a terminal shows at the quarter hours of its rows; 0 where it shows nothing."""
    return scene.once(("own demand", name), lambda: _looked_up(scene, name))


def _looked_up(scene: Scene, name: str) -> np.ndarray:
    _, _, found = demand_of(scene)
    at = scene.once("own demand, places", lambda: _places(scene))
    return np.where(at >= 0, np.append(found[name], False)[at], 0.0)


def _places(scene: Scene) -> np.ndarray:
    """For each row its terminal's quarter hour among those of ``demand_of``; -1 for none."""
    terminal, quarter, _ = demand_of(scene)
    if not len(terminal):
        return np.full(scene.size, -1)
    key = terminal.astype(np.int64) * 2**40 + quarter
    place = scene.code.astype(np.int64) * 2**40 + (scene.seconds // QUARTER).astype(np.int64)
    at = np.minimum(np.searchsorted(key, place), len(key) - 1)
    return np.where(key[at] == place, at, -1)
