"""What the pages hold, read as text: nothing lost, nothing invented."""

import re

import numpy as np
import pytest
from markupsafe import escape

from analyzer.report import page_name, words, write_report
from analyzer.report.accounts import DEFAULT, contract_account, limits_in_force
from analyzer.report.building import Building
from analyzer.report.coverage import coverage_grid
from analyzer.report.overview import summary
from analyzer.report.rollups import air_handler_rows, matrix_grid, rule_rows
from analyzer.report.series import PANELS
from analyzer.report.standing import faults_over_time
from tests.report.expanding import expand
from tests.report.invented_building import AWKWARD, invented_results
from tests.report.told import text_of


def test_every_terminal_has_a_page_and_no_other(results, report):
    tags = results.trends.terminals["terminal"].cat.categories
    assert {path.name for path in (report / "terminals").iterdir()} == {page_name(tag) for tag in tags}


def test_two_runs_write_the_same_bytes(results, report, tmp_path):
    write_report(invented_results(terminals=14, awkward=True), tmp_path)
    for path in sorted(report.rglob("*")):
        if path.is_file():
            assert path.read_bytes() == (tmp_path / path.relative_to(report)).read_bytes(), path.name


def test_progress_counts_the_pages(tmp_path):
    told = []
    write_report(
        invented_results(terminals=3, days=1), tmp_path, progress=lambda done, pages: told.append((done, pages))
    )
    assert told == [(3, 3)]


@pytest.mark.parametrize("tag", AWKWARD)
def test_markup_in_a_tag_is_escaped_everywhere(report, tag):
    for path in (report / "index.html", report / "terminals" / page_name(tag)):
        page = path.read_text(encoding="utf-8")
        assert str(escape(tag)) in page or words.embedded(tag)[1:-1] in page
        for hostile in ("<b>VAV", "</script><script>alert"):
            assert hostile not in page


def test_the_index_says_every_finding(results, report):
    text = text_of(report / "index.html")
    for finding in results.findings:
        assert finding.summary in text
    assert "9 findings" in text
    assert " values read: " in text
    assert "<i>Markup</i> stays text." in text


def test_a_terminal_page_says_the_whole_finding(results, report):
    for finding in results.findings:
        text = text_of(report / "terminals" / page_name(finding.terminal))
        for told in (finding.title, finding.summary, finding.why_it_matters, finding.retest, *finding.likely_causes):
            assert told in text
        for step in finding.next_steps:
            assert step in text
        assert (finding.caution or "") in text
        assert "Can be mistaken for" in text


def test_a_terminal_page_says_every_verdict_with_its_reason(results, report):
    for terminal, rows in results.verdicts.groupby("terminal"):
        text = text_of(report / "terminals" / page_name(terminal))
        for row in rows.itertuples():
            assert results.rules[row.rule].title in text
            assert words.plain(row.reason) in text
            assert not re.search(r"[a-z]+_(temp|flow|position|setpoint)", words.plain(row.reason))


def test_the_matrix_holds_each_verdict(results):
    building = Building(results)
    grid = matrix_grid(building)
    rules = [column[0] for column in grid["columns"]]
    meaning = {"F": ("fault", "firm"), "M": ("fault", "marginal"), "C": ("clear", ""), "N": ("not-judged", "")}
    told = {
        (row[0], rule): meaning[letter]
        for row in grid["rows"]
        for rule, letter in zip(rules, row[5], strict=True)
        if letter != "-"
    }
    verdicts = results.verdicts
    assert told == {(v.terminal, v.rule): (v.verdict, v.confidence) for v in verdicts.itertuples()}


def test_the_rollups_add_up(results):
    building = Building(results)
    _, shares = coverage_grid(building)
    handlers = air_handler_rows(building, shares)
    assert sum(row["terminals"] for row in handlers) == 14
    assert sum(count for row in handlers for _, count in row["severity"]) == len(results.findings)
    by_rule = rule_rows(building)
    assert sum(row["firm"] + row["marginal"] for row in by_rule) == len(results.findings)
    assert [row["severity"] for row in by_rule] == ["urgent", "high", "high", "medium", "low"]


def test_coverage_counts_samples_at_each_points_own_interval(results):
    grid, shares = coverage_grid(Building(results))
    points = [column[0] for column in grid["columns"]]
    row = next(row for row in grid["rows"] if row[0] == "VAV-1-04")
    percent = dict(zip(points, row[5], strict=True))
    assert percent["Entering-air temperature"] == 100  # every third row, and logged so
    assert percent["Zone temperature"] == 98  # 39 of 2,016 are missing
    assert "Fan starts" not in points
    single_duct = next(row for row in grid["rows"] if row[4] == "single-duct")
    assert dict(zip(points, single_duct[5], strict=True))["Fan status"] is None
    assert np.nanmax(shares) <= 1


def test_faults_over_time_count_a_terminal_once_an_hour(results):
    building = Building(results)
    told = faults_over_time(building, rule_rows(building))
    by_title = {row["title"]: row for row in told["rows"]}
    for row in told["rows"]:
        findings = [finding for finding in results.findings if finding.title == row["title"]]
        counts = expand(row["counts"])
        assert counts.max() == row["most"] <= len(findings)
        assert len(counts) == 7 * 24
        start = findings[0].episodes[0].start.timestamp() - told["origin"]
        assert counts[int(start // told["bin"])] > 0
    assert by_title["Terminal fan short-cycles"]["most"] == 1


def test_limits_say_their_source_and_whether_they_were_moved(results):
    limits = [limit for rule in limits_in_force(results) for limit in rule["limits"]]
    moved = next(limit for limit in limits if limit["name"] == "starts_per_hour")
    still = next(limit for limit in limits if limit["name"] == "margin")
    assert (moved["moved"], moved["source"], moved["value"]) == (True, DEFAULT, "6 starts/h")
    assert (still["moved"], still["value"]) == (False, "0.9\u202f°F")


def test_the_data_checks_name_the_rows_that_fail_in_the_sites_units_and_time(results, tmp_path):
    rows = [{"terminal": "VAV-1-01", "time": "2026-01-12 18:15:00+00:00", "value": "100.0"}]
    zone = {"column": "zone_temp", "expected": "-20 to 60 degC", "count": 1_204, "rows": rows, "stops": False}
    fan = zone | {"column": "fan_status", "expected": "0 or 1", "count": 1, "rows": [rows[0] | {"value": "0.5"}]}
    told = contract_account({"success": False, "expectations": 57, "broken": [zone, fan]}, results.site)
    assert told["sentence"] == "Data checks: 55 of 57 passed."
    assert [(one["expected"], one["rows"], one["more"]) for one in told["failed"]] == [
        ("−4.0\u202f°F to 140.0\u202f°F", ["VAV-1-01, Mon 12 Jan 2026, 12:15: 212.0\u202f°F"], 1_203),
        ("0 or 1", ["VAV-1-01, Mon 12 Jan 2026, 12:15: 0.5"], 0),
    ]


def test_the_index_shows_the_data_checks_that_failed(tmp_path):
    results = invented_results(terminals=3)
    rows = [{"terminal": "VAV-1-01", "time": "2026-01-12 18:15:00+00:00", "value": "100.0"}]
    zone = {"column": "zone_temp", "expected": "-20 to 60 degC", "count": 2, "rows": rows, "stops": False}
    results.contract = {"suite": "x", "success": False, "expectations": 57, "broken": [zone]}
    write_report(results, tmp_path)
    text = text_of(tmp_path / "index.html")
    assert "Data checks: 56 of 57 passed. Rows that failed" in text
    assert "zone temperature −4.0\u202f°F to 140.0".replace("\u202f", " ") in text and "1 more" in text
    assert "VAV-1-01, Mon 12 Jan 2026, 12:15" in text


def test_the_data_checks_are_told_where_they_were_not_run(results):
    assert contract_account({}, results.site)["sentence"] == "Data checks: not run."


def test_only_files_that_are_there_are_linked(results, report, tmp_path):
    assert 'href="findings.csv">' not in (report / "index.html").read_text(encoding="utf-8")
    (tmp_path / "findings.csv").write_text("id\n")
    write_report(results, tmp_path)
    index = (tmp_path / "index.html").read_text(encoding="utf-8")
    assert 'href="findings.csv">' in index
    assert 'href="issue_log.xlsx"' not in index


def test_a_heading_names_what_is_drawn():
    panel = next(panel for panel in PANELS if panel.name == "position")
    assert panel.heading({"damper_position", "reheat_position"}) == "Damper and reheat"
    assert panel.heading({"fan_speed", "damper_position", "reheat_position"}) == "Fan speed, damper and reheat"
    assert panel.heading({"damper_position"}) == "Damper"


def test_the_summary_says_so_where_little_of_the_period_was_logged(results):
    building = Building(results)
    assert "The trends cover" not in dict(summary(building))["Reviewed"]
    assert " The trends cover about 5 % of that period." in dict(summary(building, np.full((4, 3), 0.05)))["Reviewed"]
