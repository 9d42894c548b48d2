"""How evidence is weighed: for, against, not known, and ruled out."""

import math

import pytest

from analyzer.complaint.case import DECISIVE, STRONG, WEAK, Case, no, over


class Facts:
    """What a case asks of the facts."""

    def __init__(self, standing=(), near=()):
        self.standing = [{"rule": rule, "title": rule, "confidence": "firm"} for rule in standing]
        self.near_in_time = [{"rule": rule, "title": rule, "confidence": "firm"} for rule in near]


@pytest.mark.parametrize(
    ("value", "limit", "told"),
    [(2.0, 1.0, True), (1.0, 1.0, False), (0.0, 1.0, False), (math.nan, 1.0, None), (1.0, math.nan, None)],
)
def test_what_is_not_known_is_neither_over_nor_under(value, limit, told):
    assert over(value, limit) is told


def test_no_keeps_what_is_unknown():
    assert (no(True), no(False), no(None)) == (False, True, None)


def test_signs_speak_for_or_against_and_the_unknown_is_named_once():
    case = Case(Facts(), "a cause").sign(STRONG, True, "yes", "no").sign(WEAK, False, "yes", "not that")
    case.sign(STRONG, None, "yes", "no", "reheat_position").sign(STRONG, None, "yes", "no", "reheat_position")
    assert (case.speaks_for, case.speaks_against, case.unknown) == (["yes"], ["not that"], ["reheat_position"])
    assert case.weight == STRONG - WEAK and not case.ruled_out


def test_something_decisive_rules_a_cause_out_however_much_speaks_for_it():
    case = Case(Facts(standing=["rule-x"]), "a cause", ("rule-x",)).sign(STRONG, True, "yes", "")
    case.sign(DECISIVE, False, "", "the fan ran")
    assert case.weight > 0 and case.ruled_out


def test_a_verdict_that_stood_then_says_more_than_one_of_the_day():
    then = Case(Facts(standing=["rule-x"]), "a cause", ("rule-x",))
    near = Case(Facts(near=["rule-x"]), "a cause", ("rule-x",))
    none = Case(Facts(standing=["rule-y"]), "a cause", ("rule-x",))
    assert then.weight > near.weight > none.weight == 0
    assert "“rule-x” found this fault at that time (firm)" in then.speaks_for[0]


def test_a_sign_without_words_on_one_side_weighs_nothing_there():
    assert Case(Facts(), "a cause").sign(STRONG, False, "yes", "").weight == 0
