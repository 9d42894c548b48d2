"""Faults of the rooms of a field building's annex: carbon dioxide, occupancy mode and zone sensors.

Kinds as in ``sample_trends.field_kinds``, placed in the annex alone, so that what is drawn elsewhere stays what it is.
"""

from __future__ import annotations

from sample_trends.catalogue import Kind

_ROOM = "annex and open_zone != open_zone"
_CO2 = f"{_ROOM} and also_trends.str.contains('co2')"

# fmt: off
ANNEX_KINDS: dict[str, Kind] = {
    "room-crowded": Kind(
        {"crowd": 3.0}, ("co2-high",), f"{_CO2} and outdoor_air_inlet_min != outdoor_air_inlet_min",
        "three times the people that the room is ventilated for",
        also=("zone-too-warm", "starved-terminal", "holds-back-reset")),
    "co2-control-dead": Kind(
        {"co2_ignored": 1.0, "crowd": 1.9}, ("co2-high",), f"{_CO2} and dcv",
        "flow does not follow carbon dioxide in a full room",
        also=("primary-below-ventilation-minimum", "zone-too-warm", "starved-terminal", "minimum-setpoint-off-schedule",
              "design-values-disagree")),
    "co2-sensor-high": Kind(
        {"co2_error": 350.0}, ("co2-sensor-offset",), _CO2, "carbon dioxide sensor reads high at all times",
        brings=("co2-high", "reheat-at-high-minimum")),
    "co2-sensor-low": Kind(
        {"co2_error": -180.0}, ("co2-sensor-offset",), _CO2, "carbon dioxide sensor reads low at all times",
        also=("sensor-implausible",), brings=("primary-below-ventilation-minimum",)),
    "stays-occupied": Kind(
        {"always_occupied": 1.0}, ("never-unoccupied",), f"{_ROOM} and also_trends.str.contains('occupied')",
        "controller stays in its occupied mode day and night",
        also=("no-unoccupied-setback", "fan-running-when-unoccupied")),
    "standby-off": Kind(
        {"standby_off": 1.0}, ("standby-never-used",), f"{_ROOM} and standby",
        "controller never goes to its standby mode"),
    "zone-sensor-off": Kind(
        {"zone_error": 3.5}, ("zone-sensor-offset",), "annex and open_zone == open_zone",
        "zone sensor of an open office reads wrong by the same amount at all times",
        also=("neighbours-fighting",), brings=("zone-too-cold", "zone-too-warm", "heating-capacity-short",
                                               "starved-terminal", "reheat-with-high-primary")),
    "unit-never-off": Kind(
        {"never_off": 1.0}, ("never-unoccupied",), "air handler",
        "air handler and its terminals run as if occupied, day and night",
        also=("no-unoccupied-setback", "air-handler-runs-unoccupied", "fan-running-when-unoccupied")),
}
# fmt: on
# How far the sizes of some range: knob, and the ranges of which one is drawn.
SIZES = {
    "room-crowded": ("crowd", ((2.5, 4.0),)),
    "co2-control-dead": ("crowd", ((1.7, 2.3),)),
    "co2-sensor-high": ("co2_error", ((230.0, 600.0),)),
    "co2-sensor-low": ("co2_error", ((-250.0, -130.0),)),
    "zone-sensor-off": ("zone_error", ((-4.5, -2.8), (2.8, 4.5))),
}
PLACED = 0.75  # of the bad buildings have each of them
NEVER_OFF = 0.3  # of the bad buildings that have an air handler without another trouble
