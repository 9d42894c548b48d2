"""Setpoints held against each other: their distance, in force and by mode, their setback, and what the owner allows."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.quantities import to_shown
from analyzer.signals.effective import OVER_MINIMUM, REHEAT_AT_WORK
from analyzer.signals.grouped import grouped_median
from analyzer.signals.in_force import in_use
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.setpoints import BY_MODE, SITE, UNKNOWN, setpoints_in_force
from analyzer.signals.standing import SAME, logged, stands

# Heating and cooling within this time of each other are at once [s].
AT_ONCE = 3600.0
# Where no minimum is scheduled, the flow that all but this share of the readings pass is taken for it. Judgement.
LOW_FLOW = 0.05

# A setpoint is the usual one of the occupied hours where it is known in this share of them. Judgement.
LEAST_USUAL = 0.25


@signal(
    "temperature_difference",
    needs=("heating_setpoint", "cooling_setpoint"),
    settled_by="the trend heating_setpoint or cooling_setpoint",
    whole=True,
)
def setpoints_apart(scene: Scene, *, least_deadband: float) -> np.ndarray:
    """How far the cooling setpoint in force lies above the heating setpoint, where either of them is trended [K].

    Where neither is, both are the site file's: how far apart those are is one line of it, and is said once.
    """
    heating, cooling = (setpoints_in_force(scene)[side] for side in ("heating", "cooling"))
    by_site = [scene.site.setpoints.get(which, np.nan) for which in ("heating", "cooling")]
    of_site = (heating.source == SITE) & (cooling.source == SITE)
    if of_site.any() and by_site[1] - by_site[0] < least_deadband:
        scene.note(
            f"The site file's setpoints lie {_difference(scene, by_site[1] - by_site[0])} apart, less than the "
            f"{_difference(scene, least_deadband)} that setpoints-too-close asks for: where none is trended, that is "
            "one line of the site file to look at and no finding of a terminal."
        )
    apart = cooling.value - heating.value
    if scene.trended("standby_heating_setpoint").any():
        # Of a terminal in standby at times that no log tells the occupied pair is meant.
        of_mode = (heating.source == BY_MODE) & (cooling.source == BY_MODE) & in_use(scene)
        apart = np.where(of_mode, _apart_in_mode(scene, "occupied"), apart)
    return np.where(of_site, np.nan, apart)


def _difference(scene: Scene, kelvins: float) -> str:
    units = scene.site.units
    return f"{to_shown(kelvins, 'temperature_difference', units):.3g} {'K' if units == 'si' else 'degF'}"


@signal(
    "time",
    needs=("reheat_position", "primary_flow"),
    settled_by="the trends reheat_position and primary_flow",
    whole=True,
)
def heated_and_cooled_for(scene: Scene, *, touching: float, least_deadband: float) -> np.ndarray:
    """How long in all the terminal heated and cooled within an hour, its setpoints closer than ``touching`` [s].

    It heats while its reheat is open, and cools while it takes well over its minimum airflow: the scheduled one, else
    the least that it was seen to take. One figure for all rows of a terminal; 0 where reheat or airflow is not trended.
    """
    close = scene.value("setpoints_apart", {"least_deadband": least_deadband}) < touching
    heats = scene.trend("reheat_position") > REHEAT_AT_WORK
    flow = scene.trend("primary_flow")
    cools = flow > OVER_MINIMUM * scene.per_row(_least_flow(scene, flow))
    since = scene.past(AT_ONCE)
    both = close & (heats | cools) & _within(heats, since) & _within(cools, since)
    return scene.per_row(scene.per_terminal(both * scene.hours) * 3600.0)


def _within(state: np.ndarray, since: np.ndarray) -> np.ndarray:
    total = np.concatenate([[0], np.cumsum(state)])
    return total[1:] > total[since]


def _least_flow(scene: Scene, flow: np.ndarray) -> np.ndarray:
    """Return each terminal's minimum airflow [L/s]: as scheduled, else the least that it was seen to take."""
    scheduled = np.fmax(scene.scheduled("primary_min"), scene.scheduled("heating_primary"))
    if not np.isnan(scheduled).any():
        return scheduled
    moving = flow > 0
    seen = pd.Series(flow[moving]).groupby(scene.code[moving]).quantile(LOW_FLOW)
    return np.where(np.isnan(scheduled), seen.reindex(range(scene.count)).to_numpy(), scheduled)


# Setback ------------------------------------------------------------------------------------------------------------


@signal(
    "temperature_difference",
    needs=("heating_setpoint",),
    settled_by="the trend heating_setpoint (or effective_setpoint) outside the occupied hours",
    whole=True,
)
def heating_setback(scene: Scene) -> np.ndarray:
    """How far the heating setpoint known to be in force out of hours lies under its usual one in hours [K]."""
    return _setback(scene, "heating", -1.0)


@signal(
    "temperature_difference",
    needs=("cooling_setpoint",),
    settled_by="the trend cooling_setpoint (or effective_setpoint) outside the occupied hours",
    whole=True,
)
def cooling_setback(scene: Scene) -> np.ndarray:
    """How far the cooling setpoint known to be in force out of hours lies over its usual one in hours [K]."""
    return _setback(scene, "cooling", 1.0)


def _setback(scene: Scene, side: str, sign: float) -> np.ndarray:
    own = setpoints_in_force(scene)[side]
    in_hours = scene.value("out_of_hours") < 0.5
    known = in_hours & (own.source != UNKNOWN) & (own.source != SITE)
    rows = np.flatnonzero(known)
    # What was known on a day or two only, such as a holiday that nobody listed, is not the usual one.
    enough = scene.per_terminal(scene.hours * known) >= LEAST_USUAL * scene.per_terminal(scene.hours * in_hours)
    usual = np.where(enough, grouped_median(own.value[rows], scene.code[rows], scene.count), np.nan)
    # A room that is in standby all day has its occupied setpoint all the same.
    occupied = stands(scene, f"occupied_{side}_setpoint", scene.site.setpoint_hold)
    rows = np.flatnonzero(~np.isnan(occupied))
    closer = np.fmax if side == "heating" else np.fmin
    usual = scene.per_row(closer(usual, grouped_median(occupied[rows], scene.code[rows], scene.count)))
    out = scene.value("out_of_hours") > 0.5
    never_out = scene.per_row(~scene.reduce(np.logical_or, out, False))  # then it is the context that is missing
    setback = np.where(own.seen & (out | never_out), sign * (own.value - usual), np.nan)
    return np.where(np.isnan(setback) & out & _as_in_hours(scene), 0.0, setback)


def _as_in_hours(scene: Scene) -> np.ndarray:
    """Tell at which rows an effective setpoint is what it usually is in hours: of either side, it is not set back."""
    effective = logged(scene, "effective_setpoint")
    in_hours = (scene.value("out_of_hours") < 0.5) & ~np.isnan(effective)
    rows = np.flatnonzero(in_hours)
    enough = scene.per_terminal(scene.hours * in_hours) >= LEAST_USUAL * scene.per_terminal(
        scene.hours * (scene.value("out_of_hours") < 0.5)
    )
    usual = np.where(enough, grouped_median(effective[rows], scene.code[rows], scene.count), np.nan)
    return np.abs(effective - scene.per_row(usual)) < SAME


# What is allowed ------------------------------------------------------------------------------------------------------


@signal("temperature_difference", settled_by="the trend heating_setpoint", whole=True)
def heating_off_policy(scene: Scene, *, lowest_heating: float, highest_heating: float) -> np.ndarray:
    """How far the heating setpoint in force lies outside what is allowed, while occupied [K]; 0 within it.

    Allowed is what the site file's ``[policy]`` says, else the rule's limits. The site file's own setpoint is nobody's.
    """
    return _off_policy(scene, "heating", (lowest_heating, highest_heating))


@signal("temperature_difference", settled_by="the trend cooling_setpoint", whole=True)
def cooling_off_policy(scene: Scene, *, lowest_cooling: float, highest_cooling: float) -> np.ndarray:
    """How far the cooling setpoint in force lies outside what is allowed, while occupied [K]; 0 within it.

    As of the heating setpoint.
    """
    return _off_policy(scene, "cooling", (lowest_cooling, highest_cooling))


def _off_policy(scene: Scene, side: str, usual: tuple[float, float]) -> np.ndarray:
    low, high = scene.site.policy.get(side, usual)
    own = setpoints_in_force(scene)[side]
    off = np.maximum(np.maximum(low - own.value, own.value - high), 0.0)
    return np.where(in_use(scene) & (own.source != SITE) & ~_as_out_of_hours(scene, own.value), off, np.nan)


def _as_out_of_hours(scene: Scene, value: np.ndarray) -> np.ndarray:
    """Tell at which rows a setpoint is what it usually is out of hours, and not what it usually is in hours.

    A holiday that nobody listed is no setpoint out of policy.
    """
    there = ~np.isnan(value)
    usual = []
    for rows in (np.flatnonzero(there & in_use(scene)), np.flatnonzero(there & ~in_use(scene))):
        usual.append(scene.per_row(grouped_median(value[rows], scene.code[rows], scene.count)))
    return (np.abs(value - usual[1]) < SAME) & (np.abs(value - usual[0]) >= SAME)


@signal(
    "temperature_difference",
    needs=("standby_heating_setpoint", "standby_cooling_setpoint"),
    settled_by="the trends standby_heating_setpoint and standby_cooling_setpoint",
)
def standby_apart(scene: Scene) -> np.ndarray:
    """How far the cooling setpoint of the standby mode lies above its heating setpoint, in force or not [K]."""
    return _apart_in_mode(scene, "standby")


@signal(
    "temperature_difference",
    needs=("unoccupied_heating_setpoint", "unoccupied_cooling_setpoint"),
    settled_by="the trends unoccupied_heating_setpoint and unoccupied_cooling_setpoint",
)
def unoccupied_apart(scene: Scene) -> np.ndarray:
    """How far the cooling setpoint of the unoccupied mode lies above its heating setpoint, in force or not [K]."""
    return _apart_in_mode(scene, "unoccupied")


def _apart_in_mode(scene: Scene, mode: str) -> np.ndarray:
    heating, cooling = (
        stands(scene, f"{mode}_{side}_setpoint", scene.site.setpoint_hold) for side in ("heating", "cooling")
    )
    return cooling - heating
