"""What words say of a terminal: series, parallel or single-duct, its sort of reheat, its air handler, its floor."""

from __future__ import annotations

import re

from analyzer.schedule.words import fold


def _any(*patterns: str) -> str:
    return "|".join(patterns)


_KINDS = {
    "series": _any(
        r"\bSERIES\b",
        r"\bSFP[BTU]?U?\b",
        r"\bFPB? ?S\b",
        r"\bSFB\b",
        r"\bSFT[BU]?\b",
        r"\bFTU ?S\b",
        r"\bFPTU ?S\b",
        r"\bCONSTANT FAN\b",
    ),
    "parallel": _any(
        r"\bPARALLEL\b",
        r"\bPFP[BTU]?U?\b",
        r"\bFPB? ?P\b",
        r"\bPFB\b",
        r"\bPFT[BU]?\b",
        r"\bFTU ?P\b",
        r"\bFPTU ?P\b",
        r"\bINTERMITTENT FAN\b",
    ),
    "single-duct": _any(
        r"\bSINGLE DUCT\b",
        r"\bSD\b",
        r"\bSDV\b",
        r"\bSDT\b",
        r"\bCOOLING ONLY\b",
        r"\bCLG ONLY\b",
        r"\bCOOL ONLY\b",
        r"\bCO\b",
        r"\bSHUT ?OFF\b",
        r"\bTHROTTLING\b",
        r"\bVAV ?(?:W )?/? ?R?H?\b(?! (?:FAN|SERIES|PARALLEL))",
        r"\bVARIABLE AIR VOLUME\b",
        r"\bVVT\b",
        r"\bSDRH\b",
        r"\bREHEAT BOX",
    ),
}
_FAN = re.compile(r"\bFAN POWERED\b|\bFPB\b|\bFPTU?\b|\bFPVAV\b|\bFTU\b|\bFAN TERMINAL|\bFAN BOX|\bFP\b")
_DUAL = re.compile(r"\bDUAL DUCT\b|\bDOUBLE DUCT\b|\bDD\b|\bDDV\b")
_REHEATS = {
    "none": _any(
        r"\bCOOLING ONLY\b",
        r"\bCLG ONLY\b",
        r"\bCOOL ONLY\b",
        r"\bNO (?:RE)?HEAT\b",
        r"\bW / O (?:RE)?HEAT\b",
        r"\bWITHOUT (?:RE)?HEAT",
        r"\bNO COIL\b",
        r"\bWITHOUT (?:A )?COIL\b",
        r"^NONE$",
        r"^CO$",
        r"\bNO HEATING\b",
        r"^NO$",
        r"\bWITHOUT HEATING\b",
    ),
    "electric": _any(
        r"\bELEC\b",
        r"\bELECT\b",
        r"\bELECTRIC\b",
        r"\bEH\b",
        r"\bERH\b",
        r"\bE ?RH\b",
        r"\bEHC\b",
        r"\bELECTRICAL HEAT",
        r"^E$",
        r"\bSCR\b",
        r"\bERC\b",
    ),
    "hot-water": _any(
        r"\bHW\b",
        r"\bHOT WATER\b",
        r"\bHWC\b",
        r"\bHWRH\b",
        r"\bHHW\b",
        r"\bHEATING WATER\b",
        r"\bHWR\b",
        r"\bHYDRONIC\b",
        r"^W$",
        r"\bLPHW\b",
        r"\bLTHW\b",
        r"\bHW ?RH\b",
        r"^WATER$",
        r"\bWATER COIL\b",
    ),
}
_CONTROLS = {
    "constant": _any(
        r"\bCONSTANT\b",
        r"\bCONST\b",
        r"\bCV\b",
        r"\bFIXED\b",
        r"\bSINGLE SPEED\b",
        r"\bPSC\b",
    ),
    "variable": _any(
        r"\bVARIABLE\b",
        r"\bVAR\b",
        r"\bVV\b",
        r"\bMODULATING\b",
        r"\bVARIABLE SPEED\b",
        r"\bVFD\b",
    ),
}
_FANS_CONTROL = re.compile(
    r"\b(?:CONSTANT|VARIABLE|FIXED) (?:SPEED|VOLUME) FANS?\b|\bFANS? (?:CONSTANT|VARIABLE) SPEED\b"
)
_UNDERFLOOR = re.compile(r"\bUNDERFLOOR\b|\bUNDER FLOOR\b|\bUFAD\b|\bRAISED FLOOR\b|\bUFT\b")
_OVERHEAD = re.compile(r"\bOVERHEAD\b|\bCEILING\b|\bOH\b")
_HANDLER = re.compile(
    r"\b(?:AHU|RTU|ACU|MAU|DOAS|AH|ERU|SWUD|AIR HANDL(?:ER|ING UNIT)|ROOF ?TOP UNIT)"
    r"(?:[\s#:_-]*(?:NO\.?\s*)?[A-Z]{0,2}\d[\w.-]*|[-_][A-Z]{1,2}\b(?![-_]))",
    re.IGNORECASE,
)
_ORDINALS = ["GROUND", "FIRST", "SECOND", "THIRD", "FOURTH", "FIFTH", "SIXTH", "SEVENTH", "EIGHTH", "NINTH", "TENTH"]
_FLOOR = re.compile(
    r"\b(?:LEVEL|FLOOR|FLR|STOREY|LVL)\s*[#:]?\s*-?\s*(?:NO\.?\s*)?([A-Z]?\d{1,2}|[A-Z])\b|\b(\d{1,2})(?:ST|ND|RD|TH)\s+(?:FLOOR|LEVEL|FLR)\b|"
    rf"\b({'|'.join(_ORDINALS)})\s+(?:FLOOR|LEVEL)\b|\b(BASEMENT|PENTHOUSE|MEZZANINE)\b",
    re.IGNORECASE,
)
# Schedules of other equipment that stand in the same set of drawings.
_OTHER_EQUIPMENT = re.compile(
    _any(
        r"\bAIR HANDL",
        r"\bAHU SCHED",
        r"\bROOF ?TOP UNIT",
        r"\bEXHAUST FAN",
        r"\bPUMPS?\b",
        r"\bDIFFUSERS?\b.*SCHED",
        r"\bGRILLES?\b",
        r"\bBOILERS?\b",
        r"\bCHILLERS?\b",
        r"\bUNIT HEATERS?\b",
        r"\bFAN COIL",
        r"\bFANS? SCHED",
        r"\bCOOLING TOWER",
        r"\bAIR DEVICES?\b",
        r"\bAIR INLETS?\b",
        r"\bLOUVERS?\b",
        r"\bHUMIDIFIERS?\b",
        r"\bHEAT EXCHANGER",
        r"\bVARIABLE FREQUENCY DRIVES?\b",
        r"\bRADIATION\b",
        r"\bSOUND ATTENUATOR",
        r"\bPLUMBING\b",
        r"\bVRF\b",
        r"\bHEAT PUMP",
        r"\bSPLIT SYSTEM",
        r"\bLUMINAIRE",
        r"\bDOOR SCHED",
    )
)
_TERMINALS = re.compile(
    r"\bVAV\b|\bTERMINALS?\b|\bFAN POWERED\b|\bFPB\b|\bAIR VOLUME\b|\bBOX(?:ES)?\b|\bTU\b|\bREHEAT UNIT|\bFTU\b"
)
_HANDLER_TAG = re.compile(
    r"^\s*(?:AHU|RTU|AH|MAU|DOAS|EF|RF|SF|EAF|RAF|CH|CT|UH|FCU|CUH|PUMP|HWP|CHWP|HX|BLR|ERV|VFD)[\s_-]*\d",
    re.IGNORECASE,
)


def _one_of(table: dict[str, str], text: str) -> str:
    found = [word for word, pattern in table.items() if re.search(pattern, text)]
    return found[0] if len(found) == 1 else ""


def kind_in(text: str, *, of_title: bool = False) -> str:
    """Return the kind that words name: series, parallel, single-duct; "fan" for a fan of either, "dual" for two ducts.

    A title's VAV stands for terminals of any kind.
    """
    folded = re.sub(r"\bVAV\b|\bVARIABLE AIR VOLUME\b", " ", fold(text)) if of_title else fold(text)
    if _DUAL.search(folded):
        return "dual"
    fans = [kind for kind in ("series", "parallel") if re.search(_KINDS[kind], folded)]
    if fans:
        return fans[0] if len(fans) == 1 else ""
    if _FAN.search(folded):
        return "fan"
    return _one_of(_KINDS, folded)


def reheat_in(text: str) -> str:
    """Return the sort of reheat that words name; "" where they name none or several."""
    folded = fold(text)
    if re.search(_REHEATS["none"], folded):
        return "none"
    return _one_of({name: _REHEATS[name] for name in ("electric", "hot-water")}, folded)


def control_in(text: str) -> str:
    """Return whether a fan's flow is constant or variable, by words."""
    return _one_of(_CONTROLS, fold(text))


def kind_by_fan(text: str) -> str:
    """Return the kind of a terminal whose fan runs all the time (series), or at times (parallel)."""
    folded = fold(text)
    runs = {
        "series": r"^(?:CONST(?:ANT)?|CONT(?:INUOUS)?)(?: FAN)?$",
        "parallel": r"^(?:INTERM(?:ITTENT)?|INT)(?: FAN)?$",
    }
    return next((kind for kind, pattern in runs.items() if re.search(pattern, folded)), "")


def control_of_fan(text: str) -> str:
    """Return the control of the fans that a line names with it: "CONSTANT SPEED FAN"; "" where it names several."""
    return control_in(" / ".join(match[0] for match in _FANS_CONTROL.finditer(fold(text))))


def distribution_in(text: str) -> str:
    """Return underfloor or overhead, by words."""
    folded = fold(text)
    under, over = _UNDERFLOOR.search(folded), _OVERHEAD.search(folded)
    return "underfloor" if under and not over else "overhead" if over and not under else ""


def air_handler_in(text: str) -> str:
    """Return the air handler's tag in a line of text."""
    match = _HANDLER.search(text)
    return " ".join(match[0].split()).rstrip(".-:") if match else ""


def floor_in(text: str) -> str:
    """Return the floor that a line of text names: a number where it is one."""
    match = _FLOOR.search(text)
    if not match:
        return ""
    if match[3]:
        at = _ORDINALS.index(match[3].upper())
        return str(at) if at else "ground"
    return (match[1] or match[2] or match[4].lower()).lstrip("0") or "0"


def is_other_equipment(titles: list[str]) -> bool:
    """Tell whether titles name equipment that is no terminal."""
    folded = [fold(text) for text in titles]
    return any(_OTHER_EQUIPMENT.search(text) for text in folded) and not any(_TERMINALS.search(text) for text in folded)


def is_other_tag(tag: str) -> bool:
    """Tell whether a tag is an air handler's, a fan's or a pump's."""
    return bool(_HANDLER_TAG.match(tag))
