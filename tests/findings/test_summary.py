"""How the sentences of a finding are put together, and its figures spelled."""

import pytest

from analyzer.engine.building import judge_building
from analyzer.findings.findings import _joined, _words, collect_building
from analyzer.findings.results import Measure
from analyzer.signals import Scene
from tests.findings.made import RULES
from tests.rules.case_trends import all_cases, site_of, trends_of


def test_the_same_said_of_several_points_is_said_once():
    told = ["Zone temperature: no sample in the last 48 hours.", "CO2: no sample in the last 48 hours.",
            "Fan status: no sample in the last 30 hours.", "It is low."]  # fmt: skip
    assert _joined(told) == [
        "Zone temperature, CO2: no sample in the last 48 hours.",
        "Fan status: no sample in the last 30 hours.",
        "It is low.",
    ]


def test_figures_that_are_the_same_by_chance_stay_apart():
    told = ["Mean rise over the entering air: 1 K.", "Mean zone temperature below heating setpoint: 1 K."]
    assert _joined(told) == told


@pytest.mark.parametrize(
    ("value", "unit", "told"),
    [(0.49, "%", "0.5 %"), (0.66, "delta degF", "0.7 °F"), (-0.25, "K", "\u22120.3 K"), (-0.04, "K", "0 K"),
     (0.36, "kW", "0.36 kW"), (8.7, "%", "8.7 %"), (1290.0, "cfm", "1,290 cfm")],
)  # fmt: skip
def test_a_figure_has_no_more_decimals_than_its_sensor(value, unit, told):
    assert _words(Measure(value, unit)) == told


def test_a_point_that_is_logged_on_has_no_figure_of_a_log_that_ended():
    (case,) = [
        case for case in all_cases() if str(case) == "point-log-ended: the flow's log ends after two of four days"
    ]
    scene = Scene(trends_of(case), site_of(case))
    rules = {case.rule: RULES[case.rule]}
    (found,) = collect_building(scene, rules, judge_building(scene, rules))
    assert {name: measure.value for name, measure in found.measures.items()} == {"ended": 48.0, "primary_flow": 48.0}
    assert found.summary.endswith("Primary airflow: no sample in the last 48 h of the terminal's log.")
