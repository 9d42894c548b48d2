"""The heating capability panel: figures of a terminal that heats, by hand."""

import pytest

from analyzer.engine.rulebook import read_rules
from analyzer.findings.heating import heating_capability
from analyzer.places import rule_book
from analyzer.signals import Scene
from tests.rules.case_trends import Case, site_of, trends_of

RULES = read_rules([rule_book()])


def heating(trends: dict, schedule: dict):
    """Return the panel's figures of one terminal."""
    case = Case("heating-capacity-short", {"name": "panel", "schedule": schedule, "trends": trends})
    return heating_capability(Scene(trends_of(case), site_of(case)), RULES)


def test_heat_delivered_is_the_trades_figure():
    """94 L/s at 15.6 K above the zone is 1.76 kW: common practice, no source."""
    trends = {
        "zone_temp": 21, "cooling_setpoint": 24, "primary_flow": 94, "reheat_position": {"00:00": 0, "07:00": 60},
        "discharge_temp": {"00:00": 21, "07:00": 36.6}, "primary_temp": 13,
    }  # fmt: skip
    told = heating(trends, {"reheat": "hot-water", "primary_min": 94, "reheat_capacity": 6000}).loc["TU-1"]
    assert told["delivered"] == pytest.approx(1760, rel=0.02)
    assert told["hours"] == pytest.approx(17, abs=0.2)
    assert told["with_fan"] != told["with_fan"]  # a single-duct terminal has no fan


def test_a_terminal_that_barely_heats_has_no_panel():
    trends = {"zone_temp": 22, "cooling_setpoint": 24, "primary_flow": 94, "reheat_position": 0, "discharge_temp": 13}
    assert heating(trends, {"reheat": "hot-water", "primary_min": 94}).empty
