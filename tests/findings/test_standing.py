"""In how many rounds a finding stands, what came back; and the words by which a status says corrected."""

import pandas as pd
import pytest

from analyzer.findings.answers import says_corrected
from analyzer.findings.history import standing


def rounds(*each: str) -> list[dict]:
    return [{"findings": [{"id": name} for name in names]} for names in each]


@pytest.mark.parametrize(
    ("told", "name", "expected"),
    [
        (["a", "a", "a"], "a", ((1, 2, 3), 3, 0)),
        (["a", "", "a"], "a", ((1, 3), 1, 1)),
        (["a", "", "a", "a"], "a", ((1, 3, 4), 2, 1)),
        (["a", "", "a", "", "a"], "a", ((1, 3, 5), 1, 2)),
        (["a", "a", ""], "a", ((1, 2), 0, 0)),
        (["", "b"], "b", ((2,), 1, 0)),
    ],
)
def test_reviews_in_a_row_and_returns_are_counted(told, name, expected):
    one = standing(rounds(*told))[name]
    assert (one.rounds, one.in_a_row, one.returns) == expected and one.found == len(expected[0])


@pytest.mark.parametrize(
    "status",
    ["corrected", "Corrected", "fixed", "FIXED 2/3", "Done", "closed", "Completed", "repaired, see photo", "resolved",
     "verified", "Ready for retest", "valve replaced", "complete"],
)  # fmt: skip
def test_every_word_for_corrected_counts(status):
    assert says_corrected(status)


@pytest.mark.parametrize(
    "status",
    ["", "open", "answered", "not corrected", "Not done", "to be fixed", "will be repaired", "partly completed",
     "fix pending", "accepted as is", "not agreed", "in progress", "hasn't been fixed", "reopened"],
)  # fmt: skip
def test_what_says_something_else_does_not(status):
    assert not says_corrected(status)


def test_a_second_review_of_a_folder_says_what_stands(trendwright, tmp_path):
    rows = [f"2026-01-12 {hour:02}:{minute:02},60,70" for hour in range(24) for minute in range(0, 60, 15)]
    (tmp_path / "week.csv").write_text("Time,TU-1 Zone Temp (degF),TU-1 Htg SP (degF)\n" + "\n".join(rows) + "\n")
    (tmp_path / "site.toml").write_text('[site]\ntime_zone = "America/Chicago"\n')
    for number in (1, 2):
        ran = trendwright("review", "week.csv", "-q", cwd=tmp_path)
        assert ran.status == 0, ran.err
        assert (tmp_path / "review" / "rounds.csv").exists() == (number == 2)
    assert "rounds: review 2; " in ran.out
    table = pd.read_csv(tmp_path / "review" / "rounds.csv").set_index("id")
    cold = table.loc["TU-1/zone-too-cold"]
    assert (cold["reviews_in_a_row"], cold["reviews"], cold["came_back"]) == (2, 2, 0) and cold["stands_now"]
