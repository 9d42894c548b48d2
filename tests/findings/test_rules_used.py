"""Which way a rule's ranking figure grows worse, and who is proposed to act: over the whole shipped rule book."""

import pytest

from analyzer.engine.rule import CREWS, who_acts
from analyzer.findings.rules_used import limits_used, ranking
from analyzer.reviews import rule_book_of
from analyzer.site import Site

BOOK = rule_book_of(Site())


@pytest.mark.parametrize(
    ("rule", "measure", "worse"),
    [
        ("primary-below-ventilation-minimum", "shortfall", "higher"),
        ("reheat-not-delivering", "under_room", "higher"),
        ("fan-short-of-flow", "share", "lower"),
        ("flow-below-measurable", "share", "lower"),
        ("flow-sensor-drift", "drift", "further from zero"),  # a sensor reads high or low
        ("heating-capacity-short", "below", "higher"),
        ("zone-too-cold", "degree_hours", "higher"),
    ],
)
def test_worse_is_what_makes_the_condition_truer(rule, measure, worse):
    told = ranking(BOOK[rule])
    assert (told["measure"], told["worse"]) == (measure, worse)
    assert told["total"] == (rule == "zone-too-cold")


def test_limits_are_told_in_the_units_of_their_file():
    told = limits_used(BOOK["heating-capacity-short"])
    assert told["heating_for"] == {"value": 45.0, "unit": "min", "moved": False}
    assert told["capability_rise"]["value"] == 20.0  # of degF, through SI and back
    for rule in BOOK.values():
        assert set(limits_used(rule)) == set(rule.limits)


def test_every_rule_has_someone_to_act():
    for rule in BOOK.values():
        assert set(who_acts(rule, rule.impact).split(", then ")) <= set(CREWS)
    assert who_acts(BOOK["flow-sensor-drift"], "data") == "balancing"
    assert who_acts(BOOK["reheat-during-cooling"], "energy") == who_acts(None, "energy") == "controls"
    assert who_acts(None, "safety") == "controls, then mechanical"
