"""Which of a rule's likely causes the trends support, and which they rule out."""

import math
import tomllib
from pathlib import Path

import pytest

from analyzer.engine.building import judge_building
from analyzer.engine.rulebook import read_rules
from analyzer.findings.findings import collect_building
from analyzer.places import rule_book
from analyzer.signals import Scene
from tests.rules.case_trends import FOLDER, cases_of, site_of, trends_of

RULES = read_rules([rule_book()])
SIGNS = tomllib.loads((Path(__file__).parent / "cause_signs.toml").read_text("utf-8"))["signs"]


def cause_of(rule: str, words: str):
    (found,) = [cause for cause in RULES[rule].wording.likely_causes if cause.say.startswith(words)]
    return found


@pytest.mark.parametrize(("rule", "words", "values", "made"), SIGNS, ids=lambda value: str(value)[:40])
def test_trends_make_of_a_cause_what_is_said(rule, words, values, made):
    cause, known = cause_of(rule, words), RULES[rule].values | values
    supported, left_out = (
        when is not None and bool(when.truth(lambda name: float(known.get(name, math.nan))).true)
        for when in (cause.when, cause.unless)
    )
    assert (supported, left_out) == (made == "supported", made == "left out")


def test_every_condition_holds_in_one_line_and_not_in_another():
    told = [(cause_of(rule, words), made) for rule, words, _, made in SIGNS]
    lacking = []
    for rule in RULES.values():
        for cause in rule.wording.likely_causes:
            made = {what for other, what in told if other is cause}
            for condition, what in ((cause.when, "supported"), (cause.unless, "left out")):
                if condition is not None and what not in made:
                    lacking.append(f'["{rule.id}", "{cause.say[:20]}", {{ values in SI }}, "{what}"],')
                if condition is not None and not made - {what}:
                    lacking.append(f'["{rule.id}", "{cause.say[:20]}", {{ other values }}, ""],')
    assert not lacking, "write into tests/rules/cause_signs.toml:\n" + "\n".join(dict.fromkeys(lacking))


def finding(rule: str, name: str):
    (case,) = [case for case in cases_of(FOLDER / f"{rule}.toml") if case.told["name"] == name]
    scene = Scene(trends_of(case), site_of(case))
    (found,) = collect_building(scene, RULES, judge_building(scene, {rule: RULES[rule]}))
    return found


def test_a_signal_fixed_at_40_percent_all_week_is_an_override():
    found = finding("reheat-during-cooling", "held at 40 % through all hours: an override, whatever the zone does")
    assert [cause.split(":")[0] for cause in found.supported_causes] == ["Manual override of the reheat output"]
    assert found.likely_causes[0] == found.supported_causes[0]
    assert not any("another sensor" in cause for cause in found.likely_causes)


def test_a_signal_that_moves_is_none():
    found = finding("reheat-during-cooling", "valve held at 40 % while the zone is too warm")
    assert not found.supported_causes
    assert not any("override" in cause for cause in found.likely_causes)


def test_a_sentence_with_an_unknown_figure_is_not_said():
    found = finding("air-handler-outage", "no flow is trended, and the fan's status goes off at ten on a working day")
    assert "unknown" not in found.summary and "Up to" not in found.summary
    assert found.summary.startswith("No air for 8 h of its usual running hours")


@pytest.mark.parametrize(("name", "possible"), [("the fan slows: less air", False), ("twin: setpoints raised", True)])
def test_more_air_demanded_is_no_cause_where_more_was_supplied_before(name, possible):
    rule = "air-handler-short-of-pressure"
    (whole,) = [case.told["name"] for case in cases_of(FOLDER / f"{rule}.toml") if case.told["name"].startswith(name)]
    causes = finding(rule, whole).likely_causes
    assert any(cause.startswith("More air demanded") for cause in causes) == possible


@pytest.mark.parametrize(("name", "reverse"), [("reverse-acting valve", True), ("twin: a coil without water", False)])
def test_a_valve_is_reverse_acting_only_where_it_heats_at_zero(name, reverse):
    rule = "reheat-not-delivering"
    (whole,) = [case.told["name"] for case in cases_of(FOLDER / f"{rule}.toml") if case.told["name"].startswith(name)]
    found = finding(rule, whole)
    told = [cause for cause in found.likely_causes if "reverse-acting" in cause]
    assert bool(told) == reverse
    assert all(cause in found.supported_causes for cause in told)


@pytest.mark.parametrize(
    ("name", "sensor"),
    [
        ("damper shut, flow that is no leak, and none with the air handler off: the blade, not the sensor", False),
        ("its twin: the air handler is never off", True),
    ],
)
def test_a_sensor_that_reads_none_with_the_air_handler_off_is_no_cause_of_air_behind_a_shut_damper(name, sensor):
    found = finding("flow-with-closed-damper", name)
    of_sensor = [cause for cause in found.likely_causes if cause.startswith(("Transducer zero", "Sensor tubes"))]
    assert bool(of_sensor) == sensor
    assert [cause.split(",")[0] for cause in found.supported_causes] == ([] if sensor else ["Blade does not close"])
