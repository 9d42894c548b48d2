"""No rule judges differently without a word in the change log: a moved limit changes reports that people have acted on."""

from dataclasses import replace

import pytest

from analyzer.engine.rulebook import read_rules
from analyzer.engine.wording import Passage
from analyzer.places import rule_book
from tests.change_notes.notes import judging, notes, sections, told, told_last

RULES = read_rules([rule_book()])
TOLD = told()
REMEDY = (
    "name it under 'Verdicts' in the newest section of CHANGELOG.md, with what changes in a report, "
    "then run python -m tests.change_notes"
)


@pytest.mark.parametrize("rule", sorted({*RULES, *TOLD}))
def test_what_a_rule_judges_by_is_what_was_told(rule):
    assert rule in RULES, f"the rule {rule} is gone: {REMEDY}"
    assert rule in TOLD, f"the rule {rule} is new: {REMEDY}"
    assert judging(RULES[rule]) == TOLD[rule]["judging"], f"the rule {rule} judges differently: {REMEDY}"
    assert told_last(rule).section == TOLD[rule]["section"], f"the note on {rule} has moved: {REMEDY}"


def test_every_rule_that_a_note_names_is_one_or_was_one():
    for note in notes():
        unknown = [rule for rule in note.rules if rule not in RULES and "gone" not in note.said]
        assert not unknown, f"CHANGELOG.md, {note.section}: there is no rule {', '.join(unknown)}"


def test_the_newest_section_is_of_this_version_or_of_the_next():
    import analyzer

    assert sections()[0].split()[0] in (analyzer.__version__, "Unreleased")
    assert any(section.startswith(analyzer.__version__) for section in sections())


def test_a_moved_limit_a_condition_and_a_severity_are_seen_and_a_corrected_sentence_is_not():
    rule = RULES["fan-short-cycling"]
    limit = rule.limits["starts_per_hour"]
    moved = replace(rule, limits=rule.limits | {"starts_per_hour": replace(limit, value=limit.value + 1)})
    doubted = rule.limits | {"starts_per_hour": replace(limit, uncertainty=rule.fault_when)}
    other = [
        moved,
        replace(rule, limits=doubted),
        replace(rule, severity="low"),
        replace(rule, lasting=rule.lasting + 60),
        replace(rule, judged_when=rule.fault_when),
    ]
    assert len({judging(one) for one in (rule, *other)}) == 6
    reworded = replace(rule.wording, title=(Passage("Another title"),), retest=(Passage("Look again."),))
    assert judging(replace(rule, wording=reworded)) == judging(rule)
