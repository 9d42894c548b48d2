"""A date in one column and the time of day in another, put together."""

from __future__ import annotations

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.words.stamps import MIDNIGHT, NOUGHT_DAY


def date_and_time(date: pa.ChunkedArray, clock: pa.ChunkedArray) -> pa.ChunkedArray:
    """Join the texts of a date and a time of day; a date keeps its day only, whatever midnight is written to it."""
    return pc.binary_join_element_wise(_day(date), pc.replace_substring_regex(_text(clock), NOUGHT_DAY, ""), " ")


def _day(date: pa.ChunkedArray) -> pa.ChunkedArray:
    kind = date.type
    if pa.types.is_timestamp(kind) or pa.types.is_date(kind):
        return pc.strftime(date.cast(pa.timestamp("s")), format="%Y-%m-%d")
    return pc.utf8_trim_whitespace(pc.replace_substring_regex(_text(date), MIDNIGHT, ""))


def _text(column: pa.ChunkedArray) -> pa.ChunkedArray:
    return column.cast(pa.string())
