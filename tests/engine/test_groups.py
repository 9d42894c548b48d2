"""A building judged in groups of terminals comes to what it comes to as a whole, common causes included."""

from dataclasses import replace

import pandas as pd
import pytest

from analyzer.engine.building import joined_tables, judge_air_handlers, judge_building, judge_terminals
from analyzer.engine.common_cause import add_up, faults_at_once, with_those_by_themselves
from analyzer.engine.rulebook import read_rules
from analyzer.findings.findings import (
    collect,
    collect_building,
    findings_of_air_handlers,
    forms_by_terminal,
    of_owners,
    put_in_order,
)
from analyzer.places import rule_book
from analyzer.signals import Scene
from analyzer.signals.agreed import RunningSum, agree, shown_by
from analyzer.trends import AIR_HANDLER_COLUMNS, Trends, in_form
from tests.rules.case_trends import Case, site_of, tags_of, trends_of

RULES = read_rules([rule_book()])
SHARED = "air-handler-common-cause"
# Five of six terminals short of ventilation air at the same hours; no hour's average lies on the limit.
CASE = Case(
    SHARED,
    {
        "schedule": {"ventilation_min": 100},
        "trends": {"primary_flow": {"00:00": 110, "09:00": 47}},
        "companions": [{"primary_flow": {"00:00": 110, "09:00": flow}} for flow in (41, 47, 52, 60, 110)],
    },
)
ONE_BY_ONE = [[tag] for tag in tags_of(CASE)]


def part_of(trends: Trends, tags: list[str], *, hours: int = 24) -> Trends:
    """Return the trends of some terminals, of a part of the time."""
    table = trends.terminals
    kept = table["terminal"].isin(tags) & (table["time"] < table["time"].min() + pd.Timedelta(hours=hours))
    return replace(
        trends, terminals=in_form(table[kept].astype({"terminal": object})), logging=trends.logging.loc[tags]
    )


def in_groups(parts: list[Trends]):
    """Judge groups of terminals one after another; return verdicts, findings, and what the air handlers share."""
    site = site_of(CASE)
    known = agree([shown_by(Scene(trends, site)) for trends in parts])
    scenes = [Scene(trends, site, agreed=known) for trends in parts]
    judged = [judge_terminals(scene, RULES) for scene in scenes]
    at_once = add_up([faults_at_once(scene, own, RULES) for scene, own in zip(scenes, judged, strict=True)])
    common = judge_air_handlers(site, RULES, at_once)
    found = [finding for scene, own in zip(scenes, judged, strict=True) for finding in collect(scene, RULES, own)]
    verdicts = joined_tables([*(own.verdicts for own in judged), common.judgement.verdicts])
    of_terminals = joined_tables([own.verdicts for own in judged])
    owners = {
        tag: owner for scene in scenes for tag, owner in zip(scene.terminals, scene.words("air_handler"), strict=True)
    }
    may_be = {tag: forms for scene in scenes for tag, forms in forms_by_terminal(scene).items()}
    found += findings_of_air_handlers(RULES, common, of_owners(owners, may_be))
    return verdicts, put_in_order(found, RULES, common.explained, of_terminals, owners, may_be), common.shared


@pytest.mark.parametrize("groups", [ONE_BY_ONE, [["TU-6", "TU-2"], ["TU-1", "TU-3", "TU-4", "TU-5"]]])
def test_groups_come_to_the_same_as_the_whole(groups):
    trends = trends_of(CASE)
    whole = judge_building(scene := Scene(trends, site_of(CASE)), RULES)
    verdicts, findings, shared = in_groups([part_of(trends, tags) for tags in groups])
    order = ["terminal", "rule"]
    pd.testing.assert_frame_equal(
        verdicts.sort_values(order, ignore_index=True), whole.verdicts.sort_values(order, ignore_index=True)
    )
    expected = collect_building(scene, RULES, whole)
    assert [replace(found, measures={}) for found in findings] == [replace(found, measures={}) for found in expected]
    for found, other in zip(findings, expected, strict=True):
        assert {name: measure.unit for name, measure in found.measures.items()} == {
            name: measure.unit for name, measure in other.measures.items()
        }
        assert [measure.value for measure in found.measures.values()] == pytest.approx(
            [measure.value for measure in other.measures.values()], rel=1e-9
        )
    assert shared == whole.shared
    assert ("AHU-1", "primary-below-ventilation-minimum") in shared[SHARED]


def test_a_group_without_the_shared_hours_is_added_up_all_the_same():
    trends = trends_of(CASE)
    parts = [part_of(trends, tags, hours=24 if tags != ["TU-5"] else 8) for tags in ONE_BY_ONE]
    _, _, shared = in_groups(parts)
    assert shared[SHARED]["AHU-1", "primary-below-ventilation-minimum"] == ["TU-1", "TU-2", "TU-3", "TU-4"]


def test_of_what_groups_counted_few_sums_are_held():
    most, summed = 0, RunningSum(sum)
    for number in range(100):
        summed.take(number)
        most = max(most, len(summed._held))
    assert summed.total() == sum(range(100)) and most <= 7


def test_an_air_handler_without_terminals_adds_its_quarter_hours_and_nothing_that_terminals_show():
    scene = Scene(trends_of(CASE), site_of(CASE))
    at_once = faults_at_once(scene, judge_terminals(scene, RULES), RULES)
    shows = at_once.air.runs.reindex([0]).assign(sign="starved", owner="AHU-1", terminal="TU-1", start=0.0, end=900.0)
    at_once = replace(at_once, air=replace(at_once.air, runs=shows))
    moments = scene.table["time"].min() + pd.to_timedelta([0, 7, 15], unit="min")  # of two quarter hours
    alone = pd.DataFrame({"air_handler": "AHU-9", "time": moments, "supply_temp": 13.0})
    both = with_those_by_themselves(at_once, [in_form(alone.reindex(columns=AIR_HANDLER_COLUMNS))])
    assert both.tags == ("AHU-1", "AHU-9")
    assert (both.owner == 1).sum() == 2 and (both.owner == 0).sum() == len(at_once.owner)
    assert len(at_once.air.counts) and len(at_once.air.members) and len(at_once.air.demand)
    for name in ("counts", "runs", "members", "demand"):
        pd.testing.assert_frame_equal(getattr(both.air, name), getattr(at_once.air, name), check_like=True)
