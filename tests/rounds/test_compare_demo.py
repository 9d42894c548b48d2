"""compare, through the command, on the demo's two weeks; and its pages as a reader meets them."""

import json
import shutil

import pandas as pd
import pytest
from openpyxl import load_workbook

from analyzer.places import demo_exports


@pytest.fixture(scope="module")
def compared(two_weeks, trendwright):
    ran = trendwright("compare", two_weeks.before, two_weeks.now, "-q", cwd=two_weeks.room)
    assert ran.status == 0, ran.err
    return two_weeks.room / "comparison", ran


@pytest.fixture(scope="module")
def rows(compared) -> pd.DataFrame:
    return pd.read_csv(compared[0] / "comparison.csv", keep_default_na=False).set_index("id")


def findings(folder) -> dict:
    return {finding["id"]: finding for finding in json.loads((folder / "findings.json").read_text())["findings"]}


def verdicts(folder) -> pd.Series:
    table = pd.read_csv(folder / "verdicts.csv", keep_default_na=False)
    return table.set_index(table["terminal"] + "/" + table["rule"])["verdict"]


def test_every_finding_of_either_week_has_the_outcome_that_its_verdicts_give(two_weeks, rows):
    old, new = findings(two_weeks.room / two_weeks.before), findings(two_weeks.room / two_weeks.now)
    judged = verdicts(two_weeks.room / two_weeks.now)
    assert set(rows.index) == set(old) | set(new)
    expected = {
        found: ("still-there" if found in new else "corrected" if judged.get(found) == "clear" else "no-longer-judged")
        if found in old
        else "new"
        for found in rows.index
    }
    assert rows["outcome"].to_dict() == expected
    assert set(expected.values()) == {"still-there", "corrected", "no-longer-judged", "new"}  # the demo shows each


def test_what_was_seeded_to_last_is_still_there_and_what_was_corrected_is_not(rows):
    truth = pd.read_csv(demo_exports() / "truth.csv")
    ids = (truth["terminal"] + "/" + truth["rule"]).groupby(truth["week"]).agg(set)
    lasting, corrected = ids["first"] & ids["retest"], ids["first"] - ids["retest"]
    found = rows["outcome"].to_dict()
    assert {found.get(one, "still-there") for one in lasting} == {"still-there"}
    assert {found[one] for one in corrected if one in found} == {"corrected", "no-longer-judged"}
    came = {one for one in ids["retest"] - ids["first"] if one in found}
    assert came and {found[one] for one in came} == {"new"}


def test_the_command_counts_and_says_what_comes_next(compared, rows):
    ran = compared[1]
    counts = rows["outcome"].value_counts()
    assert f"{counts['corrected']} corrected" in ran.out and f"{counts['no-longer-judged']} no longer judged" in ran.out
    assert "comparison: comparison/index.html" in ran.out and "next: " in ran.out
    told = json.loads((compared[0] / "comparison.json").read_text())
    assert told["format"] == "trendwright-comparison/1" and told["counts"] == counts.to_dict()
    assert [one["id"] for one in told["findings"]] == list(rows.index)
    assert list(told["columns"]) == ["id", *rows.columns]


def test_every_finding_has_its_page(compared, rows):
    assert len(list((compared[0] / "findings").glob("*.html"))) == len(rows)


def test_a_point_that_is_gone_is_never_a_corrected_fault(rows):
    """The retest's exports lack a fan's status: its cycling is not judged, and the page says which trend it takes."""
    lost = rows.loc["FPT-3-12/fan-short-cycling"]
    assert (lost["outcome"], lost["new_verdict"]) == ("no-longer-judged", "not-judged")
    assert "fan_status" in lost["new_reason"] and "no longer trended here: fan_command, fan_starts" in lost["limits"]


def test_a_limit_that_was_moved_is_said(two_weeks, trendwright, tmp_path):
    exports = tmp_path / "exports"
    shutil.copytree(two_weeks.room / two_weeks.retest, exports)
    site = exports / "site.toml"
    site.write_text(site.read_text() + '\n[rule.fan-short-cycling]\nstarts_per_hour = "20"\n')
    assert trendwright("review", exports, "--out", "moved", "-q", cwd=tmp_path).status == 0
    ran = trendwright("compare", two_weeks.room / two_weeks.before, "moved", "-q", cwd=tmp_path)
    assert "Limits stand elsewhere now" in ran.out
    table = pd.read_csv(tmp_path / "comparison" / "comparison.csv", keep_default_na=False).set_index("id")
    assert "limit starts_per_hour was " in table.loc["FPT-1-08/fan-short-cycling", "limits"]
    told = json.loads((tmp_path / "moved" / "findings.json").read_text())
    assert told["rules"]["fan-short-cycling"]["starts_per_hour"] == {"value": 20.0, "unit": "starts/h", "moved": True}


def test_answers_go_from_the_old_issue_log_into_the_comparison_and_the_next_review(two_weeks, trendwright, tmp_path):
    shutil.copytree(two_weeks.room / two_weeks.before, tmp_path / "before")
    log = tmp_path / "before" / "issue_log.xlsx"
    book = load_workbook(log)
    sheet = book["Issue log"]
    at = {cell.value: cell.column for cell in sheet[1]}
    answered = {"VAV-2-07/reheat-during-cooling": "override released", "VAV-1-06/reheat-leaking-by": "valve replaced"}
    for row in range(2, sheet.max_row + 1):
        if words := answered.get(sheet.cell(row, at["id"]).value):
            sheet.cell(row, at["response"]).value, sheet.cell(row, at["status"]).value = words, "corrected"
    book.save(log)
    ran = trendwright("compare", "before", two_weeks.room / two_weeks.now, "-q", cwd=tmp_path)
    assert ran.status == 0, ran.err
    table = pd.read_csv(tmp_path / "comparison" / "comparison.csv", keep_default_na=False).set_index("id")
    assert table["response"][table["response"] != ""].to_dict() == answered
    page = (tmp_path / "comparison" / "index.html").read_text()
    assert "Of 2 findings said to be corrected, the trends show 1 still there and 1 corrected." in page.replace(
        "1 corrected and 1 still there", "1 still there and 1 corrected"
    )
    ran = trendwright("review", two_weeks.room / two_weeks.retest, "--out", "before", "-q", cwd=tmp_path)
    assert "issue log: 2 answered, 1 carried" in ran.out
    carried = findings(tmp_path / "before")["VAV-2-07/reheat-during-cooling"]["answer"]
    told = {"response": "override released", "date": "", "status": "corrected"}
    assert carried == told | {"decision": "", "decided": "", "initials": ""}
    assert "valve replaced" in str(list(load_workbook(log)["Earlier answers"].values))
    (earlier,) = (tmp_path / "before" / "rounds").glob("*.json")
    assert json.loads(earlier.read_text())["format"] == "trendwright-findings/1"
    (answered_log,) = (tmp_path / "before" / "rounds").glob("*/issue_log.xlsx")  # somebody wrote in it
    assert "override released" in str(list(load_workbook(answered_log)["Issue log"].values))


def test_a_file_of_answers_can_be_named(two_weeks, trendwright, tmp_path):
    (tmp_path / "back.csv").write_text("id,response,status\nVAV-2-07/reheat-during-cooling,looked,answered\n")
    weeks = [two_weeks.room / two_weeks.before, two_weeks.room / two_weeks.now]
    ran = trendwright("compare", *weeks, "--answers", "back.csv", "-q", cwd=tmp_path)
    assert ran.status == 0, ran.err
    table = pd.read_csv(tmp_path / "comparison" / "comparison.csv", keep_default_na=False).set_index("id")
    assert table.loc["VAV-2-07/reheat-during-cooling", "response"] == "looked"


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (["compare", "nowhere", "now"], "nowhere: there is no such folder"),
        (["compare", "before", "retest-exports"], "retest-exports: is no review's folder: it holds no findings.json"),
        (["compare", "before", "now", "--out", "before"], "Give the review a folder of its own"),
        (["compare", "before", "now", "--out", "retest-exports"], "holds something, and no comparison"),
        (["compare", "before", "now", "--answers", "no.xlsx"], "no.xlsx: there is no such file"),
        (["compare", "before"], "Missing argument"),
    ],
)
def test_refused_in_one_sentence(two_weeks, trendwright, call, told):
    before = sorted(path for path in two_weeks.room.rglob("*") if "comparison" not in path.parts)
    ran = trendwright(*call, cwd=two_weeks.room)
    assert ran.status == 2
    assert told in ran.err.strip().splitlines()[-1]
    assert sorted(path for path in two_weeks.room.rglob("*") if "comparison" not in path.parts) == before


def test_a_comparison_is_replaced_and_what_is_not_its_own_stays(two_weeks, trendwright, tmp_path):
    weeks = [two_weeks.room / two_weeks.before, two_weeks.room / two_weeks.now]
    assert trendwright("compare", *weeks, "-q", cwd=tmp_path).status == 0
    pages = tmp_path / "comparison" / "findings"
    first = {page.name for page in pages.iterdir()}
    (tmp_path / "comparison" / "minutes.txt").write_text("bring the ladder")
    (pages / "notes.html").write_text("of the walk through the building")
    assert trendwright("compare", weeks[0], weeks[0], "-q", cwd=tmp_path).status == 0
    assert (tmp_path / "comparison" / "minutes.txt").read_text() == "bring the ladder"
    assert (pages / "notes.html").read_text() == "of the walk through the building"
    told = json.loads((tmp_path / "comparison" / "comparison.json").read_text())["findings"]
    second = {page.name for page in pages.iterdir()} - {"notes.html"}
    assert len(second) == len(told) and first - second  # the pages of the first comparison are gone


# In a browser ----------------------------------------------------------------------------------------------------------


@pytest.mark.browser
@pytest.mark.parametrize("width", [1280, 390])
def test_the_summary_leads_to_both_periods_charts(compared, open_page, width):
    visit = open_page(width=width)
    page = visit.page
    page.goto((compared[0] / "index.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    wide = "(boxes) => boxes.filter((box) => box.scrollWidth > box.clientWidth).length"
    assert page.locator(".scroll").evaluate_all(wide) == 0
    page.click("#still-there tbody a")
    page.wait_for_selector("html[data-drawn]")
    assert page.locator(".plots").count() == 2
    assert (
        page.locator(".plots[data-box=before] .canvas svg").count()
        == page.locator(".plots[data-box=now] .canvas svg").count()
        > 3
    )
    axes = page.eval_on_selector_all(
        "figure[data-panel=zone] .canvas svg", "all => all.map(svg => svg.textContent.slice(-12))"
    )
    assert axes[0] == axes[1]  # the same scale on both sides
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    visit.assert_clean()


@pytest.mark.browser
def test_charts_are_read_and_zoomed_by_key(compared, open_page):
    visit = open_page()
    visit.go(next((compared[0] / "findings").glob("FPT-2-08.primary-below-setpoint.html")))
    page = visit.page
    page.focus(".plots[data-box=now]")
    page.keyboard.press("ArrowRight")
    first = page.locator(".plots[data-box=now]").evaluate("box => box.previousElementSibling.textContent")
    assert "occupied" in first and "Feb" in first
    assert page.locator(".plots[data-box=now] [data-series=zone_temp] .value").text_content().endswith("°F")
    assert page.locator(".plots[data-box=before] [data-series=zone_temp] .value").text_content() == ""
    ticks = page.locator(".plots[data-box=now] figure[data-panel=zone] .canvas svg").text_content()
    for _ in range(3):
        page.keyboard.press("+")
    assert page.locator(".plots[data-box=now] figure[data-panel=zone] .canvas svg").text_content() != ticks
    visit.assert_clean()


@pytest.mark.browser
def test_pages_are_open_to_everyone_and_print(compared, open_page):
    visit, checked = open_page(), open_page()
    for path in (compared[0] / "index.html", next((compared[0] / "findings").glob("FPT-2-08.*"))):
        visit.page.goto(path.as_uri())
        assert visit.page.pdf(format="A4").startswith(b"%PDF")
        checked.page.goto(path.as_uri())
        checked.assert_accessible()
    visit.assert_clean()
