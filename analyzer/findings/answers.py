"""What was written into the issue log, read back from a workbook or a CSV and carried on by each finding's id."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path

from analyzer.errors import CallError, ExportError
from analyzer.findings.remarks import remarks_in
from analyzer.findings.results import Answer, Remark, Results
from analyzer.findings.tables import HEADINGS, NUMBER, OPEN, STATUSES
from analyzer.formulas import as_meant
from analyzer.inputs import LARGEST_TABLE, read_bytes
from analyzer.intake.tables.workbooks import read_sheets

ISSUE_LOG = "issue_log.xlsx"
_ANSWER = ("response", "date", "status", "decision", "decided", "initials")
_NUMBERS = (NUMBER, "number")
_HEADING_ROWS = 20  # within which the line of headings has to stand
_REMEDY = "Save it as a workbook (.xlsx) or as CSV, with the columns id, response, date and status as they were sent."


@dataclass
class Answers:
    """What an issue log says: answers and issue numbers by finding, and what was odd about it, as sentences."""

    by_id: dict[str, Answer] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    numbers: dict[str, int] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)

    def over(self, earlier: Answers) -> Answers:
        """Lay these answers over earlier ones: a word that stands here counts, a blank lets the earlier one stand."""
        by_id = dict(earlier.by_id)
        for found, answer in self.by_id.items():
            under = by_id.get(found, Answer())
            status = answer.status if answer.status not in ("", OPEN) else under.status or answer.status
            words = {name: getattr(answer, name) or getattr(under, name) for name in _ANSWER}
            by_id[found] = Answer(**words | {"status": status})
        notes, remarks = (
            list(dict.fromkeys([*before, *now]))
            for before, now in ((earlier.notes, self.notes), (earlier.remarks, self.remarks))
        )
        return Answers(by_id, notes, earlier.numbers | self.numbers, remarks)


def read_answers(path: str | Path) -> Answers:
    """Read an issue log that was handed back.

    Parameters
    ----------
    path : path
        A workbook, of which every sheet with a column ``id`` is read, or a CSV.

    Returns
    -------
    Answers
        The rows on which someone wrote. An unknown status is kept as it stands, and said.

    Raises
    ------
    CallError
        There is no such file, it cannot be read, or it has no column ``id``.
    """
    path = Path(path)
    if not path.is_file():
        raise CallError(path, "there is no such file", "Name the issue log that was handed back.")
    sheets = _workbook(path) if path.suffix.lower() in (".xlsx", ".xlsm") else [("", _csv(path))]
    tables = [(name, *found) for name, rows in sheets if (found := _below_headings(rows))]
    if not tables:
        raise CallError(path, "has no line of headings with a column 'id'", _REMEDY)
    answers = Answers(remarks=remarks_in(path, sheets))
    for sheet, columns, rows in tables:
        _take(answers, path.name, sheet, columns, rows)
    return answers


def answers_in(folder: Path) -> Answers:
    """Read the answers in a review folder's own issue log; none where there is no such file.

    Raises
    ------
    CallError
        The file is there and cannot be read: its words would be lost with it.
    """
    log = folder / ISSUE_LOG
    return read_answers(log) if log.is_file() else Answers()


def carry(results: Results, answers: Answers) -> Results:
    """Give each finding the words that were written on it; keep the others' for the log."""
    if not answers.by_id and not answers.notes and not answers.remarks:
        return replace(results, numbers=answers.numbers) if answers.numbers else results
    there = {finding.id for finding in results.findings}
    known = set(results.verdicts["terminal"] + "/" + results.verdicts["rule"])
    unknown = [found for found in answers.by_id if found not in there | known]
    notes = list(answers.notes)
    if unknown:
        notes.append(
            f"Issue log: answers to {_few(unknown)} belong to no verdict of this review; their words are kept with the "
            "earlier answers."
        )
    return replace(
        results,
        findings=[replace(finding, answer=answers.by_id.get(finding.id)) for finding in results.findings],
        assumptions=[*results.assumptions, *notes],
        remarks=answers.remarks,
        earlier_answers={found: answer for found, answer in answers.by_id.items() if found not in there},
        numbers=answers.numbers,
    )


# Rows ----------------------------------------------------------------------------------------------------------------


def _workbook(path: Path) -> list[tuple[str, list[list]]]:
    try:
        return read_sheets(_bytes(path), str(path))
    except ExportError as error:
        raise CallError(path, error.found, _REMEDY, place=error.place) from None


def _bytes(path: Path) -> bytes:
    try:
        return read_bytes(path, LARGEST_TABLE)
    except OSError as error:
        raise CallError(path, f"cannot be read ({error.strerror})", _REMEDY) from None


def _csv(path: Path) -> list[list]:
    raw = _bytes(path)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("cp1252", errors="replace")
    heading = text.partition("\n")[0]
    separator = max(",;\t", key=heading.count)
    try:
        return list(csv.reader(text.splitlines(keepends=True), delimiter=separator))
    except csv.Error as error:
        raise CallError(path, f"is not a readable CSV ({error})", _REMEDY) from None


def _below_headings(rows: list[list]) -> tuple[dict[str, int], list[tuple[int, list]]] | None:
    """Find the line of headings; return where the columns stand, and the numbered rows below it."""
    for number, row in enumerate(rows[:_HEADING_ROWS]):
        names = [str(cell or "").strip().lower().replace("_", " ") for cell in row]
        if "id" in names:
            headed = {name: (name, HEADINGS.get(name, name)) for name in ("id", *_ANSWER)} | {NUMBER: _NUMBERS}
            found = {name: [names.index(word) for word in spelled if word in names] for name, spelled in headed.items()}
            columns = {name: at[0] for name, at in found.items() if at}
            return columns, list(enumerate(rows[number + 1 :], number + 2))
    return None


def _take(answers: Answers, file: str, sheet: str, columns: dict[str, int], rows: list[tuple[int, list]]) -> None:
    place = f"{file}, sheet {sheet!r}" if sheet else file
    for number, row in rows:
        cells = {name: _text(row[at]) if at < len(row) else "" for name, at in columns.items()}
        found, answer = cells["id"], Answer(*(cells.get(name, "") for name in _ANSWER))
        answer = replace(answer, status=_status(answer.status))
        if found and cells.get(NUMBER, "").isdecimal():
            answers.numbers.setdefault(found, int(cells[NUMBER]))
        if answer in (Answer(), Answer(status=OPEN)):
            continue
        if not found:
            answers.notes.append(f"{place}: row {number} holds an answer and no id; it was carried to no finding.")
            continue
        if answers.by_id.get(found, answer) != answer:
            answers.notes.append(f"{place}: {found} is answered twice, and differently; row {number} was taken.")
        if answer.status not in ("", *STATUSES):
            answers.notes.append(
                f"{place}: the status {answer.status!r} of {found} is none of {', '.join(STATUSES)}; it was kept as it "
                "stands."
            )
        answers.by_id[found] = answer


def _text(cell) -> str:
    """A cell as text: a date as ISO 8601, a text without the apostrophe that kept it from being a formula."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == datetime.min.time() else cell.isoformat(sep=" ")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    return as_meant(str(cell).strip())


def _status(text: str) -> str:
    folded = " ".join(text.lower().split())
    return folded if folded in STATUSES else text


# What people write for done, and what turns it round. Judgement.
_DONE = {
    "corrected", "fixed", "repaired", "replaced", "adjusted", "recalibrated", "resolved", "rectified", "remedied",
    "closed", "done", "complete", "completed", "verified", "finished",
}  # fmt: skip
_NOT_DONE = {
    "not", "no", "never", "cannot", "to", "will", "be", "partly", "partially", "partial", "pending", "scheduled",
    "open", "reopened", "until", "when", "if", "in", "half", "isn't", "wasn't", "hasn't",
}  # fmt: skip


def says_corrected(status: str) -> bool:
    """Tell whether a status, in whatever words, says that a finding was corrected: fixed, done, closed, completed."""
    words = re.findall(r"[a-z']+", status.lower().replace("\u2019", "'"))
    return "ready for retest" in " ".join(words) or bool(_DONE & set(words)) and not _NOT_DONE & set(words)


def _few(ids: list[str]) -> str:
    return ", ".join(ids[:4]) + (f" and {len(ids) - 4} more" if len(ids) > 4 else "")
