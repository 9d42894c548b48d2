"""What terminals show together: neighbours in one open zone, and what an air handler's terminals have in common."""

from __future__ import annotations

import numpy as np

from analyzer.signals.scene import Scene, signal


@signal("state", needs=("zone_temp",), settled_by="the trends of the other terminals of its open zone")
def neighbour_cools(scene: Scene) -> np.ndarray:
    """Whether another terminal of the same open zone calls for cooling at the same moment."""
    cooling = _calls_for_cooling(scene)
    zone = scene.words("open_zone")
    # Terminals without an open zone are each alone in one of their own.
    alone = zone == ""
    group = np.unique(
        np.where(alone, np.arange(scene.count).astype(str), np.char.add("zone ", zone.astype(str))), return_inverse=True
    )[1]
    moment, _ = scene.local_moments
    place = scene.per_row(group) * (moment.max(initial=0) + 1) + moment
    _, number = np.unique(place, return_inverse=True)
    calling = np.bincount(number, weights=np.nan_to_num(cooling))[number] - np.nan_to_num(cooling)
    known = np.bincount(number, weights=(~np.isnan(cooling)).astype(float))[number] - ~np.isnan(cooling)
    return np.where(known > 0, (calling > 0).astype(float), np.nan)


def _calls_for_cooling(scene: Scene) -> np.ndarray:
    """Above its cooling setpoint, or primary air beyond what it takes in heating with reheat shut."""
    zone, setpoint = scene.trend("zone_temp"), scene.value("cooling_setpoint")
    by_zone = np.where(np.isnan(zone) | np.isnan(setpoint), np.nan, zone > setpoint)
    flow, heating = scene.trend("primary_flow"), scene.value("heating_maximum")
    reheat = np.where(scene.per_row(scene.has_reheat), scene.trend("reheat_position"), 0.0)
    by_flow = np.where(np.isnan(flow) | np.isnan(heating), np.nan, (flow > 1.15 * heating) & ~(reheat > 5.0))
    return np.fmax(by_zone, by_flow)


@signal("count", settled_by="verdicts of its terminals")
def terminals_at_fault(scene: Scene) -> np.ndarray:
    """How many terminals of the air handler have the same fault at once: of the fault that most have."""
    return scene.given.get("terminals_at_fault", np.full(scene.size, np.nan))


@signal("fraction", settled_by="verdicts of its terminals")
def share_at_fault(scene: Scene) -> np.ndarray:
    """The share of the air handler's judged terminals that have the same fault at the same time."""
    return scene.given.get("share_at_fault", np.full(scene.size, np.nan))
