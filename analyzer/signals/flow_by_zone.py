"""Reading of a single-duct terminal that overcools its zone behind an open damper: no lack of air, so a low sensor.

A terminal that lacks air opens its damper, and its zone gets too warm. Where the damper stands open because the flow
reads short of its setpoint, while cold air holds the zone within 0.7 K of its heating setpoint or below it, more air
passes than is read. What passes at the least: an open damper lets half of the largest flow through that was ever asked
for.
"""

from __future__ import annotations

import numpy as np

from analyzer.signals.agreed import agreed, shown
from analyzer.signals.any_air_handler import supply_temps
from analyzer.signals.flow_zero import largest_flow
from analyzer.signals.grouped import Groups
from analyzer.signals.kinds import of_kind
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ROUNDING, since_change

SHORT = "short of air at an open damper"
# Of the terminals of an air handler whose damper stands open that day: so many agree on a shortage of its own.
LEAST_SHARING = 3
# The damper stands open, for so long [%, s]; the flow is short by so much of its setpoint. Judgement: a duct that is
# short of pressure or a blade that turns half way leave a minimum flow two thirds of it, and a zone in heating none
# the worse.
OPEN, OPEN_FOR, SHORTFALL = 95.0, 1200.0, 0.4
# The zone is no further above its heating setpoint [K]. Judgement: the band of a heating loop and the sensor.
AT_HEATING = 0.7
# The discharge is colder than the zone by this, or the supply air by that where no discharge is trended and no coil is
# there to warm it [K]. Judgement: more than two sensors and the gain of a duct.
COOLS, SUPPLY_COOLS = 2.0, 5.0
# A day counts with so much of it [h]. Judgement: a morning after a cold night is over by then.
LEAST_HOURS = 2.0
# Flow at full damper is down to half in resets and shortages of duct pressure in trends of real buildings.
PRESSURE_FACTOR = 2.0
# At this duct pressure a shortage is no air handler's [Pa]. Judgement: half an inch of water, several times what an
# open terminal takes.
ENOUGH_PRESSURE = 125.0
# A reading of less than this is none; air_not_read judges it [L/s].
LEAST_READING = 5.0


def zone_of_days(scene: Scene) -> dict[str, np.ndarray]:
    """Reading against the largest flow, where the terminal overcools behind an open damper; and its doubt; by day."""
    return scene.once("flow by zone", lambda: _compare(scene))


def _compare(scene: Scene) -> dict[str, np.ndarray]:
    rows = np.flatnonzero(_short(scene) & _overcools(scene))
    days = Groups(scene.group_of_day[rows], scene.groups)
    seen = days.sum(scene.hours[rows]) >= LEAST_HOURS - ROUNDING
    largest = np.repeat(_largest_asked(scene), scene.days)
    ratio = np.where(seen, days.median(scene.trend("primary_flow")[rows]), np.nan) / largest
    pressure = days.median(scene.value("duct_pressure")[rows])
    shared = (agreed(scene, SHORT) > 0.5).reshape(-1) & ~(pressure >= ENOUGH_PRESSURE)
    ratio = np.where(shared, np.nan, ratio)
    low = PRESSURE_FACTOR * ratio < 1.0
    return {
        "drift": np.where(low, ratio - 1.0, np.nan),
        "uncertainty": np.where(low, (PRESSURE_FACTOR - 1.0) * ratio, np.nan),
    }


def _largest_asked(scene: Scene) -> np.ndarray:
    """The largest flow that a terminal is made for, or was asked for [L/s]."""
    return np.fmax(largest_flow(scene), scene.reduce(np.fmax, scene.trend("primary_flow_setpoint"), np.nan))


def _open(scene: Scene) -> np.ndarray:
    """Tell where air is supplied and the damper has stood open."""
    there = (scene.trend("damper_position") >= OPEN) & (scene.value("air_available") > 0.5)
    return since_change(~there, scene.first, scene.seconds) >= OPEN_FOR


def _short(scene: Scene) -> np.ndarray:
    """Tell where the reading is short of its setpoint (of the scheduled minimum, without one) at an open damper."""
    setpoint = scene.trend("primary_flow_setpoint")
    least = scene.per_row(scene.scheduled("primary_min"))
    wanted = np.where(scene.per_row(scene.trended("primary_flow_setpoint")), setpoint, least)
    flow = scene.trend("primary_flow")
    return _open(scene) & (flow >= LEAST_READING) & (flow < (1.0 - SHORTFALL) * wanted)


def _overcools(scene: Scene) -> np.ndarray:
    """Tell where a single-duct terminal supplies cold air to a zone no more than ``AT_HEATING`` over its setpoint."""
    zone = scene.trend("zone_temp")
    cold_zone = zone <= scene.value("heating_setpoint") + AT_HEATING
    cold = zone - scene.trend("discharge_temp") >= COOLS
    by_supply = np.isnan(scene.trend("discharge_temp")) & scene.per_row(~scene.has_reheat)
    supply, (_, warmest) = scene.value("primary_temp"), supply_temps(scene)
    # Where its air handler is not known, all of the building's supply cold air.
    cold |= by_supply & (zone - np.where(np.isnan(supply), warmest, supply) >= SUPPLY_COOLS)
    return cold_zone & cold & of_kind(scene, "single-duct")


@shown(SHORT, least=LEAST_SHARING)
def _short_by_air_handler(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Share of the time behind an open damper in which each terminal is short; unknown where its damper is not open."""
    rows = np.flatnonzero(_open(scene))
    days = Groups(scene.group_of_day[rows], scene.groups)
    hours = days.sum(scene.hours[rows])
    short = days.sum(scene.hours[rows] * _short(scene)[rows])
    share = np.where(hours >= LEAST_HOURS - ROUNDING, short / np.where(hours > 0, hours, 1.0), np.nan)
    words = scene.words("air_handler").astype(str)
    alone = np.char.add("alone ", scene.terminals.astype(str))
    return np.where(words == "", alone, np.char.add("of ", words)), share.reshape(scene.count, -1)
