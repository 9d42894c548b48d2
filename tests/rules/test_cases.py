"""Every labelled case of every rule is judged as it is labelled; every rule has its cases."""

import pytest

from analyzer.engine.building import judge_building
from analyzer.engine.rule import AIR_HANDLER
from analyzer.engine.rulebook import read_rules
from analyzer.findings.findings import collect_building
from analyzer.places import rule_book
from analyzer.signals import Scene
from tests.rules.case_trends import AIR_HANDLER_TAG, FOLDER, TERMINAL_TAG, all_cases, cases_of, site_of, trends_of

RULES = read_rules([rule_book()])


@pytest.mark.parametrize("case", all_cases(), ids=str)
def test_case_is_judged_as_labelled(case):
    site = site_of(case)
    book = read_rules([rule_book()], site) if site.rule_changes else RULES
    rules = {name: book[name] for name in (case.told.get("by"), case.rule) if name}
    scene = Scene(trends_of(case), site)
    judgement = judge_building(scene, rules)
    judged = case.told.get("judged", _judged(rules[case.rule]))
    (verdict,) = [
        row for row in judgement.verdicts.to_dict("records") if (row["terminal"], row["rule"]) == (judged, case.rule)
    ]
    told = case.told
    assert verdict["verdict"] == told["expect"], verdict
    assert told.get("reason", "") in verdict["reason"], verdict
    assert (verdict["fault_hours"] > 0) == (told["expect"] == "fault"), verdict
    if "confidence" in told:
        assert verdict["confidence"] == told["confidence"], verdict
    # A fault that is shared is told by its own name, at the air handler, or as the building's where it is a setting.
    ids = {f"{judged}/{told.get('by', case.rule)}", f"building/{told.get('by')}"}
    findings = [found for found in collect_building(scene, rules, judgement) if found.id in ids]
    assert len(findings) == (told["expect"] == "fault")
    if "severity" in told:
        assert findings[0].severity == told["severity"]
    for sentence in told.get("evidence", []):
        assert sentence in findings[0].summary, findings[0].summary


def _judged(rule) -> str:
    return AIR_HANDLER_TAG if AIR_HANDLER in rule.applies_to else TERMINAL_TAG


@pytest.mark.parametrize("rule", RULES)
def test_rule_has_a_fault_a_near_miss_and_one_that_cannot_be_judged(rule):
    file = FOLDER / f"{rule}.toml"
    assert file.exists(), f"{rule} has no labelled cases"
    assert {case.told["expect"] for case in cases_of(file)} == {"fault", "clear", "not-judged"}


@pytest.mark.parametrize("rule", RULES.values(), ids=list(RULES))
def test_what_looks_alike_is_more_than_a_formality(rule):
    assert all(len(sentence.split()) > 5 for sentence in rule.text.looks_like)
    assert all(limit.source and limit.reason for limit in rule.limits.values())
