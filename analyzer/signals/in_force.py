"""What was in force at each moment: occupancy, setpoints, entering air; trended, or taken from the site file."""

from __future__ import annotations

import numpy as np

from analyzer.signals.any_air_handler import supply_temps
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.setpoints import setpoints_in_force
from analyzer.site.hours import occupied as occupied_by_clock
from analyzer.site.hours import parse_week
from analyzer.site.model import Site

# Occupied for so many hours in all outside the site's hours, and never unoccupied, is no mode [h]. Judgement: three
# nights; people work through one.
NIGHTS = 36.0
# Where neither a trend nor the site file says when people are in. Common practice, no source; a verdict that rests on
# it is never firm.
ASSUMED_HOURS = "mon-fri", "08:00-17:00"


@signal("state", settled_by="the trend occupied, or occupied hours in the site file", whole=True)
def occupied(scene: Scene) -> np.ndarray:
    """Whether the zone is occupied: as trended, else by the site file's hours, else by assumed office hours.

    A trend that says occupied throughout, nights and weekends too, against the hours of the site file, is a code that
    never changes, or a mode that nobody lives by: the site file's hours count.
    """
    trended, own = scene.trend("occupied"), scene.trended("occupied")
    if own.any() and scene.site.occupied_hours is not None:
        never = _never_changes(scene, trended)
        scene.tally(
            "The occupancy mode of {count} terminals always says occupied; the site file's hours count.",
            never,
        )
        own = own & ~never
    if own.all():
        return trended
    return np.where(scene.per_row(own), trended, by_the_clock(scene))


def _never_changes(scene: Scene, trended: np.ndarray) -> np.ndarray:
    """Tell the terminals whose mode is occupied at all times, and for ``NIGHTS`` outside the hours of the site file."""
    always = scene.trended("occupied") & (scene.reduce(np.fmin, trended, np.nan) > 0.5)
    if not always.any():
        return always
    outside = (by_the_clock(scene) < 0.5) & (trended > 0.5)
    return always & (scene.per_terminal(scene.hours * outside) >= NIGHTS)


def by_the_clock(scene: Scene) -> np.ndarray:
    """Whether the zone is occupied by the site file's hours, else by assumed office hours."""
    week = week_of(scene.site)
    if scene.site.occupied_hours is None:
        scene.note(
            f"No occupied hours are given and some terminals trend no occupancy: {ASSUMED_HOURS[0]} "
            f"{ASSUMED_HOURS[1]} was assumed for them."
        )
    return scene.by_clock(
        "occupied by the clock", lambda local: occupied_by_clock(local, week, scene.site.holidays).astype(float)
    )


def week_of(site: Site) -> dict[int, list[tuple[int, int]]]:
    """Return the occupied hours of the site file, else the assumed office hours."""
    return parse_week(dict([ASSUMED_HOURS])) if site.occupied_hours is None else site.occupied_hours


def in_use(scene: Scene) -> np.ndarray:
    """Tell at which rows the zone is known to be occupied."""
    return scene.once("in use", lambda: scene.value("occupied") > 0.5)


@signal("temperature", settled_by="the trend heating_setpoint, or a heating setpoint in the site file", whole=True)
def heating_setpoint(scene: Scene) -> np.ndarray:
    """Heating setpoint in force: the active one as trended, else by the effective one, else that of the mode in force.

    Where none of these is logged at the time, what was logged stays in force in its mode, as long as nothing
    contradicts it (``setpoint_hold`` in the site file); where none is logged at all, the site file's while occupied.
    """
    return setpoints_in_force(scene)["heating"].value


@signal("temperature", settled_by="the trend cooling_setpoint, or a cooling setpoint in the site file", whole=True)
def cooling_setpoint(scene: Scene) -> np.ndarray:
    """Cooling setpoint in force: the active one as trended, else by the effective one, else that of the mode in force.

    As of the heating setpoint.
    """
    return setpoints_in_force(scene)["cooling"].value


# Colder than this no air is supplied [degC]: freeze protection stops the fan. 3.3 degC for 15 minutes or 1 degC for 5,
# ASHRAE Guideline 36, 5.16.12 (read in a public restatement). A zero stands for a missing sensor.
COLDEST_SUPPLY = 1.0
# Air handlers whose supply air is this near to each other's supply the same [K]. Judgement: three sensors.
ALIKE = 1.5
# A sensor of which no more than this share of the rows is known does not stand in the way of the air handler's.
# Judgement: a point that somebody logged for a day of weeks.
LEAST_LOGGED = 0.05


@signal("temperature", settled_by="the trend primary_temp, or the air handler's supply_temp", whole=True)
def primary_temp(scene: Scene) -> np.ndarray:
    """Temperature of the entering primary air: as trended, else its air handler's supply air.

    A trend of a few samples only, or of zeros, is none. Where nobody knows its air handler, the mean of all that run,
    as long as they supply nearly the same.
    """
    own = own_primary_temp(scene)
    if own.all():
        return _supplied(scene)
    supply = scene.air_handler("supply_temp")
    nobodys = scene.words("air_handler") == ""
    if (nobodys & ~own).any():
        coldest, warmest = supply_temps(scene)
        alike = scene.per_row(nobodys) & (warmest - coldest <= ALIKE)
        supply = np.where(alike, (warmest + coldest) / 2, supply)
    return np.where(scene.per_row(own), _supplied(scene), supply)


def own_primary_temp(scene: Scene) -> np.ndarray:
    """Tell for each terminal whether the temperature of its own primary air is trended, and for more than a while."""

    def work_out():
        known = scene.per_terminal(~np.isnan(_supplied(scene)) * scene.hours)
        return (known > 0) & (known > LEAST_LOGGED * scene.per_terminal(scene.hours))

    return scene.once("own primary temp", work_out)


def _supplied(scene: Scene) -> np.ndarray:
    """The terminal's own trend, without what no air handler supplies."""

    def work_out():
        trended = scene.trend("primary_temp")
        return np.where(trended > COLDEST_SUPPLY, trended, np.nan) if scene.trended("primary_temp").any() else trended

    return scene.once("own primary temp, as it can be", work_out)


@signal("fraction", settled_by="the air handler's outdoor_air_fraction, or outdoor_air_fraction in the site file")
def outdoor_air_fraction(scene: Scene) -> np.ndarray:
    """Share of outdoor air in the primary air: as trended per air handler, else the site file's."""
    fixed = scene.site.outdoor_air_fraction

    def work_out(scene):
        trended = scene.joined("outdoor_air_fraction")
        return trended if fixed is None else np.where(np.isnan(trended), fixed, trended)

    return scene.of_air_handlers("outdoor air fraction", work_out)
