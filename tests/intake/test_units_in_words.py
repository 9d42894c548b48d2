"""Units that a heading spells in words, as names that may hold no stroke and no bracket do."""

from __future__ import annotations

import pytest

from analyzer.intake.points.entries import Entry
from analyzer.intake.points.propose import propose
from analyzer.intake.words.tags import TagFinder
from tests.intake.folders import read, said, tags, values


def proposed(name: str):
    return propose("trend.csv", Entry(name), TagFinder([], []))


@pytest.mark.parametrize(
    ("name", "tag", "quantity", "unit"),
    [
        ("t01__primary_air_flow__m3_per_h", "t01", "primary_flow", "m3_per_h"),
        ("t01__damper_position__percent", "t01", "damper_position", "percent"),
        ("t01__fan_status", "t01", "fan_status", None),
        ("gal-1_airflow_m3_per_s", "gal-1", "primary_flow", "m3_per_s"),
        ("t01__airflow__cubic_feet_per_minute", "t01", "primary_flow", "cubic_feet_per_minute"),
        ("t01__airflow__m3_per_hour", "t01", "primary_flow", "m3_per_hour"),
        ("damper_position_t01", "t01", "damper_position", None),
        ("VAV-1 airflow ft3 per min", "VAV-1", "primary_flow", "ft3 per min"),
        ("VAV-1 heating valve share (0-1)", "VAV-1", "reheat_position", "0-1"),
        ("VAV-1__damper_share_0-1", "VAV-1", "damper_position", "0-1"),
        ("VAV-1 damper share", "VAV-1", "damper_position", None),
    ],
)
def test_a_unit_in_words_is_the_unit(name, tag, quantity, unit):
    point = proposed(name)
    assert (point.tag, point.quantity, point.unit) == (tag, quantity, unit)


@pytest.mark.parametrize("name", ["VAV-1 fan share", "VAV-1 humidity share 0-1", "VAV-1 air changes per h"])
def test_a_share_of_something_else_is_no_signal(name):
    assert proposed(name).quantity is None


def test_a_letter_before_a_number_that_says_what_is_measured_is_no_tag():
    assert proposed("T1 setpoint").words == ("t", "setpoint")
    assert proposed("Supply T1").quantity == "discharge_temp"


def test_headings_with_units_in_words_are_read(tmp_path):
    rows = "".join(f"2026-01-26 08:{n:02d},0.1,{n / 10},{294.15 + n}\n" for n in range(8))
    trends = read(
        tmp_path, {"trend.csv": f"time,t01__airflow__m3_per_s,t01__valve_share_0-1,t01__zone_temp__K\n{rows}"}
    )
    assert tags(trends) == ["t01"]
    assert values(trends, "t01", "primary_flow") == [100] * 8
    assert values(trends, "t01", "reheat_position") == [10 * n for n in range(8)]
    assert values(trends, "t01", "zone_temp") == [21 + n for n in range(8)]
    assert "degC" not in said(trends)
