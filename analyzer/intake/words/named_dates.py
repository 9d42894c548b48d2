"""Dates in the names of files and sheets, and in titles."""

from __future__ import annotations

import datetime
import re

from analyzer.intake.words.stamps import looks_like_stamp

_YEAR_FIRST = re.compile(r"(?<!\d)((?:19|20)\d{2})([-_. ]?)(\d{2})\2(\d{2})(?!\d)")
_YEAR_LAST = re.compile(r"(?<!\d)(\d{1,2})([-_./ ])(\d{1,2})\2((?:19|20)\d{2})(?!\d)")
_SHORT = re.compile(r"(\d{1,2})[-_.](\d{1,2})[-_.](\d{2})")  # the whole of a sheet's name
_MONTH_NAMED = re.compile(
    r"(?<!\d)(\d{1,2})[-_. ]*([^\W\d_]{3,})[-_., ]*((?:19|20)\d{2})(?!\d)"
    r"|([^\W\d_]{3,})[-_. ]*(\d{1,2})[-_., ]+((?:19|20)\d{2})(?!\d)"
)


def days_in(text: str) -> set[str]:
    """Return the dates of a text, as stamps are spelled.

    Examples
    --------
    >>> days_in("gallery_2026-01-22"), days_in("week 6, 2026"), sorted(days_in("20260121 to 20260125"))
    ({'2026-01-22'}, set(), ['2026-01-21', '2026-01-25'])
    """
    found = {f"{y}-{m}-{d}" for y, _, m, d in _YEAR_FIRST.findall(text) if _is_date(y, m, d)}
    found |= {f"{a}/{b}/{y}" for a, _, b, y in _YEAR_LAST.findall(text) if _is_date(y, a, b) or _is_date(y, b, a)}
    if match := _SHORT.fullmatch(text.strip()):
        found.add("/".join(match.groups()))
    for d, m, y, name, day, year in _MONTH_NAMED.findall(text):
        spelled = f"{d or day} {m or name} {y or year}"
        if looks_like_stamp(spelled):
            found.add(spelled)
    return found


def _is_date(year: str, month: str, day: str) -> bool:
    try:
        datetime.date(int(year), int(month), int(day))
    except ValueError:
        return False
    return True
