"""What most terminals share is told once: a setting as the building's, a fault at one moment as the air handler's."""

import pandas as pd
import pytest

from analyzer.engine.explained import Explained
from analyzer.findings.causes import put_under_causes
from analyzer.findings.results import Episode, Measure
from analyzer.findings.shared import told_once
from tests.findings.made import RULES, START, made, verdicts_of

TAGS = [f"VAV-{number}" for number in range(1, 11)]
OWNERS = {tag: "AHU-1" if number < 5 else "AHU-2" for number, tag in enumerate(TAGS)}


def told(rule: str, faulty: list[str], at_once=(), findings=None):
    findings = findings or [made(tag, rule, size=number) for number, tag in enumerate(faulty)]
    common = [Explained("air-handler-common-cause", "AHU-1", rule, tuple(at_once), tuple(at_once), (rule,), ())]
    return told_once(findings, RULES, verdicts_of(rule, TAGS, faulty), OWNERS, common if at_once else [])


def test_a_setting_of_most_terminals_is_one_finding_of_the_building():
    found = told("no-unoccupied-setback", TAGS[:7])
    (one,) = [finding for finding in found if finding.scope == "building"]
    assert (one.id, one.terminal) == ("building/no-unoccupied-setback", "building")
    assert one.terminals == tuple(sorted(TAGS[:7]))
    assert one.title.endswith("7 of 10 terminals of the building")
    assert all(finding.under == one.id for finding in found if finding is not one)
    assert one.measures["share"].value == pytest.approx(70)
    assert "Typical (median) terminal, VAV-4: VAV-4 is short by 3." in one.summary


@pytest.mark.parametrize(("judged", "shared"), [(2, 1), (3, 0)])
def test_of_a_setting_two_will_do_where_nearly_all_that_could_be_judged_have_it(judged, shared):
    faulty = TAGS[:2]
    findings = [made(tag, "no-unoccupied-setback") for tag in faulty]
    verdicts = verdicts_of("no-unoccupied-setback", TAGS[:judged], faulty)
    found = told_once(findings, RULES, verdicts, OWNERS, [])
    assert sum(finding.scope == "building" for finding in found) == shared


@pytest.mark.parametrize(("faulty", "listed"), [(1, 0), (2, 1)])
def test_what_is_told_as_a_list_takes_two_however_many_were_judged(faulty, listed):
    for rule in ("discharge-too-hot", "damper-position-not-credible"):
        found = told(rule, TAGS[:faulty])
        assert sum(finding.scope == "building" for finding in found) == listed


def test_what_drives_an_air_handler_is_a_list_in_order_without_those_that_are_explained():
    sizes = {"VAV-6": 3, "VAV-7": 9, "VAV-9": 5, "VAV-1": 4}
    findings = [made(tag, "holds-back-reset", size=size) for tag, size in sizes.items()]
    findings += [made("VAV-10", "holds-back-reset", size=20, under="VAV-10/starved-terminal")]
    found = told("holds-back-reset", list(sizes), findings=findings)
    (one,) = [finding for finding in found if finding.scope == "air_handler"]
    assert one.id == "AHU-2/holds-back-reset" and one.terminals == ("VAV-7", "VAV-9", "VAV-6")
    assert one.severity == "low"
    assert {finding.terminal for finding in found if finding.under == one.id} == set(one.terminals)
    alone = [finding.terminal for finding in found if finding.under is None and finding is not one]
    assert alone == ["VAV-1"]  # the only one of its air handler keeps a line of its own


@pytest.mark.parametrize(("faulty", "shared"), [(3, 0), (4, 0), (5, 1)])
def test_it_takes_half_of_the_judged_and_four_at_the_least(faulty, shared):
    found = told("no-unoccupied-setback", TAGS[:faulty])
    assert sum(finding.scope == "building" for finding in found) == shared


def test_many_terminals_with_a_fault_at_different_times_share_nothing():
    assert all(finding.scope == "terminal" for finding in told("starved-terminal", TAGS[:7]))


def test_what_an_air_handlers_terminals_have_at_once_is_its_finding_and_a_step_graver():
    faulty = TAGS[:5]
    findings = [made(tag, "reheat-hunting", size=number) for number, tag in enumerate(faulty)]
    found = told("reheat-hunting", faulty, faulty[:4], findings)
    (one,) = [finding for finding in found if finding.scope == "air_handler"]
    assert (one.id, one.air_handler, one.severity) == ("AHU-1/reheat-hunting", "AHU-1", "medium")
    assert {finding.terminal for finding in found if finding.under == one.id} == set(faulty[:4])
    assert [finding.terminal for finding in found if finding.under is None and finding is not one] == [faulty[4]]


def test_what_follows_from_another_cause_is_not_gathered_again():
    faulty = TAGS[:6]
    causes = [made(tag, "starved-terminal") for tag in faulty]
    followers = [made(tag, "zone-too-warm") for tag in faulty]
    under = put_under_causes(causes + followers, RULES, [])
    found = told("zone-too-warm", faulty, faulty, under)
    assert all(finding.scope == "terminal" for finding in found)


def test_the_time_of_a_shared_finding_is_when_half_of_them_had_it():
    hour = pd.Timedelta(hours=1)
    spans = [(0, 4), (1, 5), (2, 6), (3, 20)]
    faulty = TAGS[:4]
    findings = [
        made(tag, "reheat-hunting", episodes=(Episode(START + first * hour, START + last * hour),))
        for tag, (first, last) in zip(faulty, spans, strict=True)
    ]
    found = told("reheat-hunting", faulty, faulty, findings)
    (one,) = [finding for finding in found if finding.scope == "air_handler"]
    assert one.episodes == (Episode(START + 1 * hour, START + 6 * hour),)


NOBODYS = [f"VAV-{number}" for number in range(1, 41)]


def told_of_nobody(faulty: int, judged: int, apart_hours: float = 0.0, owner: str = ""):
    """Terminals of no known air handler with a fault of five hours, each so long after the one before."""
    later = [number * pd.Timedelta(hours=apart_hours) for number in range(faulty)]
    findings = [
        made(tag, "starved-terminal", episodes=(Episode(START + by, START + by + pd.Timedelta(hours=5)),))
        for tag, by in zip(NOBODYS, later, strict=False)
    ]
    verdicts = verdicts_of("starved-terminal", NOBODYS[:judged], NOBODYS[:faulty])
    found = told_once(findings, RULES, verdicts, dict.fromkeys(NOBODYS, owner), [])
    return [finding for finding in found if finding.scope != "terminal"]


@pytest.mark.parametrize(("faulty", "judged", "shared"), [(7, 20, 0), (8, 20, 1), (8, 33, 0), (9, 36, 1)], ids=str)
def test_nobodys_terminals_share_from_eight_and_a_quarter_of_those_judged_on(faulty, judged, shared):
    found = told_of_nobody(faulty, judged)
    assert len(found) == shared
    if found:
        assert found[0].scope == "building" and len(found[0].terminals) == faulty


def test_nobodys_terminals_with_a_fault_at_different_times_share_nothing():
    assert len(told_of_nobody(10, 20, apart_hours=0.5)) == 1  # all ten of them at one moment
    assert told_of_nobody(10, 20, apart_hours=1.0) == []  # five at the most


def test_an_air_handlers_terminals_are_not_nobodys():
    assert told_of_nobody(10, 20, owner="AHU-1") == []


def of_both(faulty: list[str], under: tuple[str, str] | None = None):
    """Tell of a fault that the terminals of both air handlers have at one moment; something explains AHU-2's."""
    rule = "starved-terminal"
    common = []
    for handler, explained_by in (("AHU-1", None), ("AHU-2", under)):
        own = tuple(tag for tag in faulty if OWNERS[tag] == handler)
        common.append(Explained("air-handler-common-cause", handler, rule, own, own, (rule,), (), under=explained_by))
    findings = [made(tag, rule, size=number) for number, tag in enumerate(faulty)]
    return told_once(findings, RULES, verdicts_of(rule, TAGS, faulty), OWNERS, common)


def test_what_the_terminals_of_several_air_handlers_have_is_one_finding_of_the_building():
    found = of_both(TAGS[:10])
    (one,) = [finding for finding in found if finding.scope != "terminal"]
    assert (one.id, one.scope) == ("building/starved-terminal", "building")
    assert one.terminals == tuple(sorted(TAGS))


def test_its_twins_stay_the_air_handlers():
    explained = of_both(TAGS, under=("AHU-2", "air-handler-outage"))
    assert {finding.terminal for finding in explained if finding.scope != "terminal"} == {"AHU-1", "AHU-2"}
    few = of_both(TAGS[:6])  # one of AHU-2's five: its own trouble
    assert {finding.terminal for finding in few if finding.scope != "terminal"} == {"AHU-1"}


WHOLE, ONE_ZONE = "Deadband entered too small for the whole building", "Setpoints adjusted one at a time"


@pytest.mark.parametrize(("gaps", "alike"), [((2.2, 2.2, 2.2, 2.21, 1.1), True), ((2.2, 1.9, 1.6, 1.3, 1.1), False)])
def test_the_same_deadband_at_all_is_one_setting_and_no_zone_that_differs(gaps, alike):
    causes = tuple(cause.say for cause in RULES["setpoints-too-close"].wording.likely_causes)
    findings = [
        made(tag, "setpoints-too-close", measures={"apart": Measure(gap, "K")}, likely_causes=causes)
        for tag, gap in zip(TAGS, gaps, strict=False)
    ]
    found = told("setpoints-too-close", TAGS[:5], findings=findings)
    (one,) = [finding for finding in found if finding.scope == "building"]
    assert [cause.startswith(WHOLE) for cause in one.supported_causes] == [True] * alike
    assert any(cause.startswith(ONE_ZONE) for cause in one.likely_causes) != alike


def test_what_the_trends_of_most_rule_out_is_no_cause_of_what_they_share():
    cause, *others = (cause.say for cause in RULES["no-unoccupied-setback"].wording.likely_causes)
    findings = [made(tag, "no-unoccupied-setback", likely_causes=tuple(others)) for tag in TAGS[:4]]
    findings += [made(tag, "no-unoccupied-setback", likely_causes=(cause, *others)) for tag in TAGS[4:7]]
    found = told("no-unoccupied-setback", TAGS[:7], findings=findings)
    (one,) = [finding for finding in found if finding.scope == "building"]
    assert cause not in one.likely_causes and set(one.likely_causes) == set(others)
