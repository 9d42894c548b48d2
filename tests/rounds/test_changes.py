"""What becomes of a finding between two reviews, on small tables made by hand."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analyzer.findings.answers import Answers
from analyzer.findings.results import VERDICT_COLUMNS, Answer
from analyzer.findings.stored import StoredReview
from analyzer.quantities import TERMINAL
from analyzer.rounds import compare
from analyzer.rounds.tables import COLUMNS, comparison_csv, comparison_rows
from analyzer.site.model import SCHEDULE, Site
from analyzer.trends import no_air_handlers

RULE = "primary-below-ventilation-minimum"
LIMIT = {"averaging": {"value": 15.0, "unit": "min", "moved": False}}


def finding(terminal="TU-1", rule=RULE, *, value=20.0, unit="%", hours=10.0, judged=50.0) -> dict:
    return {
        "id": f"{terminal}/{rule}", "terminal": terminal, "air_handler": "AHU-1", "rule": rule, "title": "Short of air",
        "severity": "high", "impact": "ventilation", "confidence": "firm", "fault_hours": hours, "judged_hours": judged,
        "episodes": [], "measures": {"shortfall": {"value": value, "unit": unit}}, "summary": "", "likely_causes": [],
        "next_steps": [], "retest": "",
    }  # fmt: skip


def review(
    *findings, verdicts=(), rules=None, worse="higher", total=False, days=("2026-01-26", "2026-02-01"), logged=None,
    schedule=None, **site,
) -> StoredReview:  # fmt: skip
    """A review as if it had been read from its folder; verdicts are (terminal, rule, verdict)."""
    told = {
        "site": "Quillfeather House",
        "period": {"from": f"{days[0]}T00:00:00-06:00", "to": f"{days[1]}T23:55:00-06:00"},
        "rules": {RULE: LIMIT} if rules is None else rules,
        "ranking": {RULE: {"measure": "shortfall", "worse": worse, "total": total}},
        "findings": list(findings),
    }
    rows = [(f["terminal"], f["rule"], "fault", f["judged_hours"], f["fault_hours"]) for f in findings]
    rows += [(terminal, rule, verdict, 50.0, 0.0) for terminal, rule, verdict in verdicts]
    table = pd.DataFrame(rows, columns=["terminal", "rule", "verdict", "judged_hours", "fault_hours"])
    table = table.assign(confidence="", reason="as seen", first_seen="", last_seen="")[VERDICT_COLUMNS]
    scheduled = pd.DataFrame(schedule or {}).T.reindex(columns=list(SCHEDULE)).rename_axis("terminal")
    made = StoredReview(
        Path("review"), told, table.set_index(["terminal", "rule"], drop=False),
        Site(name="Quillfeather House", time_zone="America/Chicago", schedule=scheduled, **site),
    )  # fmt: skip
    logged = {"TU-1": {"zone_temp": 300.0}} if logged is None else logged
    logging = pd.DataFrame.from_dict(logged, orient="index").reindex(columns=list(TERMINAL)).astype(float)
    made.__dict__.update(logging=logging, air_handlers=no_air_handlers())
    return made


def outcome(old, new):
    (change,) = compare(old, new).changes
    return change


@pytest.mark.parametrize(
    ("now", "expected", "verdict"),
    [
        (review(finding()), "still-there", "fault"),
        (review(verdicts=[("TU-1", RULE, "clear")]), "corrected", "clear"),
        (review(verdicts=[("TU-1", RULE, "not-judged")]), "no-longer-judged", "not-judged"),
        (review(verdicts=[("TU-2", RULE, "clear")]), "no-longer-judged", "not in this review"),  # no trends of it
        (review(verdicts=[("TU-1", "another", "clear")], rules={}), "no-longer-judged", "not in this review"),
        (review(verdicts=[("TU-1", "another", "clear")]), "no-longer-judged", "not in this review"),  # does not apply
    ],
)
def test_only_a_clear_verdict_is_corrected(now, expected, verdict):
    change = outcome(review(finding()), now)
    assert (change.outcome, change.new_verdict) == (expected, verdict)
    assert change.new_reason


@pytest.mark.parametrize("before", ["clear", "not-judged"])
def test_a_new_fault_says_what_was_judged_before(before):
    change = outcome(review(verdicts=[("TU-1", RULE, before)]), review(finding()))
    assert (change.outcome, change.old_verdict, change.change) == ("new", before, "")


@pytest.mark.parametrize(
    ("worse", "was", "now", "told"),
    [
        ("higher", 20.0, 22.1, "worse"),
        ("higher", 20.0, 22.0, "as before"),  # a tenth is no change
        ("higher", 20.0, 18.0, "as before"),
        ("higher", 20.0, 17.9, "better"),
        ("lower", 20.0, 30.0, "better"),
        ("lower", 20.0, 10.0, "worse"),
        ("further from zero", -30.0, -10.0, "better"),
        ("further from zero", 10.0, -30.0, "worse"),
        ("higher", -5.0, -2.0, "worse"),
    ],
)
def test_better_or_worse_is_told_by_the_ranking_figure(worse, was, now, told):
    change = outcome(review(finding(value=was), worse=worse), review(finding(value=now), worse=worse))
    assert change.change == told
    if told != "as before":
        assert change.figures.by == "shortfall"


def test_where_the_figure_stands_still_the_share_of_hours_tells():
    change = outcome(review(finding(hours=40.0)), review(finding(hours=10.0)))
    assert (change.change, change.figures.by) == ("better", "share of the judged hours")


@pytest.mark.parametrize(("now", "told"), [(5.0, "worse"), (4.8, "as before"), (3.5, "as before"), (0.4, "better")])
def test_a_share_has_to_move_by_two_points_as_well(now, told):
    change = outcome(review(finding(hours=2.9, judged=100.0)), review(finding(hours=now, judged=100.0)))
    assert change.change == told


@pytest.mark.parametrize(("now", "told"), [(5.1, "worse"), (4.9, "as before")])
def test_a_percentage_has_to_move_by_two_points_as_well(now, told):
    change = outcome(review(finding(value=3.0, unit="%")), review(finding(value=now, unit="%")))
    assert change.change == told


def test_a_total_that_was_put_to_the_judged_hours_is_named_as_what_it_is_then():
    heat = outcome(
        review(finding(value=50.0, unit="K h", judged=50.0), total=True),
        review(finding(value=90.0, unit="K h", judged=50.0), total=True),
    )
    alone = outcome(
        review(finding(value=10.0, unit="h", judged=50.0), total=True),
        review(finding(value=50.0, unit="h", judged=50.0), total=True),
    )
    assert heat.figures.by.endswith(", mean over the judged hours")
    assert alone.figures.by.endswith(", share of the judged hours")


def test_a_total_is_taken_per_judged_hour_so_that_a_longer_period_is_no_worse():
    change = outcome(
        review(finding(value=50.0, unit="K h", judged=50.0), total=True),
        review(finding(value=100.0, unit="K h", judged=100.0, hours=20.0), total=True),
    )
    assert change.change == "as before"
    assert (change.figures.old_value, change.figures.new_value, change.figures.unit) == (1.0, 1.0, "K")


def test_hours_of_the_judged_ones_are_told_in_percent():
    change = outcome(
        review(finding(value=10.0, unit="h", judged=50.0), total=True),
        review(finding(value=50.0, unit="h", judged=50.0), total=True),
    )
    assert (change.figures.old_value, change.figures.new_value, change.figures.unit) == (20.0, 100.0, "%")


def test_figures_in_other_units_are_brought_to_those_of_now():
    change = outcome(review(finding(value=100.0, unit="cfm")), review(finding(value=100.0, unit="L/s")))
    assert change.figures.old_value == pytest.approx(47.194745)  # 1 cfm = 0.47194745 L/s
    assert change.change == "worse"


def test_figures_that_measure_different_things_are_not_compared():
    change = outcome(review(finding(value=1.0, unit="cfm")), review(finding(value=9.0, unit="%", hours=10.0)))
    assert np.isnan(change.figures.old_value) and change.figures.by == "share of the judged hours"


def test_those_that_want_a_word_come_first():
    old = review(finding("TU-1"), finding("TU-2"), finding("TU-3", value=20.0), finding("TU-4"))
    new = review(
        finding("TU-1"), finding("TU-3", value=90.0), finding("TU-5"),
        verdicts=[("TU-2", RULE, "clear"), ("TU-4", RULE, "not-judged")],
    )  # fmt: skip
    found = compare(old, new)
    assert [change.id.split("/")[0] for change in found.changes] == ["TU-3", "TU-1", "TU-5", "TU-4", "TU-2"]
    assert found.counts == {"still-there": 2, "new": 1, "no-longer-judged": 1, "corrected": 1}


# What limits it ------------------------------------------------------------------------------------------------------


def told_limits(old, new) -> str:
    return "\n".join(f"{one.heading}: {one.sentence} {one.cases}" for one in compare(old, new).limiting)


def test_two_like_weeks_are_limited_by_nothing_but_the_weather():
    later = review(finding(), days=("2026-02-02", "2026-02-08"))
    assert [one.heading for one in compare(review(finding()), later).limiting] == ["Weather"]
    assert outcome(review(finding()), later).limits == []


@pytest.mark.parametrize(
    ("new", "told"),
    [
        ({"days": ("2026-02-02", "2026-02-15")}, "7.0 and 14.0 days"),
        ({"days": ("2026-01-12", "2026-01-18")}, "covers earlier days"),
        ({"days": ("2026-01-30", "2026-02-05")}, "share days"),
        ({"rules": {RULE: {"averaging": {"value": 30.0, "unit": "min", "moved": True}}}}, "was 15 min, is 30 min"),
        ({"rules": {RULE: LIMIT, "own-rule": {}}}, "only now: own-rule"),
        ({"occupied_hours": {0: [(420, 1080)]}}, "now: mon 07:00–18:00"),
        ({"setpoints": {"heating": 21.0}}, "setpoints"),
        ({"logged": {"TU-1": {"zone_temp": 900.0}}}, "Logged less often than before"),
        ({"logged": {"TU-1": {"primary_flow": 300.0}}}, "Trended before and not now"),
        ({"logged": {"TU-2": {"zone_temp": 300.0}}}, "no trends now: TU-1"),
        ({"schedule": {"TU-1": {"ventilation_min": 50.0}}}, "scheduled ventilation_min was 90 L/s, is 50 L/s"),
    ],
)
def test_what_differs_is_said(new, told):
    old = review(finding(), schedule={"TU-1": {"ventilation_min": 90.0}})
    now = {"days": ("2026-02-02", "2026-02-08"), "schedule": {"TU-1": {"ventilation_min": 90.0}}} | new
    assert told in told_limits(old, review(finding(), **now))


def test_a_scheduled_figure_that_reads_the_same_in_both_is_no_change():
    old = review(finding(), schedule={"TU-1": {"ventilation_min": 90.0}})
    new = review(finding(), schedule={"TU-1": {"ventilation_min": 90.2}}, days=("2026-02-02", "2026-02-08"))
    assert "ventilation_min" not in told_limits(old, new)


def test_what_limits_one_finding_stands_with_it():
    moved = {RULE: {"averaging": {"value": 30.0, "unit": "min", "moved": True}}}
    now = review(verdicts=[("TU-1", RULE, "clear")], rules=moved, logged={"TU-1": {"co2": 900.0}})
    limits = outcome(review(finding(judged=120.0)), now).limits
    assert limits == [
        "limit averaging was 15 min, is 30 min", "no longer trended here: zone_temp", "judged over 50.0 h, before over 120.0 h",
    ]  # fmt: skip


# Tables --------------------------------------------------------------------------------------------------------------


def test_rows_are_as_documented_and_hold_the_answer():
    answers = Answers({f"TU-1/{RULE}": Answer("=done", "2026-02-03", "corrected")})
    found = compare(review(finding()), review(finding(value=50.0)), answers)
    (row,) = comparison_rows(found)
    assert list(row) == list(COLUMNS)
    assert (row["old_value"], row["new_value"], row["change"], row["status"]) == (20.0, 50.0, "worse", "corrected")
    text = comparison_csv(found)
    assert text.splitlines()[0] == ",".join(COLUMNS) and ",'=done," in text


def test_no_findings_at_all_is_a_comparison_too():
    found = compare(review(), review())
    assert found.changes == [] and comparison_csv(found).splitlines() == [",".join(COLUMNS)]
