"""A file as a table of columns, before anything is known about what they mean."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.errors import ExportError
from analyzer.intake.encoding import to_utf8
from analyzer.intake.files import PARQUET, WORKBOOK, Source
from analyzer.intake.limits import LONGEST_LINE, MEBIBYTE, MOST_COLUMNS
from analyzer.intake.sniff import Dialect, sniff
from analyzer.intake.value_text import MISSING


@dataclass
class RawTable:
    """A table as it stands in its file.

    Attributes
    ----------
    label, stem : str
        How the ledger names it, and its file name without suffix (which may be a terminal's tag or a point's name).
    names : list of str
        The columns' headers; one may be empty or stand twice.
    columns : list of ChunkedArray
        Numbers, booleans, timestamps, or text as it stands.
    units : list of str or None
        The units row's cell of each column.
    preamble : list of str
        The lines above the header.
    not_data : dict
        Lines that are no data, by kind.
    assumptions : list of str
        What had to be taken as given to read it.
    decimal : str
        The decimal sign of numbers that stand as text.
    """

    label: str
    stem: str
    names: list[str]
    columns: list[pa.ChunkedArray]
    units: list[str | None]
    preamble: list[str] = field(default_factory=list)
    not_data: dict[str, int] = field(default_factory=dict)
    assumptions: list[str] = field(default_factory=list)
    decimal: str = "."

    @property
    def rows(self) -> int:
        return len(self.columns[0]) if self.columns else 0


def open_tables(source: Source) -> list[RawTable]:
    """Read a file: one table, or one per sheet of a workbook.

    Raises
    ------
    ExportError
        The file cannot be read as what it is.
    """
    if source.suffix in PARQUET:
        return [_parquet(source)]
    if source.suffix in WORKBOOK:
        from analyzer.intake.workbooks import open_workbook

        return open_workbook(source)
    data, encoding = to_utf8(source.read(), source.label)
    table = from_text(data, source.label, source.stem)
    if encoding == "cp1252":
        table.assumptions.append(f"{source.label}: the text is not UTF-8 and was read as cp1252.")
    return [table]


def _parquet(source: Source) -> RawTable:
    import pyarrow.parquet as pq

    try:
        stored = pq.read_table(pa.BufferReader(source.read()))
    except (pa.ArrowException, OSError, ValueError) as error:
        raise ExportError(
            source.label, f"is not a readable Parquet file ({type(error).__name__})", "Export it again."
        ) from None
    if stored.num_columns > MOST_COLUMNS:
        raise ExportError(
            source.label,
            f"has {stored.num_columns} columns; allowed are {MOST_COLUMNS}",
            "Split the export by terminal.",
        )
    columns = [_plain(column) for column in stored.columns]
    return RawTable(source.label, source.stem, list(stored.column_names), columns, [None] * len(columns))


def _plain(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Bring a stored column to one of the few types that the rest of the reader knows."""
    kind = column.type
    if pa.types.is_dictionary(kind):
        if pa.types.is_string(kind.value_type):
            return column
        column, kind = column.cast(kind.value_type), kind.value_type
    if pa.types.is_decimal(kind):
        return column.cast(pa.float64())
    if pa.types.is_large_string(kind) or pa.types.is_string_view(kind):
        return column.cast(pa.string())
    known = (pa.types.is_integer, pa.types.is_floating, pa.types.is_boolean, pa.types.is_timestamp, pa.types.is_date)
    if pa.types.is_string(kind) or any(test(kind) for test in known):
        return column
    return pa.chunked_array([pa.array([None if v is None else str(v) for v in column.to_pylist()], pa.string())])


def from_text(data: bytes, label: str, stem: str) -> RawTable:
    """Read the text of a table, UTF-8."""
    if b"\r" in data[:65536] and b"\n" not in data[:65536]:
        data = data.replace(b"\r", b"\n")
    dialect = sniff(data, label)
    body = _take_out_headers(data[dialect.begin : dialect.end], dialect)
    body = _take_out_blank_lines(body, dialect)
    width = max(len(dialect.names), len(dialect.units or []))
    columns = _fast(body, dialect, width) or _tolerant(body, dialect, label)
    return _assemble(columns, dialect, label, stem)


def _take_out_headers(body: bytes, dialect: Dialect) -> bytes:
    """Take out headers and units rows that stand again among the data."""
    for line, kind in ((dialect.header_line, "repeated header"), (dialect.units_line, "repeated units row")):
        if not line:
            continue
        again = re.compile(rb"(?m)^" + re.escape(line) + rb"\r?(?:\n|\Z)")
        if body.find(line) >= 0:
            body, times = again.subn(b"", body)
            if times:
                dialect.not_data[kind] = times
    return body


def _take_out_blank_lines(body: bytes, dialect: Dialect) -> bytes:
    """Take out lines without a letter or with nothing but separators."""
    nothing = rb"(?m)^[ \t\r" + re.escape(dialect.delimiter.encode()) + rb"]*(?:\n|\Z)"
    blank = re.compile(nothing)
    starts = (b"\n\n", b"\n\r\n", b"\n ", b"\n" + dialect.delimiter.encode())
    if any(body.find(start) >= 0 for start in starts) or body[:1] in (b"\n", b"\r", b" "):
        kept, times = [], 0
        at = 0
        for match in blank.finditer(body):
            if match.end() > match.start():
                kept.append(body[at : match.start()])
                at, times = match.end(), times + 1
        if times:
            dialect.not_data["blank line"] = dialect.not_data.get("blank line", 0) + times
            body = b"".join((*kept, body[at:]))
    return body


def _fast(body: bytes, dialect: Dialect, width: int) -> list[pa.ChunkedArray] | None:
    """Read a table whose rows all have the same number of cells; None where they do not."""
    from pyarrow import csv

    width = max(width, body[: body.find(b"\n") if b"\n" in body else len(body)].count(dialect.delimiter.encode()) + 1)
    if not body:
        return [pa.chunked_array([pa.array([], pa.string())]) for _ in range(width)]
    for cells in (width, len(dialect.names)):
        try:
            table = csv.read_csv(
                io.BytesIO(body),
                read_options=csv.ReadOptions(
                    column_names=[str(number) for number in range(cells)], block_size=max(8 * MEBIBYTE, LONGEST_LINE)
                ),
                parse_options=csv.ParseOptions(delimiter=dialect.delimiter, newlines_in_values=False),
                convert_options=csv.ConvertOptions(
                    null_values=MISSING,
                    strings_can_be_null=True,
                    quoted_strings_can_be_null=True,
                    true_values=["true", "True", "TRUE"],
                    false_values=["false", "False", "FALSE"],
                    timestamp_parsers=[],
                    decimal_point=dialect.decimal,
                    auto_dict_encode=True,
                    auto_dict_max_cardinality=1_000_000,
                ),
            )
        except pa.ArrowInvalid:
            continue
        return [_as_text_unless_number(column) for column in table.columns]
    return None


def _as_text_unless_number(column: pa.ChunkedArray) -> pa.ChunkedArray:
    kind = column.type
    if (
        pa.types.is_integer(kind)
        or pa.types.is_floating(kind)
        or pa.types.is_boolean(kind)
        or pa.types.is_dictionary(kind)
    ):
        return column
    if pa.types.is_null(kind):
        return column.cast(pa.string())
    return column if pa.types.is_string(kind) else column.cast(pa.string())


def _tolerant(body: bytes, dialect: Dialect, label: str) -> list[pa.ChunkedArray]:
    """Read a table whose rows differ in length: short rows are filled up with nothing, all cells kept as text."""
    import csv

    import pandas as pd

    separator = dialect.delimiter.encode()
    width = max(line.count(separator) for line in body.splitlines() or [b""]) + 1
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
                na_values=MISSING,
                encoding="utf-8",
                encoding_errors="replace",
                skip_blank_lines=False,
            )
        except (pd.errors.ParserError, ValueError):
            continue
        if quoting == csv.QUOTE_MINIMAL and len(frame) < 0.5 * body.count(b"\n"):
            continue  # a quote that was never closed swallowed the rows after it
        return [
            pa.chunked_array([pa.array(frame[name].astype(object).where(frame[name].notna(), None), pa.string())])
            for name in frame
        ]
    raise ExportError(label, "cannot be cut into rows and cells", "Export it again as CSV.")


def _assemble(columns: list[pa.ChunkedArray], dialect: Dialect, label: str, stem: str) -> RawTable:
    """Put names and units to the columns; columns without a name or a value come from trailing separators."""
    names = dialect.names + [""] * (len(columns) - len(dialect.names))
    units = (dialect.units or []) + [None] * len(columns)
    kept = [n for n, column in enumerate(columns) if names[n] or column.null_count < len(column)]
    return RawTable(
        label,
        stem,
        [names[n] or f"column {n + 1}" for n in kept],
        [columns[n] for n in kept],
        [units[n] or None for n in kept],
        dialect.preamble,
        dialect.not_data,
        decimal=dialect.decimal,
    )


def texts_of(column: pa.ChunkedArray, most: int = 1000) -> list[str]:
    """Return the first distinct texts of a column, for looking at."""
    head = column.slice(0, 5 * most)
    if pa.types.is_dictionary(head.type):
        head = head.cast(head.type.value_type)
    return [str(value) for value in pc.unique(head).to_pylist()[:most] if value is not None]
