"""The rows of an export as they stand in the file: each with its place and the text of its cells."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Iterator
from typing import NamedTuple

from analyzer.intake.files.encoding import to_utf8
from analyzer.intake.files.find import JSON, PARQUET, WORKBOOK, Source
from analyzer.intake.tables.export_text import ExportText
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.sniff import sniff


class Row(NamedTuple):
    """A row of a file: the number that a reader counts to, and its cells as text, spaces at their ends left out."""

    number: int
    cells: list[str]


def rows_of(source: Source, sheet: str | None) -> Iterator[Row]:
    """Yield the rows of a file, or of one sheet of a workbook, headings and all.

    Raises
    ------
    ExportError
        The file cannot be read.
    """
    if source.suffix in WORKBOOK:
        return _of_workbook(source, sheet)
    if source.suffix in PARQUET or source.suffix in JSON:
        return _of_table(source)
    return _of_text(source)


def place_of(source: Source, number: int, column: int) -> str:
    """Name a cell's place as the program that opens the file does."""
    if source.suffix in WORKBOOK:
        from openpyxl.utils import get_column_letter

        return f"cell {get_column_letter(column + 1)}{number}"
    return f"{'row' if source.suffix in PARQUET or source.suffix in JSON else 'line'} {number}"


def _of_text(source: Source) -> Iterator[Row]:
    held = to_utf8(source.read(), source.label)[0]
    if b"\r" in held and b"\n" not in held:
        held = held.replace(b"\r", b"\n")
    dialect = sniff(ExportText(source.label, held))
    lines = csv.reader(
        io.StringIO(held.decode("utf-8", "replace"), newline=""),
        delimiter=dialect.delimiter, skipinitialspace=dialect.loose_quotes,
    )  # fmt: skip
    for cells in lines:
        yield Row(lines.line_num, [cell.strip() for cell in cells])


def _of_workbook(source: Source, sheet: str | None) -> Iterator[Row]:
    from analyzer.intake.tables.workbooks import read_sheets

    for title, rows in read_sheets(source.read(), source.label):
        if sheet is None or title == sheet:
            for number, row in enumerate(rows, 1):
                yield Row(number, [spelled(cell) for cell in row])


def _of_table(source: Source) -> Iterator[Row]:
    from analyzer.intake.tables.opening import open_tables

    (table,) = open_tables(source)
    yield Row(0, [name.strip() for name in table.names])
    columns = [texts(table, n) for n in range(len(table.names))]
    for number, cells in enumerate(zip(*columns, strict=True), 1):
        yield Row(number, list(cells))


def texts(table: RawTable, n: int) -> list[str]:
    """Return the cells of a table's column as text."""
    return [spelled(cell) for cell in table.columns[n].to_pylist()]


def spelled(cell: object) -> str:
    """Spell a cell: a moment as ISO 8601 to the second, a whole number without its decimals."""
    if cell is None:
        return ""
    if isinstance(cell, datetime.datetime):
        return (cell + datetime.timedelta(milliseconds=0.5)).replace(microsecond=0).isoformat(sep=" ")
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    return str(cell).strip()
