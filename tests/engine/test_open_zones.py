"""Which rules apply in an open zone of so many terminals."""

import pytest

from analyzer.engine.building import judge_building
from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.signals import Scene
from tests.rules.case_trends import Case, site_of, trends_of

RULES = read_rules([rule_book()])


@pytest.mark.parametrize(("terminals", "applies"), [(1, False), (2, False), (3, True)])
def test_two_sensors_of_an_open_zone_are_not_asked_which_is_right(terminals, applies):
    told = {"name": "by hand", "days": 3, "schedule": {"open_zone": "OPEN"}, "trends": {"zone_temp": 22}}
    case = Case("zone-sensor-offset", told | {"alike": terminals - 1})
    scene = Scene(trends_of(case), site_of(case))
    verdicts = judge_building(scene, {"zone-sensor-offset": RULES["zone-sensor-offset"]}).verdicts
    assert len(verdicts) == (terminals if applies else 0)
