"""Workbooks: every sheet that holds a table is a table of its own."""

from __future__ import annotations

import datetime
import io
import warnings
import zipfile
from itertools import pairwise
from typing import Any

import pyarrow as pa

from analyzer import interrupts
from analyzer.errors import ExportError
from analyzer.intake.files.find import Source
from analyzer.intake.limits import (
    LARGEST_UNPACKED,
    MEBIBYTE,
    MOST_COLUMNS,
    MOST_SHEET_CELLS,
    MOST_TIMES_UNPACKED,
    SURELY_UNPACKED,
)
from analyzer.intake.tables.decimals import decimal_sign, likely_sign
from analyzer.intake.tables.header import find_header, is_footer
from analyzer.intake.tables.raw_table import RawTable, text_column
from analyzer.intake.tables.rounds import Rounds, find_rounds, moment_in, say_rounds
from analyzer.intake.tables.several import one_below_another, refuse_rows_above, table_begins
from analyzer.intake.tables.sideways import stamps_side_by_side, turn
from analyzer.intake.tables.sniff import NoTable

_HEAD_ROWS = 200
_TAIL_ROWS = 40
_TOP_ROWS = 30


def open_workbook(source: Source) -> list[RawTable]:
    """Read the sheets of a workbook that hold time stamps.

    Raises
    ------
    ExportError
        It is no workbook, is larger than allowed when unpacked, or no sheet holds a table.
    """
    sheets = read_sheets(source.read(), source.label)
    tables, lists = [], []
    rounds = _rounds(sheets)
    for of_one in rounds:
        tables += _read_rounds(of_one, source, len(sheets))
    spent = {title for of_one in rounds for title, _, _ in of_one}
    for title, rows in sheets:
        if title in spent:
            continue
        found = _read_tables(rows, source, title, len(sheets))
        tables += found
        if not found:
            lists.append([[_text(cell) for cell in row] for row in rows])
    if tables and lists:
        tables[0].keep_lists(lists)
    if not tables:
        raise NoTable(
            source.label,
            f"no time stamp was found in any of its {len(sheets)} sheets",
            "Export it as a table with a time stamp in every row, or leave it out.",
        )
    return tables


def first_rows(source: Source) -> list[list[str]]:
    """Return the rows of a workbook's first sheet that has some, as text."""
    sheets = read_sheets(source.read(), source.label)
    return next(([[_text(cell) for cell in row] for row in rows] for _, rows in sheets if rows), [])


def read_sheets(data: bytes, label: str) -> list[tuple[str, list[list[Any]]]]:
    """Read the sheets of a workbook within bounds: each one's title and rows, empty cells at their ends left out.

    Raises
    ------
    ExportError
        It is no workbook, or is larger than allowed when unpacked.
    """
    import openpyxl

    check_size(data, label)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of an odd cell, which is accounted for where it is read
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            return _sheets(book, label)
    except ExportError:
        raise
    except MemoryError:
        raise ExportError(label, "is larger than this machine's memory", "Split the workbook.") from None
    except Exception as error:  # whatever a damaged workbook raises, the user is told one thing
        raise ExportError(
            label, f"is not a readable workbook ({type(error).__name__})", "Save it again as .xlsx or CSV."
        ) from None


def _sheets(book, label: str) -> list[tuple[str, list[list[Any]]]]:
    sheets: list[tuple[str, list[list[Any]]]] = []
    left = MOST_SHEET_CELLS
    for sheet in book.worksheets:
        rows = _rows(sheet, label, left)
        left -= len(rows) * max(map(len, rows), default=0)
        sheets.append((sheet.title, rows))
    return sheets


def _rows(sheet, label: str, most: int) -> list[list[Any]]:
    """Read a sheet's rows, of so many cells at the most; its own word on its size is not believed."""
    sheet.reset_dimensions()
    rows: list[list[Any]] = []
    empty: list[Any] = []  # one for all rows without a value
    width = 0
    for row in sheet.iter_rows(values_only=True):
        interrupts.check()  # a library may have swallowed it
        filled = len(row)
        while filled and row[filled - 1] is None:
            filled -= 1
        rows.append(list(row[:filled]) if filled else empty)
        width = max(width, filled)
        if len(rows) * width > most:
            raise ExportError(
                label,
                f"has more than {MOST_SHEET_CELLS:,} cells, the most allowed in a workbook's sheets",
                "Export it as CSV or Parquet, or split the workbook.",
                place=f"sheet {sheet.title!r}",
            )
    return rows


def check_size(data: bytes, label: str) -> None:
    """Refuse a workbook that unpacks to more than the limits, by its own word: no part is read past that."""
    try:
        size = sum(info.file_size for info in zipfile.ZipFile(io.BytesIO(data)).infolist())
    except zipfile.BadZipFile:
        raise ExportError(
            label, "is not a readable workbook (no zip archive)", "Save it again as .xlsx or CSV."
        ) from None
    if size > LARGEST_UNPACKED:
        raise ExportError(
            label,
            f"unpacks to {size / MEBIBYTE:,.0f} MiB; allowed are {LARGEST_UNPACKED / MEBIBYTE:,.0f} MiB",
            "Split the workbook.",
        )
    if size > SURELY_UNPACKED and size > MOST_TIMES_UNPACKED * len(data):
        raise ExportError(
            label,
            f"unpacks to more than {SURELY_UNPACKED // MEBIBYTE} MiB and {MOST_TIMES_UNPACKED} times its size, "
            "which no export does",
            "Look at it; if it is sound, export it as CSV.",
        )


def _rounds(sheets: list[tuple[str, list[list[Any]]]]) -> list[list[tuple[str, list[list[Any]], Rounds]]]:
    """Return the sheets of rounds, those together that have the same header: a round may have a sheet of its own."""
    groups: dict[tuple[str, ...], list[tuple[str, list[list[Any]], Rounds]]] = {}
    for title, rows in sheets:
        if any(moment_in([_text(cell) for cell in row]) for row in rows[:_TOP_ROWS]):
            found = find_rounds([[_text(cell) for cell in row] for row in rows])
            if found is not None:
                header = tuple(_text(cell) for cell in rows[found.rows[0][0]])
                groups.setdefault(header, []).append((title, rows, found))
    return [group for group in groups.values() if group[0][2].sure(*(found for _, _, found in group[1:]))]


def _read_rounds(group: list[tuple[str, list[list[Any]], Rounds]], source: Source, sheets: int) -> list[RawTable]:
    """Read the sheets of rounds that have the same header as one table."""
    title, rows, first = group[0]
    laid: list[list[Any]] = [rows[n] for n in first.above]
    several = any(found.headers > 1 for _, _, found in group)
    for _, rows, found in group:
        begin = 0 if found is first or several else 1
        laid += [[stamp, *rows[n]] for n, stamp in found.rows[begin:]]
    tables = _read_tables(laid, source, title, 1 if len(group) > 1 else sheets)
    return say_rounds(tables, [found for _, _, found in group])


def _read_tables(rows: list[list[Any]], source: Source, title: str, sheets: int) -> list[RawTable]:
    """Read the tables of a sheet: as a rule one."""
    side = stamps_side_by_side([[_text(cell) for cell in row] for row in rows[:_HEAD_ROWS]])
    if side is not None:
        texts = [[_text(cell) for cell in row] for row in rows]
        return [turn(texts, side, _label(source, title, sheets), title if sheets > 1 else source.stem)]
    head = find_header([[_text(cell) for cell in row] for row in rows[:_HEAD_ROWS]])
    begins = table_begins(len(rows), lambda n: [_text(cell) for cell in rows[n]], head.names if head else ())
    places = [0, *begins, len(rows)]
    parts = [_read_sheet(rows[a:b], source, title, sheets) for a, b in pairwise(places)]
    tables = [table for table in parts if table]
    return one_below_another(tables) if len(tables) > 1 else tables


def _read_sheet(rows: list[list[Any]], source: Source, title: str, sheets: int) -> RawTable | None:
    width = max((len(row) for row in rows), default=0)
    if width > MOST_COLUMNS:
        raise ExportError(
            source.label,
            f"has {width} columns; allowed are {MOST_COLUMNS}",
            "Split the export by terminal.",
            place=f"sheet {title!r}",
        )
    rows = [row + [None] * (width - len(row)) for row in rows]
    texts = [[_text(cell) for cell in row] for row in rows[:_HEAD_ROWS]]
    head = find_header(texts)
    if head is None:
        return None
    top = head.first if head.header is None else head.header
    refuse_rows_above(texts, top, source.label, f"sheet {title!r}")
    not_data = dict(head.not_data)
    body = rows[head.first :]
    body = _without_footer(body, not_data)
    kept = [row for row in body if any(cell not in (None, "") for cell in row)]
    if len(kept) < len(body):
        not_data["blank line"] = not_data.get("blank line", 0) + len(body) - len(kept)
    again = (
        [row for row in kept if [_text(cell) for cell in row] != texts[head.header]]
        if head.header is not None
        else kept
    )
    if len(again) < len(kept):
        not_data["repeated header"] = len(kept) - len(again)
    columns = [_column([row[n] for row in again]) for n in range(width)]
    names = head.names + [""] * (width - len(head.names))
    units = (head.units or []) + [None] * (width - len(head.units or []))
    filled = [n for n in range(width) if names[n] or columns[n].null_count < len(columns[n])]
    spelled = [[cell.strip() for cell in row if isinstance(cell, str)] for row in again[:_HEAD_ROWS]]
    sign = decimal_sign(spelled)
    return RawTable(
        _label(source, title, sheets),
        title if sheets > 1 else source.stem,
        [names[n] or f"column {n + 1}" for n in filled],
        [columns[n] for n in filled],
        [units[n] or None for n in filled],
        head.preamble,
        not_data,
        decimal=sign or likely_sign(spelled)[0],
        proven=sign is not None,
    )


def _label(source: Source, title: str, sheets: int) -> str:
    return f"{source.label}: sheet {title}" if sheets > 1 else source.label


def _without_footer(rows: list[list[Any]], not_data: dict[str, int]) -> list[list[Any]]:
    """Leave out the rows after the data that sum it up or close the sheet."""
    end = len(rows)
    while end > max(1, len(rows) - _TAIL_ROWS):
        texts = [_text(cell) for cell in rows[end - 1]]
        filled = [text for text in texts if text]
        if filled and not is_footer(texts, filled, len(texts)):
            break
        kind = "footer" if filled else "blank line"
        not_data[kind] = not_data.get(kind, 0) + 1
        end -= 1
    return rows[:end]


def _text(cell: Any) -> str:
    if cell is None:
        return ""
    if isinstance(cell, datetime.datetime):
        return cell.isoformat(sep=" ")
    return str(cell).strip()


def _column(cells: list[Any]) -> pa.ChunkedArray:
    """Make a column of stamps, times of day, numbers, booleans or text of what its cells are."""
    filled = [cell for cell in cells if cell is not None and cell != ""]
    kinds = {type(cell) for cell in filled}
    if filled and kinds <= {datetime.datetime, datetime.date}:
        moments = [None if cell in (None, "") else _moment(cell) for cell in cells]
        return pa.chunked_array([pa.array(moments, pa.timestamp("us"))])
    if filled and kinds <= {int, float}:
        return pa.chunked_array(
            [pa.array([None if cell in (None, "") else float(cell) for cell in cells], pa.float64())]
        )
    if kinds == {bool}:
        return pa.chunked_array([pa.array([None if cell in (None, "") else cell for cell in cells], pa.bool_())])
    return text_column([_text(cell) for cell in cells])


def _moment(cell: datetime.date) -> datetime.datetime:
    whole = cell if isinstance(cell, datetime.datetime) else datetime.datetime.combine(cell, datetime.time())
    # A workbook stores days as numbers: what is within half a millisecond of a second is that second.
    return (whole + datetime.timedelta(milliseconds=0.5)).replace(
        microsecond=(whole.microsecond + 500) // 1000 % 1000 * 1000
    )
