"""Which column of a schedule a heading stands for, by the concepts of its words.

The first rule that fits decides. A weak one rests on a single common word ("CFM", "MAX"), and gives way where the group
that the heading stands under says more.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from analyzer.quantities import find_unit
from analyzer.schedule.words import Heading, fold
from analyzer.site.model import SCHEDULE

# What is read beside the schedule's own columns: name -> dimension.
BESIDE = {
    "tag": "text",
    "type": "text",
    "static": "pressure",
    "outlets_flow": "flow",
    "outlet": "text",
    "coil_flow": "flow",
    "water_delta": "temperature_difference",
    "quantity": "number",
    "min_share": "number",
    "heating_share": "number",
    "tested_on": "text",
    "instrument": "text",
    "remarks": "text",
}
DIMENSIONS = {**SCHEDULE, **BESIDE}
# Columns that are known and hold nothing that is needed.
SKIPPED = "known, and nothing that a schedule needs"
DESIGN, FINAL, FOUND = "design", "final", "found"
_FLOW_WORDS = frozenset(
    [
        "AIRFLOW",
        "MAX",
        "MIN",
        "COOLING",
        "HEATING",
        "PRIMARY",
        "FAN",
        "OUTDOOR",
        "DEDICATED",
        "VENTILATION",
        "TOTAL_AIR",
        "INDUCED",
    ]
)
_SHARE_WORDS = frozenset(["PERCENT", "MIN", "MAX", "HEATING", "COOLING", "PRIMARY", "AIRFLOW"])
# Which of two figures they say, and not what it is.
_OF_REVISIONS = frozenset(["PREVIOUS", "REVISED"])
_TEMPERATURES = frozenset(["WATER_DELTA", "TEMP", "EAT", "LAT", "EWT", "LWT"])
_POWER = ("kW", "kBtu/h", "Btu/h", "W")
_WATER_ONLY = ("gpm", "L/min", "L/h")
_AIR_ONLY = ("cfm", "m3/h")
_LENGTH = ("in", "mm")


@dataclass(frozen=True)
class Meaning:
    """What a heading stands for.

    ``name`` is a column of the schedule, one of ``BESIDE``, "skip", or "" where it is not known.
    """

    name: str
    weak: bool = False


_UNKNOWN = Meaning("")
_SKIP = Meaning("skip")


def meaning_of(heading: Heading) -> Meaning:
    """Return what a heading stands for."""
    told, units = set(heading.concepts) - _OF_REVISIONS, set(heading.units)
    if told & _TEMPERATURES:
        told -= {"COEFFICIENT"}  # its K is kelvin
    for rule in (_aside, _identity, _electric, _balancing, _air_and_water, _coil, _size, _space, _names, _flow):
        found = rule(told, units)
        if found is not None:
            return found
    return _UNKNOWN


def stage_of(heading: Heading) -> str | None:
    """Return whether a heading says that its figures are design, final, or found before balancing."""
    found = {stage for word, stage in (("DESIGN", DESIGN), ("FINAL", FINAL), ("FOUND", FOUND)) if word in
             heading.concepts}  # fmt: skip
    return found.pop() if len(found) == 1 else None


def says_found_alone(text: str) -> bool:
    """Tell whether a heading says FOUND, and not AS FOUND: beside REQUIRED and a share of it that is the reading."""
    folded = fold(text)
    return bool(re.search(r"\bFOUND\b", folded)) and not re.search(r"\bAS FOUND\b|\bBEFORE\b|\bINITIAL\b", folded)


def stages_in(heading: Heading) -> list[str]:
    """Return the stages that a heading names, in their order: "before / after" is found and final."""
    stages = {"DESIGN": DESIGN, "FINAL": FINAL, "FOUND": FOUND}
    return list(dict.fromkeys(stages[word] for word in heading.concepts if word in stages))


def _flows(told: set[str], units: set[str]) -> bool:
    return "AIRFLOW" in told or any(find_unit(unit, "flow") for unit in units)


def _aside(told: set[str], units: set[str]) -> Meaning | None:
    if "REMARKS" in told:
        return Meaning("remarks")
    if "PERCENT" in told and told & {"MIN", "HEATING"} and told <= _SHARE_WORDS and not units:
        return Meaning("heating_share" if "HEATING" in told else "min_share")
    if told & {"RATE_EACH", "PERCENT", "DROP", "OUTLET_DUCT", "COOLING_LOAD"}:
        return _SKIP
    if "OTHER" in told:
        return _SKIP
    if "DRAWING" in told and not _flows(told, units):
        return Meaning("skip", weak=True)
    return None


def _identity(told: set[str], units: set[str]) -> Meaning | None:
    rest = told - {"NUMBER_OF"}
    if "QTY" in told and rest <= {"QTY", "TAG", "TYPE", "ROOM", "POWERED"} and not units:
        return Meaning("quantity")
    if "TAG" in told and not units and rest <= {"TAG", "PRIMARY", "POWERED", "FAN"}:
        return Meaning("tag")
    if "COIL_TYPE" in told or ("TYPE" in told and told & {"COIL", "WATER", "ELECTRIC", "HEATING"}):
        return Meaning("reheat")
    if "FAN_CONTROL" in told:
        return Meaning("fan_control")
    if "TYPE" in told:
        return Meaning("type")
    return None


def _electric(told: set[str], units: set[str]) -> Meaning | None:
    if "STAGES" in told and not units & set(_POWER):
        return Meaning("heater_stages")
    if units & set(_POWER):
        return None
    if "VOLTS" in told or "V" in units:
        return _SKIP if told & {"FAN", "POWERED"} else Meaning("heater_volts", weak=True)
    if "PHASE" in told:
        return _SKIP
    return None


def _balancing(told: set[str], units: set[str]) -> Meaning | None:
    if "COEFFICIENT" in told:
        return Meaning("flow_coefficient")
    if "INSTRUMENT" in told:
        return Meaning("instrument")
    if "DATE" in told:
        return Meaning("tested_on")
    if "OUTLET_SUM" in told:
        return Meaning("outlets_flow")
    if "OUTLETS" in told:
        if "NUMBER_OF" in told or not (_flows(told, units) or told & {"DESIGN", "FINAL", "FOUND", "TOTAL_AIR"}):
            return _SKIP if told & {"SIZE", "AREA"} else Meaning("outlet")
        return Meaning("outlets_flow")
    return None


def _air_and_water(told: set[str], units: set[str]) -> Meaning | None:
    for name, column in (
        ("EWT", "entering_water_temp"), ("LWT", "leaving_water_temp"),
        ("EAT", "entering_air_temp"), ("LAT", "leaving_air_temp"),
    ):  # fmt: skip
        if name in told:
            return _SKIP if "COOLING" in told and "HEATING" not in told else Meaning(column)
    if "WATER_DELTA" in told:
        return Meaning("water_delta")
    ends = told & {"ENTERING", "LEAVING"}
    if len(ends) == 1 and not _flows(told - {"AIRFLOW"}, units):
        side = ends.pop().lower()
        if "WATER" in told and "AIRFLOW" not in told:
            return Meaning(f"{side}_water_temp")
        if told & {"AIRFLOW", "TEMP"} or units & {"degF", "degC"}:
            return Meaning(f"{side}_air_temp", weak="AIRFLOW" not in told)
    if "EXTERNAL_STATIC" in told or ("STATIC" in told and told & {"FAN", "TOTAL_AIR"}):
        return Meaning("external_static")
    if "STATIC" in told:
        return Meaning("static", weak=True)
    if told & {"ENTERING", "LEAVING", "TEMP"} or units & {"degF", "degC"}:
        return _UNKNOWN
    if units & set(_WATER_ONLY) or ("WATER" in told and _flows(told, units) and not units & set(_AIR_ONLY)):
        return Meaning("water_flow")
    return None


def _coil(told: set[str], units: set[str]) -> Meaning | None:
    if "CAPACITY" in told or units & set(_POWER):
        if told & {"COOLING", "FAN", "POWERED"} or _flows(told, units):
            return _UNKNOWN if _flows(told, units) else _SKIP
        return Meaning("reheat_capacity")
    return None


def _size(told: set[str], units: set[str]) -> Meaning | None:
    if _flows(told, units) or told & {"MAX", "MIN"}:
        return None
    if "INLET" in told and (told & {"SIZE"} or units & set(_LENGTH) or told <= {"INLET", "PRIMARY", "TAG"}):
        return Meaning("inlet_diameter")
    if "SIZE" in told and not told & {"COIL", "FAN", "WATER", "TOTAL_AIR"}:
        return Meaning("inlet_diameter", weak=True)
    if "SIZE" in told:
        return _SKIP
    return None


def _space(told: set[str], units: set[str]) -> Meaning | None:
    if "ROOM_VOLUME" in told and units & {"ft3", "m3"}:
        return Meaning("zone_volume")
    if "ROOM_VOLUME" in told:
        return Meaning("primary_max", weak=True) if _flows(told, units) else None
    if _flows(told, units):
        return None
    if "PEOPLE" in told:
        return Meaning("people")
    if "AREA" in told or units & {"ft2", "m2"}:
        return Meaning("area", weak=not units)
    return Meaning("zone") if "BARE_AREA" in told and not units and not told & _FLOW_WORDS else None


def _names(told: set[str], units: set[str]) -> Meaning | None:
    if units or told & _FLOW_WORDS - {"PRIMARY", "VENTILATION", "FAN"}:
        return None
    for concept, column in (
        ("OPEN_ZONE", "open_zone"), ("DISTRIBUTION", "distribution"), ("FLOOR", "floor"),
        ("HANDLER", "air_handler"), ("ROOM", "zone"),
    ):  # fmt: skip
        if concept in told:
            return Meaning(column)
    return None


def _flow(told: set[str], units: set[str]) -> Meaning | None:
    flows = _flows(told, units)
    if not flows and (units or not told & _FLOW_WORDS):
        return Meaning("reheat", weak=True) if not units and told & {"COIL", "ELECTRIC", "WATER"} else None
    if "INDUCED" in told:
        return _SKIP
    if "DEDICATED" in told:
        return Meaning("outdoor_air_inlet_min")
    if "OUTDOOR" in told:
        return Meaning("outdoor_air_min")
    if "VENTILATION" in told:
        return Meaning("ventilation_min")
    if "FAN" in told or "POWERED" in told:
        return _SKIP if "MIN" in told else Meaning("fan_flow", weak="FAN" not in told)
    heating, cooling = bool(told & {"HEATING", "COIL", "ELECTRIC", "WATER"}), "COOLING" in told
    if heating and cooling:
        return Meaning("primary_min", weak=True) if "MIN" in told else _UNKNOWN
    if "MAX" in told and "MIN" in told:
        return _UNKNOWN
    if heating and "HEATING" not in told and "MIN" not in told:
        return Meaning("coil_flow", weak=True)
    if heating:
        return _SKIP if "MIN" in told else Meaning("heating_primary", weak=not flows)
    if "MIN" in told:
        return Meaning("primary_min", weak=not told & {"PRIMARY", "COOLING"})
    if "TOTAL_AIR" in told and not told & {"MAX", "COOLING", "PRIMARY"}:
        return _UNKNOWN
    strong = "MAX" in told and told & {"PRIMARY", "COOLING"}
    return Meaning("primary_max", weak=not strong)
