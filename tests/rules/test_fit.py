"""What a finding says fits the terminal: no fan in a single-duct box, no heater fire at a hot-water coil."""

import re

import pytest

from analyzer.engine.rule import AIR_HANDLER
from analyzer.engine.rulebook import read_rules
from analyzer.engine.wording import KINDS, REHEATS, Passage, forms, forms_of
from analyzer.places import rule_book
from analyzer.site.model import USUAL_ACCURACY

RULES = read_rules([rule_book()])
# A fan of the air handler, and heat that is not at the terminal, may be spoken of everywhere.
FAN = r"(?<!supply )(?<!handler's )\bfans?\b(?! energy)|\bHOA\b"
AMISS = {
    "single-duct": FAN,
    "none": r"(?<!without )\breheat\b|(?<!space )\bheaters?\b|\bcoils?\b|\bhot.water\b|\bcontactor|\bvalves?\b",
    "hot-water": r"\belectric\b|(?<!space )\bheaters?\b|fire hazard|start a fire|contactor|at its disconnect|solid-state",
    "electric": r"\bhot.water\b|\bvalves?\b|\bpipes?\b|\bpump\b|strainer|\bplant\b|air in the coil",
}


def told(rule, kind, reheat):
    """All words of a rule as a finding at such a terminal may say them."""
    here = forms([kind], [reheat])
    text = rule.wording.fitted(here)
    evidence = [item.passage.at_forms(here) for item in rule.evidence]
    lists = (*text.likely_causes, *text.next_steps, *text.looks_like, *evidence)
    return [text.title, text.seen, text.why_it_matters, text.retest, text.caution or "", *lists]


@pytest.mark.parametrize(
    "rule", [rule for rule in RULES.values() if AIR_HANDLER not in rule.applies_to], ids=lambda r: r.id
)
def test_every_word_fits_every_kind_and_reheat_that_the_rule_applies_to(rule):
    for kind, reheat in sorted(rule.forms):
        for sentence in told(rule, kind, reheat):
            for word in (kind, reheat):
                found = re.search(AMISS.get(word, r"\bnot possible\b$"), sentence, re.IGNORECASE)
                assert not found, f"{rule.id} at {kind}, {reheat}: {found.group()!r} in {sentence!r}"


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda r: r.id)
def test_every_kind_and_reheat_gets_causes_steps_and_a_retest(rule):
    for kind, reheat in rule.forms:
        text = rule.wording.fitted(forms([kind], [reheat]))
        assert text.title and text.seen and text.why_it_matters and text.retest, (kind, reheat)
        assert len(text.likely_causes) >= 2 and text.next_steps and text.looks_like, (kind, reheat)
        assert not text.title.startswith(("Electric: ", "Hot water: ", "Fan-powered: "))


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda r: r.id)
def test_no_passage_is_for_a_terminal_that_the_rule_never_judges(rule):
    for passages in vars(rule.wording).values():
        for passage in passages:
            assert passage.at_forms(rule.forms), (rule.id, passage.say)


def test_every_sensor_that_moves_a_limit_has_its_usual_accuracy():
    named = {limit.accuracy for rule in RULES.values() for limit in rule.limits.values() if limit.accuracy}
    assert named <= set(USUAL_ACCURACY), "without one every fault is firm: add it in analyzer/site/model.py"


def test_the_hazard_is_told_at_electric_heat():
    for rule in ("reheat-without-airflow", "reheat-leaking-by", "reheat-not-delivering", "zone-too-cold"):
        for kind in KINDS:
            assert "licensed people" in RULES[rule].wording.fitted(forms([kind], ["electric"])).caution


def test_words_for_some_alone_say_for_which_where_it_is_not_known():
    heater = Passage("Turn it off.", ("electric",))
    both = Passage("Check both.", ("series", "parallel", "electric"))
    assert heater.at_forms(forms_of("series", "electric", True)) == "Turn it off."
    assert heater.at_forms(forms_of("series", "hot-water", True)) == ""
    assert heater.at_forms(forms_of("series", "", True)) == "Electric: Turn it off."
    assert heater.at_forms(forms_of("series", "", False)) == ""
    for said in ("An electric heater can be live.", "Electric heaters can be live."):  # it says so itself
        assert Passage(said, ("electric",)).at_forms(forms_of("series", "", True)) == said
    assert Passage("Hot-water coils can burn.", ("hot-water",)).at_forms(forms_of("", "", True)).startswith("Hot-water")
    assert both.at_forms(forms_of("", "", True)) == "Fan-powered, electric: Check both."
    assert both.at_forms(forms_of("series", "", True)) == "Electric: Check both."
    assert both.at_forms(forms_of("single-duct", "", True)) == ""
    assert forms_of("single-duct", "", False) == {("single-duct", "none")}
    assert len(forms_of("", "", True)) == len(KINDS) * (len(REHEATS) - 1)


@pytest.mark.parametrize(
    ("reheat", "title"),
    [
        ("electric", "Electric heater on with no call"),
        ("hot-water", "Reheat valve leaking by"),
        ("", "Reheat valve leaking by (or heater on with no call)"),
    ],
)
def test_a_title_of_one_reheat_is_not_that_of_a_terminal_whose_reheat_is_not_known(reheat, title):
    assert RULES["reheat-leaking-by"].wording.fitted(forms_of("single-duct", reheat, True)).title == title
