"""What the terminals of an air handler ask of it, as rules that judge air handlers name it."""

from __future__ import annotations

import numpy as np

from analyzer.signals.demand import HIGHEST, demand_at, demand_of_nobodys
from analyzer.signals.in_force import by_the_clock
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import since_change

# With fewer terminals that tell, or a smaller share of them all, nothing is known of the air handler's. Judgement.
LEAST_TELLING, SHARE_TELLING = 3, 0.5
WEEK = 7 * 86400.0
# A week that is judged has so many hours of use and more [h]. Judgement: four working days of eight hours.
LEAST_OF_WEEK = 32.0

_ZONES = "the setpoints in force beside zone_temp at half of its terminals or more"
_DAMPERS = "the trend damper_position of its terminals (measured, not counted from run time)"


@signal("fraction", settled_by="the trend reheat_position of three or more of its terminals", whole=True)
def share_reheating(scene: Scene) -> np.ndarray:
    """The share of its terminals with reheat whose reheat is open with air moving; unknown with fewer than three."""
    return _share(scene, "reheats", "heated")


@signal("fraction", settled_by=f"{_ZONES}, primary_flow or damper_position", whole=True)
def share_cooling_fully(scene: Scene) -> np.ndarray:
    """The share of its terminals at full flow in a zone that is above its cooling setpoint, of those that tell."""
    return _share(scene, "all_cooling", "cooled")


@signal("count", settled_by=_ZONES, whole=True)
def zones_too_cool(scene: Scene) -> np.ndarray:
    """How many of its zones call for heat: within a kelvin of the heating setpoint in force, or with reheat open.

    With those of no known air handler, which may hang on it.
    """
    return _of_zones(scene, "cold")


@signal("count", settled_by=_ZONES, whole=True)
def zones_too_warm(scene: Scene) -> np.ndarray:
    """How many of its zones are within half a kelvin of the cooling setpoint in force, or above it.

    With those of no known air handler, which may hang on it.
    """
    return _of_zones(scene, "warm")


@signal("percent", settled_by=_DAMPERS, whole=True)
def most_open_damper(scene: Scene) -> np.ndarray:
    """The position of its terminal whose damper is furthest open [%], of those of no known air handler, too.

    Unknown where fewer than half of its terminals show a position, and where any of these was caught at being
    miscounted: the others are counted the same way.
    """
    known = _enough(scene, "dampers", "present") & (demand_at(scene, "miscounted") == 0)
    known &= ~(demand_of_nobodys(scene, "miscounted") > 0)
    return np.where(known, np.fmax(demand_at(scene, HIGHEST), demand_of_nobodys(scene, HIGHEST)), np.nan)


@signal("time", settled_by="the trend occupied of its terminals, or occupied hours in the site file", whole=True)
def nobody_in_for(scene: Scene) -> np.ndarray:
    """How long none of its zones has been occupied [s], or since the trends begin; unknown where hours are assumed."""
    return _unless_assumed(scene, since_change(_in_use(scene), scene.first, scene.seconds))


@signal("time", settled_by="the trend occupied of its terminals, or occupied hours in the site file", whole=True)
def nobody_in_until(scene: Scene) -> np.ndarray:
    """How long until one of its zones is occupied [s], or until the trends end; unknown where hours are assumed."""
    reverse = scene.size - scene.first[::-1]
    until = since_change(_in_use(scene)[::-1], reverse, -scene.seconds[::-1])[::-1]
    return _unless_assumed(scene, until)


@signal("fraction", settled_by="the air handler's duct_static_setpoint", whole=True)
def static_setpoint_moves(scene: Scene) -> np.ndarray:
    """How far its pressure setpoint moved within the week of the log, in hours of use, over its highest.

    Weeks are counted from the first row; one with fewer than 32 h of use that tell is unknown.
    """
    setpoint = scene.value("duct_static_setpoint")
    week, seen = _weeks(scene, setpoint)
    high = np.full(week.max(initial=-1) + 1, -np.inf)
    low = -high
    np.maximum.at(high, week[seen], setpoint[seen])
    np.minimum.at(low, week[seen], setpoint[seen])
    with np.errstate(invalid="ignore", divide="ignore"):
        moves = (high - low) / np.maximum(high, 1e-9)
    return np.where(_hours(scene, week, seen) >= LEAST_OF_WEEK, moves, np.nan)[week]


@signal("fraction", settled_by=_DAMPERS, whole=True)
def damper_near_open_share(scene: Scene, *, near_open: float) -> np.ndarray:
    """The share of the week's hours of use in which a terminal's damper stands at ``near_open`` or beyond."""
    most = scene.value("most_open_damper")
    week, seen = _weeks(scene, most)
    hours = _hours(scene, week, seen)
    share = _hours(scene, week, seen & (most >= near_open)) / np.maximum(hours, 1e-9)
    return np.where(hours >= LEAST_OF_WEEK, share, np.nan)[week]


def _weeks(scene: Scene, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Number the weeks of each air handler; and tell the rows of use at which a value is known."""
    since = (scene.seconds - scene.per_row(scene.start)) // WEEK
    most = int(since.max(initial=0)) + 1
    seen = (values == values) & (scene.value("supply_air_on") > 0.5) & _in_use(scene)
    return (scene.code * most + since).astype(np.int64), seen


def _hours(scene: Scene, week: np.ndarray, seen: np.ndarray) -> np.ndarray:
    return np.bincount(week, scene.hours * seen, week.max(initial=-1) + 1)


def _in_use(scene: Scene) -> np.ndarray:
    """Whether any of its zones is occupied; by the site's hours where none of its terminals has a row."""
    used = demand_at(scene, "in_use")
    return np.where(np.isnan(used), by_the_clock(scene) > 0.5, used > 0)


def _unless_assumed(scene: Scene, values: np.ndarray) -> np.ndarray:
    told, present = demand_at(scene, "hours_told"), demand_at(scene, "present")
    known = (told == present) | (np.isnan(told) & (scene.site.occupied_hours is not None))
    return np.where(known, values, np.nan)


def _of_zones(scene: Scene, name: str) -> np.ndarray:
    calls = demand_at(scene, name) + np.nan_to_num(demand_of_nobodys(scene, name))
    return np.where(_enough(scene, "zoned", "present", 1), calls, np.nan)


def _share(scene: Scene, name: str, of: str) -> np.ndarray:
    count = demand_at(scene, of)
    return np.where(count >= LEAST_TELLING, demand_at(scene, name) / np.maximum(count, 1), np.nan)


def _enough(scene: Scene, name: str, of: str, least: int = LEAST_TELLING) -> np.ndarray:
    told = demand_at(scene, name)
    return (told >= least) & (told >= SHARE_TELLING * demand_at(scene, of))
