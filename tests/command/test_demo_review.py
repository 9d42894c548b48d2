"""The main job: the demo building's exports, in each shape, through the command, against what is known to be wrong."""

import json
from pathlib import Path

import pandas as pd
import pytest

from analyzer.places import demo_exports

CARD = (
    "primary-below-ventilation-minimum",
    "fan-short-cycling",
    "reheat-during-cooling",
    "flow-sensor-drift",
)
SHAPES = ("mix", "wide", "long", "parquet")


def truth() -> pd.DataFrame:
    """What is wrong in the demo's first week."""
    known = pd.read_csv(demo_exports() / "truth.csv")
    return known[known["week"] == "first"]


def findings(folder) -> dict[str, dict]:
    """The findings by id, in their order."""
    return {finding["id"]: finding for finding in json.loads((folder / "findings.json").read_text())["findings"]}


def root(told: dict[str, dict], found: str) -> str:
    """The finding from which another follows in the end."""
    while told[found]["under"]:
        found = told[found]["under"]
    return found


@pytest.mark.parametrize("shape", SHAPES)
def test_every_card_fault_is_found_and_none_in_a_sound_terminal(demo, shape):
    verdicts = pd.read_csv(demo[shape][1] / "verdicts.csv")
    known = truth()
    card = known[known["rule"].isin(CARD)]
    found = verdicts[(verdicts["verdict"] == "fault") & verdicts["rule"].isin(CARD)]
    missed = set(zip(card["terminal"], card["rule"], strict=True)) - set(
        zip(found["terminal"], found["rule"], strict=True)
    )
    assert not missed
    # What else is found follows from the air handler's shortage of pressure, and is told under it.
    told = findings(demo[shape][1])
    elsewhere = found[~found["terminal"].isin(set(known["terminal"]))]
    roots = {root(told, f"{row.terminal}/{row.rule}") for row in elsewhere.itertuples()}
    assert roots <= {"AHU-2/air-handler-short-of-pressure"}


@pytest.mark.parametrize("shape", SHAPES)
def test_every_root_finding_is_a_seeded_fault(demo, shape):
    """Nothing sound is blamed, and no consequence is told by itself."""
    known = truth()
    seeded = set(known["terminal"] + "/" + known["rule"])
    if shape == "long":  # a reading of next to none never moves by the log's increment: stuck, too, for what it shows
        seeded |= {"VAV-2-03/sensor-flatlined"}
    roots = {found for found, finding in findings(demo[shape][1]).items() if not finding["under"]}
    # What a new rule finds of a seeded fault goes under the finding that is its cause (`follows_from`), or is a finding
    # of that kind: `shows` or `also` in sample_trends/catalogue.py. At a sound terminal the rule is wrong.
    assert roots - seeded == set(), "neither seeded, nor under the finding of what is"
    assert {one.split("/")[0] for one in roots} == set(known["terminal"])  # and every faulty terminal has its own


def test_what_the_air_handler_lacks_leads_and_its_terminals_follow(demo):
    told = findings(demo["mix"][1])
    first = next(iter(told.values()))
    assert (first["id"], first["scope"]) == ("AHU-2/air-handler-short-of-pressure", "air_handler")
    assert len(first["terminals"]) > 8
    starved = {found for found, finding in told.items() if finding["rule"] == "starved-terminal"}
    alone = {found for found in starved if root(told, found) != first["id"]}
    assert alone == {"FPT-3-16/starved-terminal", "VAV-2-04/starved-terminal"}


def test_findings_stand_in_the_order_of_what_to_do_first(demo):
    roots = [finding for finding in findings(demo["mix"][1]).values() if not finding["under"]]
    grades = [("urgent", "high", "medium", "low").index(finding["severity"]) for finding in roots]
    assert grades == sorted(grades)


@pytest.mark.parametrize("shape", SHAPES)
def test_ledger_balances_to_the_cell(demo, shape):
    ledger = json.loads((demo[shape][1] / "ledger.json").read_text())
    assert ledger["format"] == "trendwright-ledger/1"
    for account in (ledger, *ledger["files"]):
        assert account["cells_read"] == account["cells_used"] + sum(account["set_aside"].values()) > 0
    for file in ledger["files"]:
        assert file["cells_used"] == sum(column["cells_used"] for column in file["columns"])
    assert ledger["contract"]["success"] is True
    assert ledger["contract"]["expectations"] > 40


def test_findings_say_what_the_design_promises(demo):
    told = json.loads((demo["mix"][1] / "findings.json").read_text())
    assert told["format"] == "trendwright-findings/1"
    assert told["site"] == "Quillfeather House"
    assert told["period"]["from"].endswith("-06:00")
    promised = {
        "id", "terminal", "air_handler", "rule", "severity", "impact", "confidence", "from", "to", "fault_hours",
        "judged_hours", "episodes", "measures", "summary", "likely_causes", "supported_causes", "next_steps", "retest",
    }  # fmt: skip
    assert told["findings"]
    for finding in told["findings"]:
        assert promised <= set(finding)
        assert finding["from"] == finding["episodes"][0]["from"] and finding["to"] == finding["episodes"][-1]["to"]
        count = len(finding["supported_causes"])
        assert finding["likely_causes"][:count] == finding["supported_causes"]
        assert 0 < finding["fault_hours"] <= finding["judged_hours"] + 1e-6
        assert all(
            set(measure) == {"value", "unit", "label"} and measure["label"] for measure in finding["measures"].values()
        )
    assert len({finding["id"] for finding in told["findings"]}) == len(told["findings"])


def test_evidence_lies_where_the_fault_was_seeded(demo):
    """A fault that began mid-week is not dated before it began."""
    told = json.loads((demo["wide"][1] / "findings.json").read_text())
    known = truth().set_index(["terminal", "rule"])
    late = 0
    for finding in told["findings"]:
        key = (finding["terminal"], finding["rule"])
        if key in known.index and finding["rule"] != "flow-sensor-drift":
            late += known.loc[key, "from"] > "2026-01-27"
            assert pd.Timestamp(finding["from"]) >= pd.Timestamp(known.loc[key, "from"]) - pd.Timedelta("1h")
    assert late >= 2


def test_every_verdict_has_a_reason_and_no_pass_is_silent(demo):
    verdicts = pd.read_csv(demo["mix"][1] / "verdicts.csv", keep_default_na=False)
    assert set(verdicts["verdict"]) == {"fault", "clear", "not-judged"}
    assert (verdicts["reason"].str.len() > 10).all()
    assert (verdicts.loc[verdicts["verdict"] == "clear", "judged_hours"] > 0).all()
    assert not verdicts.duplicated(["terminal", "rule"]).any()
    faults = verdicts[verdicts["verdict"] == "fault"]
    assert set(faults["confidence"]) <= {"firm", "marginal"}
    assert (faults["first_seen"] < faults["last_seen"]).all()


def test_command_says_where_the_report_is_and_what_comes_next(demo):
    ran = demo["mix"][2]
    assert ran.status == 0
    assert "report: review-mix/index.html" in ran.out
    assert "next: " in ran.out
    assert ran.err == ""  # progress is for a terminal


def test_the_folder_holds_what_the_design_promises(demo):
    held = {path.name for path in demo["mix"][1].iterdir()}
    assert held >= {
        "index.html", "terminals", "findings.json", "findings.csv", "issue_log.xlsx", "verdicts.csv",
        "trend_request.csv", "ledger.json", "trends.parquet", "air_handlers.parquet",
    }  # fmt: skip
    assert len(list((demo["mix"][1] / "terminals").glob("*.html"))) == 44 + 2  # and the two air handlers'


def test_every_file_at_the_top_is_documented_and_linked(demo):
    folder = demo["mix"][1]
    held = {path.name for path in folder.iterdir() if path.is_file()}
    page = (Path(__file__).parents[2] / "docs" / "handed-over.md").read_text("utf-8")
    assert {name for name in held if f"`{name}`" not in page} == set(), "say it in docs/handed-over.md"
    for_programs = {"index.html", "air_handlers.parquet", "exports.json", "site.json", "summary.json", "written.json"}
    index = (folder / "index.html").read_text("utf-8")
    not_linked = {name for name in held - for_programs if f'href="{name}"' not in index}
    assert not_linked == set(), (
        "a table goes into TABLES of analyzer/findings/tables.py, another file into FILES of analyzer/report/overview.py"
    )


def test_shapes_agree(demo):
    """The same week, exported in three shapes, is the same table: what all of them logged at the same times."""
    wide, stored = (
        pd.read_parquet(demo[shape][1] / "trends.parquet").set_index(["terminal", "time"])
        for shape in ("wide", "parquet")
    )
    both = wide.index.intersection(stored.index)
    assert len(both) > 80_000
    assert (wide.loc[both, "zone_temp"] - stored.loc[both, "zone_temp"]).abs().max() < 0.001
    assert (wide.loc[both, "primary_flow"] - stored.loc[both, "primary_flow"]).abs().max() < 0.001


def test_issue_log_opens_as_a_workbook_with_a_row_a_finding(demo):
    log = pd.read_excel(demo["mix"][1] / "issue_log.xlsx")
    findings = pd.read_csv(demo["mix"][1] / "findings.csv")
    assert log["id"].tolist() == findings["id"].tolist()
    assert set(log["status"]) == {"open"}


def test_a_second_review_keeps_the_first_ones_findings_and_files_that_are_not_its_own(demo, trendwright):
    exports, folder, _ = demo["parquet"]
    (folder / "minutes of the meeting.txt").write_text("bring the ladder")
    first = (folder / "findings.json").read_text()
    ran = trendwright("review", exports.name, "--out", folder.name, "--fail-on", "high", "-q", cwd=exports.parent)
    assert ran.status == 1  # done, and something high was found
    assert (folder / "minutes of the meeting.txt").read_text() == "bring the ladder"
    (kept,) = (folder / "rounds").iterdir()
    assert kept.read_text() == first
    assert not list(folder.parent.glob(".*"))  # no half-written folder is left


def test_the_normalized_table_is_an_export_too(demo, trendwright):
    exports, folder, _ = demo["wide"]
    ran = trendwright(
        "review", folder / "trends.parquet", "--site", exports / "site.toml", "--out", "again", "-q", cwd=exports.parent
    )
    assert ran.status == 0
    before, after = (pd.read_csv(where / "verdicts.csv") for where in (folder, exports.parent / "again"))
    pd.testing.assert_frame_equal(before, after)


def test_cells_that_were_set_aside_are_told_with_their_reasons(tmp_path, trendwright):
    rows = ["2026-01-26 06:00,21", "2026-01-26 06:05,", "sometime,22", "2026-01-26 06:10,23"]
    (tmp_path / "log.csv").write_text("\n".join(["Time,VAV-1 ZN-T (degC)", *rows]) + "\n")
    ran = trendwright("normalize", "log.csv", "--out", "trends.parquet", "-q", cwd=tmp_path)
    assert ran.status == 0
    told = ran.out.splitlines()[0]
    assert told.startswith("values: 4 read, 2 used, 2 rejected (")
    assert "1 missing value" in told and "1 unreadable timestamp" in told
