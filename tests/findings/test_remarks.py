"""Nothing that others wrote into the issue log is lost: what no finding can take stands on a sheet of its own."""

import openpyxl
import pytest
from openpyxl.comments import Comment

from analyzer.findings.issue_log import _EARLIER, _FINDINGS, _TRENDS
from analyzer.findings.remarks import remarks_in


@pytest.fixture
def room(trendwright, tmp_path):
    rows = [f"2026-01-12 {hour:02}:{minute:02},60,70" for hour in range(24) for minute in range(0, 60, 15)]
    (tmp_path / "week.csv").write_text("Time,TU-1 Zone Temp (degF),TU-1 Htg SP (degF)\n" + "\n".join(rows) + "\n")
    (tmp_path / "site.toml").write_text('[site]\ntime_zone = "America/Chicago"\n')

    def review():
        ran = trendwright("review", "week.csv", "-q", cwd=tmp_path)
        assert ran.status == 0, ran.err
        return openpyxl.load_workbook(tmp_path / "review" / "issue_log.xlsx")

    review()
    return tmp_path, review


def words(book) -> dict[str, tuple[str, str]]:
    rows = list(book["Other remarks"].iter_rows(values_only=True))
    return {text: (place, on or "") for place, on, text in rows[1:]}


def test_rows_without_an_id_comments_columns_and_sheets_are_carried_for_good(room):
    folder, review = room
    log = folder / "review" / "issue_log.xlsx"
    book = openpyxl.load_workbook(log)
    sheet = book["Issue log"]
    names = [cell.value for cell in sheet[1]]
    found = sheet.cell(2, names.index("id") + 1).value
    sheet.cell(2, names.index("response") + 1).comment = Comment("photo 17 shows it", "contractor")
    sheet.cell(1, len(names) + 1).value = "our ticket"
    sheet.cell(2, len(names) + 1).value = "T-4711"
    last = sheet.max_row + 1
    sheet.cell(last, names.index("response") + 1).value = "the lobby is cold too"
    trends = book["Trends to send"]
    trends.cell(2, [cell.value for cell in trends[1]].index("sent") + 1).value = "sent by mail"
    book.create_sheet("Photos").append(["17", "actuator off its shaft"])
    book.save(log)
    for _ in range(2):  # the second round has them from the first one's sheet
        told = words(review())
        assert told["photo 17 shows it"][1] == found and "comment on" in told["photo 17 shows it"][0]
        assert told["T-4711"][1] == found and "our ticket" in told["T-4711"][0]
        assert f"row {last}" in told["the lobby is cold too"][0]
        assert "sent by mail" in told and "17; actuator off its shaft" in told
        assert len(told) == 5
    copies = list((folder / "review" / "rounds").glob("*/issue_log.xlsx"))
    assert any(openpyxl.load_workbook(copy)["Issue log"].cell(2, len(names) + 1).value == "T-4711" for copy in copies)


def test_a_log_that_nobody_wrote_into_has_no_such_sheet(room):
    assert "Other remarks" not in room[1]().sheetnames


@pytest.mark.parametrize(
    ("title", "heads"),
    [("Issue log", _FINDINGS), ("Trends to send", _TRENDS), ("Earlier answers", _EARLIER)],
)
def test_what_this_program_writes_is_nobody_elses_remark(tmp_path, title, heads):
    row = ["TU-1/zone-too-cold" if name == "id" else "" if name == "sent" else "2693" for name in heads]
    assert remarks_in(tmp_path / "log.csv", [(title, [[*heads], row])]) == []
