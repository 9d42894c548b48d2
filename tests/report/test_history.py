"""The page of the history and the summary to mail tell what became of every finding from review to review."""

import json
import re
from dataclasses import replace

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.findings.history import standing, with_history
from analyzer.findings.results import Answer
from analyzer.report import write_report, write_summary
from analyzer.report.history_page import BACK, CORRECTED, NEW, STANDING, UNJUDGED, stories
from tests.report.invented_building import invented_results
from tests.report.told import text_of


def _told(number: int, found: list[str], not_judged: list[str]) -> dict:
    week = pd.Timestamp("2026-01-05", tz="America/Chicago") + pd.DateOffset(weeks=number)
    return {
        "format": "trendwright-findings/1",
        "site": "Quillfeather House",
        "period": {"from": week.isoformat(), "to": (week + pd.DateOffset(days=7)).isoformat()},
        "verdicts": {"fault": len(found), "clear": 1, "not-judged": len(not_judged)},
        "not_judged": not_judged,
        "findings": [
            {
                "id": one, "terminal": one.partition("/")[0], "rule": one.partition("/")[2], "severity": "high",
                "title": f"Earlier title of {one}", "number": 100 + len(one),
            }
            for one in found
        ],
    }  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(marks=st.text("FCN", min_size=1, max_size=14).filter(lambda marks: "F" in marks))
def test_a_finding_stands_since_the_last_review_that_judged_it_clear(marks):
    """Against its story told the long way: through the reviews one by one."""
    first = marks.index("F")
    told = [
        _told(number, ["A/x"] if mark == "F" else [], ["A/x"] if mark == "N" and number > first else [])
        for number, mark in enumerate(marks)
    ]
    found = standing(told)["A/x"]
    since = corrected = None
    returns, run = 0, 0
    for number, mark in enumerate(marks, 1):
        if mark == "F":
            if corrected is not None:
                returns, corrected, run = returns + 1, None, 0
            if run == 0:
                since = number
            run += 1
        elif mark == "C" and run and corrected is None:
            corrected = number
    assert (found.since, found.corrected, found.returns) == (since, corrected, returns)
    assert found.in_a_row == (run if marks[-1] == "F" else 0)


@pytest.fixture
def seventh(tmp_path):
    """A seventh review: of its findings one is new, one stands, one came back; two of earlier ones are gone."""
    results = invented_results(terminals=14)
    results.findings = results.findings[:3]
    new, old, back = (finding.id for finding in results.findings)
    old_answer = Answer("Replaced the sensor", "2026-02-10", "corrected")
    results.findings[1] = replace(results.findings[1], answer=old_answer)
    clear = results.verdicts[results.verdicts["verdict"] == "clear"].iloc[0]
    cured = f"{clear['terminal']}/{clear['rule']}"
    results.earlier_answers = {cured: Answer("", "", "corrected")}
    weeks = ["FF..F", "FF..F", "F...F", "F..FF", "F..FN", "F..FN"]  # old, back, new, cured, lost: one letter each
    names = [old, back, new, cured, "VAV-9-99/zone-too-cold"]
    paths = []
    for number, marks in enumerate(weeks):
        paths.append(tmp_path / f"{number}.json")
        own = [[name for name, mark in zip(names, marks, strict=True) if mark == kind] for kind in "FN"]
        paths[-1].write_text(json.dumps(_told(number, *own)), "utf-8")
    return with_history(results, paths), names


def test_every_finding_stands_where_its_story_belongs(seventh):
    results, (old, back, new, cured, lost) = seventh
    found = {story.id: story for own in stories(results).values() for story in own}
    assert {name: found[name].kind for name in found} == {
        new: NEW, old: STANDING, back: BACK, cured: CORRECTED, lost: UNJUDGED,
    }  # fmt: skip
    assert {name: found[name].marks for name in found} == {
        new: "------F", old: "FFFFFFF", back: "FFCCCCF", cured: "---FFFC", lost: "FFFFNNN",
    }  # fmt: skip
    assert str(found[back].since) == str(pd.Timestamp(results.history[6].start))
    assert found[cured].corrected == pd.Timestamp(results.history[6].start)


def test_the_page_tells_the_stories_and_what_the_work_changed(seventh, tmp_path):
    results, (old, *_, lost) = seventh
    write_report(results, tmp_path / "report")
    page = text_of(tmp_path / "report" / "history.html")
    assert "over 7 reviews: 1 new, 1 came back, 1 still there, 1 corrected, 1 not judged any more." in page
    assert (
        "The issue log says of 2 findings that they are corrected. By the trends of this review 1 is corrected, 1 still "
        "there, and 0 not judged." in page
    )
    terminal = old.partition("/")[0]
    assert re.search(rf"{terminal}: .*\. Log: corrected “Replaced the sensor” \(2026-02-10\)", page)
    assert f"Earlier title of {lost}" in page
    assert "found in 4 reviews, not judged in 3 reviews" in page


def test_the_summary_holds_what_is_new_since_the_review_before(seventh, tmp_path):
    results, (old, back, new, cured, lost) = seventh
    write_summary(results, tmp_path)
    told = json.loads((tmp_path / "summary.json").read_text("utf-8"))
    assert told["review"] == 7
    assert told["counts"] == {NEW: 1, BACK: 1, STANDING: 1, CORRECTED: 1, UNJUDGED: 1}
    ids = {kind: [one["id"] for one in told[kind]] for kind in (NEW, BACK, CORRECTED, UNJUDGED)}
    assert ids == {NEW: [new], BACK: [back], CORRECTED: [cured], UNJUDGED: [lost]}
    mail = (tmp_path / "summary.html").read_text("utf-8")
    assert "<script" not in mail
    assert not re.search(r"(?:src|href)=", mail)
    assert "review 7 of this building" in mail


def test_what_was_corrected_long_ago_is_not_told_again(seventh, tmp_path):
    results, (_, _, _, cured, _) = seventh
    results.history.append(results.history[-1])
    results.standing[cured] = replace(results.standing[cured])
    for name, one in results.standing.items():
        if name != cured:
            results.standing[name] = replace(one, rounds=(*one.rounds, 8))
    write_summary(results, tmp_path)
    assert json.loads((tmp_path / "summary.json").read_text("utf-8"))[CORRECTED] == []
