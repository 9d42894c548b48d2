"""What kind of unit a terminal without a schedule is, by how its fan behaves; and where the fan does not tell."""

from collections import Counter

import pytest

from analyzer.signals import Scene
from analyzer.signals.kinds import kinds_told
from analyzer.signals.tallies import named_told
from tests.rules.case_trends import Case, site_of, trends_of

BY_DAY = {"00:00": 0, "07:00": 1, "18:00": 0}
IN_BURSTS = {"00:00": "0/1 every 30 min"}


@pytest.mark.parametrize(
    ("trends", "kind"),
    [
        ({"zone_temp": 21}, "single-duct"),
        ({"fan_status": BY_DAY}, "series"),
        ({"fan_status": 1}, "series"),
        ({"fan_status": IN_BURSTS}, "parallel"),
        ({"fan_status": {"00:00": 0, "20:00": 1}}, "parallel"),
        ({"fan_status": 0}, ""),
        ({"fan_command": 1}, ""),
        ({"fan_command": 0}, ""),
        ({"fan_command": BY_DAY}, ""),
        ({"fan_command": IN_BURSTS}, "parallel"),
        ({"fan_command": IN_BURSTS, "fan_status": 0}, "parallel"),
        ({"fan_command": 1, "fan_status": BY_DAY}, "series"),
    ],
    ids=str,
)
def test_kind_by_the_fan(trends, kind):
    case = Case("by hand", {"name": "by hand", "trends": trends, "schedule": {"kind": ""}})
    there = Scene(trends_of(case), site_of(case))
    assert there.kinds.tolist() == [kind]


def test_hours_in_which_the_air_handler_is_off_say_nothing():
    trends = {"fan_status": {"00:00": 0, "07:00": 1, "12:00": 0}}
    supply = {"supply_fan_status": {"00:00": 0, "07:00": 1, "12:00": 0}}
    case = Case("by hand", {"name": "by hand", "trends": trends, "schedule": {"kind": ""}, "air_handler": supply})
    assert Scene(trends_of(case), site_of(case)).kinds.tolist() == ["series"]


def without_schedule(primary_flow: dict) -> list[str]:
    """A fan that stands on the second of three days; the air handler's points go on saying that it runs."""
    fan = {**BY_DAY, "day 2 00:00": 0, "day 3 00:00": "usual"}
    told = {"name": "by hand", "days": 3, "trends": {"fan_status": fan, "primary_flow": primary_flow}}
    case = Case("by hand", told | {"schedule": {"kind": ""}, "air_handler": {"supply_fan_status": 1}})
    return Scene(trends_of(case), site_of(case)).kinds.tolist()


def test_a_series_unit_whose_fan_stands_while_no_primary_air_comes_stays_series():
    air = {"00:00": 0, "07:00": 90, "18:00": 0}
    assert without_schedule({**air, "day 2 00:00": 4, "day 3 00:00": "usual"}) == ["series"]
    assert without_schedule(air) == ["parallel"]  # the air came, and the fan stood


def test_what_is_said_of_the_kinds():
    told = kinds_told(Counter({"series": 2, "parallel": 1, "": 1}))
    assert told == ["3 terminals stand in no schedule; their kind was read from their points: 2 series, 1 parallel."]
    assert kinds_told(Counter()) == kinds_told(Counter({"": 2})) == []


def test_the_terminals_are_named_whose_fan_does_not_tell():
    told = {"name": "by hand", "days": 3, "interval": "15 min", "trends": {"zone_temp": 21, "fan_command": 1}}
    scene = Scene(trends_of(case := Case("by hand", told | {"schedule": {"kind": ""}})), site_of(case))
    assert scene.kinds.tolist() == [""]
    (said,) = named_told([scene.named])
    assert said.startswith("The fan of 1 terminal that") and "parallel units: TU-1 (" in said
