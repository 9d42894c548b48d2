"""What buildings in use read: by it a unit that no file names is found, and a point that cannot be what it claims."""

from __future__ import annotations

import numpy as np

from analyzer.intake.words.units import unit_of

# Values whose median lies outside these bounds [degC, Pa] are barely in the unit that was taken. Common practice, no
# source: what buildings in use read.
USUAL = {
    "zone_temp": (10, 35),
    "heating_setpoint": (10, 30),
    "cooling_setpoint": (15, 35),
    "discharge_temp": (7, 55),
    "primary_temp": (5, 45),
    "plenum_temp": (10, 40),
    "supply_temp": (5, 45),
    "outdoor_temp": (-40, 45),
    "duct_static_pressure": (20, 2500),
}
CHOICES = {"temperature": ("degC", "degF"), "flow": ("L/s", "cfm"), "pressure": ("Pa", "in.w.c.")}


# Outdoor air is as cold and as warm as no room is, and its median says little; all but this share of its readings at
# either end have to be usual.
_RARE = 0.02
# Which of the ordered readings have to be usual, where it is not the median: a duct has pressure while its fan runs.
_TELLING = {"outdoor_temp": [_RARE, 1 - _RARE], "duct_static_pressure": [0.95]}


def fitting_units(quantity: str, dimension: str, values: np.ndarray) -> list[str]:
    """Return the units in which values are usual for a quantity, by their median or what ``_TELLING`` names."""
    low, high = USUAL[quantity]
    told = np.quantile(values, _TELLING.get(quantity, [0.5])).tolist()
    units = [(name, unit_of(name, dimension)) for name in CHOICES[dimension]]
    return [name for name, unit in units if unit and all(low <= unit.to_si(value) <= high for value in told)]
