"""The issue log goes out as a workbook, comes back with answers, and keeps every word."""

import datetime
import re
from dataclasses import replace

import pytest
from openpyxl import load_workbook

from analyzer.errors import CallError
from analyzer.findings.answers import Answers, answers_in, carry, read_answers
from analyzer.findings.history import with_history
from analyzer.findings.issue_log import EARLIER, FINDINGS, TRENDS, write_issue_log
from analyzer.findings.results import Answer
from analyzer.findings.tables import DECISIONS, STATUSES, findings_table, findings_told, write_findings
from tests.report.invented_building import invented_results


@pytest.fixture
def results():
    return invented_results(terminals=6, days=2, awkward=True)


@pytest.fixture
def log(results, tmp_path):
    path = tmp_path / "issue_log.xlsx"
    write_issue_log(results, path)
    return path


def columns(sheet) -> dict[str, int]:
    return {cell.value: cell.column for cell in sheet[1]}


def fill(path, **rows) -> None:
    """Write answers into a workbook as someone at a desk does: a row number to (response, date, status)."""
    book = load_workbook(path)
    sheet = book[FINDINGS]
    at = columns(sheet)
    for number, answer in rows.items():
        for name, value in zip(("response", "date", "status"), answer, strict=True):
            cell = sheet.cell(int(number.removeprefix("row")), at[name])
            cell.value = value
            if isinstance(value, str):
                cell.data_type = "s"
    book.save(path)


def test_the_log_says_what_is_asked_and_leaves_room_for_the_answer(results, log):
    sheet = load_workbook(log)[FINDINGS]
    heads = list(columns(sheet))
    assert heads[:5] == ["no.", "severity", "place", "finding", "action"]
    assert heads[5:11] == ["status", "response", "date", "agent's decision", "decided on", "initials"]
    assert {"id", "likely causes", "action", "severity", "who acts", "response", "date", "status"} <= set(heads)
    assert sheet.max_row == len(results.findings) + 1
    offered, decided = sheet.data_validations.dataValidation
    assert offered.formula1 == f'"{",".join(STATUSES)}"'
    assert decided.formula1 == f'"{",".join(DECISIONS)}"'
    last = f"{sheet.cell(1, columns(sheet)['status']).column_letter}{sheet.max_row}"
    assert last in offered.sqref
    assert sheet.print_title_rows and sheet.page_setup.orientation == "landscape" and sheet.page_setup.fitToWidth == 1


def test_no_text_becomes_a_formula(results, tmp_path):
    first = results.findings[0]
    answered = carry(results, Answers({first.id: Answer('=HYPERLINK("x")', "", "answered")}))
    write_issue_log(answered, tmp_path / "log.xlsx")
    sheet = load_workbook(tmp_path / "log.xlsx")[FINDINGS]
    assert "f" not in {cell.data_type for row in sheet.iter_rows() for cell in row}
    cell = sheet.cell(2, columns(sheet)["response"])
    assert cell.value.startswith("'=")


def test_answers_come_back_by_id_and_go_out_again(results, log, tmp_path):
    fill(log, row2=("actuator replaced", datetime.date(2026, 2, 10), " Corrected "), row4=("=why?", None, "not agreed"))
    answers = read_answers(log)
    assert answers.notes == []
    first, third = results.findings[0], results.findings[2]
    assert answers.by_id == {
        first.id: Answer("actuator replaced", "2026-02-10", "corrected"),
        third.id: Answer("=why?", "", "not agreed"),
    }
    carried = carry(results, answers)
    assert carried.findings[0].answer.response == "actuator replaced" and carried.findings[1].answer is None
    table = findings_table(carried)
    assert table["status"].tolist()[:3] == ["corrected", "open", "not agreed"]
    again = tmp_path / "again.xlsx"
    write_issue_log(carried, again)
    assert read_answers(again).by_id == answers.by_id  # a second round changes no word
    sheet = load_workbook(again)[FINDINGS]
    assert sheet.cell(2, columns(sheet)["date"]).value == datetime.datetime(2026, 2, 10)


def test_words_on_a_finding_that_is_gone_stay_in_the_log(results, tmp_path):
    answers = Answers({"VAV-9-09/fan-short-cycling": Answer("done", "", "corrected")})
    carried = carry(results, answers)
    assert any("VAV-9-09/fan-short-cycling" in sentence for sentence in carried.assumptions)
    path = tmp_path / "issue_log.xlsx"
    write_issue_log(carried, path)
    assert EARLIER in load_workbook(path).sheetnames
    assert answers_in(tmp_path).by_id == answers.by_id


def test_an_unknown_status_is_kept_and_said(log, results):
    fill(log, row2=("", "next week", "Fertig"))
    answers = read_answers(log)
    assert answers.by_id[results.findings[0].id] == Answer("", "next week", "Fertig")
    (note,) = answers.notes
    assert "'Fertig'" in note and "not agreed" in note


def test_an_answer_without_an_id_is_said(log):
    book = load_workbook(log)
    sheet = book[FINDINGS]
    sheet.cell(sheet.max_row + 1, columns(sheet)["response"]).value = "and the lamp is broken"
    book.save(log)
    (note,) = read_answers(log).notes
    assert "no id" in note


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8-sig", "cp1252"])
def test_a_csv_serves_as_well(tmp_path, separator, encoding):
    path = tmp_path / "answers.csv"
    lines = [("ID", "Response", "Status"), ("A/b", "geprüft", "answered"), ("A/c", "", "open"), ("A/d", "'=1", "")]
    path.write_text("\n".join(separator.join(line) for line in lines), encoding)
    assert read_answers(path).by_id == {"A/b": Answer("geprüft", "", "answered"), "A/d": Answer("=1", "", "")}


def test_what_is_named_counts_before_what_stands_there():
    standing = Answers({"A/b": Answer("old", "2026-01-01", "answered"), "A/c": Answer("kept", "", "corrected")})
    named = Answers({"A/b": Answer("new", "", "open"), "A/d": Answer("", "", "not agreed")})
    assert named.over(standing).by_id == {
        "A/b": Answer("new", "2026-01-01", "answered"),  # a blank, or 'open', takes nothing away
        "A/c": Answer("kept", "", "corrected"),
        "A/d": Answer("", "", "not agreed"),
    }


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("log.xlsx", b"PK no workbook", "is not a readable workbook"),
        ("log.csv", b"terminal,response\nA,b\n", "no line of headings with a column 'id'"),
        ("log.csv", b"", "no line of headings"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(tmp_path, name, content, told):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(CallError, match=told):
        read_answers(tmp_path / name)
    with pytest.raises(CallError, match="there is no such file"):
        read_answers(tmp_path / "nowhere.xlsx")


def test_the_trends_to_send_stand_in_a_sheet_of_their_own(results, log):
    sheet = load_workbook(log)[TRENDS]
    rows = list(sheet.iter_rows(min_row=2, values_only=True))
    asked = [set(str(row[5]).split(": ", 1)[1].split(", ")) for row in rows]
    tags = results.trends.tags
    every = {f"all {len(tags)} terminals"}
    assert [set(tags) if told == every else told for told in asked] == list(map(set, results.requests["terminal"]))
    assert len(rows) == len(results.requests) < 40  # a line a point, for all terminals that lack it
    heads = [cell.value for cell in sheet[1]]
    for row in rows:
        told = dict(zip(heads, row, strict=True))
        assert not re.search(r"[a-z]_[a-z]", f"{told['point']} {told['would settle']}"), told
        assert not set(results.rules) & set(str(told["would settle"]).split("; "))


# ---- paper and sign-off -----------------------------------------------------------------------------------------------


def test_what_is_printed_fits_a_page_that_can_be_read(log):
    sheet = load_workbook(log)[FINDINGS]
    area = sheet[str(sheet.print_area).rpartition("!")[2].replace("$", "")]
    heads = [cell.value for cell in area[0]]
    assert {"finding", "action", "status", "response", "agent's decision", "decided on", "initials"} <= set(heads)
    # A landscape page holds about 130 characters of 10 points: 200 are printed at 65 %, which is 6.5 points.
    assert sum(sheet.column_dimensions[cell.column_letter].width for cell in area[0]) <= 200
    assert len(area) == sheet.max_row and sheet.print_title_rows == "$1:$1"


def test_every_row_is_as_high_as_its_words(log):
    sheet = load_workbook(log)[FINDINGS]
    at = columns(sheet)["action"]
    width = sheet.column_dimensions[sheet.cell(1, at).column_letter].width
    for row in range(2, sheet.max_row + 1):
        text = sheet.cell(row, at).value
        assert "Caution: " in text or "Retest: " in text
        lines = sum(1 + len(line) // (1.25 * width) for line in text.split("\n"))
        assert sheet.row_dimensions[row].height >= 12 * lines


def test_the_agents_sign_off_comes_back_and_goes_out_again(results, log, tmp_path):
    book = load_workbook(log)
    sheet, at = book[FINDINGS], columns(book[FINDINGS])
    for head, value in (
        ("agent's decision", "verified"),
        ("decided on", datetime.date(2026, 3, 2)),
        ("initials", "QF"),
    ):
        sheet.cell(2, at[head]).value = value
    book.save(log)
    answers = read_answers(log)
    signed = Answer(status="open", decision="verified", decided="2026-03-02", initials="QF")
    assert answers.by_id == {results.findings[0].id: signed}
    write_issue_log(carry(results, answers), tmp_path / "again.xlsx")
    assert read_answers(tmp_path / "again.xlsx").by_id == answers.by_id
    table = findings_table(carry(results, answers))
    assert table.loc[0, ["decision", "decided", "initials"]].tolist() == ["verified", "2026-03-02", "QF"]


def test_an_issue_number_stays_whatever_comes_before_it(results, tmp_path):
    first = findings_told(with_history(results, []))
    assert [finding["number"] for finding in first["findings"]] == list(range(1, len(results.findings) + 1))
    path = tmp_path / "findings.json"
    write_findings(results, path)
    gone, *rest = results.findings
    new = replace(gone, id="VAV-9-09/zone-too-cold", terminal="VAV-9-09", rule="zone-too-cold")
    later = with_history(replace(results, findings=[new, *rest], numbers={}), [path])
    assert later.numbers[new.id] == len(results.findings) + 1
    assert [later.numbers[finding.id] for finding in rest] == list(range(2, len(results.findings) + 1))
    assert later.numbers[gone.id] == 1  # and is given to no other


def test_numbers_are_read_from_the_log_where_no_earlier_round_is_left(results, tmp_path):
    numbered = with_history(results, [])
    write_issue_log(numbered, tmp_path / "issue_log.xlsx")
    fresh = replace(results, findings=results.findings[::-1], numbers={})
    again = with_history(carry(fresh, answers_in(tmp_path)), [])
    assert again.numbers == numbered.numbers


def test_what_follows_names_its_cause_by_number_title_and_place(results, tmp_path):
    cause, follower, *rest = results.findings
    results.findings = [cause, replace(follower, under=cause.id), *rest]
    write_issue_log(results, tmp_path / "log.xlsx")
    sheet = load_workbook(tmp_path / "log.xlsx")[FINDINGS]
    told = sheet.cell(3, columns(sheet)["finding"]).value.split("\n")[-1]
    number = f"no. {results.numbers[cause.id]}, " if cause.id in results.numbers else ""
    assert told == f"Follows from {number}{cause.title}, at {cause.terminal}."
