"""What a fault of an air handler explains: at which terminals, of which rules, when; the same in groups of terminals."""

from dataclasses import replace

import pandas as pd
import pytest

from analyzer.engine.air_tally import NOT_ASSIGNED
from analyzer.engine.building import judge_building
from analyzer.engine.rulebook import read_rules
from analyzer.findings.findings import collect_building
from analyzer.places import rule_book
from analyzer.reviews import review
from analyzer.signals import Scene
from analyzer.trends import in_form
from tests.rules.case_trends import Case, site_of, trends_of

RULES = read_rules([rule_book()])
OUTAGE, SHORT, COMMON = "air-handler-outage", "air-handler-short-of-pressure", "air-handler-common-cause"
USUAL = {"damper_position": 45, "primary_flow_setpoint": 200, "primary_flow": 200, "zone_temp": 22}
LOST = {
    "damper_position": {"00:00": 45, "day 3 10:00": 100, "day 3 15:00": "usual"},
    "primary_flow_setpoint": 200,
    "primary_flow": {"00:00": 200, "day 3 10:00": 0, "day 3 15:00": "usual"},
    "zone_temp": {"00:00": 22, "day 3 11:00": 27, "day 3 15:00": "usual"},
    "cooling_setpoint": 24,
}


def built(trends: list[dict], air_handler: dict | None = None, **told):
    """The trends and the site of terminals over three days at a quarter of an hour."""
    case = {"name": "by hand", "days": 3, "interval": "15 min", "trends": trends[0], "companions": trends[1:]} | told
    case = Case("starved-terminal", case | ({"air_handler": air_handler} if air_handler else {}))
    return trends_of(case), site_of(case)


def explained(trends, site, rule: str):
    common = judge_building(Scene(trends, site), RULES).common
    return [own for own in common.explained if own.rule == rule]


def test_an_outage_names_its_terminals_and_covers_all_of_the_air_handler():
    (own,) = explained(*built([LOST] * 5 + [USUAL]), OUTAGE)
    assert own.terminals == ("TU-1", "TU-2", "TU-3", "TU-4", "TU-5")
    assert own.covers == (*own.terminals, "TU-6")
    assert "zone-too-warm" in own.explains
    ((start, end),) = own.spans
    assert pd.Timestamp(start, unit="s", tz="UTC") == pd.Timestamp("2026-01-14 10:00", tz="America/Chicago")
    assert own.hours == pytest.approx(5.0) and own.within(start - 3600, start + 1800) == 1800


def test_faults_of_those_hours_go_under_the_outage_and_no_others():
    # The zones are not judged while no air can come; the dedicated outdoor air is.
    inlet = {"outdoor_air_flow": {"00:00": 30, "day 3 10:00": 0, "day 3 15:00": "usual"}}
    trends, site = built(
        [LOST | inlet] * 5 + [LOST | {"zone_temp": 27, "outdoor_air_flow": 0}],
        schedule={"outdoor_air_inlet_min": 30},
    )
    scene = Scene(trends, site)
    findings = collect_building(scene, RULES, judge_building(scene, RULES))
    under = {found.id: found.under for found in findings}
    assert under["TU-1/outdoor-air-inlet-below-minimum"] == f"AHU-1/{OUTAGE}"
    assert under["TU-6/outdoor-air-inlet-below-minimum"] is None and under["TU-6/zone-too-warm"] is None
    assert "TU-1/zone-too-warm" not in under
    assert under[f"AHU-1/{OUTAGE}"] is None


def test_terminals_of_no_air_handler_go_with_the_one_that_lost_its_air_at_the_same_moment():
    trends, site = built([LOST] * 10)
    site.schedule.loc[["TU-7", "TU-8", "TU-9", "TU-10"], "air_handler"] = None
    (own,) = explained(trends, site, OUTAGE)
    assert own.air_handler == "AHU-1" and {"TU-7", "TU-10"} <= set(own.terminals) & set(own.covers)


def test_without_any_air_handler_only_those_that_lost_their_air_are_covered():
    (own,) = explained(*built([LOST] * 6 + [USUAL] * 6, schedule={"air_handler": ""}), OUTAGE)
    assert own.air_handler == NOT_ASSIGNED
    assert own.covers == own.terminals == tuple(f"TU-{number}" for number in range(1, 7))


def test_what_is_shared_is_told_rule_by_rule_and_goes_under_what_explains_it():
    short = {"damper_position": 100, "primary_flow_setpoint": 200, "primary_flow": 100}
    close = {"heating_setpoint": 21, "cooling_setpoint": 22, "zone_temp": 21.5}
    trends, site = built([short | close] * 5, {"supply_fan_status": 1})
    common = {own.fault: own for own in explained(trends, site, COMMON)}
    assert {"starved-terminal", "setpoints-too-close"} <= set(common)
    assert common["starved-terminal"].under == ("AHU-1", SHORT)
    assert common["setpoints-too-close"].under is None
    assert common["setpoints-too-close"].most == 5 and common["setpoints-too-close"].share == 1.0


def test_a_fault_of_fewer_terminals_than_the_least_is_not_shared_beside_one_that_is():
    close = {"heating_setpoint": 21, "cooling_setpoint": 22}
    warm = {"zone_temp": 27, "heating_setpoint": 21, "cooling_setpoint": 22}
    trends, site = built([close] * 5 + [warm])  # one terminal has a zone temperature: all of those judged too warm
    assert {own.fault for own in explained(trends, site, COMMON)} == {"setpoints-too-close", "no-unoccupied-setback"}


def test_terminals_that_are_logged_at_different_minutes_share_a_fault_by_quarter_hours():
    """Each is logged every quarter of an hour, two minutes after the one before: no two ever at the same moment."""
    warm = {"zone_temp": {"00:00": 22, "09:00": 27}, "cooling_setpoint": 24}
    trends, site = built([warm] * 5)
    table = trends.terminals
    later = pd.to_timedelta(2 * table["terminal"].cat.codes.astype("int64"), unit="min")
    trends = replace(trends, terminals=in_form(table.assign(time=table["time"] + later)))
    common = {own.fault: own for own in explained(trends, site, COMMON)}
    assert common["zone-too-warm"].most == 5 and common["zone-too-warm"].share == 1.0


def test_a_terminal_with_several_samples_in_a_quarter_hour_counts_once():
    warm = {"zone_temp": {"00:00": 22, "09:00": 27}, "cooling_setpoint": 24}
    fine = {"zone_temp": 22, "cooling_setpoint": 24}
    trends, site = built([warm] * 4 + [fine] * 4, interval="1 min", days=1)
    common = {own.fault: own for own in explained(trends, site, COMMON)}
    assert common["zone-too-warm"].most == 4 and common["zone-too-warm"].share == 0.5


@pytest.mark.parametrize("most_rows", [1, 600])
def test_an_outage_is_the_same_in_groups_of_terminals(monkeypatch, most_rows):
    from analyzer.engine.groups import groups_of

    trends, site = built([LOST] * 6 + [USUAL] * 3, {"supply_fan_status": 1, "duct_static_pressure": 250})
    site.schedule.loc[["TU-6", "TU-9"], "air_handler"] = None
    whole = told(review(trends, site))
    assert any(f"AHU-1/{OUTAGE}" == found.id for found in whole[1])
    monkeypatch.setattr(groups_of, "__defaults__", (most_rows,))
    assert told(review(trends, site)) == whole


def told(done):
    """What a review came to, to be compared with another's."""
    results = done.results
    order = results.verdicts.sort_values(["terminal", "rule"]).fillna("").to_dict("list")
    return order, [replace(found, measures={}) for found in results.findings], sorted(results.assumptions)
