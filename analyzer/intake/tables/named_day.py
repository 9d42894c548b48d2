"""Tables whose rows carry a time of day alone: their file's or sheet's name, or a line above, dates them."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.coded import is_text
from analyzer.intake.tables.date_and_time import date_and_time, seconds_of_day
from analyzer.intake.tables.header import STAMP_AMONG, clock_place
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.sniff import NoTable
from analyzer.intake.tables.stamp_columns import is_clock, stamp_share
from analyzer.intake.words.named_dates import days_in
from analyzer.intake.words.stamps import looks_like_stamp
from analyzer.intake.words.vocabulary import DAY_WORDS, STAMP_PARTS, TIME_WORDS, YEAR_AND_DAY_WORDS, fold
from analyzer.intake.words.wording import some

_HOUR = 3600  # s; a clock goes back so far on the day on which summer time ends
_LATE = 23 * _HOUR  # s; a midnight behind it ends the day. Judgement
_LABEL = re.compile(r"^\W*(?P<label>[^\W\d][^\d:=]{0,30}?)\s*[:=]?\s+(?=\d|[^\W\d_]{3,}[ .]*\d)")


def give_days(tables: list[RawTable], label: str) -> list[RawTable]:
    """Put their dates to tables whose rows carry a time of day alone; those that have none are left out, and said.

    Raises
    ------
    NoTable
        Not one has a date.
    """
    undated = [table for table in tables if not _give_day(table)]
    if not undated:
        return tables
    dated = [table for table in tables if not any(table is other for other in undated)]
    if not dated:
        raise NoTable(
            label,
            "no time stamp was found: rows carry a time of day, and neither the file's name nor a line above the "
            "header tells the one day that they are of",
            "Export them with the date, or put it into the file's name, such as 'trends 2026-01-25.csv'.",
        )
    dated[0].assume(
        "rows that carry a time of day and no date were passed over: {detail}.", some([t.label for t in undated])
    )
    dated[0].keep_lists([rows for table in tables for rows in table.lists])
    return dated


def _give_day(table: RawTable) -> bool:
    """Put the date of a table to its times of day where it has them alone; tell whether it has dates then."""
    clocks = clock_place(table.names, lambda n: is_clock(table.columns[n]))
    if clocks is None or _is_stamped(table, clocks):
        return True
    texts = [*_labelled(table.preamble), table.stem, *reversed(table.folders)]
    told = next(((text, days) for text in texts if (days := days_in(text))), None)
    clock = _within_day(table, clocks)
    if told is None or len(told[1]) > 1 or clock is None or _has_other_days(table, clocks):
        return False
    text, (day,) = told
    column, _ = date_and_time(pa.chunked_array([pa.repeat(pa.scalar(day), table.rows)]), clock)
    table.put_column(clocks, column)
    table.assume("its rows carry a time of day alone; their date was taken from {detail}.", repr(text))
    return True


def _labelled(lines: Sequence[str]) -> list[str]:
    """Return the lines above a header that give a date and nothing else, or label it as one: ``Date: 2026-01-21``."""
    found = []
    for line in lines:
        label = _LABEL.match(line)
        if label is None or fold(label["label"]) in TIME_WORDS | DAY_WORDS:
            rest = line[label.end() :] if label else line
            if looks_like_stamp(rest.strip()):
                found.append(rest.strip())
    return found


def _is_stamped(table: RawTable, clocks: int) -> bool:
    """Tell whether another column than that of times of day holds stamps."""
    others = (n for n in range(min(STAMP_AMONG, len(table.names))) if n != clocks)
    return any(stamp_share(table.columns[n], fold(table.names[n])) > 0 for n in others)


def _has_other_days(table: RawTable, clocks: int) -> bool:
    """Tell a table in which a column is headed as days all the same: what it holds is not known."""
    words = {fold(name) for n, name in enumerate(table.names[:STAMP_AMONG]) if n != clocks}
    parts = {word for word, part in STAMP_PARTS.items() if part in ("year", "month", "day", "ordinal")}
    return bool(words & (TIME_WORDS | DAY_WORDS | YEAR_AND_DAY_WORDS | parts))


def _within_day(table: RawTable, at: int) -> pa.ChunkedArray | None:
    """Return the times of day, that of a midnight at the end as 24:00; None where they go on over a midnight."""
    column = table.columns[at]
    second = seconds_of_day(column)
    kept = np.flatnonzero(~np.isnan(second))
    if not len(kept):
        return None
    ends = _midnight_at_end(second[kept])
    runs = _runs(second[kept][: len(kept) - ends])
    apart = any(a.min() > b.max() for a, b in zip(runs[:-1], runs[1:], strict=True))
    if len(runs) > 1 and (apart or not any(is_text(c) for n, c in enumerate(table.columns) if n != at)):
        return None
    if not ends:
        return column
    last = np.zeros(table.rows, bool)
    last[kept[len(kept) - ends :]] = True
    return pc.if_else(pa.array(last), pa.scalar("24:00"), column.cast(pa.string()))


def _midnight_at_end(second: np.ndarray) -> int:
    """Return how many of the last rows are the midnight that ends the day."""
    later = np.flatnonzero(second != 0)
    ends = len(second) - 1 - (later[-1] if len(later) else len(second) - 1)
    return int(ends) if ends and second[later[-1]] >= _LATE else 0


def _runs(second: np.ndarray) -> list[np.ndarray]:
    """Cut times of day where they go back, or forward where the newest stands first, by more than an hour."""
    step = np.diff(second)
    if (step < 0).sum() > (step > 0).sum():
        second, step = second[::-1], -step[::-1]
    return np.split(second, np.flatnonzero(step < -_HOUR) + 1)
