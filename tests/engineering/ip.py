"""Inch-pound figures turned to SI and back by a general-purpose unit library, not by the code under test."""

from pint import UnitRegistry

_registry = UnitRegistry()
_FACTORS = {
    "cfm": ("foot**3/minute", "liter/second"),
    "degF rise": ("delta_degF", "delta_degC"),
    "degF": ("degF", "degC"),
    "fpm": ("foot/minute", "meter/second"),
    "in. w.c.": ("inH2O", "pascal"),
    "in. Hg": ("inHg_32F", "pascal"),
    "Btu/h": ("Btu_it/hour", "watt"),
    "ft": ("foot", "meter"),
    "in.": ("inch", "meter"),
    "ft2": ("foot**2", "meter**2"),
    "ft3": ("foot**3", "meter**3"),
    "cfm/ft2": ("foot/minute", "liter/second/meter**2"),
    "lb/ft3": ("pound/foot**3", "kilogram/meter**3"),
    "cfm/sqrt(in. w.c.)": ("foot**3/minute/inH2O**0.5", "liter/second/pascal**0.5"),
}


def to_si(value: float, unit: str) -> float:
    """Turn a figure in an inch-pound unit to the SI unit that the code uses."""
    inch_pound, si = _FACTORS[unit]
    return _registry.Quantity(value, inch_pound).to(si).magnitude


def to_ip(value: float, unit: str) -> float:
    """Turn a figure in SI to an inch-pound unit."""
    inch_pound, si = _FACTORS[unit]
    return _registry.Quantity(float(value), si).to(inch_pound).magnitude
