"""Names of trends and of schedule values in the words of a reader."""

from __future__ import annotations

import re

from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.site.model import SCHEDULE

# Names that are words of their own are left as they are.
_PLAIN = {"occupied", "kind", "zone", "floor", "area", "people", "reheat"}
_TOLD = sorted({*TERMINAL, *AIR_HANDLER, *SCHEDULE} - _PLAIN, key=len, reverse=True)
_NAMES = re.compile(rf"\b(?P<trend>the trend )?(?P<name>{'|'.join(_TOLD)})\b")
# The point by itself, as the only one or in a list; "occupied hours" are left as they are.
_OCCUPIED = re.compile(r"(?P<trend>\bthe trend )occupied\b|(?:^|(?<=, ))occupied(?=,|$)")
_SPELLED = {
    "co2": "CO2",
    "occupied": "occupancy",
    "supply_temp": "supply air temperature",
    "outdoor_temp": "outdoor air temperature",
    "supply_flow": "supply airflow",
    "primary_temp": "entering-air temperature",
    "primary_min": "primary minimum",
    "ventilation_min": "ventilation minimum",
    "outdoor_air_min": "outdoor-air minimum",
    "outdoor_air_inlet_min": "outdoor-air inlet minimum",
    "primary_max": "primary maximum",
    "heating_primary": "heating maximum",
    "fan_flow": "fan airflow",
    "balanced_max": "balanced maximum",
    "balanced_min": "balanced minimum",
    "primary_flow": "primary airflow",
    "primary_flow_setpoint": "primary airflow setpoint",
    "discharge_flow": "discharge airflow",
}


def plain(text: str) -> str:
    """Return a sentence in which the names of trends and of schedule values are told in words."""
    text = _OCCUPIED.sub(lambda found: "a trend of occupancy" if found["trend"] else "occupancy", text)
    return _NAMES.sub(_told, text)


def _told(found: re.Match[str]) -> str:
    """Tell "the trend zone_temp" as "a trend of zone temperature"."""
    return f"{'a trend of ' if found['trend'] else ''}{plain_name(found['name'])}"


def plain_name(name: str) -> str:
    """Tell the name of a trend or of a schedule value in words: "zone temperature" for zone_temp."""
    return _SPELLED.get(name) or re.sub(r" temp(?= |$)", " temperature", name.replace("_", " "))
