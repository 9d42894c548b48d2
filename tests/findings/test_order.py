"""Findings stand in the order of what one would do first; hours decide nothing."""

from analyzer.findings.order import in_order
from tests.findings.made import RULES, made


def ids(findings) -> list[str]:
    return [finding.id for finding in in_order(findings, RULES)]


def test_causes_stand_before_what_follows_from_them():
    cause = made("VAV-1", "setpoints-too-close")
    follower = made("VAV-1", "zone-too-cold", under=cause.id)
    assert ids([follower, cause]) == [cause.id, follower.id]


def test_within_a_severity_harm_stands_before_cost_and_the_most_severe_of_each_rule_before_second_ones():
    warm = [made(f"VAV-{number}", "zone-too-warm", size=size) for number, size in ((1, 10), (2, 80))]
    air = [made(f"VAV-{number}", "primary-below-ventilation-minimum", size=size) for number, size in ((3, 20), (4, 60))]
    assert ids([*warm, *air]) == [
        "VAV-4/primary-below-ventilation-minimum",
        "VAV-3/primary-below-ventilation-minimum",
        "VAV-2/zone-too-warm",
        "VAV-1/zone-too-warm",
    ]


def test_a_long_log_does_not_make_a_finding_graver():
    small = made("VAV-1", "reheat-leaking-by", size=0.2, hours=900)
    large = made("VAV-2", "reheat-leaking-by", size=4.0, hours=9)
    assert ids([small, large])[0] == large.id


def test_a_figure_that_grows_worse_downwards_ranks_so():
    slow = made("FPB-1", "fan-short-of-flow", size=30)
    nearly = made("FPB-2", "fan-short-of-flow", size=75)
    assert ids([nearly, slow])[0] == slow.id


def test_what_many_share_stands_before_one_of_them():
    one = made("VAV-9", "starved-terminal", size=90)
    many = made("AHU-1", "starved-terminal", size=10, scope="air_handler", terminals=("VAV-1", "VAV-2"))
    assert ids([one, many])[0] == many.id
