"""Open a file: one raw table, or one a sheet."""

from __future__ import annotations

from itertools import pairwise
from threading import Event

import numpy as np
import pyarrow as pa

from analyzer.errors import ExportError
from analyzer.intake.files.encoding import HEAD
from analyzer.intake.files.find import JSON, PARQUET, WORKBOOK, Source
from analyzer.intake.limits import MOST_CELLS, MOST_COLUMNS
from analyzer.intake.tables.cell_text import read_cells
from analyzer.intake.tables.export_text import ExportText, NotUtf8, make_over, open_text
from analyzer.intake.tables.fixed_width import part_columns
from analyzer.intake.tables.header import STAMP_AMONG, is_rule
from analyzer.intake.tables.partitions import put_partitions
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.rounds import lay_rounds, say_rounds
from analyzer.intake.tables.several import holds_other_header, one_below_another, table_begins
from analyzer.intake.tables.sideways import turn
from analyzer.intake.tables.sniff import Dialect, NoTable, sniff, split
from analyzer.intake.words.vocabulary import TIME_WORDS, fold
from analyzer.intake.words.wording import Remark

# How letters with accents begin, and signs, where UTF-8 was taken for cp1252 and saved as UTF-8 again: "Ã©", "Â°".
_TWICE_ENCODED = (b"\xc3\x83\xc2", b"\xc3\x82\xc2")


def open_tables(source: Source, off: Event | None = None) -> list[RawTable]:
    """Read a file: one table, or one per sheet of a workbook, each with what its folders' names say.

    Parameters
    ----------
    off : Event, optional
        Set where the tables are not wanted any more: what is read of a large text then ends.

    Raises
    ------
    ExportError
        The file cannot be read as what it is.
    """
    tables = _read(source, off)
    for table in tables:
        table.lies_in((*source.folders, source.stem) if len(tables) > 1 else source.folders)
        put_partitions(table)
    return tables


def _read(source: Source, off: Event | None) -> list[RawTable]:
    if source.member is not None and source.suffix == ".zip":
        raise NoTable(source.label, "is an archive two archives deep, which is not opened", "Unpack it.")
    if source.suffix in PARQUET:
        return [_parquet(source)]
    if source.suffix in JSON:
        from analyzer.intake.tables.json_tables import open_json

        return open_json(source)
    if source.suffix in WORKBOOK:
        from analyzer.intake.tables.workbooks import open_workbook

        return open_workbook(source)
    with source.opening():  # it is opened more than once, and may go in between
        text = open_text(source, off)
        try:
            tables = _from_text(text, source.stem)
        except NotUtf8:
            text = make_over(source)
            tables = _from_text(text, source.stem)
    if text.encoding == "cp1252":
        tables[0].assume("the text is not UTF-8 and was read as cp1252.")
    return tables


def _parquet(source: Source) -> RawTable:
    import pyarrow.parquet as pq

    try:
        data = pa.py_buffer(source.read())
        file = pq.ParquetFile(pa.BufferReader(data))
        schema = file.schema_arrow
        _check_size(source, file.metadata.num_rows, len(schema.names))
        # A text that stands in many rows is held once, as the file holds it.
        texts = [field.name for field in schema if pa.types.is_string(field.type)]
        stored = pq.ParquetFile(pa.BufferReader(data), read_dictionary=texts).read() if texts else file.read()
    except (pa.ArrowException, OSError, ValueError) as error:
        raise ExportError(
            source.label, f"is not a readable Parquet file ({type(error).__name__})", "Export it again."
        ) from None
    columns = [_plain(column) for column in stored.columns]
    return RawTable(source.label, source.stem, list(stored.column_names), columns, [None] * len(columns))


def _check_size(source: Source, rows: int, columns: int) -> None:
    """Refuse a table by what its footer says of it, before any of it is unpacked."""
    if columns > MOST_COLUMNS:
        raise ExportError(
            source.label, f"has {columns} columns; allowed are {MOST_COLUMNS}", "Split the export by terminal."
        )
    if rows * columns > MOST_CELLS:
        raise ExportError(
            source.label,
            f"has {rows:,} rows of {columns} columns; allowed are {MOST_CELLS:,} cells in all",
            "Split the export by terminal or by time.",
        )


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


def _from_text(text: ExportText, stem: str) -> list[RawTable]:
    head = text.part(0, HEAD)
    if b"\r" in head and b"\n" not in head:
        text = ExportText(text.label, text.whole(0, text.size).replace(b"\r", b"\n"))
    if any(sign in head for sign in _TWICE_ENCODED) and (plain := _decoded_once_more(text)):
        tables = _from_text(plain, stem)
        tables[0].assume("its letters with accents were encoded twice over, which was undone.")
        return tables
    if (laid := lay_rounds(text)) is not None:
        return say_rounds(_from_text(laid[0], stem), [laid[1]])
    try:
        dialect = sniff(text)
    except NoTable:
        if (parted := part_columns(text)) is None:
            raise
        tables = _from_text(parted, stem)
        tables[0].assume("its columns are parted by spaces alone, and were told by their places.")
        return tables
    if dialect.sideways is not None:
        lines = text.whole(0, text.size).decode("utf-8", "replace").splitlines()
        return [turn([split(line, dialect.delimiter) for line in lines], dialect.sideways, text.label, stem)]
    columns = [] if dialect.several else read_cells(text, dialect)
    if dialect.several or _may_hold_other_header(columns, dialect):
        parts = _parts(text, dialect)
        if len(parts) > 1:
            return one_below_another([table for part in parts for table in _from_text(part, stem)])
        if dialect.several:
            dialect = sniff(text, one=True)
            columns = read_cells(text, dialect)
    return [_assemble(columns, dialect, text.label, stem)]


def _decoded_once_more(text: ExportText) -> ExportText | None:
    """Return a text whose UTF-8 was taken for cp1252 and saved as UTF-8 again as it was; None where it was not."""
    body = text.whole(0, text.size)
    try:
        plain = body.decode("utf-8").encode("cp1252").decode("utf-8")
    except UnicodeError:
        return None
    return ExportText(text.label, plain.encode("utf-8"), text.encoding)


def _may_hold_other_header(columns: list[pa.ChunkedArray], dialect: Dialect) -> bool:
    """Tell whether another header may stand among the data, by the columns that would hold its word for time.

    The same header over other units leaves a row of units among the data.
    """
    again = [dialect.not_data.get(kind, 0) for kind in ("repeated header", "repeated units row")]
    if dialect.units_line is not None and again[0] > again[1]:
        return True
    there = list(zip(columns[:STAMP_AMONG], dialect.names, strict=False))
    named = [(column, name) for column, name in there if fold(name) in TIME_WORDS] or there[:1]
    return any(holds_other_header(column, name) for column, name in named)


def _parts(text: ExportText, dialect: Dialect) -> list[ExportText]:
    """Cut a text into its tables."""
    body = text.whole(0, text.size)
    lines = body.split(b"\n")
    ends = np.cumsum([len(line) + 1 for line in lines])
    begins = table_begins(
        len(lines),
        lambda n: _cells_of(lines[n].decode("utf-8", "replace").rstrip("\r"), dialect.delimiter),
        dialect.names,
        [n for n, line in enumerate(lines) if not line[:1].isdigit()],
    )
    places = [0, *(int(ends[n - 1]) for n in begins), len(body)]
    return [ExportText(text.label, body[a:b]) for a, b in pairwise(places)]


def _cells_of(line: str, delimiter: str) -> list[str]:
    return [] if is_rule(line) else split(line, delimiter)


def _assemble(columns: list[pa.ChunkedArray], dialect: Dialect, label: str, stem: str) -> RawTable:
    """Put names and units to the columns; columns without a name or a value come from trailing separators."""
    names = dialect.names + [""] * (len(columns) - len(dialect.names))
    units = (dialect.units or []) + [None] * len(columns)
    kept = [n for n, column in enumerate(columns) if names[n] or not _is_empty(column)]
    remarks = [Remark(label, *dialect.doubt)] if dialect.doubt else []
    if dialect.stump:
        remarks.append(
            Remark(label, "the last line breaks off; {detail}, with which it does, is no value.", repr(dialect.stump))
        )
    return RawTable(
        label,
        stem,
        [names[n] or f"column {n + 1}" for n in kept],
        [columns[n] for n in kept],
        [units[n] or None for n in kept],
        dialect.preamble,
        dialect.not_data,
        remarks,
        dialect.decimal,
        proven=dialect.doubt is None,
    )


def _is_empty(column: pa.ChunkedArray) -> bool:
    if pa.types.is_dictionary(column.type):
        return all(text in (None, "") for chunk in column.chunks for text in chunk.dictionary.slice(0, 3).to_pylist())
    return column.null_count == len(column)
