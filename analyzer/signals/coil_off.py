"""The discharge with the coil off: how warm it would be, how well that is known, and how much warmer it is.

What every terminal of an air handler shows with its coil off (gain along the ducts, an offset of the supply sensor, a
warm plenum) says nothing of one coil: it is taken out before a rise is held against a terminal.
"""

from __future__ import annotations

import numpy as np

from analyzer import airside
from analyzer.signals.agreed import agreed, shown
from analyzer.signals.days import daily_median
from analyzer.signals.grouped import Groups
from analyzer.signals.in_force import own_primary_temp
from analyzer.signals.kinds import of_kind
from analyzer.signals.mixing import FAN_BALANCING, ducted_air, fan_rise, inlet_air
from analyzer.signals.register import signal
from analyzer.signals.scene import Scene
from analyzer.signals.windows import ratio, since_change

# Air of a dedicated inlet may be neutral or as cold as supply air [K]. Judgement.
INLET_AIR = 5.0
# Coil and air have to be as they are for this long before the discharge shows the air that enters [s]: 15 minutes,
# ASHRAE Guideline 36, 5.6.6.5 (read in a public restatement), and the time of a slow actuator.
SETTLED = 1200.0
# A terminal shows its rise with the coil off in this much time [h], with this much air [L/s]. Judgement.
LEAST_SHOWN = 1.0
LEAST_AIR = 20.0
# So many terminals of an air handler agree on what they share. Judgement: with fewer, a leaking coil sways the median.
LEAST_TERMINALS = 4
# More than this no duct and no sensor explains [K]. Judgement: field trends show 0.5 to 3.6 K.
MOST_SHARED = 4.5
# A heater in stages may be on between two samples of a slow log; at rest for so long it was off [s]. Judgement.
SLOW_LOG, SURELY_SHUT = 300.0, 3600.0
# How far the rise of one sound terminal lies from what all share [K], by the length of its duct; and by what part of it
# what they share may be wrong for one. Judgement: field trends spread by 0.5 to 1 K.
SPREAD_OF_SHARED = 1.0
PART_OF_SHARED = 0.5
# Plenums over the zones of one air handler differ by so much [K]: one may lie under the roof. Judgement.
PLENUMS_APART = 4.0
# A coil gives heat for so long [s] before it is said to work. Judgement: longer than a valve overshoots.
WORKS_FOR = 1800.0
# After so long in use no air handler warms up with hot supply air any more, and what follows it slowly has settled [s].
# Judgement: optimum start ends with the first occupied minute, and a late one is over within an hour.
WARM_UP_OVER = 3600.0


@signal(
    "temperature",
    needs=("primary_flow",),
    settled_by="the trends primary_flow, primary_temp (or the air handler's supply_temp) and, with a fan, fan_status",
)
def coil_off_temp(scene: Scene) -> np.ndarray:
    """Discharge temperature to expect with the coil off: primary air, mixed with plenum air while the fan runs.

    The fan's own heat is in it, and what the terminals of the air handler share. Air of a dedicated inlet is taken to
    be as warm as the zone. Unknown for a series unit whose fan rests: what passes it then is anybody's guess.
    """
    return _as_sensors_say(scene) + np.nan_to_num(scene.value("shared_rise"))


def _as_sensors_say(scene: Scene) -> np.ndarray:
    return scene.once("coil off, as sensors say", lambda: _mixture(scene))


def _mixture(scene: Scene) -> np.ndarray:
    expected = airside.coil_off_temp(
        primary_flow=ducted_air(scene),
        primary_temp=_ducted_temp(scene),
        induced_flow=scene.value("induced_air"),
        induced_temp=scene.value("induced_temp"),
        fan_flow=scene.value("fan_air"),
        fan_rise=fan_rise(scene),
    )
    expected[of_kind(scene, "series") & ~(scene.value("fan_on") > 0.5)] = np.nan
    return expected


def _ducted_temp(scene: Scene) -> np.ndarray:
    """Temperature of primary air and air of a dedicated inlet together; 0 of no air, to mix with what is induced."""
    ducted, primary_temp = ducted_air(scene), scene.value("primary_temp")
    temp = np.where(ducted > 0, primary_temp, 0.0)
    at = scene.part(scene.has_outdoor_air_inlet)
    mixed = airside.mixed_temp(
        primary_flow=at.value("primary_air"),
        primary_temp=at.value("primary_temp"),
        induced_flow=inlet_air(at),
        induced_temp=at.trend("zone_temp"),
    )
    return scene.lay(at, np.where(ducted_air(at) > 0, mixed, 0.0), temp)


@signal(
    "temperature_difference",
    needs=("discharge_temp", "primary_flow"),
    settled_by="the trends discharge_temp, primary_flow and primary_temp (or the air handler's supply_temp)",
    where_trended=("discharge_temp",),
)
def coil_rise(scene: Scene) -> np.ndarray:
    """How much warmer the discharge is than it would be with the coil off [K]."""
    return scene.trend("discharge_temp") - scene.value("coil_off_temp")


@signal(
    "state", needs=("reheat_position", "discharge_temp"), settled_by="the trends reheat_position and discharge_temp"
)
def coil_works_soon(scene: Scene, *, working_rise: float, working_call: float, soon: float) -> np.ndarray:
    """Whether the coil gives real heat again before ``soon`` has passed; 0 where it does not, or nothing tells.

    Real heat is a rise of ``working_rise``, half an hour long, at a call of ``working_call`` or more; over the room
    where the entering air is not known.
    """
    rise, over_room = scene.value("coil_rise"), scene.trend("discharge_temp") - scene.trend("zone_temp")
    rise = np.where(np.isnan(rise), over_room, rise)
    works = (scene.trend("reheat_position") >= working_call) & (rise >= working_rise)
    works = since_change(~works, scene.first, scene.seconds) >= WORKS_FOR
    rows = np.flatnonzero(works)
    if not len(rows):
        return np.zeros(scene.size)
    at = np.searchsorted(rows, np.arange(scene.size))
    coming = rows[np.minimum(at, len(rows) - 1)]
    own = (at < len(rows)) & (scene.code[coming] == scene.code)
    return (own & (scene.seconds[coming] - scene.seconds <= soon)).astype(float)


# What the terminals of an air handler share -----------------------------------------------------------------------


@signal("temperature_difference", settled_by="discharge temperatures of the air handler's other terminals", whole=True)
def shared_rise(scene: Scene) -> np.ndarray:
    """Rise with the coil off that the terminals of the air handler share [K]: the median of what each shows.

    Gain along the ducts and an offset of the supply sensor; with series fans the warmth of their plenums as well, so
    that these are asked apart. Only terminals that rely on the air handler's supply temperature share anything. Unknown
    where fewer than four show their own, or where they share more than ducts and a sensor explain (4.5 K).
    """
    shared = agreed(scene, "rise with the coil off")[:, 0]
    return scene.per_row(np.where(np.abs(shared) <= MOST_SHARED, shared, np.nan))


@shown("rise with the coil off", least=LEAST_TERMINALS)
def _rise_shown(scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """The median rise of each terminal while its coil is off and it draws in nothing, unless it is a series unit."""
    tells = scene.trended("discharge_temp") & ~own_primary_temp(scene) & (scene.words("air_handler") != "")
    at = scene.part(tells)
    rise = np.full(scene.count, np.nan)
    if at.size:
        rise[tells] = _median_rise(at)
    return _labels(scene), rise


def _median_rise(scene: Scene) -> np.ndarray:
    rows = _settled(scene)
    rows = rows[(of_kind(scene, "series") | ~(scene.value("fan_on") > 0.5))[rows]]
    rise = scene.trend("discharge_temp")[rows] - _as_sensors_say(scene)[rows]
    known = rise == rise
    rows, rise = rows[known], rise[known]
    groups = Groups(scene.code[rows], scene.count)
    return np.where(groups.sum(scene.hours[rows]) >= LEAST_SHOWN, groups.median(rise), np.nan)


def _settled(scene: Scene) -> np.ndarray:
    """Rows at which the coil has been off and the air as it is for long enough, well into the occupied hours."""

    def work_out():
        hides = scene.per_row(scene.interval > SLOW_LOG) & ~(scene.value("reheat_modulates") > 0.5)
        at_rest = np.where(hides, SURELY_SHUT, SETTLED)
        off = (scene.value("reheat_shut_for") >= at_rest) | scene.per_row(~scene.has_reheat)
        moves = (scene.value("air_steady_for") >= SETTLED) & ~(scene.value("air_delivered") <= LEAST_AIR)
        return np.flatnonzero(off & moves & (scene.value("time_in_use") >= WARM_UP_OVER))

    return scene.once("coil off and settled", work_out)


def _labels(scene: Scene) -> np.ndarray:
    """Terminals of one air handler stand together; series units apart, and those with an inlet sensor of their own."""
    air_handler = scene.words("air_handler").astype(str)
    label = np.char.add(air_handler, np.where(scene.kinds == "series", "/series", "/primary air alone"))
    return np.where(own_primary_temp(scene) | (air_handler == ""), "", label)


@signal(
    "temperature_difference",
    needs=("discharge_temp", "primary_flow", "reheat_position"),
    settled_by="the trends discharge_temp, primary_flow and primary_temp (or the air handler's supply_temp)",
    where_trended=("discharge_temp", "reheat_position"),
)
def leak_rise(scene: Scene) -> np.ndarray:
    """How much warmer the discharge was than with the coil off, while it was shut [K]: the median of the day.

    Over the time in which the coil had been shut and the air as it is for 20 minutes, from an hour after the occupied
    hours began. A leak is there all the time; what a log hides between two samples is not.
    """
    rows = _settled(scene)
    return daily_median(scene, scene.value("coil_rise")[rows], rows)


@signal(
    "temperature_difference",
    needs=("discharge_temp", "primary_flow", "reheat_position"),
    settled_by="the trends discharge_temp, primary_flow and primary_temp (or the air handler's supply_temp)",
    where_trended=("discharge_temp", "reheat_position"),
)
def heat_at_zero(scene: Scene) -> np.ndarray:
    """How much warmer the discharge was than with the coil off while no heat was called [K]: the median of the log.

    Over the same time as ``leak_rise``, an hour of it at the least: it tells of a coil on days without such time too.
    """
    rise, rows = scene.value("coil_rise"), _settled(scene)
    rows = rows[~np.isnan(rise[rows])]
    groups = Groups(scene.code[rows], scene.count)
    enough = groups.sum(scene.hours[rows]) >= LEAST_SHOWN
    return scene.per_row(np.where(enough, groups.median(rise[rows]), np.nan))


# How well it is known ---------------------------------------------------------------------------------------------


@signal("temperature_difference", needs=("primary_flow",), settled_by="the trends primary_temp and plenum_temp")
def coil_off_doubt(scene: Scene, *, duct_gain: float, plenum_above_zone: float) -> np.ndarray:
    """How far the discharge temperature expected with the coil off can be off [K].

    By the sensors, what stands in for a missing one (``duct_gain`` for the supply temperature of the air handler,
    ``plenum_above_zone`` for the zone's), what the air handler's terminals share, the flows, and the fan's heat.
    """
    primary, induced, fan = scene.value("primary_air"), scene.value("induced_air"), scene.value("fan_air")
    total = ducted_air(scene) + induced
    part = ratio(1.0, total, total > 0)
    spread = np.where(induced > 0, scene.value("induced_temp") - scene.value("primary_temp"), 0.0)
    return np.sqrt(
        np.square(primary * part * _primary_doubt(scene, duct_gain))
        + np.square(induced * part * _plenum_doubt(scene, plenum_above_zone))
        + np.square(fan * part * (fan_rise(scene) / 2))
        + np.square(inlet_air(scene) * part * INLET_AIR)
        + np.square(spread * _share_doubt(scene, primary, induced, part))
    )


def _primary_doubt(scene: Scene, duct_gain: float) -> np.ndarray:
    """Doubt of the entering primary air [K]: its own sensor's, or what the way from the air handler adds."""
    accuracy, shared = scene.site.accuracy, scene.value("shared_rise")
    along_the_duct = np.hypot(accuracy["supply_temp"].at_least, duct_gain)
    among_others = np.hypot(SPREAD_OF_SHARED, PART_OF_SHARED * shared)
    stand_in = np.where(np.isnan(shared), along_the_duct, among_others)
    return np.where(scene.per_row(own_primary_temp(scene)), accuracy["primary_temp"].at_least, stand_in)


def _plenum_doubt(scene: Scene, plenum_above_zone: float) -> np.ndarray:
    """Doubt of the induced air [K]: its own sensor's, or how far a plenum is from its zone or from other plenums."""
    accuracy = scene.site.accuracy
    alone = np.hypot(accuracy["zone_temp"].at_least, plenum_above_zone)
    # Series fans always draw in plenum air, so that what they share holds the plenum's warmth; parallel ones seldom do.
    among_others = np.hypot(accuracy["zone_temp"].at_least, min(plenum_above_zone, PLENUMS_APART))
    shared = of_kind(scene, "series") & ~np.isnan(scene.value("shared_rise"))
    stand_in = np.where(shared, among_others, alone)
    return np.where(scene.per_row(scene.trended("plenum_temp")), accuracy["plenum_temp"].at_least, stand_in)


def _share_doubt(scene: Scene, primary, induced, part) -> np.ndarray:
    """How far the share of primary air in the mixture can be off, by the flow sensor and the fan's balancing."""
    share, moves = primary * part, primary > 0
    of_primary = ratio(scene.site.accuracy["primary_flow"].of(primary), primary, moves)
    of_primary[~moves] = 0.0
    # A series fan moves the same air whatever the damper does; a parallel one adds to it.
    sensitivity = np.where(of_kind(scene, "series"), share, share * induced * part)
    return np.minimum(sensitivity * np.sqrt(np.square(of_primary) + FAN_BALANCING**2), 1.0)


# Without the entering air -----------------------------------------------------------------------------------------


@signal(
    "temperature_difference",
    needs=("discharge_temp", "zone_temp", "reheat_position"),
    settled_by="the trends discharge_temp and zone_temp and, with a fan, plenum_temp",
    where_trended=("discharge_temp", "zone_temp", "reheat_position"),
)
def rise_over_any_air(scene: Scene, *, plenum_above_zone: float) -> np.ndarray:
    """How much warmer the shut discharge was than the warmest air that can have entered [K]: the median of the day.

    That is the room's, the plenum's (``plenum_above_zone`` over the room's where its temperature is not trended and a
    fan may run), and the primary air's. Over the same time as ``leak_rise``, when no air handler warms up; where the
    primary air's temperature is not known, only in a room that is not below its heating setpoint.
    """
    zone, primary = scene.trend("zone_temp"), scene.value("primary_temp")
    may_induce = ~(scene.value("fan_on") < 0.5)
    plenum = np.where(np.isnan(scene.trend("plenum_temp")), zone + plenum_above_zone, scene.trend("plenum_temp"))
    warmest = np.fmax(np.where(may_induce, np.fmax(zone, plenum), zone), primary)
    warmest[np.isnan(zone) | (np.isnan(primary) & (zone < scene.value("heating_setpoint")))] = np.nan
    rows = _settled(scene)
    return daily_median(scene, (scene.trend("discharge_temp") - warmest)[rows], rows)


@signal(
    "temperature_difference",
    needs=("discharge_temp", "plenum_temp"),
    settled_by="the trends discharge_temp, plenum_temp and primary_temp (or the air handler's supply_temp)",
    where_trended=("discharge_temp", "plenum_temp"),
)
def coil_rise_at_most(scene: Scene) -> np.ndarray:
    """How much warmer the discharge is than the coldest air that can have entered [K]: the coil's rise at the most.

    That is the plenum's or the primary air's, however much of each the fan moves; its own heat is in it. Unknown where
    one of the two is, and with a dedicated inlet, whose air may be colder.
    """
    coldest = np.minimum(scene.trend("plenum_temp"), scene.value("primary_temp"))
    coldest[scene.per_row(scene.has_outdoor_air_inlet)] = np.nan
    return scene.trend("discharge_temp") - coldest
