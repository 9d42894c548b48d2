"""Values that cannot be, each with why: bound by physics and the trade's widest usage, not by good practice."""

from __future__ import annotations

import math
from collections.abc import Iterator

from analyzer.quantities import to_shown
from analyzer.schedule.facts import Fact

# No inlet takes so much: 20 m/s (3,940 fpm), half as much again as the top of sensor ranges. Judgement.
_FASTEST = 20.0
# A coil that would warm its greatest flow by so much is none [K]: electric heaters trip and water is not so hot.
# Judgement.
_WARMEST = 75.0
_AIR = 1.206  # W per L/s and K, air of 1.2 kg/m3 and 1005 J/(kg K)
# Least and most of each column, SI. Judgement: beyond what is built.
_RANGES = {
    **dict.fromkeys(
        ("primary_max", "primary_min", "heating_primary", "fan_flow", "ventilation_min", "outdoor_air_min",
         "outdoor_air_inlet_min", "balanced_max", "balanced_min", "balanced_heating", "balanced_fan"), (0.0, 10000.0)
    ),
    **dict.fromkeys(("primary_max", "heating_primary", "fan_flow", "balanced_max", "balanced_fan"), (2.0, 10000.0)),
    "inlet_diameter": (0.05, 1.5), "reheat_capacity": (0.0, 200e3), "balanced_pressure": (0.0, 2500.0),
    "external_static": (0.0, 1500.0), "entering_air_temp": (-30.0, 60.0), "leaving_air_temp": (5.0, 90.0),
    "entering_water_temp": (15.0, 200.0), "leaving_water_temp": (10.0, 200.0), "water_flow": (0.0, 20.0),
    "heater_stages": (1.0, 20.0), "heater_volts": (20.0, 700.0), "area": (0.5, 10000.0), "people": (0.0, 5000.0),
    "flow_coefficient": (1.0, 400.0), "zone_volume": (1.0, 100000.0),
}  # fmt: skip
_FLOWS = ("primary_max", "primary_min", "heating_primary", "balanced_max", "balanced_min", "balanced_heating")


def impossible(values: dict[str, Fact]) -> Iterator[tuple[str, str]]:
    """Yield the columns of a terminal whose values cannot be, and why."""
    gone: set[str] = set()
    for column, why in _found(values):
        if column not in gone:
            gone.add(column)
            yield column, why


def _found(values: dict[str, Fact]) -> list[tuple[str, str]]:
    number = {column: float(fact.value) for column, fact in values.items() if isinstance(fact.value, int | float)}
    found = []
    for column, (least, most) in _RANGES.items():
        value = number.get(column)
        if value is not None and not least <= value <= most:
            found.append((column, f"no {column} is that {'small' if value < least else 'large'}"))
    wrong = {column for column, _ in found}
    number = {column: value for column, value in number.items() if column not in wrong}
    for low, high in (("primary_min", "primary_max"), ("balanced_min", "balanced_max")):
        if low in number and high in number and number[low] > number[high] * 1.001:
            found.append((low, f"a minimum above its maximum of {values[high].text}"))
    if inlet := number.get("inlet_diameter"):
        most = math.pi / 4 * inlet**2 * _FASTEST * 1000
        takes = f"more than an inlet of {values['inlet_diameter'].text} takes ({to_shown(most, 'flow', 'ip'):,.0f} cfm)"
        found += [(column, takes) for column in _FLOWS if number.get(column, 0.0) > most]
    wrong |= {column for column, _ in found}
    air = [number[column] for column in (*_FLOWS, "fan_flow") if column in number and column not in wrong]
    heat = number.get("reheat_capacity")
    if heat is not None and air and max(air) > 0 and heat > _AIR * max(air) * _WARMEST:
        found.append(("reheat_capacity", f"it would warm the terminal's most air by {heat / (_AIR * max(air)):,.0f} K"))
    if number.get("leaving_water_temp", -1e9) > number.get("entering_water_temp", 1e9):
        found.append(("leaving_water_temp", "water that leaves a coil warmer than it enters"))
    if number.get("leaving_air_temp", 1e9) < number.get("entering_air_temp", -1e9):
        found.append(("leaving_air_temp", "air that leaves a heating coil colder than it enters"))
    return found
