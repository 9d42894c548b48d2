"""The data lines of a text export as columns of numbers or of coded text."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence
from contextlib import closing

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.crew import processors
from analyzer.errors import ExportError
from analyzer.intake.limits import LONGEST_LINE, MEBIBYTE, MOST_COLUMNS
from analyzer.intake.tables.export_text import ExportText, Stream
from analyzer.intake.tables.sniff import Dialect, before_quotes
from analyzer.intake.words.stamps import looks_like_stamp
from analyzer.intake.words.values import MISSING, is_missing

_TEXT = pa.dictionary(pa.int32(), pa.string())
_COLUMN_AND_VALUE = re.compile(r"column #(\d+)")
_RETRIES = 3
_SHORTEST_STAMP = 12  # letters of a stamp that is all digits
_TYPED_BY = 12  # first lines of data
_VERY_WIDE = 5_000  # columns: judgement
_ROWS_AT_A_TIME = 1024
_USUAL_BLOCK = 8 * MEBIBYTE
_LARGEST_BLOCK = 32 * MEBIBYTE


class _Unfit(Exception):
    """A table cannot be read as what it was taken for; ``column`` is the one to blame, if it is one's fault."""

    def __init__(self, column: int | None):
        super().__init__(column)
        self.column = column


def read_cells(text: ExportText, dialect: Dialect) -> list[pa.ChunkedArray]:
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
    width = dialect.width
    if dialect.end <= dialect.begin:
        return [pa.chunked_array([pa.array([], _TEXT)]) for _ in range(width)]
    types = _types(dialect, width)
    try:
        stream = None if dialect.loose_quotes else text.stream(dialect.begin, dialect.end)
        columns = None if stream is None else _typed(stream, dialect, types, _missing_in(dialect, len(types)))
        if columns is not None and not _holds_header(columns, dialect) and not _begins_with_nothing(columns[0]):
            return columns
    except _Unfit:
        columns = None
    body = text.whole(dialect.begin, dialect.end)
    if dialect.loose_quotes:
        body = re.sub(before_quotes(dialect.delimiter).pattern.encode(), rb'\1"', body, flags=re.MULTILINE)
    kept = _take_out_blank_lines(_take_out_headers(body, dialect), dialect)
    if columns is not None and len(kept) == len(body):
        return columns
    del body, columns
    columns = _widened(ExportText(text.label, kept), dialect, types) if kept else None
    return columns if columns is not None else _tolerant(kept, dialect, text.label)


def _types(dialect: Dialect, width: int) -> list[pa.DataType]:
    """Take a column for numbers if its first cells are, as far as they are filled."""
    types = []
    bare_number = re.compile(
        r"[-+]?(\d+[.,]?\d*|[.,]\d+)([eE][-+]?\d+)?$".replace(".,", re.escape(dialect.decimal))
    ).match
    for column in _sample_columns(dialect.sample[:_TYPED_BY], width):
        cells = set(column)
        others = [cell for cell in cells if not bare_number(cell)]
        numbers = (
            len(others) < len(cells)
            and all(map(is_missing, others))
            and not any(len(cell) >= _SHORTEST_STAMP and looks_like_stamp(cell) for cell in cells)
        )
        types.append(pa.float64() if numbers else _TEXT)
    return types


def _sample_columns(rows: list[list[str]], width: int) -> Iterable[Sequence[str]]:
    """Return the cells of each column; a row that is short has none in the last ones."""
    if all(len(cells) == width for cells in rows):
        return zip(*rows, strict=True)
    return [[cells[n] for cells in rows if n < len(cells)] for n in range(width)]


def _missing_in(dialect: Dialect, width: int) -> list[str]:
    """Return the spellings of a missing number that are looked for: of a very wide table those of its first rows.

    The reader holds all of them for every column, 18 kB each. Where another turns up, it reads again with all.
    """
    if width <= _VERY_WIDE:
        return MISSING
    seen = {cell for cells in dialect.sample[:_TYPED_BY] for cell in cells}
    return [spelling for spelling in MISSING if not spelling or spelling in seen]


def _typed(
    stream: Stream, dialect: Dialect, types: list[pa.DataType], missing: list[str] = MISSING
) -> list[pa.ChunkedArray]:
    """Read a table whose rows all have the same number of cells.

    Raises
    ------
    _Unfit
        They do not, or a column is not of the type that was taken for it.
    """
    from pyarrow import csv

    names, block = [str(n) for n in range(len(types))], _block_size(dialect, stream.size)
    with closing(stream):
        try:
            table = csv.read_csv(
                pa.PythonFile(stream, "r"),
                read_options=csv.ReadOptions(column_names=names, block_size=block, use_threads=stream.size > block),
                parse_options=csv.ParseOptions(delimiter=dialect.delimiter, ignore_empty_lines=False),
                convert_options=csv.ConvertOptions(
                    column_types=dict(zip(names, types, strict=True)),
                    null_values=missing,
                    strings_can_be_null=False,
                    decimal_point=dialect.decimal,
                    check_utf8=False,
                ),
            )
        except (pa.ArrowInvalid, pa.ArrowKeyError) as error:
            stream.check()
            at = _COLUMN_AND_VALUE.search(str(error))
            raise _Unfit(int(at[1]) if at else None) from None
        stream.check()
    return table.columns


def _block_size(dialect: Dialect, size: int) -> int:
    """Return how many of so many bytes are read at a time.

    Few, so that every core has some; but no less than the longest line, and of a wide table a thousand rows, since
    every column of a block costs some time of its own.
    """
    row = sum(len(cell) + 1 for cell in dialect.sample[0])
    fair = min(size // processors(), _USUAL_BLOCK)
    return min(max(LONGEST_LINE, fair, _ROWS_AT_A_TIME * row), _LARGEST_BLOCK)


def _widened(text: ExportText, dialect: Dialect, types: list[pa.DataType]) -> list[pa.ChunkedArray] | None:
    """Read a table, columns that are not all numbers made text one by one; None where its rows differ in length."""
    for attempt in range(_RETRIES + 1):
        try:
            return _typed(text.stream(0, text.size), dialect, types)
        except _Unfit as unfit:
            if unfit.column is None or unfit.column >= len(types) or types[unfit.column] == _TEXT:
                return None
            few = attempt < _RETRIES - 1
            types = [_TEXT if n == unfit.column or not few else kind for n, kind in enumerate(types)]
    return None


def _holds_header(columns: list[pa.ChunkedArray], dialect: Dialect) -> bool:
    """Tell whether the header stands again among the data: its name is one of the first text column's cells."""
    for column, name in zip(columns, dialect.names, strict=False):
        if column.type == _TEXT and name:
            return any(pc.index(chunk.dictionary, name).as_py() >= 0 for chunk in column.chunks)
    return False


def _begins_with_nothing(column: pa.ChunkedArray) -> bool:
    """Tell whether a row's first cell is empty: it may be a line with nothing but separators."""
    if column.type != _TEXT:
        return column.null_count > 0
    return any(pc.index(chunk.dictionary, "").as_py() >= 0 for chunk in column.chunks)


def _take_out_headers(body: bytes, dialect: Dialect) -> bytes:
    """Take out headers and units rows that stand again among the data."""
    lines = (
        (dialect.header_line, "repeated header"),
        (dialect.units_line, "repeated units row"),
        (dialect.rule_line, "rule"),
    )
    for line, kind in lines:
        if line and line in body:
            again = re.compile(rb"(?m)^" + re.escape(line) + rb"\r?(?:\n|\Z)")
            body, times = again.subn(b"", body)
            if times:
                dialect.count(kind, times)
    return body


def _take_out_blank_lines(body: bytes, dialect: Dialect) -> bytes:
    """Take out lines with nothing but spaces and separators."""
    separator = re.escape(dialect.delimiter.encode())
    blank = re.compile(rb'(?m)^(?:[ \t\r]|""|' + separator + rb")*(?:\n|(?<=[^\n])\Z)")
    body, times = blank.subn(b"", body)
    if times:
        dialect.count("blank line", times)
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
