"""The issue log: a workbook that goes to whoever corrects the findings, and comes back with their answers."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pandas as pd

from analyzer.findings.results import Results
from analyzer.findings.tables import OPEN, STATUSES, findings_table, neutralised, requests_table

FINDINGS, TRENDS, EARLIER = "Issue log", "Trends to send", "Earlier answers"
REMARKS = "Other remarks"
# Heading to the width of its column, in characters; on paper all of them fit the width of a landscape page.
_FINDINGS = {
    "id": 18, "place": 22, "finding": 46, "evidence": 24, "likely causes": 44, "action": 44, "retest": 30,
    "caution": 24, "severity": 9, "who acts": 14, "response": 32, "date": 11, "status": 12,
}  # fmt: skip
_TRENDS = {
    "point": 30, "interval": 16, "length": 22, "season or condition": 46, "would settle": 34, "terminals": 60,
    "sent": 8,
}  # fmt: skip
_EARLIER = {"id": 30, "verdict now": 50, "response": 50, "date": 11, "status": 14}
_REMARKS = {"place": 46, "on": 30, "words": 90}
# Every heading that this program writes; what stands under another was added by whoever had the log.
HEADINGS = frozenset({*_FINDINGS, *_TRENDS, *_EARLIER, *_REMARKS})
SHEETS = (FINDINGS, TRENDS, EARLIER, REMARKS)
_UNWRITABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
_TO_FILL, _HEADING = "F3F1EA", "1F2A33"


def write_issue_log(results: Results, path: Path) -> None:
    """Write the workbook: the findings with room for answers, the trends to send, and answers of earlier rounds."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    title = f"{results.site.name}, {_day(results.period[0])} to {_day(results.period[1])}"
    findings = issue_rows(results)
    sheet = _sheet(book, FINDINGS, title, _FINDINGS, findings)
    _offer_statuses(sheet, len(findings), list(_FINDINGS))
    _sheet(book, TRENDS, title, _TRENDS, sheet_to_send(results))
    if results.earlier_answers:
        earlier = _earlier_rows(results)
        sheet = _sheet(book, EARLIER, title, _EARLIER, earlier)
        _offer_statuses(sheet, len(earlier), list(_EARLIER))
    if results.remarks:
        rows = [{"place": one.place, "on": one.id, "words": one.text} for one in results.remarks]
        _sheet(book, REMARKS, title, _REMARKS, pd.DataFrame(rows, columns=list(_REMARKS)))
    book.save(path)


# Rows ----------------------------------------------------------------------------------------------------------------


def issue_rows(results: Results) -> pd.DataFrame:
    """Return the issue log's rows, a finding each, ranked."""
    table = findings_table(results)
    rows = pd.DataFrame(
        {
            "id": table["id"],
            "place": _joined(table, ("terminal", "zone", "floor", "air_handler"), {"floor": "floor "}),
            "finding": table["finding"] + ". " + table["summary"],
            "evidence": [_window(row) for row in table.to_dict("records")],
            "likely causes": _lines(finding.likely_causes for finding in results.findings),
            "action": _lines(finding.next_steps for finding in results.findings),
            "retest": table["retest"],
            "caution": table["caution"],
            "severity": table["severity"],
            "who acts": table["who_acts"],
            "response": table["response"],
            "date": table["date"],
            "status": table["status"],
        },
        columns=list(_FINDINGS),
    )
    follows = table["follows_from"] != ""
    rows["finding"] = rows["finding"].where(~follows, rows["finding"] + " Told under " + table["follows_from"] + ".")
    return rows


def sheet_to_send(results: Results) -> pd.DataFrame:
    """Return the trend request for whoever exports the trends: a row per thing to ask, with all its terminals."""
    rows = requests_table(results)
    if rows.empty:
        return pd.DataFrame(columns=list(_TRENDS))
    rows["settles"] = rows["settles"].str.replace(" ", ", ")
    rows["terminals"] = [
        f"{len(tags)}: {told}" for tags, told in zip(results.requests["terminal"], rows["terminal"], strict=True)
    ]
    rows = rows.rename(columns={"condition": "season or condition", "settles": "would settle"})
    return rows.assign(sent="")[list(_TRENDS)]


def _earlier_rows(results: Results) -> pd.DataFrame:
    verdicts = results.verdicts
    named = verdicts["terminal"].astype(str) + "/" + verdicts["rule"].astype(str)
    now = dict(zip(named, verdicts["verdict"] + ": " + verdicts["reason"].astype(str), strict=True))
    rows = [
        {"id": found, "verdict now": now.get(found, "not in this review"), **vars(answer)}
        for found, answer in results.earlier_answers.items()
    ]
    return pd.DataFrame(rows, columns=list(_EARLIER))


def _joined(table: pd.DataFrame, names: tuple[str, ...], before: dict[str, str]) -> pd.Series:
    parts = [table[name].where(table[name] == "", before.get(name, "") + table[name]) for name in names]
    return pd.Series([", ".join(dict.fromkeys(filter(None, row))) for row in zip(*parts, strict=True)], dtype=object)


def _lines(texts) -> list[str]:
    return ["\n".join(f"{number}. {text}" for number, text in enumerate(each, 1)) for each in texts]


def _window(row: dict) -> str:
    start, end = row["from"][:16].replace("T", " "), row["to"][:16].replace("T", " ")
    return f"{start} to {end}; {row['fault_hours']:.1f} h of {row['judged_hours']:.1f} h judged; {row['confidence']}"


def _day(moment: pd.Timestamp) -> str:
    return moment.date().isoformat()


# The sheet -----------------------------------------------------------------------------------------------------------


def _sheet(book, name: str, title: str, widths: dict[str, int], rows: pd.DataFrame):
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

    sheet = book.create_sheet(name)
    bold, dark = Font(bold=True, color="FFFFFF"), PatternFill("solid", fgColor=_HEADING)
    ruled = Border(bottom=Side(style="thin", color="CFCBBF"))
    wrapped = Alignment(wrap_text=True, vertical="top")
    answered = PatternFill("solid", fgColor=_TO_FILL)
    to_fill = [list(widths).index(heading) for heading in ("response", "date", "status", "sent") if heading in widths]
    sheet.append(list(widths))
    for values in neutralised(rows).itertuples(index=False):
        sheet.append([_cell(heading, _writable(value)) for heading, value in zip(widths, values, strict=True)])
    for row in sheet.iter_rows():
        for cell in row:
            cell.alignment, cell.border = wrapped, ruled
            if isinstance(cell.value, str):
                cell.data_type = "s"  # never a formula
        for at in to_fill:
            row[at].fill = answered
    for cell, width in zip(sheet[1], widths.values(), strict=True):
        cell.font, cell.fill = bold, dark
        sheet.column_dimensions[cell.column_letter].width = width
    _for_paper(sheet, title, name)
    return sheet


def _writable(value):
    """Take out of a text what no workbook can hold: signs that command a terminal, which a careless tag may hold."""
    return _UNWRITABLE.sub("?", value) if isinstance(value, str) else value


def _cell(heading: str, value):
    if heading == "date" and value:
        try:
            return date.fromisoformat(value)
        except ValueError:
            return value
    return value


def _for_paper(sheet, title: str, name: str) -> None:
    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = sheet.dimensions
    sheet.page_setup.orientation, sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = "landscape", 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = "1:1"
    plain = _writable(title).replace("&", "&&")
    sheet.oddHeader.left.text, sheet.oddHeader.right.text = plain, name
    sheet.oddFooter.right.text = "&P / &N"
    sheet.oddFooter.left.text = "Lock out and tag before reaching in; local codes and licensed practice come first."
    for side in ("left", "right"):
        setattr(sheet.page_margins, side, 0.4)


def _offer_statuses(sheet, rows: int, headings: list[str]) -> None:
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    allowed = DataValidation(type="list", formula1=f'"{",".join(STATUSES)}"', allow_blank=True)
    allowed.showErrorMessage, allowed.errorTitle, allowed.error = True, "Status", f"One of: {', '.join(STATUSES)}."
    allowed.showInputMessage, allowed.promptTitle = True, "Status"
    allowed.prompt = f"{OPEN}: nothing done. answered: see response. corrected: ready for the retest."
    sheet.add_data_validation(allowed)
    column = get_column_letter(headings.index("status") + 1)
    allowed.add(f"{column}2:{column}{max(2, rows + 1)}")
