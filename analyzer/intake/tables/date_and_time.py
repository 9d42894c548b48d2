"""A date and, beside it, a time of day, put together; also where the date stands once a day, in a merged cell."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.coded import as_coded, codes
from analyzer.intake.words.stamps import CLOCK_ONLY, MIDNIGHT, NOUGHT_DAY

# Judgement: the most that the clock of one day goes back, which is its hour that comes twice in autumn.
_TWICE = 3600  # s


def date_and_time(date: pa.ChunkedArray, clock: pa.ChunkedArray) -> tuple[pa.ChunkedArray, int]:
    """Join the texts of a date and a time of day; a date keeps its day only, whatever midnight is written to it.

    Returns
    -------
    ChunkedArray, int
        The stamps, and how many have their date from a row before theirs.
    """
    day = _day(date)
    day = pc.if_else(pc.equal(day, ""), pa.scalar(None, pa.string()), day)
    below = _rows_below(pc.is_valid(day).to_numpy(zero_copy_only=False), seconds_of_day(clock))
    if below.any():
        day = pc.if_else(pa.array(below), pc.fill_null_forward(day), day)
    time = pc.replace_substring_regex(clock.cast(pa.string()), NOUGHT_DAY, "")
    return pc.binary_join_element_wise(pc.fill_null(day, ""), time, " "), int(below.sum())


def _rows_below(dated: np.ndarray, clock: np.ndarray) -> np.ndarray:
    """Find the rows without a date that belong to the day above them.

    They do where most rows have none, and for as long as the time of day goes on: where it goes back, a day without a
    date has begun.

    Parameters
    ----------
    dated : ndarray of bool
    clock : ndarray of float
        The time of day [s], NaN where the row has none.
    """
    timed = ~np.isnan(clock)
    blank = timed & ~dated
    if not dated.any() or blank.sum() <= (timed & dated).sum():
        return np.zeros(len(dated), bool)
    at = np.flatnonzero(timed)
    step = np.diff(clock[at], prepend=clock[at][:1])
    of_day = blank[at]
    back = step < -_TWICE if (step[of_day] > 0).sum() >= (step[of_day] < 0).sum() else step > _TWICE
    over = np.cumsum(back & of_day)
    begin = np.maximum.accumulate(np.where(of_day, -1, np.arange(len(at))))  # the dated row above each
    below = np.zeros(len(dated), bool)
    below[at] = of_day & (begin >= 0) & (over == over[np.maximum(begin, 0)])
    return below


def seconds_of_day(clock: pa.ChunkedArray) -> np.ndarray:
    """Return the time of day of each cell [s]; NaN where it is none."""
    coded = as_coded(clock)
    each = np.array([_second_of_day(text or "") for text in coded.dictionary.to_pylist()] + [np.nan])
    return each[codes(coded)]


def _second_of_day(text: str) -> float:
    found = CLOCK_ONLY.match(text)
    if found is None:
        return np.nan
    hour = int(found["hour"])
    if found["half"]:
        hour = hour % 12 + 12 * (found["half"] in "Pp")
    return 3600.0 * hour + 60.0 * int(found["minute"]) + int(found["second"] or 0)


def _day(date: pa.ChunkedArray) -> pa.ChunkedArray:
    kind = date.type
    if pa.types.is_timestamp(kind) or pa.types.is_date(kind):
        return pc.strftime(date.cast(pa.timestamp("s")), format="%Y-%m-%d")
    return pc.utf8_trim_whitespace(pc.replace_substring_regex(date.cast(pa.string()), MIDNIGHT, ""))
