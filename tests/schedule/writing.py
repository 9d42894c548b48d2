"""Schedules made of compact descriptions: a line a row, bars between the cells.

``>`` is a cell that is merged with the one on its left, ``^`` with the one above; ``\\n`` breaks a line within a cell,
``~~text~~`` is struck through, ``\\|`` is a bar. In a workbook a number is written as a number.
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

SUFFIX = {"workbook": ".xlsx", "csv": ".csv", "tsv": ".tsv", "semicolons": ".csv", "pdf": ".pdf", "pdf-plain": ".pdf"}


def described(text: str) -> list[list[str]]:
    """Return the cells of a description."""
    lines = text.strip("\n").split("\n")
    return [[cell.strip().replace("\\n", "\n") for cell in re.split(r"(?<!\\)\|", line)] for line in lines]


def write(case: dict, folder: Path) -> Path:
    """Write the file of a case."""
    form = case.get("as", "workbook")
    path = folder / (case.get("file", "schedule") + SUFFIX[form])
    sheets = {title: described(text) for title, text in case["sheets"].items()}
    if form == "workbook":
        write_workbook(path, sheets)
    elif form.startswith("pdf"):
        from tests.schedule.pdf import write_pdf

        write_pdf(path, list(sheets.values()), ruled=form == "pdf", turned=case.get("turned", False))
    else:
        (rows,) = sheets.values()
        path.write_text(as_text(rows, {"csv": ",", "tsv": "\t", "semicolons": ";"}[form]), encoding="utf-8", newline="")
    return path


def as_text(rows: list[list[str]], delimiter: str) -> str:
    """Return cells as a text file; of a merged block only the first cell holds anything."""
    stream = io.StringIO()
    plain = [["" if cell in (">", "^") else cell for cell in row] for row in rows]
    csv.writer(stream, delimiter=delimiter, lineterminator="\r\n").writerows(plain)
    return stream.getvalue()


def blocks(rows: list[list[str]]) -> list[tuple[int, int, int, int]]:
    """Return the merged blocks: first row, first column, last row, last column."""
    found = []
    for r, row in enumerate(rows):
        for c, cell in enumerate(row):
            if cell in (">", "^"):
                continue
            right, down = c, r
            while right + 1 < len(row) and row[right + 1] == ">":
                right += 1
            while down + 1 < len(rows) and len(rows[down + 1]) > c and rows[down + 1][c] == "^":
                down += 1
            if (right, down) != (c, r):
                found.append((r, c, down, right))
    return found


def write_workbook(path: Path, sheets: dict[str, list[list[str]]]) -> None:
    """Write a workbook with merged cells, numbers as numbers."""
    import openpyxl
    from openpyxl.styles import Font

    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for r, row in enumerate(rows):
            for c, text in enumerate(row):
                if text in (">", "^", ""):
                    continue
                cell = sheet.cell(r + 1, c + 1)
                if text.startswith("~~") and text.endswith("~~"):
                    cell.font, text = Font(strike=True), text.strip("~")
                cell.value = _number(text)
        for top, left, bottom, right in blocks(rows):
            sheet.merge_cells(start_row=top + 1, start_column=left + 1, end_row=bottom + 1, end_column=right + 1)
    book.save(path)


def _number(text: str) -> int | float | str:
    if re.fullmatch(r"-?\d+", text):
        return int(text)
    return float(text) if re.fullmatch(r"-?\d*\.\d+", text) else text
