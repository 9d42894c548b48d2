"""Tables in which every point, or every few points, have a column of stamps of their own: taken apart."""

from __future__ import annotations

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.coded import is_text
from analyzer.intake.tables.offset_told import offset_told, without_told
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.stamp_columns import STAMPED, stamp_share
from analyzer.intake.tables.stamps import says_utc
from analyzer.intake.words.stamps import SECOND
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.vocabulary import TIME_WORDS, fold

_ENDINGS = tuple(word for word in TIME_WORDS if len(word) > 3)  # "VAV-1 ZN-T Time", as two rows of headings make it


def take_apart(table: RawTable) -> list[RawTable]:
    """Split a table with several columns of stamps, each before the values that it stamps; else return it as it is."""
    starts = [n for n in range(len(table.names)) if _is_stamps(table, n)]
    apart = len(starts) > 1 and starts[0] == 0 and all(b - a > 1 for a, b in zip(starts, starts[1:], strict=False))
    if not apart or starts[-1] == len(table.names) - 1 or _say_the_same(table, starts):
        return [table]
    return [_part(table, a, b) for a, b in zip(starts, [*starts[1:], len(table.names)], strict=True)]


def _is_stamps(table: RawTable, n: int) -> bool:
    word = fold(take_unit(without_told(table.names[n]))[0])
    named = word in TIME_WORDS or word.endswith(_ENDINGS)
    return (named or word.startswith("column")) and stamp_share(table.columns[n], "time") >= STAMPED


def _say_the_same(table: RawTable, starts: list[int]) -> bool:
    """Tell whether the columns of stamps only repeat the first, row by row."""
    first = table.columns[starts[0]].cast(pa.string())
    return all(pc.all(pc.equal(first, table.columns[n].cast(pa.string()))).as_py() for n in starts[1:])


def _time_name(name: str) -> str:
    """Keep what a heading says of the clock of its stamps, and nothing of the point that it may name."""
    if (offset := offset_told(name)) is None:
        return "time (UTC)" if says_utc(name) else "time"
    sign, minutes = "-" if offset < 0 else "+", abs(offset) // (60 * SECOND)
    return f"time (UTC{sign}{minutes // 60:02d}:{minutes % 60:02d})"


def _part(table: RawTable, begin: int, end: int) -> RawTable:
    """Take one column of stamps with its values; rows in which all are empty only fill it up to the longest part."""
    columns = table.columns[begin:end]
    filled = pa.chunked_array([pa.array([False] * table.rows)])
    for column in columns:
        there = pc.is_valid(column)
        if is_text(column):
            there = pc.and_(there, pc.not_equal(column.cast(pa.string()), "").fill_null(False))
        filled = pc.or_(filled, there)
    return RawTable(
        table.label,
        table.stem,
        [_time_name(table.names[begin]), *table.names[begin + 1 : end]],
        [column.filter(filled) for column in columns],
        table.units[begin:end],
        table.preamble,
        table.not_data if begin == 0 else {},
        table.assumptions if begin == 0 else [],
        table.decimal,
        table.folders,
    )
