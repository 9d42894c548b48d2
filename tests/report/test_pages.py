"""What the pages hold, read as text: nothing lost, nothing invented, nothing that breaks on a bare review."""

import html
import json
import re
import time
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from markupsafe import escape

from analyzer.findings.ranked import ranked_terminals
from analyzer.findings.results import Answer, Round
from analyzer.report import finding_rows, page_name, words, write_report
from analyzer.report.accounts import DEFAULT, contract_account, limits_in_force
from analyzer.report.building import Building
from analyzer.report.charts import SPECIFICATIONS, chart_specifications, specifications_script
from analyzer.report.coverage import coverage_grid
from analyzer.report.rollups import air_handler_rows, matrix_grid, rule_rows
from analyzer.report.scales import flow_limits, panel_reach
from analyzer.report.standing import faults_over_time
from analyzer.site.model import Site
from tests.report.expanding import expand
from tests.report.invented_building import AWKWARD, invented_results


def _text(path) -> str:
    """A page's text without its markup and scripts."""
    page = re.sub(r"<script.*?</script>", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", page)))


@pytest.fixture(scope="module")
def results():
    return invented_results(terminals=14, awkward=True)


@pytest.fixture(scope="module")
def folder(results, tmp_path_factory):
    folder = tmp_path_factory.mktemp("report")
    write_report(results, folder)
    return folder


def test_every_terminal_has_a_page_and_no_other(results, folder):
    tags = results.trends.terminals["terminal"].cat.categories
    assert {path.name for path in (folder / "terminals").iterdir()} == {page_name(tag) for tag in tags}


def test_two_runs_write_the_same_bytes(results, folder, tmp_path):
    write_report(invented_results(terminals=14, awkward=True), tmp_path)
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            assert path.read_bytes() == (tmp_path / path.relative_to(folder)).read_bytes(), path.name


def test_progress_counts_the_pages(tmp_path):
    told = []
    write_report(
        invented_results(terminals=3, days=1), tmp_path, progress=lambda done, pages: told.append((done, pages))
    )
    assert told == [(3, 3)]


@pytest.mark.parametrize("tag", AWKWARD)
def test_markup_in_a_tag_is_escaped_everywhere(folder, tag):
    for path in (folder / "index.html", folder / "terminals" / page_name(tag)):
        page = path.read_text(encoding="utf-8")
        assert str(escape(tag)) in page or words.embedded(tag)[1:-1] in page
        for hostile in ("<b>VAV", "</script><script>alert"):
            assert hostile not in page


def test_the_index_says_every_finding(results, folder):
    text = _text(folder / "index.html")
    for finding in results.findings:
        assert finding.summary in text
    assert "9 findings" in text
    assert " values read: " in text
    assert "<i>Markup</i> stays text." in text


def test_a_terminal_page_says_the_whole_finding(results, folder):
    for finding in results.findings:
        text = _text(folder / "terminals" / page_name(finding.terminal))
        for told in (finding.title, finding.summary, finding.why_it_matters, finding.retest, *finding.likely_causes):
            assert told in text
        for step in finding.next_steps:
            assert step in text
        assert (finding.caution or "") in text
        assert "Can be mistaken for" in text


def test_a_terminal_page_says_every_verdict_with_its_reason(results, folder):
    for terminal, rows in results.verdicts.groupby("terminal"):
        text = _text(folder / "terminals" / page_name(terminal))
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
    assert percent["primary_temp"] == 100  # every third row, and logged so
    assert percent["zone_temp"] == 98  # 39 of 2,016 are missing
    assert "fan_starts" not in points
    single_duct = next(row for row in grid["rows"] if row[4] == "single-duct")
    assert dict(zip(points, single_duct[5], strict=True))["fan_status"] is None
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
    text = _text(tmp_path / "index.html")
    assert "Data checks: 56 of 57 passed. Rows that failed" in text
    assert "zone temperature −4.0\u202f°F to 140.0".replace("\u202f", " ") in text and "1 more" in text
    assert "VAV-1-01, Mon 12 Jan 2026, 12:15" in text


def test_the_data_checks_are_told_where_they_were_not_run(results):
    assert contract_account({}, results.site)["sentence"] == "Data checks: not run."


# ---- limits and axes of the charts ------------------------------------------------------------------------------------


def test_flows_that_lie_close_share_one_name():
    schedule = {
        "primary_max": 400.0,
        "primary_min": 100.0,
        "ventilation_min": 104.0,
        "heating_primary": 100.0,
        "fan_flow": np.nan,
    }
    limits = flow_limits(schedule, "si")["limits"]
    assert [value for value, _ in limits] == [100.0, 104.0, 400.0]
    assert [name for _, name in limits] == ["", "heating = minimum 100 · ventilation min. 104 L/s", "maximum 400 L/s"]
    assert flow_limits({"primary_max": None}, "si") == {"limits": [], "inlet_limits": []}


def test_an_inlets_minimum_is_drawn_on_a_chart_of_its_own():
    limits = flow_limits({"primary_max": 400.0, "outdoor_air_inlet_min": 30.0}, "si")
    assert limits == {"limits": [[400.0, "maximum 400 L/s"]], "inlet_limits": [[30.0, "minimum 30 L/s"]]}
    reach = panel_reach({"outdoor_air_flow": {"ends": [0.0, 4.0]}}, limits, "si")
    assert 30 < reach["outdoor_air"][1] < 60


def test_axes_reach_over_limits_and_never_zoom_into_noise():
    quiet = {
        "zone_temp": {"ends": [21.0, 21.2]},
        "primary_flow": {"ends": [0.0, 100.0]},
        "fan_speed": {"ends": [20.0, 90.0]},
    }
    reach = panel_reach(quiet, {"limits": [[400.0, "maximum"]]}, "si")
    assert reach["zone"][1] - reach["zone"][0] >= 5
    assert reach["air"][0] == 0 and reach["air"][1] > 440
    assert reach["position"] == [0, 104]


def test_the_specifications_that_pages_load_are_those_of_the_code():
    assert SPECIFICATIONS.read_text(encoding="utf-8") == specifications_script(), "run python -m tests.make_docs"


def test_the_specifications_satisfy_the_schema():
    import altair as alt

    for specification in chart_specifications().values():
        alt.Chart.from_dict(specification, validate=True)


# ---- reviews that lack much ---------------------------------------------------------------------------------------------


def test_a_review_without_a_fault(tmp_path):
    write_report(invented_results(terminals=4, days=2, fault_free=True), tmp_path)
    assert "No fault found in what could be judged." in _text(tmp_path / "index.html")
    assert "No fault found" in _text(tmp_path / "terminals" / "VAV-1-01.html")


def test_a_review_without_a_schedule_setpoints_or_hours(tmp_path):
    results = invented_results(terminals=3, days=1, fault_free=True)
    results.site = Site()
    results.trends.time_zone = "UTC"
    keep = ["terminal", "time", "zone_temp", "primary_flow", "reheat_position", "fan_status", "fan_starts"]
    table = results.trends.terminals
    table.loc[:, [name for name in table.columns if name not in keep]] = np.nan
    write_report(results, tmp_path)
    text = _text(tmp_path / "terminals" / "VAV-1-01.html")
    assert "Terminal type not scheduled." in text
    assert "Not trended: cooling setpoint" in text or "Not trended: heating setpoint" in text
    assert "damper position" in text
    assert "air handler not assigned" in _text(tmp_path / "index.html")


def test_a_terminal_that_was_judged_without_a_trend_still_has_its_page(tmp_path):
    results = invented_results(terminals=2, days=1, fault_free=True)
    row = results.verdicts.iloc[[0]].assign(terminal="VAV-9-99", verdict="not-judged", reason="no trend at all")
    results.verdicts = pd.concat([results.verdicts, row], ignore_index=True)
    results.site.schedule.loc["VAV-9-99"] = results.site.schedule.iloc[0]
    write_report(results, tmp_path)
    assert "The exports hold no trends of it." in _text(tmp_path / "terminals" / "VAV-9-99.html")
    assert "Scheduled, but not in the exports: VAV-9-99" in _text(tmp_path / "index.html")


def test_a_single_sample(tmp_path):
    write_report(invented_results(terminals=1, days=1, minutes=1440, fault_free=True), tmp_path)
    assert (tmp_path / "terminals" / "VAV-1-01.html").exists()


# ---- air handlers, causes, earlier rounds -----------------------------------------------------------------------------


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
    page = _text(tmp_path / "terminals" / "AHU-1.html")
    assert "Air handler." in page
    assert "1 finding" in page
    index = (tmp_path / "index.html").read_text(encoding="utf-8")
    assert "terminals/AHU-1.html#rule=zone-too-cold&amp;episode=1" in index
    assert "14 terminals on 2 air handlers" in _text(tmp_path / "index.html")
    building = Building(later)
    grid = matrix_grid(building)
    assert "AHU-1" not in [row[0] for row in grid["rows"]]
    assert grid["own"]["AHU-1"] == ["AHU-1.html", "---F-"]


def test_a_finding_that_follows_is_told_with_its_cause_and_not_counted_again(later, tmp_path):
    write_report(later, tmp_path)
    cause, follower = later.findings[:2]
    index = _text(tmp_path / "index.html")
    assert f"Follows from: {cause.title}, at {cause.terminal}." in index
    assert f": {len(later.findings) - 1} root, 1 consequential." in index
    page = _text(tmp_path / "terminals" / page_name(follower.terminal))
    assert f"Follows from {cause.title} , at {cause.terminal}: correct that first." in page


def test_what_the_issue_log_said_is_told(later, tmp_path):
    write_report(later, tmp_path)
    said = "corrected “Spring <replaced>” (2026-02-01)"
    assert said in _text(tmp_path / "index.html")
    assert said in _text(tmp_path / "terminals" / page_name(later.findings[1].terminal))
    assert "VAV-1-09/zone-too-cold: accepted as is “Was a door”" in _text(tmp_path / "index.html")


def test_rounds_are_counted_from_the_second_on(later, results, folder, tmp_path):
    assert "Every round" not in _text(folder / "index.html")
    write_report(later, tmp_path)
    text = _text(tmp_path / "index.html")
    assert "1 Mon 5 Jan 2026, 00:00 – Sun 11 Jan 2026, 23:55 3 1 2 – – – – –" in text
    assert "2 Mon 12 Jan 2026, 00:00 – Sun 18 Jan 2026, 23:55 10 1 2 – – 8 1 4" in text


def test_only_files_that_are_there_are_linked(results, folder, tmp_path):
    assert 'href="findings.csv">' not in (folder / "index.html").read_text(encoding="utf-8")
    (tmp_path / "findings.csv").write_text("id\n")
    write_report(results, tmp_path)
    index = (tmp_path / "index.html").read_text(encoding="utf-8")
    assert 'href="findings.csv">' in index
    assert 'href="issue_log.xlsx"' not in index


# ---- size and time --------------------------------------------------------------------------------------------------------


def test_pages_stay_small_and_quick(tmp_path):
    results = invented_results(terminals=40, more_rules=30)
    write_report(invented_results(terminals=1, days=1), tmp_path)  # imports and templates, once
    start = time.process_time()
    write_report(results, tmp_path)
    seconds = time.process_time() - start
    sizes = [path.stat().st_size for path in (tmp_path / "terminals").iterdir()]
    assert max(sizes) < 120_000
    # 500 pages in 10 s are 20 ms each; twice that, for a machine that is busy with other things.
    assert seconds / 40 < 0.040


def test_a_year_is_thinned_to_pages_of_the_same_order(tmp_path):
    write_report(invented_results(terminals=1, days=365, minutes=5, fault_free=True), tmp_path)
    assert (tmp_path / "terminals" / "VAV-1-01.html").stat().st_size < 900_000


def test_what_the_page_does_not_hold_stands_in_the_files_that_it_loads(results, monkeypatch, tmp_path):
    monkeypatch.setattr(finding_rows, "MOST_SHOWN", 4)
    monkeypatch.setattr(finding_rows, "PART", 3)
    write_report(results, tmp_path)
    text = _text(tmp_path / "index.html")
    assert results.findings[3].summary in text
    assert results.findings[4].summary not in text
    assert "9 findings, the first 4 shown" in text
    lines = [line for part in range(3) for line in _script(tmp_path / "assets" / f"findings_{part}.js").split("\n")]
    rows = [line.split("\t") for line in lines]
    assert [row[0] for row in rows] == [str(rank) for rank in range(1, 10)]
    assert [row[6] for row in rows] == [finding.summary for finding in results.findings]
    assert not (tmp_path / "assets" / "findings_3.js").exists()


def _script(path):
    """The value that a script file gives a page."""
    return json.loads(path.read_text(encoding="utf-8").partition(" = ")[2].rstrip().rstrip(";"))


def test_where_to_go_first_has_no_terminal_whose_cause_lies_elsewhere(later, tmp_path):
    """One cause is one line: who only suffers from another's is counted, and stands in the ranked table's file."""
    write_report(later, tmp_path)
    follower = later.findings[1]
    ranked = ranked_terminals(later).set_index("terminal")
    elsewhere = ranked.query("findings == 0 and caused_elsewhere > 0").index
    assert list(elsewhere) == [follower.terminal]
    first = _text(tmp_path / "index.html").partition("The building at a glance")[0].partition("Where to go first")[2]
    assert "1 further terminal has only findings that follow from a fault elsewhere" in first
    assert follower.terminal not in first


def test_what_follows_from_another_is_marked_so_that_paper_leaves_it_out(later, tmp_path):
    write_report(later, tmp_path)
    index = (tmp_path / "index.html").read_text(encoding="utf-8")
    rows = re.findall(r"<tr( class=\"follows\")?><td>(\d+)", index)
    assert [number for follows, number in rows if follows] == ["2"]
    assert "follow from another are not printed here" in index
