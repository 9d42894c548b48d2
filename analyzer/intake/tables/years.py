"""Stamps that say no year: it is taken from what stands beside them, and said, or they are refused as that."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import pyarrow as pa

from analyzer.errors import ExportError
from analyzer.intake.tables.date_order import DateOrder
from analyzer.intake.words.months import month_of
from analyzer.intake.words.stamps import Fields
from analyzer.intake.words.vocabulary import AIR_HANDLER_EQUIPMENT, TERMINAL_EQUIPMENT

_YEAR = re.compile(r"(?<!\d)((?:19|20)\d{2})(?:[-_.]?(0[1-9]|1[0-2])(?:[-_.]?\d{2})?)?(?!\d)")
_TURN = 6  # months by which the next stamp's lies before one's own where a year turns; judgement


def give_years(
    parts: Sequence[Fields], texts: pa.Array, label: str, name: str, beside: Sequence[str], order: DateOrder
) -> None:
    """Give stamps without a year the one that stands in the file's name, its folders' or above its header.

    Parameters
    ----------
    parts : sequence of Fields
        Those without a year are given theirs.
    texts : Array
        The column's distinct stamps, in the order of the file.
    beside : sequence of str
        What may hold the year, the likeliest first.

    Raises
    ------
    ExportError
        Nothing beside them holds a year, or several years that they do not reach.
    """
    yearless = [part for part in parts if part.yearless]
    if not yearless:
        return
    told = next(((text, years) for text in beside if (years := _years_in(text))), None)
    example = texts[int(yearless[0].at[0])].as_py().strip()
    if told is None:
        raise ExportError(
            label,
            f"its stamps say no year ({example!r})",
            "Export them with the year, or put it into the file's name, such as 'trends 2026.csv'.",
            place=f"column {name!r}",
        )
    text, years = told
    order.assume(label, f"its stamps say no year; it was taken from {text!r}: {{detail}}.", str(years[-1][0]))
    at = np.concatenate([part.at for part in yearless])
    month = np.concatenate([_months(part) for part in yearless])
    turned = _turns(month[np.argsort(at, kind="stable")])
    year = np.empty(len(at), np.int64)
    year[np.argsort(at, kind="stable")] = _first_year(years, bool(turned.max(initial=0))) + turned
    begin = 0
    for part in yearless:
        part.take_years(year[begin : begin + len(part.at)])
        begin += len(part.at)


def _years_in(text: str) -> list[tuple[int, int]]:
    """Return the years of a text, each with the month beside it, or 0."""
    found = [(int(each[1]), int(each[2] or 0)) for each in _YEAR.finditer(text) if not _of_a_tag(text[: each.start()])]
    named = next(filter(None, map(month_of, re.findall(r"[^\W\d_]{3,}", text))), 0)
    return [(year, month or named) for year, month in found]


def _of_a_tag(before: str) -> bool:
    """Tell that what stands before a number makes it a tag's: ``Room 2010``."""
    words = re.findall(r"[A-Za-z]+", before)
    return bool(words) and words[-1].lower() in TERMINAL_EQUIPMENT | AIR_HANDLER_EQUIPMENT


def _months(part: Fields) -> np.ndarray:
    """Return the months of stamps; where nothing tells them from days, the number that changes less is the month."""
    if "month" in part.numbers:
        return part.numbers["month"]
    first, middle = part.numbers["first"], part.numbers["middle"]
    return first if len(np.unique(first)) <= len(np.unique(middle)) else middle


def _turns(month: np.ndarray) -> np.ndarray:
    """Count the years that turn up to each stamp, in the order of the file; backwards where the newest stands first."""
    step = np.diff(month, prepend=month[:1])
    ahead, back = step <= -_TURN, step >= _TURN
    if back.sum() > ahead.sum():
        turned = np.cumsum(back)
        return turned[-1] - turned
    return np.cumsum(ahead & ~np.r_[False, back[:-1]])


def _first_year(years: list[tuple[int, int]], turns: bool) -> int:
    """Return the year of the earliest stamps: the first of two, or the one before a date early in its year."""
    year, month = min(years)
    return year - (turns and len({each for each, _ in years}) == 1 and month and month <= _TURN)
