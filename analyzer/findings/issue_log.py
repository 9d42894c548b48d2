"""The issue log: a workbook that goes to whoever corrects the findings, and comes back with their answers."""

from __future__ import annotations

import math
import re
from datetime import date
from pathlib import Path

import pandas as pd

from analyzer.findings.plain_names import plain
from analyzer.findings.results import Answer, Finding, Results
from analyzer.findings.tables import (
    DECISIONS,
    HEADINGS,
    NUMBER,
    OPEN,
    STATUSES,
    findings_table,
    neutralised,
    requests_table,
)
from analyzer.quantities import half_up

FINDINGS, TRENDS, EARLIER = "Issue log", "Trends to send", "Earlier answers"
REMARKS = "Other remarks"
# Heading to the width of its column, in characters. What is printed stands first, the contractor's answer and the
# agent's sign-off in view beside the finding: together they fit a landscape page in print that can be read.
_PRINTED = {
    NUMBER: 5, "severity": 8, "place": 15, "finding": 40, "action": 44, "status": 10, "response": 30, "date": 10,
    HEADINGS["decision"]: 12, HEADINGS["decided"]: 10, "initials": 7,
}  # fmt: skip
_BESIDE_THE_PRINT = {
    "likely causes": 60, "who acts": 16, "kWh a year, est.": 11, "cost a year, est.": 11, "range of cost": 15, "id": 30,
}  # fmt: skip
_FINDINGS = _PRINTED | _BESIDE_THE_PRINT
_TRENDS = {
    "point": 30, "interval": 16, "length": 22, "season or condition": 46, "would settle": 34, "terminals": 60,
    "sent": 8,
}  # fmt: skip
_EARLIER = {
    NUMBER: 6, "id": 30, "verdict now": 46, "status": 14, "response": 46, "date": 11, HEADINGS["decision"]: 14,
    HEADINGS["decided"]: 11, "initials": 8,
}  # fmt: skip
_TO_BE_FILLED = ("status", "response", "date", *HEADINGS.values(), "initials", "sent")
_DAYS = ("date", HEADINGS["decided"])
# A sheet's rows are as high as their words: lines of the font's size [points], as many as the column's width makes of
# the longest cell, and no more than a workbook allows.
_FONT, _LINE, _HIGHEST, _CHARACTERS = 10, 12.8, 409.0, 1.2
_REMARKS = {"place": 46, "on": 30, "words": 90}
# Headings that earlier logs had.
_FORMER = ("evidence", "retest", "caution")
# Every heading that this program writes or wrote, in lower case; what stands under another was added by whoever had the
# log.
ALL_HEADINGS = frozenset(name.lower() for name in (*_FINDINGS, *_TRENDS, *_EARLIER, *_REMARKS, *_FORMER))
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
    _offer(sheet, len(findings), list(_FINDINGS))
    _sheet(book, TRENDS, title, _TRENDS, sheet_to_send(results))
    if results.earlier_answers:
        earlier = _earlier_rows(results)
        sheet = _sheet(book, EARLIER, title, _EARLIER, earlier)
        _offer(sheet, len(earlier), list(_EARLIER))
    if results.remarks:
        rows = [{"place": one.place, "on": one.id, "words": one.text} for one in results.remarks]
        _sheet(book, REMARKS, title, _REMARKS, pd.DataFrame(rows, columns=list(_REMARKS)))
    book.save(path)


# Rows ----------------------------------------------------------------------------------------------------------------


def issue_rows(results: Results) -> pd.DataFrame:
    """Return the issue log's rows, a finding each, ranked."""
    table = findings_table(results)
    told = table["finding"] + ". " + table["summary"] + "\n"
    rows = pd.DataFrame(
        {
            NUMBER: table["number"].astype(object).where(table["number"].notna(), ""),
            "severity": table["severity"],
            "place": _joined(table, ("terminal", "zone", "floor", "air_handler"), {"floor": "floor "}),
            "finding": told + [_window(row) for row in table.to_dict("records")],
            "action": _actions(results),
            **{HEADINGS.get(name, name): table[name] for name in vars(Answer())},
            "likely causes": _lines(map(causes_told, results.findings)),
            "who acts": table["who_acts"],
            "kWh a year, est.": _figures(table["kwh_year"]),
            "cost a year, est.": _figures(table["cost_year"]),
            "range of cost": [_range(row) for row in table.to_dict("records")],
            "id": table["id"],
        },
        columns=list(_FINDINGS),
    )
    rows["finding"] += _followed(table)
    return rows


def _followed(table: pd.DataFrame) -> list[str]:
    """Say in a line of its own which finding of the log each follows from; nothing for a root."""
    named = {row["id"]: _named(row) for row in table[["id", "number", "finding", "terminal"]].to_dict("records")}
    return [cause and f"\nFollows from {named.get(cause, cause)}." for cause in table["follows_from"]]


def _named(row: dict) -> str:
    """Name a finding in the words of another: with its number, and its place unless its title has it."""
    number = "" if pd.isna(row["number"]) else f"no. {row['number']}, "
    told = row["finding"].endswith((f" of {row['terminal']}", " of the building"))
    place = "" if told else f", at {row['terminal']}"
    return f"{number}{row['finding']}{place}"


def sheet_to_send(results: Results) -> pd.DataFrame:
    """Return the trend request for whoever exports the trends: a row per thing to ask, with all its terminals."""
    rows = requests_table(results)
    if rows.empty:
        return pd.DataFrame(columns=list(_TRENDS))
    titles = {rule.id: rule.title for rule in results.rules.values()}
    rows["settles"] = ["; ".join(titles.get(name, name) for name in ids.split()) for ids in rows["settles"]]
    rows["point"] = rows["point"].map(plain)
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
        {
            NUMBER: results.numbers.get(found, ""),
            "id": found,
            "verdict now": now.get(found, "not in this review"),
            **{HEADINGS.get(name, name): word for name, word in vars(answer).items()},
        }
        for found, answer in results.earlier_answers.items()
    ]
    return pd.DataFrame(rows, columns=list(_EARLIER))


def _joined(table: pd.DataFrame, names: tuple[str, ...], before: dict[str, str]) -> pd.Series:
    parts = [table[name].where(table[name] == "", before.get(name, "") + table[name]) for name in names]
    return pd.Series([", ".join(dict.fromkeys(filter(None, row))) for row in zip(*parts, strict=True)], dtype=object)


def _lines(texts) -> list[str]:
    return ["\n".join(f"{number}. {text}" for number, text in enumerate(each, 1)) for each in texts]


def causes_told(finding: Finding) -> list[str]:
    """Return the likely causes, those marked that the trends support."""
    return [
        f"{cause} Supported by the trends." if cause in finding.supported_causes else cause
        for cause in finding.likely_causes
    ]


def _actions(results: Results) -> list[str]:
    """What to do and how it is checked, after what one has to mind."""
    steps = _lines(finding.next_steps for finding in results.findings)
    return [
        "\n".join(filter(None, [f.caution and f"Caution: {f.caution}", todo, f.retest and f"Retest: {f.retest}"]))
        for f, todo in zip(results.findings, steps, strict=True)
    ]


def _figures(column: pd.Series) -> list:
    return ["" if pd.isna(value) else int(value) for value in column]


def _range(row: dict) -> str:
    if pd.isna(row["cost_year"]):
        return ""
    return f"{row['currency']} {row['cost_year_low']:,} to {row['cost_year_high']:,}"


def _window(row: dict) -> str:
    start, end = row["from"][:16].replace("T", " "), row["to"][:16].replace("T", " ")
    fault, judged = (half_up(row[name], 1) for name in ("fault_hours", "judged_hours"))
    return f"{start} to {end}; fault {fault} h of {judged} h judged; {row['confidence']}"


def _day(moment: pd.Timestamp) -> str:
    return moment.date().isoformat()


# The sheet -----------------------------------------------------------------------------------------------------------


def _sheet(book, name: str, title: str, widths: dict[str, int], rows: pd.DataFrame):
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

    sheet = book.create_sheet(name)
    plain, bold = Font(name="Calibri", size=_FONT), Font(name="Calibri", size=_FONT, bold=True, color="FFFFFF")
    dark, answered = PatternFill("solid", fgColor=_HEADING), PatternFill("solid", fgColor=_TO_FILL)
    line = Side(style="thin", color="CFCBBF")
    ruled, wrapped = Border(bottom=line, right=line), Alignment(wrap_text=True, vertical="top", horizontal="left")
    to_fill = [list(widths).index(heading) for heading in _TO_BE_FILLED if heading in widths]
    sheet.append(list(widths))
    for values in neutralised(rows).itertuples(index=False):
        sheet.append([_cell(heading, _writable(value)) for heading, value in zip(widths, values, strict=True)])
    for number, row in enumerate(sheet.iter_rows(), 1):
        for cell in row:
            cell.alignment, cell.border, cell.font = wrapped, ruled, plain
            if isinstance(cell.value, str):
                cell.data_type = "s"  # never a formula
        for at in to_fill:
            row[at].fill = answered
        sheet.row_dimensions[number].height = _height(row, widths)
    for cell, width in zip(sheet[1], widths.values(), strict=True):
        cell.font, cell.fill = bold, dark
        sheet.column_dimensions[cell.column_letter].width = width
    _for_paper(sheet, title, name)
    return sheet


def _height(row, widths: dict[str, int]) -> float:
    """How high a row has to be for its longest cell [points]: office programs do not all work it out themselves."""
    lines = max(
        _line_count(cell.value, width)
        for cell, (name, width) in zip(row, widths.items(), strict=True)
        if name != "likely causes"  # long, and not printed: it is read in the cell
    )
    return min(lines * _LINE + 4, _HIGHEST)


def _line_count(value, width: int) -> int:
    if not isinstance(value, str):
        return 1
    # A wrapped line loses part of a word at its end: a third of a longer one.
    room = max(width * _CHARACTERS - 2, 1)
    return sum(max(1, math.ceil(len(line) / room)) for line in value.split("\n"))


def _writable(value):
    """Take out of a text what no workbook can hold: signs that command a terminal, which a careless tag may hold."""
    return _UNWRITABLE.sub("?", value) if isinstance(value, str) else value


def _cell(heading: str, value):
    if heading in _DAYS and value:
        try:
            return date.fromisoformat(value)
        except ValueError:
            return value
    return value


def _for_paper(sheet, title: str, name: str) -> None:
    sheet.freeze_panes = "B2"
    if name == FINDINGS:
        sheet.print_area = f"A1:{sheet.cell(1, len(_PRINTED)).column_letter}{sheet.max_row}"
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


def _offer(sheet, rows: int, headings: list[str]) -> None:
    """Offer the words of the columns for status and decision."""
    prompt = f"{OPEN}: nothing done. answered: see response. corrected: ready for the retest."
    _offer_words(sheet, rows, headings.index("status") + 1, "Status", STATUSES, prompt)
    prompt = "verified: the retest shows it corrected. not corrected: it stands. withdrawn: it was no fault."
    _offer_words(sheet, rows, headings.index(HEADINGS["decision"]) + 1, "Agent's decision", DECISIONS, prompt)


def _offer_words(sheet, rows: int, column: int, title: str, words: tuple[str, ...], prompt: str) -> None:
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    allowed = DataValidation(type="list", formula1=f'"{",".join(words)}"', allow_blank=True)
    allowed.showErrorMessage, allowed.errorTitle, allowed.error = True, title, f"One of: {', '.join(words)}."
    allowed.showInputMessage, allowed.promptTitle, allowed.prompt = True, title, prompt
    sheet.add_data_validation(allowed)
    letter = get_column_letter(column)
    allowed.add(f"{letter}2:{letter}{max(2, rows + 1)}")
