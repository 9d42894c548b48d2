"""The trade's words in point names, as data: to teach the reader a new abbreviation, add it to a row here.

A point name is cut into words; each word stands for a concept; a quantity is a set of concepts. Order and separators
do not matter, so ``ZN-T``, ``zone temp``, ``RoomTemperature`` and ``TEMP.SPACE`` are one thing.
"""

from __future__ import annotations

from dataclasses import dataclass

# concept: the words that stand for it. A word may stand for several concepts at once (``dat`` is DISCHARGE and TEMP).
WORDS = {
    "ZONE": "zone zn znt zt space spc spce room rm rmt spacetemp ztemp zntemp zonetemp roomtemp",
    "TEMP": "temp temperature tmp tmpr tempr t znt zt rmt dat sat lat eat pat rat mat oat dt spacetemp ztemp zntemp zonetemp roomtemp",
    "SETPOINT": "setpoint setpt stpt stp setp spt sp setpnt csp hsp clgsp htgsp coolsp heatsp flowsp effclgsp effhtgsp",
    "COOL": "cooling cool clg clng csp clgsp coolsp effclgsp ccl",
    "HEAT": "heating heat htg htng hsp htgsp heatsp effhtgsp",
    "FLOW": "flow airflow airflo flo flw afl cfm volume vol lps flowsp vfr airvol saf daf paf",
    "PRIMARY": "primary pri prim prm pat paf",
    "INLET": "inlet inl",
    "ENTERING": "entering ent eat",
    "DISCHARGE": "discharge disch dis dsch dschg dsg da dat leaving lvg lat daf",
    "SUPPLY": "supply sup sply sa sat sf saf",
    "DELIVERED": "delivered total",
    "RETURN": "return ret ra rat",
    "MIXED": "mixed mix ma mat",
    "PLENUM": "plenum plen plnm pln induced",
    "OUTDOOR": "outdoor outside oa oat osa osat outdoorair outsideair fresh oad ventilation vent",
    "FAN": "fan fn sf blower",
    "STATUS": "status stat sts stts proof prf proving running run feedbk",
    "COMMAND": "command cmd comm enable enabled ena start strt ss startstop stst",
    "SPEED": "speed spd vfd vsd",
    "STARTS": "starts",
    "DAMPER": "damper dmpr dmp dpr dmper dmpp dampr",
    "POSITION": "position pos posn posit pstn fbk feedback output out signal sig open opening percent pct modulation loadsignal",
    "REHEAT": "reheat rht rht reht rhc rhv rhtvlv",
    "VALVE": "valve vlv vlve vv hwv rhv rhtvlv hhwv",
    "HOTWATER": "hw hhw hotwater hwv hhwv",
    "ELECTRIC": "electric elec elc scr ehc eh ehtr",
    "HEATER": "heater htr ehc ehtr coil",
    "STAGE": "stage stg",
    "OCCUPANCY": "occupancy occupied occ occup occmode occsts occupncy",
    "MODE": "mode",
    "CO2": "co2 carbondioxide",
    "STATIC": "static stat.press dsp stpr",
    "PRESSURE": "pressure press prs pres prss dsp stpr",
    "DUCT": "duct dct dsp",
    "FRACTION": "fraction ratio share frac",
    "AIR": "air",
    "ACTUAL": "actual act current curr measured meas effective eff active actv sensor sens snsr sensed reading value val present pv av ai ao bi bo bv trend log average avg input term unit",
    "MINIMUM": "minimum min mn",
    "MAXIMUM": "maximum max mx",
    "UNOCCUPIED": "unoccupied unocc unoc unocp night setback setup",
    "STANDBY": "standby stby",
    "LIMIT": "limit lim design high hi low lo alarm alm offset deadband db bias cal calibration coefficient factor gain override ovrd ovr adjust adj slider timer demand request req loop pid integral",
    "HUMIDITY": "humidity hum rh",
    "ENERGY": "kw kwh power energy amps current.draw voltage",
    "FILTER": "filter",
    "DELTA": "delta differential diff error deviation",
    "STATE": "state",
    "RADIANT": "radiant baseboard perimeter fintube fin finned",
    "WATER": "water chw chilled",
    "LIGHT": "light lights lighting window door contact motion pir",
}  # fmt: skip

# Words that are written apart but mean one: (words) -> the word above that they stand for.
PHRASES = {
    ("set", "point"): "setpoint",
    ("set", "pt"): "setpoint",
    ("s", "p"): "setpoint",
    ("air", "flow"): "flow",
    ("start", "stop"): "ss",
    ("s", "s"): "ss",
    ("co", "2"): "co2",
    ("hot", "water"): "hotwater",
    ("out", "side"): "outside",
    ("out", "door"): "outdoor",
    ("re", "heat"): "reheat",
    ("un", "occupied"): "unoccupied",
    ("un", "occ"): "unoccupied",
    ("fin", "tube"): "fintube",
    ("static", "pressure"): "stpr",
    ("static", "press"): "stpr",
    ("fan", "c"): "fancommand",
    ("fan", "s"): "fanstatus",
    ("fan", "sp"): "fanspeed",
    ("duct", "sp"): "dsp",
    ("t", "stat"): "zone",
    ("rh", "vlv"): "rhtvlv",
    ("rh", "valve"): "rhtvlv",
    ("rh", "v"): "rhtvlv",
    ("rh", "coil"): "rht",
}
# Words that only phrases make.
COMPOUNDS = {"fancommand": ("FAN", "COMMAND"), "fanstatus": ("FAN", "STATUS"), "fanspeed": ("FAN", "SPEED")}

# Words that name a piece of equipment and are followed by its number.
TERMINAL_EQUIPMENT = [
    "vav",
    "vavr",
    "vavrh",
    "vvt",
    "fpb",
    "fpv",
    "fpvav",
    "fptu",
    "fpt",
    "fpu",
    "pfp",
    "pfpb",
    "pfpu",
    "sfp",
    "sfpb",
    "sfpu",
    "fp",
    "tu",
    "tb",
    "atu",
    "box",
    "term",
    "terminal",
    "cav",
    "rhb",
    "sdv",
    "sd",
    "ufp",
    "uft",
    "utu",
    "zone",
    "zn",
    "room",
    "rm",
    "space",
    "unit",
]
AIR_HANDLER_EQUIPMENT = ["ahu", "ah", "rtu", "doas", "mau", "oau", "ac", "hvac", "acu", "airhandler", "asu", "dou"]
# Of these, the ones that are also words of a quantity name: a tag only where a number follows.
WEAK_EQUIPMENT = {"zone", "zn", "room", "rm", "space", "unit", "term", "box", "ac", "sd", "fp"}


@dataclass(frozen=True)
class Meaning:
    """One way of naming a quantity.

    ``needs`` are the concepts that must be there, ``may`` those that may be there too. ``sure`` is False where the
    name is usual but could mean another thing.
    """

    quantity: str
    needs: frozenset[str]
    may: frozenset[str]
    sure: bool = True


_ALWAYS = {"ACTUAL", "AIR"}


def _means(quantity: str, needs: str, may: str = "", *, sure: bool = True) -> Meaning:
    return Meaning(quantity, frozenset(needs.split()), frozenset(may.split()) | _ALWAYS, sure)


TERMINAL_MEANINGS = (
    _means("zone_temp", "ZONE TEMP"),
    _means("zone_temp", "TEMP", "STATUS", sure=False),
    _means("zone_temp", "ZONE", sure=False),
    _means("heating_setpoint", "HEAT SETPOINT", "ZONE TEMP OCCUPANCY"),
    _means("cooling_setpoint", "COOL SETPOINT", "ZONE TEMP OCCUPANCY"),
    _means("primary_flow", "PRIMARY FLOW", "INLET"),
    _means("primary_flow", "INLET FLOW"),
    _means("primary_flow", "FLOW", "ZONE"),
    _means("primary_flow_setpoint", "FLOW SETPOINT", "PRIMARY INLET ZONE"),
    _means("damper_position", "DAMPER", "POSITION PRIMARY INLET COMMAND STATUS ZONE"),
    _means("fan_status", "FAN STATUS", "STATE ZONE"),
    _means("fan_status", "FAN", "STATE", sure=False),
    _means("fan_command", "FAN COMMAND", "STATE OCCUPANCY"),
    _means("fan_speed", "FAN SPEED", "COMMAND POSITION STATUS"),
    _means("fan_speed", "FAN POSITION"),
    _means("fan_starts", "FAN STARTS"),
    _means("discharge_flow", "DISCHARGE FLOW"),
    _means("discharge_flow", "SUPPLY FLOW", sure=False),
    _means("discharge_flow", "FAN FLOW"),
    _means("discharge_flow", "DELIVERED FLOW", "ZONE DISCHARGE SUPPLY FAN"),
    _means("reheat_position", "REHEAT", "VALVE POSITION COMMAND HOTWATER HEATER ELECTRIC STAGE STATUS HEAT"),
    _means("reheat_position", "HEAT VALVE", "POSITION COMMAND HOTWATER HEATER STATUS"),
    _means("reheat_position", "HOTWATER VALVE", "POSITION COMMAND STATUS HEATER"),
    _means("reheat_position", "VALVE", "POSITION COMMAND STATUS", sure=False),
    _means("reheat_position", "HEATER", "POSITION COMMAND STATUS STAGE ELECTRIC HOTWATER HEAT"),
    _means("reheat_position", "ELECTRIC HEAT", "POSITION COMMAND STATUS STAGE HEATER"),
    _means("reheat_position", "ELECTRIC", "POSITION COMMAND STATUS STAGE", sure=False),
    _means("reheat_position", "HEAT POSITION", "COMMAND STAGE"),
    _means("reheat_position", "HEAT STAGE", "COMMAND STATUS"),
    _means("reheat_position", "HEAT", "COMMAND STATUS", sure=False),
    _means("discharge_temp", "DISCHARGE TEMP"),
    _means("discharge_temp", "SUPPLY TEMP"),
    _means("primary_temp", "PRIMARY TEMP", "SUPPLY INLET ENTERING"),
    _means("primary_temp", "ENTERING TEMP", "SUPPLY INLET"),
    _means("primary_temp", "INLET TEMP"),
    _means("plenum_temp", "PLENUM TEMP", "RETURN"),
    _means("plenum_temp", "RETURN TEMP", sure=False),
    _means("outdoor_air_flow", "OUTDOOR FLOW", "INLET"),
    _means("occupied", "OCCUPANCY", "MODE STATUS STATE COMMAND ZONE"),
    _means("co2", "CO2", "ZONE"),
)
AIR_HANDLER_MEANINGS = (
    _means("supply_temp", "SUPPLY TEMP", "DUCT"),
    _means("supply_temp", "DISCHARGE TEMP", "DUCT"),
    _means("supply_flow", "SUPPLY FLOW", "FAN DELIVERED"),
    _means("supply_flow", "DISCHARGE FLOW", "FAN DELIVERED"),
    _means("supply_flow", "FLOW", "FAN DELIVERED", sure=False),
    _means("duct_static_pressure", "STATIC PRESSURE", "DUCT SUPPLY DISCHARGE"),
    _means("duct_static_pressure", "DUCT PRESSURE", "SUPPLY DISCHARGE STATIC"),
    _means("duct_static_pressure", "DUCT STATIC", "SUPPLY DISCHARGE"),
    _means("duct_static_pressure", "STATIC", sure=False),
    _means("supply_fan_status", "SUPPLY FAN STATUS", "STATE"),
    _means("supply_fan_status", "FAN STATUS", "STATE"),
    _means("supply_fan_status", "SUPPLY FAN", sure=False),
    _means("supply_fan_status", "FAN", sure=False),
    _means("supply_fan_status", "SUPPLY FAN COMMAND", sure=False),
    _means("outdoor_temp", "OUTDOOR TEMP"),
    _means("outdoor_air_fraction", "OUTDOOR FRACTION"),
    _means("outdoor_air_fraction", "OUTDOOR POSITION", sure=False),
)


def _by_word() -> dict[str, frozenset[str]]:
    known: dict[str, set[str]] = {}
    for concept, words in WORDS.items():
        for word in words.split():
            known.setdefault(word, set()).add(concept)
    for word, concepts in COMPOUNDS.items():
        known.setdefault(word, set()).update(concepts)
    return {word: frozenset(concepts) for word, concepts in known.items()}


BY_WORD = _by_word()
