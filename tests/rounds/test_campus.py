"""A small campus laid into a store and reviewed week by week: its history says what the reviews say."""

import pandas as pd

from tests.rounds.campus import PATTERNS, as_found, marks_of, seeded, stories_told, write_week, wrong_rows


def test_three_weeks_are_told_as_they_were(trendwright, tmp_path):
    story, terminals = seeded(3), 20
    for week in range(3):
        folder = tmp_path / f"week-{week}"
        write_week(week, terminals, story, folder)
        site = ["--site", folder / "site.toml"]
        assert trendwright("normalize", folder / "exports", *site, "--into", "store", cwd=tmp_path).status == 0
        ran = trendwright("review", "store", *site, "--last", "1w", "--out", "review", cwd=tmp_path)
        assert ran.status == 0, ran.err
    told = as_found(tmp_path / "review")
    starts = pd.to_datetime([one["period"]["from"] for one in told])
    assert [str(start) for start in starts] == [
        "2026-03-30 00:00:00-05:00", "2026-04-06 00:00:00-05:00", "2026-04-13 00:00:00-05:00",
    ]  # fmt: skip
    marks = marks_of(told)
    rounds = pd.read_csv(tmp_path / "review" / "rounds.csv", keep_default_na=False)
    assert wrong_rows(marks, told, rounds) == []
    right, every, others = stories_told(story, marks, terminals)
    assert every >= 4
    assert right >= every - 1, others


def test_a_history_that_says_otherwise_is_seen():
    told = [{"period": {"from": f"2026-01-{day:02}"}, "findings": [], "not_judged": []} for day in (5, 12, 19)]
    columns = ["id", "since", "corrected", "came_back"]
    right = pd.DataFrame([["A/x", "2026-01-05", "2026-01-19", 0]], columns=columns)
    assert wrong_rows({"A/x": "FN."}, told, right) == []
    for column, other in (("since", "2026-01-12"), ("corrected", ""), ("came_back", 1)):
        assert wrong_rows({"A/x": "FN."}, told, right.assign(**{column: [other]})) == ["A/x"]
    assert wrong_rows({}, told, right) == ["A/x"]


def test_the_patterns_tell_faults_that_come_go_and_come_back():
    assert all(len(pattern) == 12 and "F" in pattern for pattern in PATTERNS)
    assert any("F" in pattern.partition("F.")[2] for pattern in PATTERNS)
