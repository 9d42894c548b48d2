"""Workbooks and text files as grids of cells."""

from __future__ import annotations

import csv
import datetime
import io
import re
import warnings
import zipfile
from collections import Counter
from typing import Any

from analyzer.errors import ExportError, ScheduleError
from analyzer.intake.files.encoding import to_utf8
from analyzer.intake.tables.workbooks import check_size
from analyzer.schedule.cells import Grid, squared
from analyzer.schedule.gaps import Cell, grid_of_lines

MOST_CELLS = 2_000_000
_WORDS = re.compile(r"\S+(?: \S+)*")
_LITERAL = re.compile(r'"([^"]*)"')
_SAVE_AGAIN = "Save it again as .xlsx or CSV."


def workbook_grids(data: bytes, name: str) -> list[Grid]:
    """Read the sheets of a workbook, merged cells and struck-through text with them.

    Raises
    ------
    ScheduleError
        It is no readable workbook, or larger than allowed.
    """
    import openpyxl

    try:
        check_size(data, name)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of an odd style or a validation, which no value depends on
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
            formulas = openpyxl.load_workbook(io.BytesIO(data)) if _has_formulas(data) else None
            sheets = [(sheet, formulas[sheet.title] if formulas else None) for sheet in book.worksheets]
            return [grid for sheet, told in sheets if (grid := _sheet(sheet, told, name)).height]
    except ScheduleError:
        raise
    except ExportError as error:
        raise ScheduleError(name, error.found, error.remedy) from None
    except MemoryError:
        raise ScheduleError(name, "is larger than this machine's memory", "Split the workbook.") from None
    except Exception as error:  # whatever a damaged workbook raises, the user is told one thing
        raise ScheduleError(name, f"is not a readable workbook ({type(error).__name__})", _SAVE_AGAIN) from None


def _has_formulas(data: bytes) -> bool:
    archive = zipfile.ZipFile(io.BytesIO(data))
    return any(b"<f>" in (body := archive.read(part)) or b"<f " in body
               for part in archive.namelist() if part.startswith("xl/worksheets/"))  # fmt: skip


def _sheet(sheet: Any, formulas: Any, name: str) -> Grid:
    if sheet.max_row * sheet.max_column > MOST_CELLS:
        raise ScheduleError(
            name, f"has a sheet of more than {MOST_CELLS:,} cells", "Keep the schedule's cells and clear the rest.",
            place=f"sheet {sheet.title!r}",
        )  # fmt: skip
    rows, struck = [], set()
    for r, row in enumerate(sheet.iter_rows()):
        texts = []
        for c, cell in enumerate(row):
            text = cell_text(cell.value, getattr(cell, "number_format", "") or "")
            if not text and formulas is not None and isinstance(told := formulas.cell(r + 1, c + 1).value, str):
                text = told  # a formula whose value was never stored: no figure, and not blank either
            if text and getattr(cell, "font", None) is not None and cell.font.strike:
                struck.add((r, c))
            texts.append(text)
        rows.append(texts)
    rows = squared(rows)
    height, width = len(rows), len(rows[0]) if rows else 0
    spans = {}
    for block in sheet.merged_cells.ranges:
        first = (block.min_row - 1, block.min_col - 1)
        if first[0] >= height or first[1] >= width:
            continue
        for r in range(block.min_row - 1, min(block.max_row, height)):
            for c in range(block.min_col - 1, min(block.max_col, width)):
                spans[r, c] = first
    return Grid(name, sheet.title, rows, spans, frozenset(struck))


def cell_text(value: Any, number_format: str = "General") -> str:
    """Return what a cell shows: a number with the unit that its format writes behind it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "YES" if value else "NO"
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(sep=" ")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, int | float):
        written = number_format.split(";")[0]
        if "%" in _LITERAL.sub("", written):
            return f"{value * 100:.6g}%"
        number = f"{value:.10g}"
        behind = "".join(_LITERAL.findall(written)) + ('"' if '\\"' in written else "")
        return f"{number} {behind.strip()}".strip() if re.search(r"[A-Za-z\"]", behind) else number
    return str(value).strip()


def text_grid(data: bytes, name: str) -> Grid:
    """Read a text file with a cell between each two commas, semicolons, tabs or bars, or in columns of spaces.

    Raises
    ------
    ScheduleError
        It is no text.
    """
    try:
        body, _ = to_utf8(data, name)
        text = body.decode("utf-8-sig")
    except (ExportError, UnicodeDecodeError):
        raise ScheduleError(name, "is no text", "Name a workbook, a CSV, a TSV or a PDF with text.") from None
    delimiter = _delimiter(text)
    if not delimiter:
        return grid_of_lines(_spaced_lines(text), name, "")
    try:
        rows = [[cell.strip() for cell in row] for row in csv.reader(io.StringIO(text), delimiter=delimiter)]
    except csv.Error as error:
        raise ScheduleError(name, f"is no readable table ({error})", "Save it as CSV.") from None
    if sum(map(len, rows)) > MOST_CELLS:
        raise ScheduleError(name, f"has more than {MOST_CELLS:,} cells", "Keep the schedule's rows.")
    return Grid(name, "", squared(rows))


def _delimiter(text: str) -> str:
    """Return the sign that parts the most lines into the same number of cells; "" where columns of spaces do."""
    lines = [line for line in text.splitlines() if line.strip()][:200]
    spaced = Counter(len(cells) for cells in _spaced_lines("\n".join(lines)) if len(cells) > 2)
    best, most = ",", 0
    for sign in "\t;|,":
        counts = Counter(len(row) for row in csv.reader(lines, delimiter=sign) if len(row) > 1)
        width, often = max(counts.items(), key=lambda item: (item[1] * item[0], item[0]), default=(0, 0))
        if width * often > most:
            best, most = sign, width * often
    return "" if sum(spaced.values()) > 2 and max(width * often for width, often in spaced.items()) > most else best


def _spaced_lines(text: str) -> list[list[Cell]]:
    """Return the lines of a text as the words that stand apart by two spaces or more."""
    lines = [line.expandtabs() for line in text.splitlines()]
    return [[(float(match.start()), float(match.end()), match[0]) for match in _WORDS.finditer(line)] for line in lines]
