"""The owner's report: a standard's clause where it was read, else a default; one system of units; words for names."""

import re

import pytest

from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.report import words
from analyzer.report.accounts import DEFAULT, limits_in_force, origin
from tests.report.invented_building import invented_results

RULES = read_rules([rule_book()])


@pytest.mark.parametrize(
    ("source", "told"),
    [
        ("ASHRAE Guideline 36, 5.5.6: low airflow is under 70 % of the setpoint (read in a restatement)", "ASHRAE Guideline 36, 5.5.6"),
        ("IECC C403.4.1.2 and Title 24 Part 6, 120.2(b)3: a deadband (read)", "IECC C403.4.1.2; Title 24 Part 6, 120.2(b)3"),
        ("judgement: half of it (ASHRAE Guideline 36, 5.6, from memory)", DEFAULT),
        ("ASHRAE 55, from memory", DEFAULT),
        ("common practice, no source", DEFAULT),
    ],
)  # fmt: skip
def test_a_limit_names_the_clause_that_was_read_or_that_it_is_a_default(source, told):
    assert origin(source) == told


def test_no_limit_of_the_report_says_how_its_source_was_had_or_a_unit_of_the_other_system():
    results = invented_results(terminals=3)
    results.rules = RULES
    assert results.site.units == "ip"
    for rule in limits_in_force(results):
        for limit in rule["limits"]:
            assert not re.search(r"from memory|no source|judgement|\bread\b", limit["source"]), (rule["id"], limit)
            told = f"{limit['source']} {limit['reason']}"
            assert not re.search(r"\d K\b|\bkelvins?\b|degF|degC", told), (rule["id"], told)
            assert not re.search(r"\d (K|L/s|Pa|degC|degF|delta)\b", limit["value"]), (rule["id"], limit["value"])


def test_names_of_points_become_words():
    reason = "missing: the trend discharge_temp and the trend co2; primary_min in the terminal schedule"
    assert words.plain(reason) == (
        "missing: a trend of discharge temperature and a trend of CO2; primary minimum in the terminal schedule"
    )
    assert words.plain("VAV_zone_temp_1 stays") == "VAV_zone_temp_1 stays"


def test_a_limit_of_a_few_pascals_is_none_of_zero():
    results = invented_results(terminals=3)
    results.rules = RULES
    shown = {(rule["id"], own["name"]): own["value"] for rule in limits_in_force(results) for own in rule["limits"]}
    assert shown["damper-not-moving-air", "least_pressure"] == "0.004\u202fin. w.c."
    assert not [name for name, value in shown.items() if re.match(r"−?0\.0+\u202f", value)]


def test_the_occupancy_point_is_named_as_a_point_and_occupied_hours_are_left():
    assert words.plain("zone_temp, occupied, co2") == "zone temperature, occupancy, CO2"
    assert words.plain("occupied") == "occupancy"
    assert (
        words.plain("more could be judged with the trend occupied") == "more could be judged with a trend of occupancy"
    )
    assert words.plain("not enough time in occupied heating") == "not enough time in occupied heating"


def test_a_limit_that_is_a_number_has_no_unit_named_count():
    results = invented_results(terminals=3)
    results.rules = RULES
    values = [limit["value"] for rule in limits_in_force(results) for limit in rule["limits"]]
    assert values
    assert not [value for value in values if value.endswith((" count", " 1"))]
