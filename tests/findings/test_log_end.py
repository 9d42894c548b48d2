"""A log that ends is no correction: a finding says until when there was anything to judge."""

import numpy as np
import pandas as pd

from analyzer.engine.building import judge_building
from analyzer.engine.rulebook import read_rules
from analyzer.findings.findings import collect_building
from analyzer.places import rule_book
from analyzer.report.chart_data import log_ended
from analyzer.signals import Scene
from tests.rules.case_trends import START, Case, site_of, trends_of

RULES = read_rules([rule_book()])
COLD = {"zone_temp": 17.0, "heating_setpoint": 21.0, "occupied": 1, "primary_flow": 90}
END = START + pd.Timedelta("2D")


def finding(rule: str, trends: dict, ends: dict):
    """Judge a terminal over five days, some points of which end after two; return its finding."""
    case = Case(rule, {"name": "ended", "trends": trends, "days": 5})
    table = trends_of(case)
    for name in ends:
        table.terminals.loc[table.terminals["time"] >= END, name] = np.nan
    site = site_of(case)
    scene = Scene(table, site)
    (found,) = collect_building(scene, {rule: RULES[rule]}, judge_building(scene, {rule: RULES[rule]}))
    return found


def test_the_first_of_its_points_to_end_ends_it():
    found = finding("zone-too-cold", COLD, ["zone_temp"])
    assert END <= found.logged_until <= END + pd.Timedelta("20min")  # the last sample is held for three intervals
    assert log_ended((found.logged_until - START).total_seconds(), 5 * 86400)


def test_a_point_that_it_does_not_rest_on_may_end():
    found = finding("zone-too-cold", COLD, ["primary_flow"])
    assert found.logged_until == START + pd.Timedelta("5D")
    assert not log_ended((found.logged_until - START).total_seconds(), 5 * 86400)


def test_a_gap_of_hours_before_the_end_is_no_end():
    assert not log_ended(6.5 * 86400, 7 * 86400)
    assert log_ended(5.5 * 86400, 7 * 86400)
    assert not log_ended(49.5 * 86400, 50 * 86400)
