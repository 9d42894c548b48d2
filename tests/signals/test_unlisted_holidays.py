"""Days off that nobody listed: found from terminals that rest through them, told, and never an outage."""

from dataclasses import replace
from datetime import date

import pytest

from analyzer.reviews import review
from analyzer.signals.unlisted_holidays import unlisted_holidays, with_unlisted_holidays
from tests.rules.case_trends import Case, site_of, trends_of

WEDNESDAY = date(2026, 1, 14)  # the third day of a case
USUAL = {
    "primary_flow": {"00:00": 0, "06:00": 100, "18:30": 0},
    "primary_flow_setpoint": {"00:00": 0, "06:00": 100, "18:30": 0},
    "damper_position": {"00:00": 0, "06:00": 50, "18:30": 0},
    "zone_temp": {"00:00": 21, "06:00": 22, "18:30": 21},
}


def off(*days: int, **other):
    """The usual week, with some days on which everything stays as at night."""
    kept = {}
    for name, by_clock in (USUAL | other).items():
        once = {}
        for day in days:
            once |= {f"day {day} 00:00": by_clock["00:00"], f"day {day + 1} 00:00": "usual"}
        kept[name] = by_clock | once
    return kept


def building(trends: dict, terminals: int = 6, air_handler: dict | None = None, days: int = 5):
    told = {"name": "by hand", "days": days, "interval": "15 min", "trends": trends, "alike": terminals - 1}
    case = Case("starved-terminal", told | ({"air_handler": air_handler} if air_handler else {}))
    return trends_of(case), site_of(case)


def test_a_day_on_which_all_rest_as_at_night_is_a_holiday():
    assert unlisted_holidays(*building(off(3))) == [WEDNESDAY]
    assert unlisted_holidays(*building(USUAL)) == []


def test_with_fewer_than_four_terminals_nothing_is_told():
    assert unlisted_holidays(*building(off(3), terminals=3)) == []


@pytest.mark.parametrize(("at_work", "found"), [(2, [WEDNESDAY]), (3, [])])
def test_nearly_all_terminals_have_to_rest(at_work, found):
    told = {"name": "by hand", "days": 5, "interval": "15 min", "trends": off(3), "alike": 10 - at_work - 1}
    case = Case("starved-terminal", told | {"companions": [USUAL] * at_work})
    assert unlisted_holidays(trends_of(case), site_of(case)) == found


def test_terminals_that_ask_for_air_and_get_none_are_an_outage():
    no_air = USUAL | {"primary_flow": {**USUAL["primary_flow"], "day 3 00:00": 0, "day 4 00:00": "usual"}}
    assert unlisted_holidays(*building(no_air)) == []


def test_dampers_that_stand_open_ask_for_air_where_no_setpoint_is_logged():
    no_air = {name: USUAL[name] for name in ("damper_position", "zone_temp")}
    no_air["primary_flow"] = {**USUAL["primary_flow"], "day 3 00:00": 0, "day 4 00:00": "usual"}
    assert unlisted_holidays(*building(no_air)) == []
    resting = off(3)
    del resting["primary_flow_setpoint"]
    assert unlisted_holidays(*building(resting)) == [WEDNESDAY]


@pytest.mark.parametrize("days", [(3,), (3, 4)])
def test_an_outage_that_goes_on_for_days_is_none_even_when_nobody_asks_for_air_any_more(days):
    """The air is lost on Tuesday at noon with the dampers open; from Wednesday on they are shut."""
    lost = off(*days)
    lost["primary_flow"] = {**USUAL["primary_flow"], "day 2 12:00": 0, f"day {days[-1] + 1} 00:00": "usual"}
    assert unlisted_holidays(*building(lost)) == []


def test_what_most_working_days_look_like_is_how_the_building_is_run():
    assert unlisted_holidays(*building(off(2, 3, 4))) == []
    assert len(unlisted_holidays(*building(off(3, 4)))) == 2


RUNS = {
    "supply_fan_status": {"00:00": 0, "06:00": 1, "18:30": 0},
    "supply_temp": {"00:00": "18 with noise 0.3", "06:00": "13 with noise 0.3", "18:30": "18 with noise 0.3"},
    "duct_static_pressure": {"00:00": 0, "06:00": "250 with noise 9", "18:30": 0},
}
FROZEN = {"supply_fan_status": 1, "supply_temp": 13.1, "duct_static_pressure": 247}


@pytest.mark.parametrize(
    ("that_day", "found"),
    [({name: by_clock["00:00"] for name, by_clock in RUNS.items()}, [WEDNESDAY]), (FROZEN, [])],
    ids=["the air handler rests, too", "its points stand frozen and say that it runs"],
)
def test_frozen_points_that_say_that_the_air_handler_runs_are_an_outage(that_day, found):
    points = {
        name: {**by_clock, "day 3 00:00": that_day[name], "day 4 00:00": "usual"} for name, by_clock in RUNS.items()
    }
    assert unlisted_holidays(*building(off(3), air_handler=points)) == found


def test_the_site_gains_the_holiday_and_says_so():
    trends, site = building(off(3))
    listed = replace(site, holidays=(date(2026, 1, 1),))
    found = with_unlisted_holidays(trends, listed)
    assert found.holidays == (date(2026, 1, 1), WEDNESDAY)
    (said,) = found.assumptions
    assert "Wed 2026-01-14 was taken as unoccupied" in said and "under holidays in the site file" in said
    two = with_unlisted_holidays(*building(off(3, 4)))
    assert "Wed 2026-01-14, Thu 2026-01-15 were taken as unoccupied" in two.assumptions[0]
    assert with_unlisted_holidays(*building(USUAL)).assumptions == ()


def test_a_second_review_comes_to_the_same_and_a_listed_day_is_not_told_again():
    trends, site = building(off(3, zone_temp={"00:00": 17, "06:00": 22, "18:30": 17}) | {"heating_setpoint": 21})
    first, again = review(trends, site).results, review(trends, site).results
    assert site.holidays == () and first.verdicts.equals(again.verdicts) and first.assumptions == again.assumptions
    assert any("2026-01-14" in said for said in first.assumptions)
    listed = review(trends, replace(site, holidays=(WEDNESDAY,))).results
    assert listed.verdicts.equals(first.verdicts)
    assert not any("2026-01-14" in said for said in listed.assumptions)


def test_nobody_is_cold_on_a_holiday():
    """The room is at 17 degC all Wednesday; on a working day it would be a fault."""
    room = {"00:00": 17, "06:00": 22, "18:30": 17}
    trends, site = building(off(3, zone_temp=room) | {"heating_setpoint": 21})
    assert "TU-1/zone-too-cold" not in {found.id for found in review(trends, site).results.findings}
    worked = USUAL | {"zone_temp": {**room, "day 3 00:00": 17, "day 4 00:00": "usual"}, "heating_setpoint": 21}
    assert "TU-1/zone-too-cold" in {found.id for found in review(*building(worked)).results.findings}
