"""Air handlers that were judged, findings that follow from others, answers and earlier rounds."""

import re
from dataclasses import replace

import pandas as pd
import pytest

from analyzer.findings.ranked import ranked_terminals
from analyzer.findings.results import Answer, Round
from analyzer.report import page_name, write_report
from analyzer.report.building import Building
from analyzer.report.rollups import matrix_grid
from tests.report.invented_building import invented_results
from tests.report.told import text_of


@pytest.fixture
def later():
    """A second round: one finding follows from another, one was answered, and an air handler was judged itself."""
    results = invented_results(terminals=14)
    first, second, *rest = results.findings
    follower = replace(second, under=first.id, answer=Answer("Spring <replaced>", "2026-02-01", "corrected"))
    shared = replace(first, id="AHU-1/zone-too-cold", terminal="AHU-1", air_handler="AHU-1", rule="zone-too-cold")
    results.findings = [first, follower, *rest, shared]
    row = results.verdicts.iloc[[0]].assign(terminal="AHU-1", rule="zone-too-cold", verdict="fault", confidence="firm")
    results.verdicts = pd.concat([results.verdicts, row], ignore_index=True)
    counts = {"urgent": 1, "high": 2, "medium": 0, "low": 0}
    results.history = [
        Round("2026-01-05T00:00:00-06:00", "2026-01-11T23:55:00-06:00", 3, counts, {}),
        Round("2026-01-12T00:00:00-06:00", "2026-01-18T23:55:00-06:00", 10, counts, {"not-judged": 4}, new=8, gone=1),
    ]
    results.earlier_answers = {"VAV-1-09/zone-too-cold": Answer("Was a door", "", "accepted as is")}
    return results


def test_an_air_handler_that_was_judged_has_a_page_and_is_no_terminal(later, tmp_path):
    write_report(later, tmp_path)
    page = text_of(tmp_path / "terminals" / "AHU-1.html")
    assert "Air handler." in page
    assert "1 finding" in page
    index = (tmp_path / "index.html").read_text(encoding="utf-8")
    assert "terminals/AHU-1.html#rule=zone-too-cold&amp;episode=1" in index
    assert "14 terminals on 2 air handlers" in text_of(tmp_path / "index.html")
    building = Building(later)
    grid = matrix_grid(building)
    assert "AHU-1" not in [row[0] for row in grid["rows"]]
    assert grid["own"]["AHU-1"] == ["AHU-1.html", "---F-"]


def test_a_finding_that_follows_is_told_with_its_cause_and_not_counted_again(later, tmp_path):
    write_report(later, tmp_path)
    cause, follower = later.findings[:2]
    index = text_of(tmp_path / "index.html")
    assert f"Follows from: {cause.title}, at {cause.terminal}." in index
    assert f": {len(later.findings) - 1} root, 1 consequential." in index
    page = text_of(tmp_path / "terminals" / page_name(follower.terminal))
    assert f"Follows from {cause.title} , at {cause.terminal}; correct that first." in page


def test_what_follows_from_what_follows_names_the_root_as_well(later, tmp_path):
    root, follower, third, *rest = later.findings
    later.findings = [root, follower, replace(third, under=follower.id), *rest]
    write_report(later, tmp_path)
    beside = f"Follows from: {follower.title}, at {follower.terminal}; root: {root.title}, at {root.terminal}."
    assert beside in text_of(tmp_path / "index.html")
    page = text_of(tmp_path / "terminals" / page_name(third.terminal))
    assert f"; correct its root, {root.title}, at {root.terminal}, first." in page


def test_what_is_shared_says_once_where(later):
    finding = replace(
        later.findings[0], scope="air_handler", terminal="AHU-1", title="Fan off: 9 of 9 terminals of AHU-1"
    )
    later.findings[0] = finding
    assert Building(later).title_of(finding.id) == finding.title


def test_what_the_issue_log_said_is_told(later, tmp_path):
    write_report(later, tmp_path)
    said = "corrected “Spring <replaced>” (2026-02-01)"
    assert said in text_of(tmp_path / "index.html")
    assert said in text_of(tmp_path / "terminals" / page_name(later.findings[1].terminal))
    assert "VAV-1-09/zone-too-cold: accepted as is “Was a door”" in text_of(tmp_path / "index.html")


def test_rounds_are_counted_from_the_second_on(later, results, report, tmp_path):
    assert "Every round" not in text_of(report / "index.html")
    write_report(later, tmp_path)
    text = text_of(tmp_path / "index.html")
    assert "1 Mon 5 Jan 2026, 00:00 – Sun 11 Jan 2026, 23:55 3 1 2 – – – – –" in text
    assert "2 Mon 12 Jan 2026, 00:00 – Sun 18 Jan 2026, 23:55 10 1 2 – – 8 1 4" in text


def test_where_to_go_first_has_no_terminal_whose_cause_lies_elsewhere(later, tmp_path):
    """One cause is one line: who only suffers from another's is counted, and stands in the ranked table's file."""
    write_report(later, tmp_path)
    follower = later.findings[1]
    ranked = ranked_terminals(later).set_index("terminal")
    elsewhere = ranked.query("findings == 0 and caused_elsewhere > 0").index
    assert list(elsewhere) == [follower.terminal]
    first = text_of(tmp_path / "index.html").partition("The building at a glance")[0].partition("Where to go first")[2]
    assert "1 further terminal has only findings that follow from a fault elsewhere" in first
    assert follower.terminal not in first


def test_what_follows_from_another_is_marked_so_that_paper_leaves_it_out(later, tmp_path):
    write_report(later, tmp_path)
    index = (tmp_path / "index.html").read_text(encoding="utf-8")
    rows = re.findall(r"<tr( class=\"follows\")?><td>(\d+)", index)
    assert [number for follows, number in rows if follows] == ["2"]
    assert "follow from another are not printed here" in index
