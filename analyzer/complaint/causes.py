"""The likely causes of a complaint, weighed by what the trends say of that time."""

from __future__ import annotations

import math

from analyzer.complaint.case import DECISIVE, STRONG, WEAK, Case, no, over
from analyzer.complaint.facts import A_LITTLE, Facts

# Judgement, each: a call for heat worth the name, a full one, and a shut valve [%]; a share that falls well short; air
# far colder than the room, and a supply that is off what it usually is [K]; a change within an hour that is felt [K].
CALL, FULL, SHUT = 20.0, 90.0, 5.0
SHORT = 0.85
MUCH_COLDER, OFF_USUAL, LITTLE_RISE, FELT = 8.0, 2.0, 3.0, 0.3


def likely_causes(facts: Facts, feels: str) -> tuple[list[Case], list[Case]]:
    """Weigh the causes of a zone that feels 'cold', 'warm', or either.

    Returns
    -------
    tuple of list of Case
        Those that more speaks for than against, the likeliest first; and the others, the nearest first.
    """
    cold = [_not_called, _coil_gives_little, _fan_missing, _too_much_cold_air, _too_little_heat, _draught, _cold_walls]
    warm = [_air_short, _cooling_not_called, _at_its_maximum, _heats_while_warm, _sun]
    either = [_air_handler_off, _supply_off, _setpoints, _recovering, _sensor]
    causes = {"cold": [*cold, *either], "warm": [*warm, *either]}.get(feels, [*cold, *warm, *either])
    cases = [case for cause in causes if (case := cause(facts, feels))]
    cases.sort(key=lambda case: -case.weight)
    likely = [case for case in cases if case.weight > 0 and not case.ruled_out]
    return likely, [case for case in cases if case not in likely]


# Too cold ------------------------------------------------------------------------------------------------------------


def _not_called(f: Facts, feels: str) -> Case | None:
    if not f.has_reheat:
        return None
    case = Case(f, "Heat was not called for, though the zone was under its heating setpoint")
    called = over(f.at("reheat_position"), CALL)
    position = f.say("reheat_position")
    case.sign(DECISIVE, over(f.below, A_LITTLE), _below(f), _not_below(f), "zone_temp and heating_setpoint")
    case.sign(
        DECISIVE, no(called), f"Reheat output was {position}.", f"Reheat was called at {position}.", "reheat_position"
    )
    # Common practice: with its fan off, a fan-powered terminal's heat is locked out.
    fan_off = f.kind != "single-duct" and over(f.at("fan_on"), 0.5) is False
    return case.sign(DECISIVE - WEAK, not fan_off, "", "Its fan was off, which locks the heat out.")


def _coil_gives_little(f: Facts, feels: str) -> Case | None:
    if not f.has_reheat:
        return None
    case = Case(f, "The coil gives little of the heat that is called for", ("reheat-not-delivering",))
    called = over(f.at("reheat_position"), CALL)
    share, rise = f.at("coil_heat_share"), f.at("coil_rise")
    case.sign(
        STRONG,
        called,
        f"Reheat was called at {f.say('reheat_position')}.",
        f"Reheat was barely called ({f.say('reheat_position')}).",
        "reheat_position",
    )
    if math.isnan(share):
        return case.sign(
            STRONG,
            no(over(rise, LITTLE_RISE)) if called else None,
            f"The discharge was only {f.say_difference(rise)} warmer than with the coil off.",
            f"The discharge was {f.say_difference(rise)} warmer than with the coil off.",
            "discharge_temp, primary_flow and primary_temp",
        )
    percent = f"{share:.0%} of what its capacity and the call promise"
    return case.sign(
        STRONG, no(over(share, 0.5)) if called else None, f"The coil gave {percent}.", f"The coil gave {percent}."
    )


def _fan_missing(f: Facts, feels: str) -> Case | None:
    if f.kind not in ("series", "parallel"):
        return None
    case = Case(
        f,
        "The terminal's fan does not help to heat",
        ("parallel-fan-missing-in-heating", "series-fan-off-when-occupied", "fan-short-of-flow"),
    )
    running = over(f.at("fan_on"), 0.5)
    # A series fan has to run while people are in, a parallel one while heat is called for or the zone is short of it.
    called = True in (over(f.at("reheat_position"), CALL), over(f.below, A_LITTLE))
    wanted = f.occupied if f.kind == "series" else called
    why = "in occupied hours" if f.kind == "series" else "though the zone asked for heat"
    case.sign(STRONG, no(running) if wanted else None, f"The fan was off {why}.", "The fan ran.")
    if running is None:
        case.unknown.append("fan_status")
    primary, with_fan = f.at("heat_by_primary_alone"), f.at("heat_with_fan")
    told = f"Primary air alone can bring {_power(f, primary)}, with the fan {_power(f, with_fan)}."
    return case.sign(WEAK, over(with_fan, 1.5 * primary), told, "")


def _too_much_cold_air(f: Facts, feels: str) -> Case | None:
    case = Case(
        f,
        "More cold primary air than heating should take",
        ("reheat-with-high-primary", "primary-above-maximum", "flow-with-closed-damper"),
    )
    flow, most = f.at("primary_flow"), f.at("heating_maximum")
    case.sign(
        STRONG,
        over(flow, most * 1.15),
        f"Primary flow was {f.say('primary_flow')}, above the {f.say('heating_maximum')} of heating.",
        f"Primary flow was {f.say('primary_flow')}, within the {f.say('heating_maximum')} of heating.",
        "primary_flow, and heating_primary in the schedule",
    )
    # Nearer its cooling setpoint than its heating setpoint the zone is given air to cool it.
    case.sign(DECISIVE, no(over(f.above, f.below)), "", f"The zone was nearer its cooling setpoint ({_zone(f)}).")
    colder = f.at("zone_temp") - f.at("primary_temp")
    return case.sign(
        WEAK,
        over(colder, 3.0),
        f"It entered {f.say_difference(colder)} colder than the zone.",
        "It was not much colder than the zone.",
        "primary_temp, or the air handler's supply_temp",
    )


def _too_little_heat(f: Facts, feels: str) -> Case | None:
    if not f.has_reheat:
        return None
    case = Case(f, "The zone needs more heat than the terminal can give", ("heating-capacity-short",))
    full = over(f.at("reheat_position"), FULL)
    needed, doubt, given = f.at("heat_needed"), f.at("heat_needed_doubt"), f.at("heat_delivered")
    case.sign(
        DECISIVE,
        full,
        f"Reheat output was {f.say('reheat_position')}, all it has.",
        f"Reheat output was {f.say('reheat_position')}: it had more to give.",
        "reheat_position",
    )
    case.sign(STRONG, over(f.below, A_LITTLE), _below(f), _not_below(f), "zone_temp and heating_setpoint")
    told = f"It got {_power(f, given)}; it seems to need {_power(f, needed)}, ± {_power(f, doubt)}."
    return case.sign(STRONG, over(needed - doubt, given), told, "", "discharge_temp and primary_flow")


def _draught(f: Facts, feels: str) -> Case | None:
    if feels != "cold":
        return None
    case = Case(f, "Cold air falls on people: a draught at a comfortable temperature")
    colder = f.at("zone_temp") - f.at("discharge_temp")
    inside = no(over(f.comfort.low, f.at("zone_temp")))
    case.sign(
        STRONG,
        over(colder, MUCH_COLDER),
        f"The air came in {f.say_difference(colder)} colder than the room.",
        "The air that came in was not much colder than the room.",
        "discharge_temp",
    )
    return case.sign(
        WEAK,
        inside,
        f"The zone's own temperature is in the comfort range ({_zone(f)}).",
        "The zone is cold all over, and not only where the air falls.",
    )


def _cold_walls(f: Facts, feels: str) -> Case | None:
    if feels != "cold":
        return None
    case = Case(f, "Cold windows, walls or floor: people lose heat to them while the air is warm enough")
    outdoor = f.at("air handler outdoor_temp")
    inside = no(over(f.comfort.low, f.at("zone_temp")))
    case.sign(WEAK, inside, f"The air is in the comfort range ({_zone(f)}).", "The air itself is too cold.")
    return case.sign(
        WEAK,
        no(over(outdoor, 5.0)),
        f"It was {f.say('air handler outdoor_temp')} outside.",
        f"It was not cold outside ({f.say('air handler outdoor_temp')}).",
        "outdoor_temp",
    )


# Too warm ------------------------------------------------------------------------------------------------------------


def _air_short(f: Facts, feels: str) -> Case | None:
    case = Case(
        f,
        "Too little cooling air reaches the zone",
        ("primary-below-setpoint", "starved-terminal", "damper-not-moving-air", "flow-sensor-drift"),
    )
    flow, setpoint = f.at("primary_flow"), f.at("primary_flow_setpoint")
    case.sign(
        STRONG,
        no(over(flow, SHORT * setpoint)),
        f"Primary flow was {f.say('primary_flow')} of {f.say('primary_flow_setpoint')} called for.",
        f"Primary flow was at its setpoint ({f.say('primary_flow')} of {f.say('primary_flow_setpoint')}).",
        "primary_flow and primary_flow_setpoint",
    )
    return case.sign(WEAK, over(f.above, A_LITTLE), _above(f), _not_above(f), "cooling_setpoint")


def _cooling_not_called(f: Facts, feels: str) -> Case | None:
    case = Case(f, "Cooling was not called for, though the zone was over its cooling setpoint")
    flow, least, most = f.at("primary_flow_setpoint"), f.at("primary_min"), f.at("primary_max")
    case.sign(DECISIVE, over(f.above, A_LITTLE), _above(f), _not_above(f), "zone_temp and cooling_setpoint")
    return case.sign(
        STRONG,
        no(over(flow, least + 0.1 * (most - least))),
        f"The flow setpoint stayed near its minimum ({f.say('primary_flow_setpoint')}).",
        f"The flow setpoint was above its minimum ({f.say('primary_flow_setpoint')}).",
        "primary_flow_setpoint",
    )


def _at_its_maximum(f: Facts, feels: str) -> Case | None:
    case = Case(f, "The load is more than the terminal's maximum airflow can carry")
    flow, most = f.at("primary_flow"), f.at("primary_max")
    case.sign(
        STRONG,
        over(flow, 0.95 * most),
        f"Primary flow was at its maximum ({f.say('primary_flow')}).",
        f"Primary flow was {f.say('primary_flow')}, its maximum {f.say('primary_max')}.",
        "primary_flow, and primary_max in the schedule",
    )
    return case.sign(STRONG, over(f.above, A_LITTLE), _above(f), _not_above(f), "cooling_setpoint")


def _heats_while_warm(f: Facts, feels: str) -> Case | None:
    if not f.has_reheat:
        return None
    case = Case(
        f,
        "The terminal heats a zone that is warm already",
        ("reheat-during-cooling", "reheat-leaking-by", "parallel-fan-on-in-cooling"),
    )
    is_open = over(f.at("reheat_position"), SHUT)
    case.sign(
        STRONG,
        is_open,
        f"Reheat output was {f.say('reheat_position')}.",
        f"Reheat was shut ({f.say('reheat_position')}).",
        "reheat_position",
    )
    rise, doubt = f.at("coil_rise"), f.at("coil_off_doubt")
    return case.sign(
        WEAK,
        over(rise, max(doubt, 2.0)) if is_open is False else None,
        f"The discharge was {f.say_difference(rise)} warmer than with the coil off.",
        "",
        "" if is_open else "discharge_temp and primary_temp",
    )


def _sun(f: Facts, feels: str) -> Case | None:
    if feels != "warm":
        return None
    case = Case(f, "Sun or equipment near people, while the air is not too warm")
    inside = no(over(f.at("zone_temp"), f.comfort.high))
    return case.sign(WEAK, inside, f"The air is in the comfort range ({_zone(f)}).", "The air itself is too warm.")


# Either --------------------------------------------------------------------------------------------------------------


def _air_handler_off(f: Facts, feels: str) -> Case | None:
    case = Case(f, "The air handler was off in occupied hours")
    running = over(f.at("air handler supply_fan_status"), 0.5)
    case.sign(
        DECISIVE, no(running), "Its supply fan was off.", "Its supply fan ran.", "the air handler's supply_fan_status"
    )
    return case.sign(STRONG, f.occupied, "", "The zone was unoccupied by its schedule.")


def _supply_off(f: Facts, feels: str) -> Case | None:
    case = Case(f, "The air handler's supply air was not what it usually is", ("air-handler-common-cause",))
    off = f.at("air handler supply_temp") - f.usual("air handler supply_temp")
    off = -off if feels == "cold" else off if feels == "warm" else abs(off)
    usual = f.say("air handler supply_temp", f.usual("air handler supply_temp"))
    told = f"Supply air was {f.say('air handler supply_temp')}, median of its occupied hours {usual}."
    case.sign(STRONG, over(off, OFF_USUAL), told, told, "the air handler's supply_temp")
    same, all_ = alike(f, feels)
    told = f"{same} of {all_} neighbors were off the same way."
    few = f"Only {told}" if same else f"None of the {all_} neighbors was off the same way."
    return case.sign(STRONG, same * 2 >= all_ if all_ else None, told, few, "neighbors on the same air handler")


def alike(f: Facts, feels: str) -> tuple[int, int]:
    """How many of the neighbours were out of their setpoints the same way, and how many there are."""
    off = []
    for tag in f.neighbour_tags:
        zone = f.at("zone_temp", tag)
        under, above = f.at("heating_setpoint", tag) - zone, zone - f.at("cooling_setpoint", tag)
        off.append(max({"cold": [under], "warm": [above]}.get(feels, [under, above])))
    known = [value for value in off if not math.isnan(value)]
    return sum(value > A_LITTLE for value in known), len(known)


def _setpoints(f: Facts, feels: str) -> Case | None:
    case = Case(f, "The setpoints were not those of people at work: set back, or moved", ("setpoint-out-of-policy",))
    heating, cooling = f.at("heating_setpoint"), f.at("cooling_setpoint")
    case.sign(
        STRONG,
        no(f.occupied),
        "The terminal was in its unoccupied hours.",
        "The terminal was in its occupied hours.",
        "occupied, or occupied hours in the site file",
    )
    if not feels:
        return case
    off = over(f.comfort.low, heating) if feels == "cold" else over(cooling, f.comfort.high)
    told = f"heating setpoint {f.say('heating_setpoint')}, cooling setpoint {f.say('cooling_setpoint')}"
    return case.sign(
        STRONG,
        off,
        f"It may drift out of the comfort range before it calls: {told}.",
        f"It calls within the comfort range: {told}.",
        "heating_setpoint and cooling_setpoint",
    )


def _recovering(f: Facts, feels: str) -> Case | None:
    case = Case(f, "The zone was still on its way back from a setback")
    since, change = f.at("setpoint_steady_for") / 3600, f.at("zone_change_in_hour")
    known = not math.isnan(f.at("heating_setpoint"))
    case.sign(
        STRONG,
        no(over(since, 3.0)) if known else None,
        f"The heating setpoint had moved {since:.1f} h before.",
        f"The setpoints had stood for {since:.0f} h.",
        "heating_setpoint",
    )
    toward = over(change if feels == "cold" else -change, FELT) if feels else over(abs(change), FELT)
    way = "rose" if change > 0 else "fell"
    return case.sign(
        WEAK,
        toward,
        f"The zone {way} by {f.say_difference(change)} within the hour.",
        "The zone was not on its way.",
        "zone_temp",
    )


def _sensor(f: Facts, feels: str) -> Case | None:
    case = Case(
        f,
        "The zone sensor does not feel what people feel",
        ("sensor-flatlined", "sensor-implausible", "neighbours-fighting"),
    )
    mates = [
        tag
        for tag in f.neighbour_tags
        if f.schedule.get("open_zone") and f.review.schedule(tag).get("open_zone") == f.schedule["open_zone"]
    ]
    apart = max((abs(f.at("zone_temp", tag) - f.at("zone_temp")) for tag in mates), default=math.nan)
    case.sign(
        STRONG,
        over(apart, 2.0),
        f"A neighbour in the same open room reads {f.say_difference(apart)} away.",
        "Neighbours in the same open room read much the same." if mates else "",
    )
    return case.sign(
        WEAK,
        f.feels != feels if feels else None,
        f"The reading does not show what was felt ({_zone(f)}).",
        f"The reading shows what was felt ({_zone(f)}).",
    )


def _zone(f: Facts) -> str:
    return f"zone {f.say('zone_temp')}"


def _below(f: Facts) -> str:
    return f"The zone was {f.say_difference(f.below)} under its heating setpoint ({f.say('zone_temp')})."


def _not_below(f: Facts) -> str:
    return f"The zone was not under its heating setpoint ({_zone(f)})."


def _not_above(f: Facts) -> str:
    return f"The zone was not over its cooling setpoint ({_zone(f)})."


def _above(f: Facts) -> str:
    return f"The zone was {f.say_difference(f.above)} over its cooling setpoint ({f.say('zone_temp')})."


def _power(f: Facts, watts: float) -> str:
    return f.say("heat_delivered", watts)
