"""What is measured: the glossary of quantities and the units they may come in.

A name means one thing everywhere: in the tables, the rules, the code and the documents. Storage is SI.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from analyzer.errors import nearest


@dataclass(frozen=True)
class Unit:
    """A spelling of a unit: ``si = (value + before) * scale + after``."""

    dimension: str
    scale: float
    before: float = 0.0
    after: float = 0.0

    def to_si(self, value: Any) -> Any:
        """Convert a number or an array in this unit to SI."""
        if self.scale == 1.0 and not self.before and not self.after:
            return value
        return (value + self.before) * self.scale + self.after

    def from_si(self, value: Any) -> Any:
        """Convert a number or an array in SI to this unit."""
        return (value - self.after) / self.scale - self.before


@dataclass(frozen=True)
class Quantity:
    """One column of a table.

    ``low`` and ``high`` bound what is physically possible (inclusive, SI); outside them a value is set aside.
    ``state`` quantities are 0 or 1.
    """

    name: str
    meaning: str
    unit: str
    dimension: str
    low: float
    high: float
    state: bool = False


def _table(*rows: Quantity) -> dict[str, Quantity]:
    return {row.name: row for row in rows}


def _state(name: str, meaning: str) -> Quantity:
    return Quantity(name, meaning, "", "state", 0, 1, state=True)


TERMINAL = _table(
    Quantity("zone_temp", "zone temperature", "degC", "temperature", -20, 60),
    Quantity("heating_setpoint", "active heating setpoint", "degC", "temperature", 0, 50),
    Quantity("cooling_setpoint", "active cooling setpoint", "degC", "temperature", 0, 50),
    Quantity(
        "effective_setpoint",
        "active zone setpoint: that of heating in heating, of cooling in cooling",
        "degC",
        "temperature",
        0,
        50,
    ),
    Quantity("occupied_heating_setpoint", "heating setpoint of the occupied mode", "degC", "temperature", 0, 50),
    Quantity("occupied_cooling_setpoint", "cooling setpoint of the occupied mode", "degC", "temperature", 0, 50),
    Quantity("standby_heating_setpoint", "heating setpoint of the standby mode", "degC", "temperature", 0, 50),
    Quantity("standby_cooling_setpoint", "cooling setpoint of the standby mode", "degC", "temperature", 0, 50),
    Quantity("unoccupied_heating_setpoint", "heating setpoint of the unoccupied mode", "degC", "temperature", 0, 50),
    Quantity("unoccupied_cooling_setpoint", "cooling setpoint of the unoccupied mode", "degC", "temperature", 0, 50),
    Quantity("primary_flow", "primary airflow at the inlet sensor", "L/s", "flow", -100, 20000),
    Quantity("primary_flow_setpoint", "primary airflow setpoint", "L/s", "flow", 0, 20000),
    Quantity("damper_position", "primary damper, 100 = open", "%", "percent", -5, 105),
    _state("fan_status", "terminal fan runs"),
    _state("fan_command", "terminal fan is commanded to run"),
    Quantity("fan_starts", "terminal fan starts since the previous row", "", "count", 0, 100000),
    Quantity("fan_speed", "terminal fan speed signal", "%", "percent", -5, 105),
    Quantity("discharge_flow", "air delivered to the zone", "L/s", "flow", -100, 20000),
    Quantity("reheat_position", "reheat valve or electric heat signal", "%", "percent", -5, 105),
    Quantity("cooling_signal", "cooling demand: output of the zone's cooling loop", "%", "percent", -5, 105),
    Quantity("discharge_temp", "leaving air temperature", "degC", "temperature", -20, 100),
    Quantity("primary_temp", "entering primary air temperature", "degC", "temperature", -20, 80),
    Quantity("plenum_temp", "plenum air temperature (induced air)", "degC", "temperature", -20, 80),
    Quantity("outdoor_air_flow", "dedicated outdoor-air inlet airflow", "L/s", "flow", -100, 20000),
    _state("occupied", "occupancy mode"),
    Quantity("co2", "zone CO2", "ppm", "concentration", 0, 20000),
)

AIR_HANDLER = _table(
    Quantity("supply_temp", "supply air temperature", "degC", "temperature", -20, 80),
    Quantity("supply_temp_setpoint", "supply air temperature setpoint", "degC", "temperature", 0, 60),
    Quantity("supply_flow", "supply airflow", "L/s", "flow", -1000, 500000),
    Quantity("duct_static_pressure", "duct static pressure", "Pa", "pressure", -1000, 5000),
    Quantity("duct_static_setpoint", "duct static pressure setpoint", "Pa", "pressure", 0, 5000),
    _state("supply_fan_status", "supply fan runs"),
    Quantity("supply_fan_speed", "supply fan speed signal", "%", "percent", -5, 105),
    Quantity("heating_signal", "heating output: coil valve, burner or stage signal", "%", "percent", -5, 105),
    Quantity("cooling_signal", "cooling output: coil valve, compressor or stage signal", "%", "percent", -5, 105),
    Quantity("outdoor_temp", "outdoor air temperature", "degC", "temperature", -60, 60),
    Quantity("outdoor_air_flow", "outdoor airflow of the air handler", "L/s", "flow", -1000, 500000),
    Quantity("outdoor_air_fraction", "share of outdoor air in the supply air", "", "fraction", 0, 1),
)

# The spelling that reports use, per dimension and system of units.
SHOWN = {
    "si": {
        "temperature": "degC", "temperature_difference": "K", "flow": "L/s", "pressure": "Pa", "length": "mm",
        "area": "m2", "volume": "m3", "power": "kW", "flow_coefficient": "L/s/sqrt(Pa)",
        "water_flow": "L/s",
    },
    "ip": {
        "temperature": "degF", "temperature_difference": "delta degF", "flow": "cfm", "pressure": "in.w.c.",
        "length": "in", "area": "ft2", "volume": "ft3", "power": "kBtu/h", "flow_coefficient": "cfm/sqrt(in.w.c.)",
        "water_flow": "gpm",
    },
}  # fmt: skip

_CFM = 0.47194745  # L/s; 1 ft3 = 28.316846592 L exactly, over 60 s
_GPM = 0.0630901964  # L/s; the US gallon is 3.785411784 L exactly, over 60 s
_INWC = 249.08891  # Pa, conventional inch of water (4 degC): NIST SP 811, table B.8
_INHG = 3386.389  # Pa, conventional inch of mercury: NIST SP 811, table B.8
_FT = 0.3048  # m, exact
_BTUH = 0.29307107  # W, international table: NIST SP 811, table B.8


def _units(dimension: str, scale: float, *spellings: str, before: float = 0.0, after: float = 0.0) -> dict[str, Unit]:
    return {spelling: Unit(dimension, scale, before, after) for spelling in spellings}


_SIGNS = (
    ("â°", "deg"),  # the degree sign in UTF-8, read as cp1252
    *(("°", "deg"), ("º", "deg"), ("²", "2"), ("³", "3"), ("δ", "delta "), ("√", "sqrt")),
    *(("℃", "degc"), ("℉", "degf"), ("₂", "2"), ("㎥", "m3"), ("″", '"'), ("“", '"'), ("”", '"')),
)


def _key(spelling: str) -> str:
    """Fold a spelling to letters, digits and the few signs that matter."""
    text = spelling.strip().lower()
    if not text.isascii():
        for sign, plain in _SIGNS:
            text = text.replace(sign, plain)
    if "-" in text:
        text = re.sub(r"(?<=[a-z])-(?=[a-z])", "", text)  # "cubic-feet-per-minute", but "0-1"
    if ".." in text:
        text = re.sub(r"(?<=\d)\s*\.{2,3}\s*(?=\d)", "-", text)  # "0..1"
    return re.sub(r"[\s_.^]+", "", text)


# Several dimensions may share a spelling ("K", "%"); each entry keeps its own dimension. Of each unit the first
# spelling is the one that messages show.
_SPELLINGS: dict[tuple[str, str], Unit] = {}
_FIRST_SPELLINGS: dict[str, list[str]] = {}
for _group in (
    _units("temperature", 1.0, "degC", "C", "celsius", "deg C", "degrees C", "degree celsius", "degrees celsius",
           "Cel", "\ufffdC", "?C"),
    _units("temperature", 5 / 9, "degF", "F", "fahrenheit", "deg F", "degrees F", "degree fahrenheit",
           "degrees fahrenheit", "\ufffdF", "?F", before=-32.0),
    _units("temperature", 1.0, "K", "kelvin", "degK", "degrees kelvin", before=-273.15),
    _units("temperature_difference", 1.0, "K", "kelvin", "delta degC", "degC", "C", "delta C", "delta K"),
    _units("temperature_difference", 5 / 9, "degF", "F", "delta degF", "delta F", "R", "degR"),
    _units("flow", 1.0, "L/s", "lps", "l/sec", "ltr/s", "litre/s", "liter/s", "litres/s", "liters/s", "dm3/s",
           "Ls", "litres per second", "liters per second", "L-PER-SEC"),
    _units("flow", 1000.0, "m3/s", "m3s", "cms", "cubic metres per second", "cubic meters per second", "M3-PER-SEC"),
    _units("flow", 1 / 3.6, "m3/h", "m3/hr", "m3h", "m3/hour", "cmh", "cubic metres per hour", "cubic meters per hour",
           "M3-PER-HR", "m\ufffd/h", "m?/h"),
    _units("flow", 1 / 0.06, "m3/min", "cubic metres per minute", "cubic meters per minute"),
    _units("flow", 1 / 60, "L/min", "lpm", "litres per minute", "liters per minute"),
    _units("flow", 1 / 3600, "L/h", "L/hr", "litres per hour", "liters per hour"),
    _units("flow", _CFM, "cfm", "ft3/min", "cubic feet per minute", "cu ft/min", "scfm", "acfm", "FT3-PER-MIN"),
    _units("water_flow", 1.0, "L/s", "lps"),
    _units("water_flow", 1 / 60, "L/min", "lpm"),
    _units("water_flow", 1 / 3600, "L/h", "L/hr"),
    _units("water_flow", 1 / 3.6, "m3/h", "m3/hr"),
    _units("water_flow", _GPM, "gpm", "US gpm", "gal/min", "GAL_US-PER-MIN", "gallons per minute"),
    _units("pressure", 1.0, "Pa", "pascal", "pascals"),
    _units("pressure", 1000.0, "kPa", "kilopascal"),
    _units("pressure", 100.0, "hPa", "mbar", "millibar"),
    _units("pressure", _INWC, "in.w.c.", "inwg", "in wg", "inH2O", "in H2O", "inches of water", "in. w.g.",
           "inches wc", "inches wg", '"wc', '"wg', '"H2O', "iwc", "in of water", "inch of water", "inches H2O",
           "inches of water column"),
    _units("pressure", 9.80665, "mmH2O", "mm w.c."),
    _units("pressure", _INHG, "inHg", "in Hg", "inches of mercury"),
    _units("pressure", 6894.757, "psi", "psig", "pounds force per square inch"),
    _units("percent", 1.0, "%", "pct", "percent", "% open", "%open", "percent open", "per cent", "0-100%",
           "0-100"),
    _units("percent", 100.0, "fraction", "ratio", "0-1", "1"),
    _units("percent", 10.0, "0-10 V", "0-10 VDC", "V 0-10"),
    _units("percent", 12.5, "2-10 V", "2-10 VDC", "V 2-10", before=-2.0),
    # Current signals run from 4 mA; the standard's preferred range (IEC 60381-1, from memory).
    _units("percent", 6.25, "4-20 mA", "mA 4-20", "mA", "milliamps", "milliamperes", before=-4.0),
    _units("percent", 5.0, "0-20 mA", "mA 0-20"),
    _units("fraction", 1.0, "", "fraction", "ratio", "1", "0-1"),
    _units("fraction", 0.01, "%", "pct", "percent"),
    _units("concentration", 1.0, "ppm", "ppmv", "parts per million"),
    _units("length", 1.0, "m", "metre", "meter", "metres", "meters"),
    _units("length", 0.001, "mm", "millimetres", "millimeters"),
    _units("length", 0.01, "cm", "centimetres", "centimeters"),
    _units("length", _FT, "ft", "feet", "foot"),
    _units("length", _FT / 12, "in", "inch", "inches", '"'),
    _units("area", 1.0, "m2", "sqm", "sq m", "square metres", "square meters"),
    _units("area", _FT**2, "ft2", "sqft", "sq ft", "square feet", "square foot", "sf"),
    _units("volume", 1.0, "m3", "cubic metres", "cubic meters"),
    _units("volume", _FT**3, "ft3", "cuft", "cu ft", "cubic feet", "cf"),
    _units("power", 1.0, "W", "watt", "watts"),
    _units("power", 1000.0, "kW", "kilowatt", "kilowatts"),
    _units("power", _BTUH, "Btu/h", "btuh", "btu/hr", "btu/hour", "btu per hour"),
    _units("power", 1000 * _BTUH, "kBtu/h", "MBH", "kBtu/hr"),
    _units("power", 745.69987, "hp"),
    _units("flow_coefficient", 1.0, "L/s/sqrt(Pa)", "L/s per sqrt(Pa)"),
    _units("flow_coefficient", _CFM / _INWC**0.5, "cfm/sqrt(in.w.c.)", "cfm/sqrt(inwg)", "cfm/sqrt(inwc)",
           "cfm/sqrt(in wg)", "cfm/sqrt(inH2O)"),
    _units("time", 1.0, "s", "sec", "second", "seconds"),
    _units("time", 60.0, "min", "minute", "minutes"),
    _units("time", 3600.0, "h", "hr", "hour", "hours"),
    _units("time", 86400.0, "d", "day", "days"),
    _units("count", 1.0, "", "1", "count", "starts", "starts/h", "per hour", "/h", "1/h"),
    _units("state", 1.0, ""),
):  # fmt: skip
    for _spelling, _unit in _group.items():
        _SPELLINGS[_unit.dimension, _key(_spelling)] = _unit
    _FIRST_SPELLINGS.setdefault(_unit.dimension, []).append(next(iter(_group)))

DIMENSIONS = sorted({dimension for dimension, _ in _SPELLINGS})


_PER = re.compile(r"(?<=[^\W_])[\s_-]+per[\s_-]+(?=[^\W\d_])", re.IGNORECASE)


_PERIODS = {"second": "s", "sec": "s", "minute": "min", "hour": "h", "hr": "h"}
_PERIOD = re.compile(rf"/({'|'.join(_PERIODS)})s?$", re.IGNORECASE)


def find_unit(spelling: str, dimension: str) -> Unit | None:
    """Return the unit of a spelling within a dimension, or None if the spelling is not one of its units."""
    found = _SPELLINGS.get((dimension, _key(spelling)))
    if found is None and "_" in spelling:  # names of files have no stroke: "ft3_min"
        found = _SPELLINGS.get((dimension, _key(spelling.replace("_", "/"))))
    if found is None and "per" in spelling.lower():  # "m3_per_h"
        rate = _PERIOD.sub(lambda match: f"/{_PERIODS[match[1].lower()]}", _PER.sub("/", spelling))
        found = _SPELLINGS.get((dimension, _key(rate)))
    return found


def known_unit(spelling: str, dimension: str) -> Unit:
    """Return the unit of a spelling that was checked before; a ``ValueError`` where it is none of the dimension's."""
    unit = find_unit(spelling, dimension)
    if unit is None:
        raise ValueError(f"{spelling!r} is no unit of {dimension}")
    return unit


def unit_dimensions(spelling: str) -> list[str]:
    """Return every dimension that knows this spelling: ``"K"`` is a temperature and a difference of two."""
    return [dimension for dimension in DIMENSIONS if find_unit(spelling, dimension) is not None]


_NUMBER_AND_UNIT = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*$", re.DOTALL)


def parse_quantity(text: object, dimension: str) -> float:
    """Read a quantity that carries its unit in the text, such as ``"70 degF"``, as SI.

    Parameters
    ----------
    text : str, int or float
        The text; a bare number is read in the SI unit of the dimension.
    dimension : str
        What it must be: ``temperature``, ``temperature_difference``, ``flow``, ``time`` ...

    Returns
    -------
    float
        The value in SI (temperature in degC, flow in L/s, pressure in Pa, time in s, power in W).

    Raises
    ------
    ValueError
        The text holds no finite number, or a unit that is not one of the dimension's; the message says which are.

    Examples
    --------
    >>> round(parse_quantity("70 degF", "temperature"), 3)
    21.111
    >>> parse_quantity("15 min", "time")
    900.0
    """
    if isinstance(text, bool):
        raise ValueError(f"{text} is not a number")
    if isinstance(text, int | float):
        return _finite(float(str(text)), text)  # by way of text, so that a huge integer becomes infinite
    match = _NUMBER_AND_UNIT.match(str(text))
    if not match:
        raise ValueError(f"{text!r} is not a number with a unit")
    number, spelling = float(match[1]), match[2]
    if not spelling:
        return _finite(number, text)
    unit = find_unit(spelling, dimension)
    if unit is None:
        raise ValueError(_no_unit(spelling, dimension))
    return _finite(unit.to_si(number), text)


def _no_unit(spelling: str, dimension: str) -> str:
    known, named = spellings(dimension), dimension.replace("_", " ")
    if not known:
        return f"{spelling!r} is no unit of {named}, which has none; write the number alone"
    return f"{spelling!r} is no unit of {named}{nearest(spelling, known)}; known are {', '.join(known)}"


def _finite(number: float, text: object) -> float:
    if not math.isfinite(number):
        raise ValueError(f"{text!r} is not a finite number")
    return number


def spellings(dimension: str) -> list[str]:
    """Return one spelling of each unit of a dimension, SI first, for messages."""
    return [spelling for spelling in _FIRST_SPELLINGS.get(dimension, []) if spelling]


def shown_unit(dimension: str, units: str) -> str:
    """Return the unit in which a report shows a dimension, for ``units`` 'ip' or 'si'."""
    return SHOWN[units].get(dimension) or _OWN_UNIT.get(dimension, "")


_OWN_UNIT = {"percent": "%", "concentration": "ppm", "time": "h", "fraction": "", "count": "", "state": ""}


# More than a sum of readings is off by its rounding.
ROUNDING = 1e-6


def half_up(value: float, decimals: int) -> str:
    """Spell a number with so many decimals, thousands apart; half of a last digit is spelled as the next one.

    So a figure is the same in a sentence, a table and a script, however it was summed.
    """
    return f"{value + math.copysign(ROUNDING, value):,.{decimals}f}"


def to_shown(value: Any, dimension: str, units: str) -> Any:
    """Convert a number or an array from SI to the unit in which a report shows it."""
    unit = find_unit(shown_unit(dimension, units), dimension)
    return value if unit is None else unit.from_si(value)
