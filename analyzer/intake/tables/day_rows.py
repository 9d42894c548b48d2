"""Tables with a row a day and a column for every time of day: laid out again, a row for every value."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pyarrow as pa

from analyzer.intake.tables.coded import is_text
from analyzer.intake.tables.date_and_time import date_and_time
from analyzer.intake.tables.raw_table import RawTable, text_column
from analyzer.intake.tables.stamp_columns import STAMPED, stamp_share
from analyzer.intake.words.stamps import looks_like_clock
from analyzer.intake.words.vocabulary import ROW_WORDS, SUMMARY_WORDS, VALUE_WORDS, fold

_LEAST = 4  # times of day that head columns: a point may be named by one, or two; judgement
_POINT, _VALUE = "point", "value"


def lay_out_days(table: RawTable) -> RawTable:
    """Return a table whose columns are times of day with a row for every value; any other as it is."""
    clocks = [n for n, name in enumerate(table.names) if looks_like_clock(name)]
    rest = [n for n in range(len(table.names)) if n not in set(clocks) and fold(table.names[n]) not in ROW_WORDS]
    if len(clocks) < _LEAST:
        return table
    sums = [n for n in rest if fold(table.names[n]).startswith(SUMMARY_WORDS) and not is_text(table.columns[n])]
    rest = [n for n in rest if n not in sums]
    days = next((n for n in rest if stamp_share(table.columns[n], "date") >= STAMPED), None)
    if days is None or not all(n == days or is_text(table.columns[n]) for n in rest):
        return table
    rows, wide = table.rows, len(clocks)
    row = pa.array(np.repeat(np.arange(rows), wide))
    clock = text_column([table.names[n] for n in clocks]).take(pa.array(np.tile(np.arange(wide), rows)))
    told = [n for n in rest if n != days]
    turned = replace(
        table,
        # "Reading" heads no values here: those stand under the times of day.
        names=["time", *(_POINT if fold(table.names[n]) in VALUE_WORDS else table.names[n] for n in told), _VALUE],
        columns=[
            date_and_time(table.columns[days].take(row), clock)[0],
            *(table.columns[n].take(row) for n in told),
            in_rows([table.columns[n] for n in clocks]),
        ],
        units=[None] * (len(told) + 2),
    )
    units = set(filter(None, (table.units[n] for n in clocks)))
    if len(units) == 1:
        turned.fill_units(units.pop())
    turned.assume("its columns are the times of day of each row's date; every value was given its own row.")
    if sums:
        turned.assume("{detail} sums up a day, and is no sample.", ", ".join(repr(table.names[n]) for n in sums))
    return turned


def in_rows(columns: list[pa.ChunkedArray]) -> pa.ChunkedArray:
    """Put the cells of columns one after another, row by row."""
    kind = pa.string() if any(is_text(column) for column in columns) else pa.float64()
    count, rows = len(columns), len(columns[0])
    whole = pa.chunked_array([chunk for column in columns for chunk in column.cast(kind).chunks], kind)
    order = np.arange(count * rows).reshape(count, rows).T.ravel()
    out = whole.take(pa.array(order))
    return pa.chunked_array([out.combine_chunks().dictionary_encode()]) if kind == pa.string() else out
