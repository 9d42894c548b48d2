"""How evidence is weighed: for, against, not known, and ruled out."""

from analyzer.complaint.case import Case
from analyzer.complaint.cause import WEIGHTS


class Facts:
    """What a case asks of the facts."""

    terminal = "TU-1"

    def __init__(self, standing=(), near=(), wrong=(), **told):
        self.wrong = wrong
        plain = {"terminal": "TU-1", "confidence": "firm"} | told
        self.standing = [{"rule": rule, "title": rule} | plain for rule in standing]
        self.near_in_time = [{"rule": rule, "title": rule} | plain for rule in near]

    def rests_on_a_wrong_reading(self, finding) -> bool:
        return finding["rule"] in self.wrong


def test_signs_speak_for_or_against_and_the_unknown_is_named_once():
    case = Case(Facts(), "a cause").sign("strong", True, "yes").sign("weak", False, "not that")
    case.lacks(["primary airflow"])
    case.lacks(["primary airflow", "zone temperature"])
    assert (case.speaks_for, case.speaks_against) == (["yes"], ["not that"])
    assert case.unknown == ["primary airflow", "zone temperature"]
    assert case.weight == WEIGHTS["strong"] - WEIGHTS["weak"] and case.is_likely


def test_something_decisive_rules_a_cause_out_however_much_speaks_for_it():
    case = Case(Facts(standing=["rule-x"]), "a cause", ("rule-x",)).sign("strong", True, "yes")
    case.sign("decisive", False, "the fan ran")
    assert case.weight > 0 and case.ruled_out and not case.is_likely


def test_without_what_it_rests_on_a_cause_is_not_named_unless_a_rule_found_it():
    case = Case(Facts(), "a cause").sign("strong", True, "yes")
    case.lacks(["zone temperature"], essential=True)
    found = Case(Facts(standing=["rule-x"]), "a cause", ("rule-x",))
    found.lacks(["zone temperature"], essential=True)
    assert case.weight > 0 and not case.is_likely and found.is_likely


def test_a_verdict_that_stood_then_says_more_than_one_of_the_day():
    then = Case(Facts(standing=["rule-x"]), "a cause", ("rule-x",))
    near = Case(Facts(near=["rule-x"]), "a cause", ("rule-x",))
    none = Case(Facts(standing=["rule-y"]), "a cause", ("rule-x",))
    assert then.weight > near.weight > none.weight == 0
    assert "“rule-x” found this fault at that time (firm)" in then.speaks_for[0]


def test_a_sign_without_words_on_one_side_weighs_nothing_there():
    assert Case(Facts(), "a cause").sign("strong", False, "").weight == 0


def test_a_fault_of_the_air_handler_counts_at_the_terminals_that_show_it_and_is_named_with_it():
    case = Case(Facts(["rule-x"], terminal="AHU-1", terminals=["TU-1", "TU-2"]), "a cause", ("rule-x",))
    assert case.speaks_for == ["The rule “rule-x” found this fault at AHU-1 at that time (firm)."]
    assert case.elsewhere == ["AHU-1: rule-x"] and case.weight == WEIGHTS["decisive"]
    others = Case(Facts(["rule-x"], terminal="AHU-1", terminals=["TU-2"]), "a cause", ("rule-x",))
    assert (others.speaks_for, others.elsewhere, others.weight) == ([], [], 0)


def test_what_follows_from_a_wrong_reading_is_no_evidence():
    rules = ("rule-x", "rule-y")
    case = Case(Facts(standing=["rule-x"], near=["rule-y"], wrong=["rule-x"]), "a cause", rules)
    assert not case.found and len(case.speaks_for) == 1 and "rule-y" in case.speaks_for[0]
