"""The glossary and its units: against a general-purpose unit library, there and back, and what is refused."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry

from analyzer import quantities
from analyzer.quantities import (
    AIR_HANDLER,
    DIMENSIONS,
    SHOWN,
    TERMINAL,
    find_unit,
    parse_quantity,
    shown_unit,
    to_shown,
    unit_dimensions,
)

registry = UnitRegistry()

# One spelling of every unit, and what the unit library calls it; the SI unit of each dimension stands first.
KNOWN_TO_BOTH = {
    "temperature": {"degC": "degC", "degF": "degF", "K": "kelvin"},
    "temperature_difference": {"K": "kelvin", "degF": "delta_degF"},
    "flow": {
        "L/s": "liter/second",
        "m3/s": "meter**3/second",
        "m3/h": "meter**3/hour",
        "m3/min": "meter**3/minute",
        "L/min": "liter/minute",
        "L/h": "liter/hour",
        "cfm": "foot**3/minute",
    },
    "pressure": {
        "Pa": "pascal",
        "kPa": "kilopascal",
        "hPa": "hectopascal",
        "in.w.c.": "inH2O",
        "mmH2O": "mmH2O",
        "psi": "psi",
        "inHg": "inHg",
    },
    "percent": {"%": "percent", "fraction": "dimensionless"},
    "fraction": {"": "dimensionless", "%": "percent"},
    "concentration": {"ppm": "ppm"},
    "length": {"m": "meter", "mm": "millimeter", "cm": "centimeter", "ft": "foot", "in": "inch"},
    "area": {"m2": "meter**2", "ft2": "foot**2"},
    "volume": {"m3": "meter**3", "ft3": "foot**3"},
    "power": {
        "W": "watt",
        "kW": "kilowatt",
        "Btu/h": "Btu_it/hour",
        "kBtu/h": "kiloBtu_it/hour",
        "hp": "horsepower",
    },
    "flow_coefficient": {
        "L/s/sqrt(Pa)": "liter/second/pascal**0.5",
        "cfm/sqrt(in.w.c.)": "foot**3/minute/inH2O**0.5",
    },
    "water_flow": {
        "L/s": "liter/second",
        "L/min": "liter/minute",
        "L/h": "liter/hour",
        "m3/h": "meter**3/hour",
        "gpm": "gallon/minute",
    },
    "time": {"s": "second", "min": "minute", "h": "hour", "d": "day"},
}
PURE_NUMBERS = {"count", "state"}
# Signals told by their ends: what the first and the last value of the range are [%]; no library knows them.
SIGNALS = {"0-10 V": (0.0, 10.0), "2-10 V": (2.0, 10.0), "4-20 mA": (4.0, 20.0), "0-20 mA": (0.0, 20.0)}
EVERY_UNIT = [(dimension, ours, theirs) for dimension, units in KNOWN_TO_BOTH.items() for ours, theirs in units.items()]


def test_every_unit_of_the_table_is_compared():
    compared = {(dimension, find_unit(spelling, dimension)) for dimension, spelling, _ in EVERY_UNIT}
    compared |= {("percent", find_unit(spelling, "percent")) for spelling in SIGNALS}
    table = {(d, unit) for (d, _), unit in quantities._SPELLINGS.items() if d not in PURE_NUMBERS}
    assert set(KNOWN_TO_BOTH) | PURE_NUMBERS == set(DIMENSIONS), "a new dimension takes a row in KNOWN_TO_BOTH"
    assert compared == table, f"a new unit takes an entry in KNOWN_TO_BOTH: {compared ^ table}"


@pytest.mark.parametrize(("dimension", "ours", "theirs"), EVERY_UNIT)
@pytest.mark.parametrize("value", [-3.0, 0.0, 1.0, 250.0])
def test_conversion_agrees_with_a_unit_library(dimension, ours, theirs, value):
    si = next(iter(KNOWN_TO_BOTH[dimension].values()))
    expected = registry.Quantity(value, theirs).to(si).magnitude
    # Factors of the table are given to seven digits or more.
    assert find_unit(ours, dimension).to_si(value) == pytest.approx(expected, rel=2e-7, abs=1e-9)


@pytest.mark.parametrize(("spelling", "ends"), SIGNALS.items())
@pytest.mark.parametrize("share", [0.0, 0.25, 0.5, 1.0])
def test_volts_and_milliamperes_run_evenly_from_shut_to_open(spelling, ends, share):
    """At its lower end a signal is 0 %, at its upper end 100 %, and in between in proportion; a dead signal is below."""
    volts, unit = ends[0] + share * (ends[1] - ends[0]), find_unit(spelling, "percent")
    assert unit.to_si(volts) == pytest.approx(100.0 * share, abs=1e-9)
    assert unit.from_si(100.0 * share) == pytest.approx(volts, abs=1e-9)


def test_a_live_zero_tells_a_dead_signal():
    assert find_unit("2-10 V", "percent").to_si(0.0) == pytest.approx(-25.0)
    assert find_unit("0-10 V", "percent").to_si(0.0) == 0.0


@pytest.mark.parametrize(
    ("value", "unit", "dimension", "si", "source"),
    [
        (1, "cfm", "flow", 0.47195, "NIST SP 811 table B.8 (M); printed to five digits"),
        (1, "in.w.c.", "pressure", 249.09, "same"),
        (1, "Btu/h", "power", 0.29307, "same"),
        (9, "delta degF", "temperature_difference", 5.0, "exact"),
        (70, "degF", "temperature", 21.111, "exact"),
        (-40, "degF", "temperature", -40.0, "exact"),
        (12_000, "Btu/h", "power", 3516.85, "3.5 kW: common practice, no source; 12,000 x 0.29307107"),
        (200, "cfm", "flow", 94.39, "94 L/s: common practice, no source"),
    ],
)
def test_published_conversions(value, unit, dimension, si, source):
    assert find_unit(unit, dimension).to_si(value) == pytest.approx(si, rel=2e-5), source


@given(value=st.floats(-1e6, 1e6), unit=st.sampled_from([(d, ours) for d, ours, _ in EVERY_UNIT]))
def test_to_si_and_back(value, unit):
    dimension, spelling = unit
    found = find_unit(spelling, dimension)
    assert found.from_si(found.to_si(value)) == pytest.approx(value, rel=1e-9, abs=1e-6)


@given(value=st.floats(-1e5, 1e5), dimension=st.sampled_from(sorted(DIMENSIONS)), units=st.sampled_from(sorted(SHOWN)))
def test_what_a_report_shows_reads_back(value, dimension, units):
    """A value shown with its unit, typed into the site file, is the value again."""
    shown = to_shown(value, dimension, units)
    assert parse_quantity(f"{shown!r} {shown_unit(dimension, units)}", dimension) == pytest.approx(
        value, rel=1e-9, abs=1e-6
    )


def test_whole_columns_convert_and_keep_their_gaps():
    column = np.array([32.0, np.nan, 212.0])
    np.testing.assert_allclose(find_unit("degF", "temperature").to_si(column), [0.0, np.nan, 100.0])
    np.testing.assert_allclose(to_shown(np.array([0.0, np.nan]), "temperature", "ip"), [32.0, np.nan])
    np.testing.assert_array_equal(column, [32.0, np.nan, 212.0])


@pytest.mark.parametrize(
    ("text", "dimension", "si"),
    [
        ("70 degF", "temperature", 21.1111),
        ("70°F", "temperature", 21.1111),
        (" -5.5 °C ", "temperature", -5.5),
        ("2 K", "temperature_difference", 2.0),
        ("Δ", None, None),
        ("5 Δ°F", "temperature_difference", 2.7778),
        ("15 min", "time", 900.0),
        ("1e3 L/s", "flow", 1000.0),
        (".5 m³/s", "flow", 500.0),
        ("0.02 in. w.c.", "pressure", 4.9818),
        ('0.02 "wc', "pressure", 4.9818),
        ("25 %", "fraction", 0.25),
        ("0.25", "fraction", 0.25),
        (190, "length", 190.0),
        ("620 ft", "length", 188.976),
        ("4 MBH", "power", 1172.28),
    ],
)
def test_quantities_in_text(text, dimension, si):
    if dimension is None:
        with pytest.raises(ValueError, match="is not a number with a unit"):
            parse_quantity(text, "temperature")
    else:
        assert parse_quantity(text, dimension) == pytest.approx(si, rel=1e-5)


@pytest.mark.parametrize(
    ("text", "dimension", "message"),
    [
        ("warm", "temperature", "'warm' is not a number with a unit"),
        ("", "temperature", "'' is not a number with a unit"),
        (True, "time", "True is not a number"),
        ("70 cfm", "temperature", "'cfm' is no unit of temperature"),
        ("70 defF", "temperature", r"did you mean 'degF'\?\); known are degC, degF, K$"),
        ("5 degF rise", "temperature_difference", "no unit of temperature difference"),
        ("1,000 cfm", "flow", "',000 cfm' is no unit of flow"),
        ("5 K", "furlongs", "no unit of furlongs"),
        (math.nan, "flow", "nan is not a finite number"),
        (math.inf, "flow", "inf is not a finite number"),
        (10**400, "flow", "000 is not a finite number"),
        ("1e999 L/s", "flow", "'1e999 L/s' is not a finite number"),
    ],
)
def test_text_that_is_no_quantity_is_refused_by_name(text, dimension, message):
    with pytest.raises(ValueError, match=message):
        parse_quantity(text, dimension)


def test_a_spelling_may_belong_to_two_dimensions():
    assert unit_dimensions("K") == ["temperature", "temperature_difference"]
    assert unit_dimensions("nonsense") == []


@pytest.mark.parametrize("table", [TERMINAL, AIR_HANDLER], ids=["terminal", "air handler"])
def test_the_glossary_holds_together(table):
    for name, quantity in table.items():
        assert quantity.name == name
        assert quantity.low < quantity.high
        assert quantity.dimension in DIMENSIONS
        assert quantity.state == (quantity.dimension == "state")
        unit = find_unit(quantity.unit, quantity.dimension)
        assert unit is not None
        assert unit.to_si(1.0) == 1.0, f"{name} is not stored in SI"


@pytest.mark.parametrize("units", sorted(SHOWN))
def test_every_dimension_can_be_shown(units):
    for dimension in DIMENSIONS:
        assert find_unit(shown_unit(dimension, units), dimension) is not None, dimension
