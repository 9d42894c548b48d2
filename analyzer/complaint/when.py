"""The time of a complaint, as someone wrote it down: local to the site, in any of several spellings."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd

from analyzer.errors import CallError

OPTION = "--at"
_REMEDY = "Write it such as '2026-01-28 14:30', in the site's own time."
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_CLOCK = re.compile(
    r"(?<![\d:.-])(\d{1,2})(?:[:.h](\d{2})(?::\d{2})?)?\s*(am|pm|a\.m\.|p\.m\.)?(?![\d:])", re.IGNORECASE
)
_OFFSET = re.compile(r"(?<=\d)\s*(Z|[+-]\d{2}:?\d{2})$", re.IGNORECASE)
_ISO = re.compile(r"\b(\d{4})-(\d{1,2})-(\d{1,2})(?!\d)")
_NUMBERS = re.compile(r"\b(\d{1,2})([/.-])(\d{1,2})\2(\d{4}|\d{2})\b")
_NAMED = re.compile(
    r"\b(?:(\d{1,2})\.?\s*(?:st|nd|rd|th)?\s+([a-z]{3,9})\.?|([a-z]{3,9})\.?\s+(\d{1,2})(?:st|nd|rd|th)?)\b,?(?:\s+(\d{4})\b)?",
    re.IGNORECASE,
)
_WEEKDAY = re.compile(r"\b(mon|tue|wed|thu|fri|sat|sun)[a-z]*\b\.?,?", re.IGNORECASE)


def read_moment(
    text: str, zone: str, period: tuple[pd.Timestamp, pd.Timestamp], date_order: str | None = None
) -> pd.Timestamp:
    """Read a local time.

    Parameters
    ----------
    text : str
        Such as ``2026-01-28 14:30``, ``28 Jan 2026 2:30 pm``, ``01/28/2026 14:30``, or without the year; an offset, or
        the zone's abbreviation, behind it (``01:30 CST``) settles an hour that comes twice.
    zone : str
        The site's IANA zone.
    period : (Timestamp, Timestamp)
        First and last moment of the trends: the time has to lie in it, and it settles a year that is left out.
    date_order : str, optional
        "month-first" or "day-first", as the site file says.

    Returns
    -------
    Timestamp
        In the site's zone.

    Raises
    ------
    CallError
        The time cannot be read, can be read in two ways, comes twice or never by the site's clock, or lies outside the
        period.
    """
    told, offset = _offset(text.strip(), zone)
    day_text, dates = _dates(told, text, period, date_order)
    hour, minute = _clock(told.replace(day_text, " ", 1).replace("T", " "), text)
    inside: list[pd.Timestamp] = []
    outside: list[pd.Timestamp] = []
    for year, month, day in filter(lambda date: _is_day(*date), dates):
        moment = _in_zone(datetime(year, month, day, hour, minute), zone, offset, text)
        (inside if period[0] <= moment <= period[1] else outside).append(moment)
    found = sorted(set(inside or outside))
    if not found:
        raise CallError(OPTION, f"{text!r} names a day that does not exist", _REMEDY)
    if len(found) > 1:
        days = " or ".join(f"{moment:%Y-%m-%d}" for moment in found)
        raise CallError(OPTION, f"{text!r} can be read as {days}", _REMEDY)
    if not inside:
        first, last = (f"{edge.tz_convert(zone):%Y-%m-%d %H:%M}" for edge in period)
        raise CallError(
            OPTION, f"{found[0]:%Y-%m-%d %H:%M} lies outside the trends, which go from {first} to {last}",
            "Name a time within them, or review the exports of that time.",
        )  # fmt: skip
    return found[0]


# The offset ----------------------------------------------------------------------------------------------------------


def _offset(text: str, zone: str) -> tuple[str, timezone | str | None]:
    """Split off what settles the hour: an offset, or the abbreviation of the zone's winter or summer time."""
    if match := _OFFSET.search(text):
        if ":" not in text[: match.start()]:  # the end of a date, such as 2026-01-28
            return text, None
        sign = match[1].upper()
        if sign == "Z":
            return text[: match.start()], UTC
        hours, minutes = int(sign[1:3]), int(sign[-2:])
        ahead = timedelta(hours=hours, minutes=minutes) * (-1 if sign[0] == "-" else 1)
        return text[: match.start()], timezone(ahead)
    names = {datetime(2026, month, 1, tzinfo=ZoneInfo(zone)).tzname() for month in (1, 7)}
    word = text.rsplit(None, 1)[-1] if text else ""
    return (text[: -len(word)].strip(), word) if word in names and not word.isdigit() else (text, None)


def _in_zone(wall: datetime, zone: str, offset: timezone | str | None, text: str) -> pd.Timestamp:
    place = ZoneInfo(zone)
    if isinstance(offset, timezone):
        return pd.Timestamp(wall.replace(tzinfo=offset)).tz_convert(zone)
    both = [wall.replace(tzinfo=place, fold=fold) for fold in (0, 1)]
    real = [one for one in both if one.astimezone(UTC).astimezone(place).replace(tzinfo=None) == wall]
    if not real:
        raise CallError(
            OPTION, f"{wall:%Y-%m-%d %H:%M} never came in {zone}: the clocks were put forward", "Name another time."
        )
    if isinstance(offset, str):
        real = [one for one in real if one.tzname() == offset]
        if not real:
            raise CallError(OPTION, f"{text!r}: {offset} is not in force on {wall:%Y-%m-%d} in {zone}", "Leave it out.")
    if len(real) > 1 and real[0].utcoffset() != real[1].utcoffset():
        ways = " or ".join(f"'{one:%Y-%m-%d %H:%M} {one.tzname()}'" for one in real)
        raise CallError(
            OPTION, f"{wall:%Y-%m-%d %H:%M} came twice in {zone}: the clocks were put back", f"Write {ways}."
        )
    return pd.Timestamp(real[0].astimezone(UTC)).tz_convert(zone)


# The day and the clock -----------------------------------------------------------------------------------------------


def _dates(told: str, text: str, period: Any, date_order: str | None) -> tuple[str, list[tuple[int, int, int]]]:
    """Return the part that names the day, and every day that it may name."""
    if match := _ISO.search(told):
        return match[0], [(int(match[1]), int(match[2]), int(match[3]))]
    if match := _NUMBERS.search(told):
        first, second = int(match[1]), int(match[3])
        year = int(match[4]) + (2000 if len(match[4]) == 2 else 0)
        month_first, day_first = (year, first, second), (year, second, first)
        known = {"month-first": month_first, "day-first": day_first}.get(date_order or "")
        return match[0], [known] if known and _is_day(*known) else [month_first, day_first]
    for match in _NAMED.finditer(told):
        day, name = match[1] or match[4], (match[2] or match[3]).lower()[:3]
        if name in _MONTHS:
            years = [int(match[5])] if match[5] else sorted({edge.year for edge in period})
            return match[0], [(year, _MONTHS.index(name) + 1, int(day)) for year in years]
    raise CallError(OPTION, f"{text!r} names no day", _REMEDY)


def _is_day(year: int, month: int, day: int) -> bool:
    try:
        datetime(year, month, day)
    except ValueError:
        return False
    return True


def _clock(told: str, text: str) -> tuple[int, int]:
    told = _WEEKDAY.sub(" ", told)
    found = [match for match in _CLOCK.finditer(told) if match[2] or match[3]]
    if len(found) != 1:
        raise CallError(OPTION, f"{text!r} names {'no' if not found else 'more than one'} time of day", _REMEDY)
    hour, minute, half = int(found[0][1]), int(found[0][2] or 0), (found[0][3] or "").lower().replace(".", "")
    if half and not 1 <= hour <= 12 or hour > 23 or minute > 59:
        raise CallError(OPTION, f"{text!r}: {found[0][0].strip()!r} is no time of day", _REMEDY)
    return (hour % 12 + 12 * (half == "pm"), minute) if half else (hour, minute)
