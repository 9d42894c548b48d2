"""Weeks and weekdays as exports write them: 2025-W12, KW 12, Mon, Montag, 1 under 'Weekday (1=Mon)'."""

from __future__ import annotations

import datetime
import re

from analyzer.intake.words.letters import plain
from analyzer.intake.words.vocabulary import STAMP_PARTS, fold

_NAMES = (
    "mo mon monday montag lun lundi lunes",
    "di tue tues tuesday dienstag mar mardi martes",
    "mi wed wednesday mittwoch mer mercredi mie miercoles",
    "do thu thur thurs thursday donnerstag jeu jeudi jue jueves",
    "fr fri friday freitag ven vendredi vie viernes",
    "sa sat saturday samstag sonnabend sam samedi sab sabado",
    "so sun sunday sonntag dim dimanche dom domingo",
)
_WEEKDAYS = {name: n for n, names in enumerate(_NAMES, 1) for name in names.split()}
_WEEK = re.compile(r"^\s*(?:(?P<year>(?:19|20)\d{2})[-/ ]?)?(?:W|KW|CW)?\s*(?P<week>\d{1,2})\s*$", re.IGNORECASE)
_ISO_FORM = re.compile(r"^\s*(?:19|20)\d{2}-?W\d{2}\s*$")
_STATED = re.compile(r"(?<!\d)([0-7])\s*=\s*([^\W\d_]+)")
_ISO_HEADING = re.compile(r"iso|\bkw\b|kalenderwoche", re.IGNORECASE)  # Germany's calendar weeks are those of ISO 8601


def part_of_week(heading: str) -> str:
    """Return 'year', 'week' or 'weekday' for a heading of one, whatever stands behind it in brackets; else nothing."""
    part = STAMP_PARTS.get(fold(re.sub(r"\s*[\[(].*$", "", heading)), "")
    return {"day": "weekday"}.get(part, part if part in ("year", "week", "weekday") else "")


def is_iso(heading: str, cells: list[str], weekdays: str) -> bool:
    """Tell whether weeks are those of ISO 8601: the heading says so, or the cells are spelled as it does.

    Parameters
    ----------
    weekdays : str
        The heading of the weekdays: where it counts them from Sunday, the spelling of the weeks says too little.
    """
    if _ISO_HEADING.search(heading):
        return True
    stated = _STATED.search(weekdays)
    from_sunday = stated is not None and int(stated[1]) < 2 and _WEEKDAYS.get(plain(stated[2])) == 7
    return not from_sunday and bool(cells) and all(map(_ISO_FORM.match, cells))


def week_of(text: str) -> tuple[int | None, int] | None:
    """Return the year, where a cell has it, and the number of its week; None where it is none.

    Examples
    --------
    >>> week_of("2025-W12"), week_of("KW 7"), week_of("71")
    ((2025, 12), (None, 7), None)
    """
    match = _WEEK.match(text.removesuffix(".0"))
    if match is None or not 1 <= int(match["week"]) <= 53:
        return None
    return (int(match["year"]) if match["year"] else None), int(match["week"])


def weekday_of(text: str, heading: str) -> int | None:
    """Return the weekday of a cell, Monday 1 to Sunday 7: a name, or a number as the heading or ISO 8601 counts.

    Examples
    --------
    >>> weekday_of("Tue", "Day"), weekday_of("1", "Weekday"), weekday_of("0", "Weekday (0=Sun)")
    (2, 1, 7)
    """
    word = plain(text).strip(" .")
    if word in _WEEKDAYS:
        return _WEEKDAYS[word]
    number = word.removesuffix(".0")
    if not number.isdigit() or int(number) > 7:
        return None
    stated = _STATED.search(heading)
    known = _WEEKDAYS.get(plain(stated[2])) if stated else 1
    if known is None or (stated is None and number == "0"):
        return None
    return (int(number) - (int(stated[1]) if stated else 1) + known - 1) % 7 + 1


def date_of(year: int, week: int, weekday: int) -> str:
    """Return the date of a weekday of a week of ISO 8601; nothing where the year has no such week."""
    try:
        return datetime.date.fromisocalendar(year, week, weekday).isoformat()
    except ValueError:
        return ""
