"""What people wrote into an issue log where no answer is looked for: kept, so that no word of theirs is lost."""

from __future__ import annotations

import io
from pathlib import Path

from analyzer.findings.issue_log import ALL_HEADINGS, REMARKS, SHEETS, TRENDS
from analyzer.findings.results import Remark
from analyzer.formulas import as_meant

_HEADING_ROWS = 20  # within which the line of headings has to stand
_ANSWER = ("response", "date", "status")


def remarks_in(path: Path, sheets: list[tuple[str, list[list]]]) -> list[Remark]:
    """Return what stands in an issue log beside its answers.

    Words in a row without an id, under a heading or on a sheet that was added, above the headings, in the column of
    trends that were sent, in comments on cells; and the remarks that an earlier log was handed.

    Parameters
    ----------
    path : Path
        A workbook or a CSV that was read already.
    sheets : list of tuple
        Title and rows of each sheet.
    """
    found = [remark for title, rows in sheets for remark in _of_sheet(path.name, title, rows)]
    if path.suffix.lower() in (".xlsx", ".xlsm"):
        found += _comments(path, dict(sheets))
    return list(dict.fromkeys(found))


def _of_sheet(file: str, title: str, rows: list[list]) -> list[Remark]:
    names, first = _headings(rows)
    if title == REMARKS:
        at = [names.index(name) for name in ("place", "on", "words")] if {"place", "on", "words"} <= set(names) else []
        return [Remark(*(_cell(row, n) for n in at)) for row in rows[first:] if at and _cell(row, at[2])]
    place = f"{file}, sheet {title!r}" if title else file
    if not names or (title and title not in SHEETS and "id" not in names):
        return [Remark(f"{place}, row {n}", "", text) for n, row in enumerate(rows, 1) if (text := _joined(row))]
    found = [
        Remark(f"{place}, row {n}", "", text) for n, row in enumerate(rows[: first - 1], 1) if (text := _joined(row))
    ]
    for number, row in enumerate(rows[first:], first + 1):
        own = _cell(row, names.index("id")) if "id" in names else ""
        for n in range(len(row)):
            name, text = names[n] if n < len(names) else "", _cell(row, n)
            added = name not in ALL_HEADINGS
            unplaced = name in _ANSWER and not own and title != TRENDS
            if text and (added or unplaced or (name == "sent" and title == TRENDS)):
                told = own or (_cell(row, 0) if title == TRENDS else "")
                found.append(
                    Remark(f"{place}, row {number}, {f'column {name!r}' if name else 'no heading'}", told, text)
                )
    return found


def _headings(rows: list[list]) -> tuple[list[str], int]:
    """Return the headings in lower case, and how many rows end with them; none where no row holds any."""
    for number, row in enumerate(rows[:_HEADING_ROWS], 1):
        names = [str(cell or "").strip().lower().replace("_", " ") for cell in row]
        if "id" in names or len(ALL_HEADINGS & set(names)) > 2:
            return names, number
    return [], 0


def _comments(path: Path, sheets: dict[str, list[list]]) -> list[Remark]:
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(path.read_bytes()))  # its size was looked at as it was read for answers
    found = []
    for sheet in book.worksheets:
        names, _ = _headings(sheets.get(sheet.title, []))
        for row in sheet.iter_rows():
            for cell in row:
                if cell.comment is not None and cell.comment.text.strip():
                    rows = sheets.get(sheet.title, [])
                    line = rows[cell.row - 1] if cell.row <= len(rows) else []
                    own = _cell(line, names.index("id")) if "id" in names else ""
                    place = f"{path.name}, sheet {sheet.title!r}, comment on {cell.coordinate}"
                    found.append(Remark(place, own if own != "id" else "", cell.comment.text.strip()))
    return found


def _joined(row: list) -> str:
    return "; ".join(filter(None, (_cell(row, n) for n in range(len(row)))))


def _cell(row: list, n: int) -> str:
    if n >= len(row) or row[n] is None:
        return ""
    return as_meant(str(row[n]).strip())
