"""Which columns of a table hold its stamps: one, or a date and, beside it, the time of day."""

from __future__ import annotations

import re

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.errors import ExportError
from analyzer.intake.tables.coded import as_coded, is_text
from analyzer.intake.tables.header import STAMP_AMONG
from analyzer.intake.tables.raw_table import RawTable, texts_of
from analyzer.intake.words.stamps import MIDNIGHT, is_stamp_number, looks_like_clock, looks_like_stamp
from analyzer.intake.words.vocabulary import TIME_WORDS

# What tells columns of stamps; judgement. Shares are of the distinct first cells.
STAMPED = 0.5  # share of cells that are stamps and makes a column one of stamps: headers again and titles stand between
CLOCKS = 0.8  # share of cells that are times of day and makes a column one: few other things look like one
CLOCK_WITHIN = 2  # columns from the date to its time of day
ON_ITS_SIDE = 3  # stamps in one row that show a table lying on its side: a heading has one or two ("from ... to ...")
_SEVERAL_DAYS = 2  # of which each stands in several rows: one stamp throughout is another trouble
TIMED = 0.5  # share of cells with a time of day from which on a column holds moments, and below it days


class NoStamps(ExportError):
    """A table has no column of stamps, though its first rows looked as if it had: a list of numbered points does."""


def time_columns(table: RawTable, words: list[str]) -> list[int]:
    """Find the column of stamps; or a date and, beside it, a time of day."""
    share = {}
    for n, column in enumerate(table.columns):
        if n < STAMP_AMONG or words[n] in TIME_WORDS or pa.types.is_timestamp(column.type):
            share[n] = stamp_share(column, words[n])
    stamped = [n for n in share if share[n] >= STAMPED]
    if not stamped:
        stamped = [n for n in share if share[n] > 0 and words[n] in TIME_WORDS][:1]
    if not stamped and _lies_on_its_side(table):
        raise ExportError(
            table.label,
            "its stamps stand in one row, side by side: the table lies on its side",
            "Turn it (in a spreadsheet: copy, paste transposed), so that every row has one stamp.",
            place="header",
        )
    if not stamped:
        raise NoStamps(
            table.label,
            f"no column of time stamps was found among {', '.join(repr(name) for name in table.names[:6])}",
            "Export the stamps in a column of their own, named 'time'.",
            place="header",
        )
    named = [n for n in stamped if words[n] in TIME_WORDS]
    first = (named or stamped)[0]
    clock = [
        n for n in range(len(words)) if n != first and abs(n - first) <= CLOCK_WITHIN and is_clock(table.columns[n])
    ]
    if clock and _is_days(table.columns[first]):
        return [first, clock[0]]
    return [first]


def _lies_on_its_side(table: RawTable) -> bool:
    tops = [text for column in table.columns[1:20] if is_text(column) for text in texts_of(column, 1)]
    return sum(map(looks_like_stamp, [*table.names[1:20], *tops])) >= ON_ITS_SIDE


def _is_days(column: pa.ChunkedArray) -> bool:
    """Tell a column of days from one of moments."""
    kind = column.type
    if pa.types.is_timestamp(kind):
        return pc.all(pc.equal(column.cast(pa.int64()), column.cast(pa.date32()).cast(kind).cast(pa.int64()))).as_py()
    texts = texts_of(column, 20)
    timed = sum(":" in re.sub(MIDNIGHT, "", text) for text in texts)
    return pa.types.is_date(kind) or timed < TIMED * max(1, len(texts))


def check_moments(table: RawTable, time: list[int]) -> None:
    """Look at stamps that are days: rows with several readings of one day need its times.

    Raises
    ------
    ExportError
        No column of times of day was found beside them.
    """
    column = table.columns[time[0]]
    if len(time) > 1 or not _is_days(column):
        return
    cells = as_coded(column).indices if is_text(column) else column
    days = pc.count_distinct(cells).as_py()
    if days < _SEVERAL_DAYS or 2 * days > table.rows:
        return
    raise ExportError(
        table.label,
        f"{table.names[time[0]]!r} holds days, most of them in several rows, and no column of times of day beside it",
        "Export the time of day with it, as in 2026-01-25 14:30.",
        place="header",
    )


def stamp_share(column: pa.ChunkedArray, word: str) -> float:
    """Return how many of a column's distinct first cells may be stamps; ``word`` is its folded header."""
    kind = column.type.value_type if pa.types.is_dictionary(column.type) else column.type
    if pa.types.is_timestamp(kind) or pa.types.is_date(kind):
        return 1.0
    if pa.types.is_integer(kind) or pa.types.is_floating(kind):
        if word not in TIME_WORDS and word:
            return 0.0
        numbers = [v for v in column.slice(0, 200).to_pylist() if v is not None]
        return sum(is_stamp_number(v) for v in numbers) / len(numbers) if numbers else 0.0
    if not is_text(column):
        return 0.0
    texts = texts_of(column, 200)
    good = sum(looks_like_stamp(text) or (word in TIME_WORDS and _is_stamp_text(text)) for text in texts)
    return good / len(texts) if texts else 0.0


def _is_stamp_text(text: str) -> bool:
    try:
        return is_stamp_number(float(text.replace(",", ".")))
    except ValueError:
        return False


def is_clock(column: pa.ChunkedArray) -> bool:
    """Tell a column of times of day."""
    if not is_text(column):
        return False
    texts = texts_of(column, 50)
    return bool(texts) and sum(looks_like_clock(text) for text in texts) >= CLOCKS * len(texts)


def is_more_time(table: RawTable, n: int, word: str) -> bool:
    """Tell a second column of stamps (when it was uploaded, the same in UTC): it is no value."""
    if pa.types.is_timestamp(table.columns[n].type):
        return True
    return word in TIME_WORDS and stamp_share(table.columns[n], word) >= STAMPED
