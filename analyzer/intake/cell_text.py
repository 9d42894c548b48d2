"""The data lines of a text export as columns of numbers or of coded text."""

from __future__ import annotations

import io
import re

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.errors import ExportError
from analyzer.intake.limits import LONGEST_LINE, MOST_COLUMNS
from analyzer.intake.sniff import Dialect, endless_line
from analyzer.intake.stamp_text import looks_like_stamp
from analyzer.intake.value_text import MISSING, is_missing

_TEXT = pa.dictionary(pa.int32(), pa.string())
_COLUMN_AND_VALUE = re.compile(r"column #(\d+)")
_RETRIES = 3
_SHORTEST_STAMP = 12  # letters of a stamp that is all digits
_TYPED_BY = 12  # first lines of data


def read_cells(data: bytes, dialect: Dialect, label: str) -> list[pa.ChunkedArray]:
    """Read the data lines.

    Columns that are numbers in the first lines are read as numbers at once. Where that fails, lines that are no data
    are looked for and taken out, columns are widened to text one by one, and rows of unequal length are filled up.

    Returns
    -------
    list of ChunkedArray
        Float64, or text coded by a dictionary.

    Raises
    ------
    ExportError
        There are too many columns, or no way to cut the lines into cells.
    """
    body = pa.py_buffer(data).slice(dialect.begin, max(0, dialect.end - dialect.begin))
    width = max([len(dialect.names), len(dialect.units or [])] + [len(cells) for cells in dialect.sample])
    if not body.size:
        return [pa.chunked_array([pa.array([], _TEXT)]) for _ in range(width)]
    _check_lines(data, dialect, label)
    types = _types(dialect, width)
    columns = _typed(body, dialect, types, retries=0)
    if columns is not None and not _holds_header(columns, dialect):
        return columns
    kept = _take_out_blank_lines(_take_out_headers(body.to_pybytes(), dialect), dialect)
    columns = _typed(pa.py_buffer(kept), dialect, types, retries=_RETRIES) if kept else None
    return columns if columns is not None else _tolerant(kept, dialect, label)


def _types(dialect: Dialect, width: int) -> list[pa.DataType]:
    """Take a column for numbers if its first cells are, as far as they are filled."""
    types = []
    bare_number = re.compile(
        r"[-+]?(\d+[.,]?\d*|[.,]\d+)([eE][-+]?\d+)?$".replace(".,", re.escape(dialect.decimal))
    ).match
    sample = dialect.sample[:_TYPED_BY]
    for n in range(width):
        cells = [cells[n] for cells in sample if n < len(cells)]
        filled = [cell for cell in cells if not is_missing(cell)]
        numbers = (
            filled
            and all(map(bare_number, filled))
            and not any(len(cell) >= _SHORTEST_STAMP and looks_like_stamp(cell) for cell in filled)
        )
        types.append(pa.float64() if numbers else _TEXT)
    return types


def _typed(body: pa.Buffer, dialect: Dialect, types: list[pa.DataType], retries: int) -> list[pa.ChunkedArray] | None:
    """Read a table whose rows all have the same number of cells; None where that fails."""
    from pyarrow import csv

    types = list(types)
    for _ in range(retries + 1):
        names = [str(n) for n in range(len(types))]
        try:
            table = csv.read_csv(
                pa.BufferReader(body),
                read_options=csv.ReadOptions(column_names=names, block_size=LONGEST_LINE),
                parse_options=csv.ParseOptions(delimiter=dialect.delimiter, ignore_empty_lines=False),
                convert_options=csv.ConvertOptions(
                    column_types=dict(zip(names, types, strict=True)),
                    null_values=MISSING,
                    strings_can_be_null=False,
                    decimal_point=dialect.decimal,
                    check_utf8=False,
                ),
            )
        except (pa.ArrowInvalid, pa.ArrowKeyError) as error:
            at = _COLUMN_AND_VALUE.search(str(error))
            if not at or int(at[1]) >= len(types) or types[int(at[1])] == _TEXT:
                return None
            types[int(at[1])] = _TEXT
            if _ == retries - 1:
                types = [_TEXT] * len(types)
        else:
            return table.columns
    return None


def _check_lines(data: bytes, dialect: Dialect, label: str) -> None:
    """Refuse a line that is over the limit: it fills a stretch of half the limit without an end of line."""
    stretch = LONGEST_LINE // 2
    for begin in range(dialect.begin, dialect.end, stretch):
        if data.find(b"\n", begin, begin + stretch) < 0 and begin + stretch < dialect.end:
            first = data.rfind(b"\n", 0, begin) + 1
            last = data.find(b"\n", begin)
            if (dialect.end if last < 0 else last) - first > LONGEST_LINE:
                raise endless_line(label, 1 + data.count(b"\n", 0, first))


def _holds_header(columns: list[pa.ChunkedArray], dialect: Dialect) -> bool:
    """Tell whether the header stands again among the data: its name is one of the first text column's cells."""
    for column, name in zip(columns, dialect.names, strict=False):
        if column.type == _TEXT and name:
            return any(pc.index(chunk.dictionary, name).as_py() >= 0 for chunk in column.chunks)
    return False


def _take_out_headers(body: bytes, dialect: Dialect) -> bytes:
    """Take out headers and units rows that stand again among the data."""
    for line, kind in ((dialect.header_line, "repeated header"), (dialect.units_line, "repeated units row")):
        if line and line in body:
            again = re.compile(rb"(?m)^" + re.escape(line) + rb"\r?(?:\n|\Z)")
            body, times = again.subn(b"", body)
            if times:
                dialect.not_data[kind] = dialect.not_data.get(kind, 0) + times
    return body


def _take_out_blank_lines(body: bytes, dialect: Dialect) -> bytes:
    """Take out lines with nothing but spaces and separators."""
    separator = re.escape(dialect.delimiter.encode())
    blank = re.compile(rb"(?m)^(?:[ \t\r]|" + separator + rb")*(?:\n|(?<=[^\n])\Z)")
    body, times = blank.subn(b"", body)
    if times:
        dialect.not_data["blank line"] = dialect.not_data.get("blank line", 0) + times
    return body


def _tolerant(body: bytes, dialect: Dialect, label: str) -> list[pa.ChunkedArray]:
    """Read a table whose rows differ in length: short rows are filled up with nothing, all cells kept as text."""
    import csv

    import pandas as pd

    separator = dialect.delimiter.encode()
    width = max((line.count(separator) for line in body.splitlines()), default=0) + 1
    if width > MOST_COLUMNS:
        raise ExportError(label, f"has {width} columns; allowed are {MOST_COLUMNS}", "Split the export by terminal.")
    for quoting in (csv.QUOTE_MINIMAL, csv.QUOTE_NONE):
        try:
            frame = pd.read_csv(
                io.BytesIO(body),
                header=None,
                names=range(width),
                index_col=False,
                dtype=str,
                sep=dialect.delimiter,
                quoting=quoting,
                keep_default_na=False,
                encoding="utf-8",
                encoding_errors="replace",
                skip_blank_lines=False,
            )
        except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError):
            continue
        if quoting == csv.QUOTE_MINIMAL and len(frame) < 0.5 * body.count(b"\n"):
            continue  # a quote that was never closed swallowed the rows after it
        return [_coded(frame[name]) for name in frame]
    raise ExportError(label, "cannot be cut into rows and cells", "Export it again as CSV.")


def _coded(texts) -> pa.ChunkedArray:
    plain = pa.array(texts.fillna("").astype(object), pa.string())
    return pa.chunked_array([plain.dictionary_encode()])
