"""What terminals show together: neighbours in one open zone, and what an air handler's terminals have in common."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from analyzer.signals.register import signal
from analyzer.signals.scene import Scene


@signal("state", needs=("zone_temp",), settled_by="the trends of the other terminals of its open zone", whole=True)
def neighbour_cools(scene: Scene) -> np.ndarray:
    """Whether another terminal of the same open zone calls for cooling at the same moment."""
    return _of_neighbours(scene, lambda at: (_calls_for_cooling(at), _another_cools))


@signal(
    "temperature",
    needs=("zone_temp",),
    settled_by="the cooling setpoints of the other terminals of its open zone",
    whole=True,
)
def neighbours_cool_from(scene: Scene) -> np.ndarray:
    """The lowest cooling setpoint in force of the other terminals of the same open zone [degC]."""
    return _of_neighbours(scene, lambda at: (at.value("cooling_setpoint"), _lowest_of_others))


@signal(
    "fraction",
    needs=("reheat_position", "zone_temp"),
    settled_by="the trends of the other terminals of its open zone",
    whole=True,
)
def heats_beside_cooling(scene: Scene, *, reheat_open: float) -> np.ndarray:
    """The share of the time in use with a neighbor in cooling in which it heats by more than ``reheat_open``."""
    in_use = (scene.value("occupied") > 0.5) & (scene.value("air_available") > 0.5)
    beside = in_use & (scene.value("neighbour_cools") > 0.5)
    heats = beside & (scene.trend("reheat_position") > reheat_open)
    hours, of_them = (scene.per_terminal(own * scene.hours) for own in (beside, heats))
    return scene.per_row(np.where(hours > 0, of_them / np.where(hours > 0, hours, 1.0), np.nan))


def _of_neighbours(scene: Scene, asked: Callable[[Scene], tuple[np.ndarray, Callable]]) -> np.ndarray:
    """Work something out of the other rows of the same open zone and moment; NaN where the terminal shares no zone."""
    zones, of_zone = np.unique(scene.words("open_zone").astype(str), return_inverse=True)
    shared = (np.bincount(of_zone, minlength=len(zones)) > 1)[of_zone] & (scene.words("open_zone") != "")
    if not shared.any():
        return np.full(scene.size, np.nan)
    at = scene.part(shared)
    values, work_out = asked(at)
    moment, moments = pd.factorize(at.seconds)
    place, places = pd.factorize(of_zone[shared][at.code] * len(moments) + moment)
    return scene.lay(at, work_out(values, place, places))


def _lowest_of_others(values: np.ndarray, place: np.ndarray, places: np.ndarray) -> np.ndarray:
    """The lowest known value of the other rows of each row's place; NaN where there is none."""
    order = np.lexsort((values, place))  # what is not known comes last
    first = np.searchsorted(place[order], np.arange(len(places)))
    second = np.append(first[1:], len(order)) > first + 1
    lowest = values[order[first]]
    next_lowest = np.where(second, values[order[np.minimum(first + 1, len(order) - 1)]], np.nan)
    own = np.zeros(len(values), dtype=bool)
    own[order[first]] = True
    return np.where(own, next_lowest[place], lowest[place])


def _another_cools(cooling: np.ndarray, place: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Tell whether another row of the same place is known to cool; NaN where none is known."""
    known = cooling == cooling
    cools = np.where(known, cooling, 0.0)
    others_cool = np.bincount(place, weights=cools, minlength=len(places))[place] - cools
    others_known = np.bincount(place, weights=known, minlength=len(places))[place] - known
    return np.where(others_known > 0, (others_cool > 0).astype(float), np.nan)


def _calls_for_cooling(scene: Scene) -> np.ndarray:
    """Above its cooling setpoint, or primary air beyond what it takes in heating (or its minimum) with reheat shut."""
    zone, setpoint = scene.trend("zone_temp"), scene.value("cooling_setpoint")
    by_zone = np.where(np.isnan(zone) | np.isnan(setpoint), np.nan, zone > setpoint)
    flow, own_reheat = scene.trend("primary_flow"), scene.per_row(scene.has_reheat)
    # A terminal that only cools takes no more than its minimum before it cools.
    minimum = scene.value("minimum_scheduled")
    heating = np.where(own_reheat, scene.value("heating_maximum"), np.where(minimum > 0, minimum, np.nan))
    reheat = np.where(own_reheat, scene.trend("reheat_position"), 0.0)
    by_flow = np.where(np.isnan(flow) | np.isnan(heating), np.nan, (flow > 1.15 * heating) & ~(reheat > 5.0))
    return np.fmax(by_zone, by_flow)


@signal("count", settled_by="verdicts of its terminals", whole=True)
def terminals_at_fault(scene: Scene) -> np.ndarray:
    """How many terminals of the air handler have the same fault at once: of the fault that most have."""
    return scene.given.get("terminals_at_fault", np.full(scene.size, np.nan))


@signal("fraction", settled_by="verdicts of its terminals", whole=True)
def share_at_fault(scene: Scene) -> np.ndarray:
    """The share of the air handler's judged terminals that have the same fault at the same time."""
    return scene.given.get("share_at_fault", np.full(scene.size, np.nan))


# What is counted of the air, quarter hour by quarter hour: laid in where air handlers are judged.

_OF_TERMINALS = "the trends primary_flow, primary_flow_setpoint and damper_position of three or more of its terminals"


@signal("state", settled_by=f"{_OF_TERMINALS}; or its supply_fan_status", whole=True)
def air_lost(scene: Scene) -> np.ndarray:
    """Whether the air handler's terminals have lost their air together at an hour at which it is usually there.

    That it is off by the clock, as at night or on a day on which it is not started and nobody asks for air, is no loss.
    """
    return scene.given.get("air_lost", np.full(scene.size, np.nan))


@signal("time", settled_by=_OF_TERMINALS, whole=True)
def air_lost_lasts(scene: Scene) -> np.ndarray:
    """How long the whole stretch without air is, nights included; 0 outside of one."""
    return scene.given.get("air_lost_lasts", np.full(scene.size, np.nan))


@signal("count", settled_by=_OF_TERMINALS, whole=True)
def terminals_without_air(scene: Scene) -> np.ndarray:
    """How many of its terminals ask for air and get next to none, or less than half of it."""
    return scene.given.get("terminals_without_air", np.full(scene.size, np.nan))


@signal("count", settled_by=_OF_TERMINALS, whole=True)
def terminals_starved(scene: Scene) -> np.ndarray:
    """How many of its terminals are short of air at once: fully open, or far under their setpoint now and then."""
    return scene.given.get("terminals_starved", np.full(scene.size, np.nan))


@signal("fraction", settled_by=_OF_TERMINALS, whole=True)
def share_starved(scene: Scene) -> np.ndarray:
    """The share of its terminals, of those whose flow and damper are trended, that are starved at once."""
    return scene.given.get("share_starved", np.full(scene.size, np.nan))


@signal("fraction", settled_by=_OF_TERMINALS, whole=True)
def share_wanting_cooling(scene: Scene) -> np.ndarray:
    """The share of its zones within half a kelvin of their cooling setpoint or above it, of those that tell."""
    return scene.given.get("share_wanting_cooling", np.full(scene.size, np.nan))
