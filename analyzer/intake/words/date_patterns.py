"""What texts say of the order of year, month and day: ``yymmdd`` over figures alone, ``(day/month/year)``."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence

from analyzer.intake.words.letters import plain
from analyzer.intake.words.stamps import CENTURY_FROM

_PARTS = re.compile(r"yyyy|yy|mm|dd|hh|ss")
_WORD = re.compile(r"[a-z]+")
_IN_ENGLISH = {"t": str.maketrans("jt", "yd"), "a": str.maketrans("aj", "yd")}  # jjmmtt, aammjj
UNSAID = ("yymmdd", "ddmmyy", "mmddyy")  # the orders of six figures, where no heading says one
# Day, month and year as formats name them: dd/mm/yyyy, TT.MM.JJJJ, JJ/MM/AAAA, day/month/year, %d-%m-%Y.
_DAY = r"(?:%d|d{1,2}|tt?|jj?|day|tag|jour|d[ií]a)"
_MONTH = r"(?:%m|m{1,2}|month|monat|mois|mes)"
_YEAR = r"(?:%y|y{1,4}|j{2,4}|a{2,4}|year|jahr|ann[ée]e|a[nñ]o)"
_SAYS = {
    word: re.compile(rf"(?<![^\W\d_])(?:{first}[-/. ]{second}[-/. ]{_YEAR}(?![^\W\d_])|{plainly})", re.IGNORECASE)
    for word, first, second, plainly in (
        ("day-first", _DAY, _MONTH, r"day[- ]first\b"),
        ("month-first", _MONTH, _DAY, r"month[- ]first\b"),
    )
}


def order_told(texts: Sequence[str]) -> tuple[str, str] | None:
    """Return the order of day and month that texts name, and the text that does; None where none, or several, do.

    Examples
    --------
    >>> order_told(["Start,12/03/2025 (day/month/year)"])[0], order_told(["Date [MM/DD/YYYY]"])[0], order_told(["m/s"])
    ('day-first', 'month-first', None)
    """
    found = {word: text for text in texts for word, says in _SAYS.items() if says.search(text)}
    return next(iter(found.items())) if len(found) == 1 else None


def date_pattern(heading: str) -> str:
    """Return the order of figures that a heading spells, such as ``yymmdd`` or ``ddmmyyyyhhmm``; nothing for any other.

    Examples
    --------
    >>> date_pattern("Date (YYMMDD)"), date_pattern("JJMMTT"), date_pattern("hhmm")
    ('yymmdd', 'yymmdd', '')
    """
    for word in _WORD.findall(plain(heading)):
        english = next((word.translate(letters) for sign, letters in _IN_ENGLISH.items() if sign in word), word)
        parts = _PARTS.findall(english)
        date = [part[0] for part in parts[:3]]
        clock = parts[3:] in ([], ["hh", "mm"], ["hh", "mm", "ss"])
        if "".join(parts) == english and sorted(date) == ["d", "m", "y"] and "ss" not in parts[:3] and clock:
            return english
    return ""


def spell_date(text: str, pattern: str) -> str:
    """Spell figures that stand in the order of a pattern as a date, and a time of day; nothing where they are none.

    Examples
    --------
    >>> spell_date("250120", "yymmdd"), spell_date("10225", "ddmmyy"), spell_date("250140", "yymmdd")
    ('2025-01-20', '2025-02-01', '')
    """
    figures = text.strip().removesuffix(".0")
    if not figures.isdigit() or not len(pattern) - 1 <= len(figures) <= len(pattern):
        return ""  # a table of numbers has lost a nought before the first figure
    figures, at = figures.zfill(len(pattern)), 0
    numbers: list[tuple[str, int]] = []
    for part in _PARTS.findall(pattern):
        numbers.append((part, int(figures[at : at + len(part)])))
        at += len(part)
    date = {part[0]: number for part, number in numbers[:3]}
    hour, minute, second = [*(number for _, number in numbers[3:]), 0, 0, 0][:3]
    year = date["y"] if date["y"] > 99 else date["y"] + (2000 if date["y"] < CENTURY_FROM else 1900)
    try:
        moment = datetime.datetime(year, date["m"], date["d"], hour, minute, second)
    except ValueError:
        return ""
    return str(moment) if len(numbers) > 3 else str(moment.date())
