"""Occupied hours: read from the site file's words, and laid over the moments of a table."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

import numpy as np
import pandas as pd

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_SPAN = re.compile(r"(\d{1,2}):(\d{2})\s*-\s*(\d{1,2}):(\d{2})$")


def parse_week(told: object) -> dict[int, list[tuple[int, int]]]:
    """Read days and hours such as ``{"mon-fri": "07:00-18:00"}``.

    Returns
    -------
    dict
        Weekday 0 (Monday) .. 6 to its spans, in minutes of the day; 24:00 is allowed as an end.

    Raises
    ------
    ValueError
        A day or an hour that cannot be read, or a span that ends before it starts.
    """
    if not isinstance(told, dict):
        raise ValueError('is to be a table of days, such as { mon-fri = "07:00-18:00" }')
    week: dict[int, list[tuple[int, int]]] = {day: [] for day in range(7)}
    for days, hours in told.items():
        for day in _days(days):
            week[day] += [_span(text) for text in ([hours] if isinstance(hours, str) else hours)]
    return week


def _days(text: str) -> list[int]:
    first, _, last = text.strip().lower().partition("-")
    try:
        start, end = DAYS.index(first[:3]), DAYS.index((last or first)[:3])
    except ValueError:
        raise ValueError(f"{text!r} is no day or span of days; days are {', '.join(DAYS)}") from None
    return [(start + step) % 7 for step in range((end - start) % 7 + 1)]


def _span(text: str) -> tuple[int, int]:
    match = _SPAN.match(str(text).strip())
    if not match:
        raise ValueError(f"{text!r} is no span of hours, such as 07:00-18:00")
    hour, minute, end_hour, end_minute = map(int, match.groups())
    start, end = hour * 60 + minute, end_hour * 60 + end_minute
    if not (minute < 60 and end_minute < 60 and 0 <= start < end <= 24 * 60):
        raise ValueError(f"{text!r} does not end after it starts within one day")
    return start, end


def occupied(
    moments: pd.DatetimeIndex, week: dict[int, list[tuple[int, int]]], holidays: Sequence[date] = ()
) -> np.ndarray:
    """Tell for each local moment whether the building is occupied by the clock.

    Parameters
    ----------
    moments : DatetimeIndex
        Time-zone aware moments, in the site's zone.
    week : dict
        As ``parse_week`` returns it. A span includes its start, not its end.
    holidays : sequence of date
        Days on which nobody is in.

    Returns
    -------
    ndarray of bool
    """
    day = moments.day_of_week.to_numpy()
    minute = (moments.hour * 60 + moments.minute).to_numpy()
    inside = np.zeros(len(moments), dtype=bool)
    for weekday, spans in week.items():
        for start, end in spans:
            inside |= (day == weekday) & (minute >= start) & (minute < end)
    if holidays:
        off = pd.to_datetime(list(holidays))
        inside &= ~moments.tz_localize(None).normalize().isin(off)
    return inside
