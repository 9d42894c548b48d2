"""How numbers, units and times are spelled, and that no text can break out of a page."""

import json
import math

import pandas as pd
import pytest

from analyzer.findings.findings import _words
from analyzer.findings.results import Measure
from analyzer.report import words


@pytest.mark.parametrize(
    ("value", "unit", "spelled"),
    [
        (1234.4, "cfm", "1,234\u202fcfm"),
        (21.06, "degC", "21.1\u202f°C"),
        (-0.3, "%", "0\u202f%"),
        (-3.04, "delta degF", "−3.0\u202f°F"),
        (0.123, "in.w.c.", "0.12\u202fin. w.c."),
        (11.0, "", "11"),
        (0.00004, "", "0"),
        (6.0, "starts/h", "6\u202fstarts/h"),
        (math.nan, "cfm", "–"),
    ],
)
def test_amounts(value, unit, spelled):
    assert words.amount(value, unit) == spelled


def test_si_is_shown_in_the_units_of_the_site():
    assert words.shown(100.0, "flow", "ip") == "212\u202fcfm"
    assert words.shown(100.0, "flow", "si") == "100\u202fL/s"
    assert words.shown(21.1111, "temperature", "ip") == "70.0\u202f°F"


def test_a_window_says_the_day_once_and_the_zone_when_the_clock_is_turned():
    zone = "America/Chicago"
    at = lambda text: pd.Timestamp(text, tz="UTC")  # noqa: E731
    assert words.window(at("2026-01-12 14:00"), at("2026-01-12 15:30"), zone) == "Mon 12 Jan 2026, 08:00 – 09:30"
    assert (
        words.window(at("2026-01-12 14:00"), at("2026-01-14 06:00"), zone)
        == "Mon 12 Jan 2026, 08:00 – Wed 14 Jan 2026, 00:00"
    )
    assert words.window(at("2026-11-01 05:30"), at("2026-11-01 07:30"), zone) == "Sun 1 Nov 2026, 00:30 CDT – 01:30 CST"


def test_lists():
    assert words.listed([]) == ""
    assert words.listed(["a"]) == "a"
    assert words.listed(["a", "b", "c"]) == "a, b and c"
    assert words.listed("abcdef") == "a, b, c and 3 more"


def test_embedded_data_cannot_end_its_script():
    hostile = {"tag": "</script><script>alert(1)</script><!-- & \u2028"}
    text = words.embedded(hostile)
    assert "<" not in text and ">" not in text and "&" not in text
    assert json.loads(text) == hostile


@pytest.mark.parametrize(
    ("value", "told"), [(31.25, "31.3"), (1.25, "1.3"), (102.083, "102.1"), (119.75, "119.8"), (59.0, "59")]
)
def test_hours_are_the_same_in_a_sentence_and_in_a_table(value, told):
    """An exact half rounds up in both, and a sentence has the table's decimals, but for a zero."""
    assert _words(Measure(value, "h")) == f"{told} h"
    assert words.hours(value).removesuffix("\u202fh").removesuffix(".0") == told
    assert words.number(value, "h").removesuffix(".0") == told


def test_what_rounds_to_nothing_has_no_sign():
    assert words.number(-0.01, "kBtu/h") == "0.0"
    assert words.number(-0.25, "kBtu/h") == "−0.3"


def test_a_difference_below_zero_is_one_to_the_other_side():
    assert words.one_side("Mean zone temperature below heating setpoint", -0.4) == (
        "Mean zone temperature above heating setpoint", 0.4
    )  # fmt: skip
    assert words.one_side("Mean zone temperature above cooling setpoint", 0.6)[0].endswith("above cooling setpoint")
    assert words.one_side("Mean sensor error", -100.0) == ("Mean sensor error", -100.0)


def test_units_of_an_assumption_are_those_of_the_report():
    assert words.units_told("Duct static pressure was read in in.w.c., zone temperature in degF.") == (
        "Duct static pressure was read as in. w.c., zone temperature in °F."
    )
