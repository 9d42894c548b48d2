"""Air that moves past an inlet sensor that reads next to none: a sensor tube that is off, blocked or split.

Without air a discharge sensor takes the warmth of its plenum. Where it stands as cold as the unit's supply air, well
below zone and plenum, air moves; so it does where it stays below the zone with the coil open, which would heat still
air at once; and where electric heat holds a steady, finite rise: without air its airflow switch or limit would take
it off.
"""

from __future__ import annotations

import numpy as np

from analyzer.signals.any_air_handler import supply_temps
from analyzer.signals.days import LEAST_HOURS
from analyzer.signals.flow_zero import largest_flow
from analyzer.signals.grouped import Groups
from analyzer.signals.kinds import of_kind
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ROUNDING, since_change, stepped

# A reading of so little, or of this share of the maximum, is next to none [L/s]. Judgement: 10 cfm, as a sound sensor
# reads with the air handler off.
NEXT_TO_NONE, SHARE_OF_MAXIMUM = 5.0, 0.03
# The damper stands open from here on [%]. Judgement: by the ordinary curve a sixth of the maximum passes.
OPEN = 30.0
# Discharge at least this far below the zone and the plenum [K], and no further above the supply air than duct gain and
# two sensors make it (0.9 to 3.6 degF in trends of real buildings). Where the supply air is reset so warm that it
# cannot be: this share of the way from the zone to it, and half as far below the zone. Judgement.
BELOW_ZONE, ABOVE_SUPPLY = 5.0, 3.0
NEAR_WARM_SUPPLY = 0.6
# Air that moves arrives no colder than it was supplied, but for two sensors [K]; a duct at rest in a cold plenum may.
UNDER_SUPPLY = -0.7
# A position that cannot be believed is an open damper where it has shown so much for so long [%, s]. Judgement:
# a controller that misses its air drives the damper on, past any error of the count.
DRIVEN_OPEN, SURELY_OPEN_FOR = 95.0, 4 * 3600.0
# Where the supply temperature is unknown the discharge has to be this far below the zone with the coil off [K], and
# twice as far as else with it on. Judgement: no plenum of a
# heated building is so cold.
FAR_BELOW_ZONE = 7.0
# A zone so far above its cooling setpoint does not get the air of an open damper [K]. Judgement: a loop's band.
TOO_WARM = 0.5
# Behind a parallel or series fan that runs, primary air is this share of the discharge, which is so far below the zone
# [K]: no trickle past a blade does that. Judgement: a damper stuck nearly shut passes a tenth.
SHARE_BEHIND_FAN, BELOW_BEHIND_FAN = 0.4, 3.0
# With the coil open this far [%], a discharge this far below the zone [K] and supply air that cold are air that moves.
# Judgement: still air about an open coil is warmer than the zone; two sensors and a half kelvin.
COIL_OPEN, BELOW_ZONE_HEATED = 10.0, 1.5
# Electric heat at this signal or more, a rise between these, and steady within this [%, K, K per sample]. Judgement:
# dead elements give less than 2 K, and a coil without air more than 40 K.
HEAT_CALL, LEAST_RISE, MOST_RISE, STEADY = 40.0, 5.0, 40.0, 2.0
# Air and coil are as they are for so long [s].
SETTLED = 1200.0
# A reading of next to none under this much air is low by nearly all of it. Judgement: air that stays cold on its way
# is no trickle, a fifth of the maximum at the least.
UNCERTAINTY = 0.15


def air_not_read_of_days(scene: Scene) -> dict[str, np.ndarray]:
    """-1 on days on which air moves for an hour or more while next to none is read; by day, with uncertainty."""
    return scene.once("air not read", lambda: _compare(scene))


def _compare(scene: Scene) -> dict[str, np.ndarray]:
    rows = np.flatnonzero(_reads_none(scene) & (_is_cold(scene) | _heats_steadily(scene)))
    hours = Groups(scene.group_of_day[rows], scene.groups).sum(scene.hours[rows])
    seen = hours >= 2 * LEAST_HOURS - ROUNDING
    return {"drift": np.where(seen, -1.0, np.nan), "uncertainty": np.where(seen, UNCERTAINTY, np.nan)}


def _reads_none(scene: Scene) -> np.ndarray:
    """Tell where the damper stands open, air is supplied, and the reading is next to none.

    A position that cannot be believed is one only where the controller has driven the damper to its end for hours.
    """
    little = np.fmax(NEXT_TO_NONE, SHARE_OF_MAXIMUM * largest_flow(scene))
    none = (scene.trend("primary_flow") <= scene.per_row(little)) & (scene.value("air_available") > 0.5)
    position = scene.trend("damper_position")
    believed = (scene.value("damper_credible") > 0.5) & (position >= OPEN)
    driven = since_change(~(none & (position >= DRIVEN_OPEN)), scene.first, scene.seconds) >= SURELY_OPEN_FOR
    return since_change(~(none & (believed | driven)), scene.first, scene.seconds) >= SETTLED


def _is_cold(scene: Scene) -> np.ndarray:
    """Tell where the discharge is too cold for still air: near supply air, or below the zone with the coil on.

    Behind a fan that runs, too: what it draws from the plenum would have warmed the discharge. Where the air handler is
    not known, any of the building's may be the one.
    """
    discharge, zone, supply = scene.trend("discharge_temp"), scene.trend("zone_temp"), scene.value("primary_temp")
    below = np.fmin(zone, scene.trend("plenum_temp")) - discharge
    reheat = np.where(scene.per_row(scene.has_reheat), scene.trend("reheat_position"), 0.0)
    coldest, warmest = (np.where(np.isnan(supply), of_all, supply) for of_all in supply_temps(scene))
    near = (discharge - warmest <= ABOVE_SUPPLY) & (discharge - coldest >= UNDER_SUPPLY)
    near_supply = np.where(np.isnan(warmest), below >= FAR_BELOW_ZONE, near)
    enough = np.clip(NEAR_WARM_SUPPLY * (zone - warmest), BELOW_ZONE / 2, BELOW_ZONE)
    # A damper that is stuck nearly shut, behind an open position, passes a cold trickle into a zone that gets too warm.
    too_warm = zone > scene.value("cooling_setpoint") + TOO_WARM
    unheated = ~too_warm & (reheat <= 2.0) & (below >= np.where(np.isnan(warmest), BELOW_ZONE, enough)) & near_supply
    least = np.where(np.isnan(supply), 2.0 * BELOW_ZONE_HEATED, BELOW_ZONE_HEATED)
    heated = (
        (reheat >= COIL_OPEN) & (below >= least) & ~(zone - supply < BELOW_ZONE) & ~(discharge - coldest < UNDER_SUPPLY)
    )
    share = (zone - discharge) / np.maximum(zone - supply, BELOW_ZONE)
    behind_fan = (scene.value("fan_on") > 0.5) & (reheat <= 2.0) & (share >= SHARE_BEHIND_FAN)
    behind_fan &= (below >= BELOW_BEHIND_FAN) & ~too_warm & ~(discharge - coldest < UNDER_SUPPLY)
    return unheated | heated | behind_fan


def _heats_steadily(scene: Scene) -> np.ndarray:
    """Tell where electric heat holds a steady, finite rise over the air that enters, and no fan moves that air."""
    discharge = scene.trend("discharge_temp")
    rise = discharge - scene.value("primary_temp")
    no_fan = of_kind(scene, "single-duct") | (of_kind(scene, "parallel") & (scene.value("fan_on") < 0.5))
    steady = (rise >= LEAST_RISE) & (rise <= MOST_RISE) & (np.abs(stepped(discharge, scene.first)) <= STEADY)
    calls = no_fan & steady & (scene.value("electric_heat") > 0.5) & (scene.trend("reheat_position") >= HEAT_CALL)
    return since_change(~calls, scene.first, scene.seconds) >= SETTLED
