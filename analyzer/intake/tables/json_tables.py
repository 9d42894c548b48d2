"""JSON exports: an object a line, or a list of them; each object is a row, its names are the columns."""

from __future__ import annotations

import json
from typing import Any

import pyarrow as pa

from analyzer.errors import ExportError
from analyzer.intake.files.encoding import to_utf8
from analyzer.intake.files.find import Source
from analyzer.intake.limits import MOST_CELLS, MOST_COLUMNS
from analyzer.intake.tables.json_documents import Part, find_parts, lines_of
from analyzer.intake.tables.raw_table import RawTable, text_column
from analyzer.intake.tables.sniff import NoTable

_LOOKED_AT = 100  # cells of a column


def open_json(source: Source) -> list[RawTable]:
    """Read a file of JSON: as a rule one table, of a document in which several lie one for every set of columns.

    Raises
    ------
    ExportError
        It is no JSON, a line of it is none, or it holds no rows.
    """
    text = to_utf8(source.read(), source.label)[0].decode("utf-8", "replace")
    stump = ""
    if source.suffix == ".json":
        document = _whole(text, source.label)
        if parts := _nested(document, source.label):
            return _tables_of(parts, lines_of(document), source)
        columns = _columns(document)
    else:
        rows, stump = _lines(text, source.label)
        columns = _columns(rows)
    if not columns:
        raise NoTable(source.label, "holds no rows of names and values", "Leave it out, or export it as CSV.")
    _check_size(source, len(next(iter(columns.values()))), len(columns))
    table = RawTable(
        source.label, source.stem, list(columns), [_column(cells) for cells in columns.values()], [None] * len(columns)
    )
    if stump:
        table.assume("the last line breaks off; {detail}, with which it does, is no value.", repr(stump[:40]))
    return [table]


def _check_size(source: Source, rows: int, columns: int) -> None:
    if columns > MOST_COLUMNS or rows * columns > MOST_CELLS:
        raise ExportError(
            source.label,
            f"has {rows:,} rows of {columns:,} names; allowed are {MOST_COLUMNS:,} names and "
            f"{MOST_CELLS:,} cells in all",
            "Split the export by terminal.",
        )


def _nested(document: Any, label: str) -> list[Part]:
    """Return the tables that lie nested in a document; none where it is a list of rows, or an object of lists."""
    flat = _columns(document)
    if flat and not any(isinstance(cell, dict | list) for cells in flat.values() for cell in cells[:_LOOKED_AT]):
        return []
    return find_parts(document, label)


def _tables_of(parts: list[Part], lines: list[str], source: Source) -> list[RawTable]:
    """Put the tables that have the same columns and units together, what stands around each as columns of its rows."""
    alike: dict[tuple[object, ...], list[Part]] = {}
    for part in parts:
        alike.setdefault((*part.columns, *sorted(part.units.items()), *part.around), []).append(part)
    tables = []
    for group in alike.values():
        names = list(group[0].columns)
        columns = {name: [cell for part in group for cell in part.columns[name]] for name in names}
        for name in group[0].around:
            columns[name] = [part.around[name] for part in group for _ in range(part.rows)]
        _check_size(source, len(columns[names[0]]), len(columns))
        cells = [_column(column) for column in columns.values()]
        units = [group[0].units.get(name) for name in columns]
        tables.append(RawTable(source.label, source.stem, list(columns), cells, units, list(lines)))
    return tables


def _lines(text: str, label: str) -> tuple[list[Any], str]:
    """Read an object a line; return also the last line, where it breaks off."""
    rows, lines = [], [(n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    for number, line in lines:
        try:
            rows.append(json.loads(line))
        except ValueError as error:
            if number == lines[-1][0] and rows:
                return rows, line.strip()
            raise NoTable(
                label, f"is no JSON ({error})", "Export it with one object in each line.", place=f"line {number}"
            ) from None
    return rows, ""


def _whole(text: str, label: str) -> Any:
    try:
        return json.loads(text)
    except ValueError as error:
        raise NoTable(label, f"is no JSON ({error})", "Export it again, or leave it out.") from None


def _columns(found: Any) -> dict[str, list[Any]]:
    """Return the columns of a list of objects, of an object of lists, or of the longest list of objects within one."""
    if isinstance(found, dict):
        lists = {name: cells for name, cells in found.items() if isinstance(cells, list)}
        lengths = {len(cells) for cells in lists.values()}
        if (
            len(lists) > 1
            and len(lengths) == 1
            and not any(isinstance(cells[0], dict | list) for cells in lists.values() if cells)
        ):
            return lists
        within = [cells for cells in lists.values() if cells and isinstance(cells[0], dict)]
        return _columns(max(within, key=len)) if within else {}
    if not isinstance(found, list):
        return {}
    rows = [_flat(row) for row in found if isinstance(row, dict)]
    names = dict.fromkeys(name for row in rows for name in row)
    return {name: [row.get(name) for row in rows] for name in names}


def _flat(row: dict[str, Any]) -> dict[str, Any]:
    """Put the names of an object within an object after its own, with a point between."""
    if not any(isinstance(cell, dict) for cell in row.values()):
        return row
    flat: dict[str, Any] = {}
    for name, cell in row.items():
        if isinstance(cell, dict):
            flat |= {f"{name}.{inner}": value for inner, value in _flat(cell).items()}
        else:
            flat[name] = cell
    return flat


def _column(cells: list[Any]) -> pa.ChunkedArray:
    """Make a column of numbers, of true and false, or of text."""
    kinds = {type(cell) for cell in cells if cell is not None}
    if kinds and kinds <= {int, float}:
        return pa.chunked_array([pa.array([None if cell is None else float(cell) for cell in cells], pa.float64())])
    if kinds == {bool}:
        return pa.chunked_array([pa.array(cells, pa.bool_())])
    return text_column(
        ["" if cell is None else str(cell).lower() if isinstance(cell, bool) else str(cell) for cell in cells]
    )
