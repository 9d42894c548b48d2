"""Which terminals an air handler's fault explains: its own, and of those that hang on nobody who shows it then only."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from analyzer.engine.air_tally import FED, STARVED, WITH_AIR, WITHOUT_AIR, AirTally
from analyzer.engine.building import judge_building
from analyzer.engine.episodes import Episodes
from analyzer.engine.explained import explained_by, joined_spans
from analyzer.engine.rulebook import read_rules
from analyzer.findings.findings import collect_building
from analyzer.places import rule_book
from analyzer.signals import Scene
from analyzer.trends import in_form
from tests.rules.case_trends import FOLDER, cases_of, site_of, trends_of

RULES = read_rules([rule_book()])
SHORT, OUTAGE, SUPPLY_OFF = (
    RULES[f"air-handler-{name}"] for name in ("short-of-pressure", "outage", "supply-temp-off")
)
HOUR = 3600.0
SIGN = {SHORT.id: STARVED, OUTAGE.id: WITHOUT_AIR}


def explained(rule, faults, shown, period=100, sign=None):
    """What a fault of AHU-1 in some hours explains; ``shown``: of the terminals of nobody, when each shows the sign."""
    runs = [
        {"sign": sign or SIGN.get(rule.id, STARVED), "owner": "", "terminal": tag, "start": a * HOUR, "end": b * HOUR}
        for tag, spans in shown.items()
        for a, b in spans
    ]
    members = pd.DataFrame({"owner": ["AHU-1", *[""] * len(shown)], "terminal": ["TU-1", *shown]})
    air = AirTally(pd.DataFrame(), pd.DataFrame(runs), members)
    scene = SimpleNamespace(terminals=np.array(["AHU-1"]))
    start, end = (np.array(each, dtype=float) * HOUR for each in zip(*faults, strict=True))
    number = np.zeros(len(faults), dtype=int)
    (own,) = explained_by(air, period * HOUR, scene, Episodes(number, number, number, start, end, number), rule)
    return own


def test_spans_of_a_fault_are_joined_across_a_night_and_no_further():
    day = 24 * HOUR
    spans = [(8 * HOUR, 18 * HOUR), (day + 8 * HOUR, day + 18 * HOUR), (3 * day + 8 * HOUR, 3 * day + 18 * HOUR)]
    assert joined_spans(spans) == [(8 * HOUR, day + 18 * HOUR), (3 * day + 8 * HOUR, 3 * day + 18 * HOUR)]
    assert joined_spans([(0, 10 * HOUR), (2 * HOUR, 5 * HOUR)]) == [(0, 10 * HOUR)]
    assert joined_spans([]) == []


@pytest.mark.parametrize(
    ("shown", "hangs"),
    [([(10, 18)], True), ([(10, 18), (60, 61)], True), ([(10, 18), (60, 80)], False), ([(10, 10.25)], False)],
    ids=["then alone", "then nearly alone", "at other times, too", "for a quarter of an hour"],
)
def test_of_nobodys_terminals_those_hang_on_it_that_starve_while_it_is_short_and_rarely_else(shown, hangs):
    own = explained(SHORT, [(10, 20)], {"TU-9": shown})
    assert own.terminals == (("TU-9",) if hangs else ())
    assert own.covers == (("TU-1", "TU-9") if hangs else ("TU-1",))


def test_who_starves_in_the_nights_between_hangs_on_it_as_well():
    days = [(8, 18), (32, 42)]
    assert explained(SHORT, days, {"TU-9": [(8, 42)]}).terminals == ("TU-9",)
    assert explained(SHORT, [(8, 18), (62, 72)], {"TU-9": [(8, 72)]}).terminals == ()


def test_in_an_outage_most_of_its_time_will_do():
    shown = {"TU-8": [(10, 16), (60, 90)], "TU-9": [(10, 13)]}
    assert explained(OUTAGE, [(10, 20)], shown).terminals == ("TU-8",)


def test_a_fault_that_takes_most_of_the_period_may_meet_anything_by_chance():
    short = explained(SHORT, [(10, 80)], {"TU-9": [(10, 70)]})
    assert short.terminals == () and short.perhaps == ()
    assert explained(OUTAGE, [(10, 80)], {"TU-9": [(10, 70)]}).terminals == ("TU-9",)  # no air is no chance


def test_of_the_rest_of_nobodys_terminals_it_may_explain_what_lies_within():
    assert explained(SHORT, [(10, 20)], {"TU-8": [(60, 80)], "TU-9": [(10, 18)]}).perhaps == ("TU-8", "TU-9")


def test_a_fault_that_terminals_do_not_show_themselves_covers_its_own_and_perhaps_nobodys():
    assert SUPPLY_OFF.terminals_by is None
    own = explained(SUPPLY_OFF, [(10, 20)], {"TU-9": [(10, 18)]})
    assert (own.terminals, own.covers, own.perhaps) == (("TU-1",), ("TU-1",), ("TU-9",))


def test_all_that_are_without_air_at_one_moment_are_counted_whoever_they_hang_on():
    shown = {"TU-7": [(10, 18)], "TU-8": [(10, 13)], "TU-9": [(14, 20)], "TU-6": [(2, 6)]}
    own = explained(OUTAGE, [(10, 18)], shown)
    assert own.terminals == ("TU-7", "TU-9")
    assert own.most == 2
    assert explained(OUTAGE, [(10, 18)], {"TU-7": [(9, 14)], "TU-9": [(14, 20)]}).most == 1
    assert np.isnan(explained(OUTAGE, [(10, 18)], {"TU-6": [(2, 6)]}).most)


@pytest.mark.parametrize("nobodys", [0, 3])
def test_a_finding_counts_the_terminals_that_it_lists_those_of_no_known_air_handler_too(nobodys):
    """Eight lose their air at one moment; of some of them nothing tells on which air handler they hang."""
    case = next(iter(cases_of(FOLDER / f"{OUTAGE.id}.toml")))
    site = site_of(case)
    site.schedule.loc[list(site.schedule.index[:nobodys]), "air_handler"] = None
    trends = trends_of(case)
    second = trends.air_handlers.assign(air_handler="AHU-2", supply_temp=13.0)  # or all would hang on the only one
    scene = Scene(replace(trends, air_handlers=in_form(pd.concat([trends.air_handlers, second]))), site)
    assert (scene.words("air_handler") == "").sum() == nobodys
    found = collect_building(scene, {OUTAGE.id: OUTAGE}, judge_building(scene, {OUTAGE.id: OUTAGE}))
    (own,) = [finding for finding in found if finding.terminal == "AHU-1"]
    assert len(own.terminals) == own.measures["terminals"].value == 8
    assert own.summary.startswith("Up to 8 terminals lost airflow at the same time")


@pytest.mark.parametrize(("rule", "sign"), [(OUTAGE, WITH_AIR), (SHORT, FED)], ids=["an outage", "a shortage"])
def test_who_has_air_for_most_of_it_hangs_on_another_air_handler(rule, sign):
    assert explained(rule, [(10, 20)], {"TU-9": [(4, 18)]}, sign=sign).perhaps == ()
    assert explained(rule, [(10, 20)], {"TU-9": [(4, 14)]}, sign=sign).perhaps == ("TU-9",)


@pytest.mark.parametrize(("rule", "sign"), [(OUTAGE, FED), (SHORT, WITH_AIR), (SUPPLY_OFF, WITH_AIR)])
def test_what_tells_nothing_of_a_fault_leaves_a_terminal_of_nobody_under_it(rule, sign):
    """Air that moves may be too little while the duct is short, and says nothing of its temperature."""
    assert explained(rule, [(10, 20)], {"TU-9": [(4, 18)]}, sign=sign).perhaps == ("TU-9",)
