"""Rounds of review counted from the findings that each left."""

import json

from analyzer.findings.history import read_findings, rounds


def told(*findings: tuple[str, str], start="2026-01-26", end="2026-02-01", **more) -> dict:
    return {
        "format": "trendwright-findings/1", "site": "Quillfeather House", "period": {"from": start, "to": end},
        "findings": [{"id": found, "severity": severity} for found, severity in findings], **more,
    }  # fmt: skip


def test_each_round_is_counted_beside_the_one_before():
    first, second, third = rounds(
        [
            told(("A/x", "high"), ("B/x", "low"), verdicts={"fault": 2, "clear": 5, "not-judged": 1}),
            told(("B/x", "low"), ("C/y", "urgent"), ("C/z", "urgent"), start="2026-02-23", end="2026-03-01"),
            told(),
        ]
    )
    assert (first.findings, first.new, first.gone) == (2, None, None)
    assert first.verdicts["clear"] == 5 and first.severity["high"] == 1
    assert (second.findings, second.new, second.gone) == (3, 2, 1)
    assert second.severity == {"urgent": 2, "high": 0, "medium": 0, "low": 1} and second.verdicts == {}
    assert (third.findings, third.new, third.gone) == (0, 0, 3)
    assert (second.start, second.end) == ("2026-02-23", "2026-03-01")


def test_what_is_no_findings_file_is_none_of_ours(tmp_path):
    (tmp_path / "a.json").write_text(json.dumps(told()))
    (tmp_path / "b.json").write_text("{")
    (tmp_path / "c.json").write_text('{"format": "another/1"}')
    (tmp_path / "d.json").write_text("[]")
    found = [read_findings(tmp_path / f"{name}.json") is not None for name in "abcde"]
    assert found == [True, False, False, False, False]
