"""Stamps in parts: a column each for year, month and day (or the day of the year), hour and minute, put together."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.coded import as_coded, is_text
from analyzer.intake.tables.raw_table import RawTable, texts_of
from analyzer.intake.words.stamps import looks_like_clock, looks_like_stamp
from analyzer.intake.words.vocabulary import DAY_WORDS, STAMP_PARTS, TIME_WORDS, YEAR_AND_DAY_WORDS, fold

_BESIDE = 2  # columns from a day of the year to its time of day
_AMONG = 12  # columns, the first, that may hold parts of the stamp; judgement
_LOOKED_AT = 50  # distinct cells
_DATE, _CLOCK = ("year", "month", "day"), ("hour", "minute", "second")
_ORDINAL = ("year", "ordinal")
_RANGE = {"ordinal": (1, 366), "month": (1, 12), "day": (1, 31), "hour": (0, 24), "minute": (0, 59), "second": (0, 59)}
_YEARS = ((1970, 2199), (0, 99))
_YEAR_AND_DAY = re.compile(r"^\s*((?:19|20)\d{2})[-/. ]?(\d{3})(?:\.0)?\s*$")
_HALVES = frozenset({"am", "pm", "a.m.", "p.m.", "a", "p"})


def first_row_of_parts(rows: list[list[str]]) -> int | None:
    """Find the first row of data under a header that names year, month and day; None where no row is one.

    Parameters
    ----------
    rows : list of list of str
        The first rows of a table, in cells.
    """
    for n, header in enumerate(rows):
        places = _places(header)
        _tell_days_of_the_year(places, (row[m] for row in rows[n + 1 :] if (m := places.get("day", _AMONG)) < len(row)))
        kind = next((kind for kind in (_DATE, _ORDINAL) if all(part in places for part in kind)), None)
        if kind is not None:
            below = (m for m in range(n + 1, len(rows)) if _holds_date(rows[m], places, kind))
            return next(below, None)
        both = [m for m in range(min(_AMONG, len(header))) if _may_head_days_of_the_year(header, m)]
        if both:
            return next((m for m in range(n + 1, len(rows)) if _is_day_of_the_year(rows[m][both[0] :][:1])), None)
    return None


def _tell_days_of_the_year(places: dict[str, int], days: Iterable[str]) -> None:
    """Take a column headed as days for days of the year, where none of months is there and one is past the 31st."""
    if {"year", "day"} <= set(places) and not {"month", "ordinal"} & set(places):
        texts = (day.strip().removesuffix(".0") for day in days)
        if any(text.isdigit() and _RANGE["day"][1] < int(text) <= _RANGE["ordinal"][1] for text in texts):
            places["ordinal"] = places.pop("day")


def _may_head_days_of_the_year(header: list[str], n: int) -> bool:
    """Tell a heading of days, or of years and their days, with one of times of day beside it."""
    word = fold(header[n])
    beside = {fold(header[m]) for m in range(max(0, n - _BESIDE), min(n + _BESIDE + 1, len(header))) if m != n}
    timed = any(other in TIME_WORDS or STAMP_PARTS.get(other) == "hour" for other in beside)
    return timed and (word in TIME_WORDS | DAY_WORDS | YEAR_AND_DAY_WORDS or STAMP_PARTS.get(word) == "ordinal")


def _is_day_of_the_year(cells: list[str]) -> bool:
    """Tell a cell that is a year and one of its days: ``2026-056``."""
    return bool(cells) and _day_of(*(match.groups() if (match := _YEAR_AND_DAY.match(cells[0])) else ("", ""))) != ""


def _day_of(year: str, ordinal: str) -> str:
    """Return the date of a day of the year; nothing where it is none."""
    if not year or not ordinal or not 1 <= int(ordinal) <= _RANGE["ordinal"][1]:
        return ""
    day = datetime.date(int(year), 1, 1) + datetime.timedelta(days=int(ordinal) - 1)
    return day.isoformat() if day.year == int(year) else ""


def join_parts(table: RawTable) -> RawTable:
    """Put the parts of a table's stamps together, in the place of the first; return the table."""
    _spell_days_of_the_year(table)
    places = _places(table.names)
    _tell_days_of_the_year(places, texts_of(table.columns[places["day"]]) if "day" in places else ())
    if places and not _has_whole_stamps(table, places):
        _join_numbers(table, places)
    half = _places(table.names).get("half")
    if half is not None:
        _add_half(table, half)
    return table


def _spell_days_of_the_year(table: RawTable) -> None:
    """Spell a column of years and their days, beside one of times of day, as dates."""
    for n in range(min(_AMONG, len(table.names))):
        if not _may_head_days_of_the_year(table.names, n):
            continue
        column = table.columns[n]
        cells = [cell for cell in texts_of(column, _LOOKED_AT) if cell.strip()]
        if not cells or not all(_is_day_of_the_year([cell]) for cell in cells):
            continue
        coded = as_coded(column if is_text(column) else column.cast(pa.string()))
        days = [match and _day_of(*match.groups()) for match in map(_YEAR_AND_DAY.match, coded.dictionary.to_pylist())]
        table.put_together([n], pa.chunked_array([pa.array(days, pa.string()).take(coded.indices)]), "date")
        return


def _join_numbers(table: RawTable, places: dict[str, int]) -> None:
    """Put year, month and day together, and hour, minute and second."""
    if all(part in places and _holds(table, places, part) for part in _DATE):
        table.put_together([places[part] for part in _DATE], _joined(table, places, _DATE, "-"), "date")
        places = _places(table.names)
    elif all(part in places and _holds(table, places, part) for part in _ORDINAL):
        joined = _joined(table, places, _ORDINAL, " ")
        coded = as_coded(joined)
        days = [text and _day_of(*text.split(" ")) for text in coded.dictionary.to_pylist()]
        dates = pa.chunked_array([pa.array(days, pa.string()).take(coded.indices)])
        table.put_together([places[part] for part in _ORDINAL], dates, "date")
        places = _places(table.names)
    parts = [part for part in _CLOCK if part in places and _holds(table, places, part)]
    if parts in (["hour"], ["hour", "minute"], list(_CLOCK)):
        table.put_together([places[part] for part in parts], _joined(table, places, parts, ":"), "time")


def _places(names: list[str]) -> dict[str, int]:
    """Return where each part of a stamp stands, by the headers; the first of two."""
    found: dict[str, int] = {}
    for n, name in enumerate(names[:_AMONG]):
        part = STAMP_PARTS.get(fold(name))
        if part:
            found.setdefault(part, n)
    return found


def _holds_date(cells: list[str], places: dict[str, int], parts: tuple[str, ...]) -> bool:
    """Tell a row whose cells may be a year, a month and a day, or a year and its day."""
    return all(places[part] < len(cells) and _is_part(cells[places[part]], part) for part in parts)


def _is_part(cell: str, part: str) -> bool:
    text = cell.strip().removesuffix(".0")
    if part == "month" and text.isalpha():
        return looks_like_stamp(f"2000-{text}-01")
    if not text.isdigit():
        return False
    ranges = _YEARS if part == "year" else (_RANGE[part],)
    return any(least <= int(text) <= most for least, most in ranges)


def _holds(table: RawTable, places: dict[str, int], part: str) -> bool:
    """Tell whether a column's cells are what its header says."""
    cells = texts_of(table.columns[places[part]], _LOOKED_AT)
    return bool(cells) and all(_is_part(cell, part) for cell in cells if cell.strip())


def _has_whole_stamps(table: RawTable, places: dict[str, int]) -> bool:
    """Tell a table that has stamps beside their parts, as one made for statistics has."""
    others = [n for n in range(min(_AMONG, len(table.names))) if n not in places.values()]
    whole = False
    for n in others:
        if pa.types.is_timestamp(table.columns[n].type):
            whole = True
        elif is_text(table.columns[n]):
            cells = texts_of(table.columns[n], _LOOKED_AT)
            whole |= bool(cells) and all(looks_like_stamp(cell) and ":" in cell for cell in cells)
    return whole


def _joined(table: RawTable, places: dict[str, int], parts: tuple[str, ...] | list[str], sign: str) -> pa.ChunkedArray:
    """Join the parts' texts; a row that lacks one has none."""
    texts = [_text(table.columns[places[part]], 4 if part == "year" else 2) for part in parts]
    if len(parts) == 1:
        texts.append(pa.chunked_array([pa.repeat("00", len(texts[0]))]))  # an hour alone
    return pc.binary_join_element_wise(*texts, sign)


def _text(column: pa.ChunkedArray, width: int) -> pa.ChunkedArray:
    """Return a part's numbers as text of two digits at least, names of months as they stand."""
    coded = as_coded(column.cast(pa.string()) if not is_text(column) else column)
    texts = [(text or "").strip().removesuffix(".0") for text in coded.dictionary.to_pylist()]
    century = "20" if width == 4 else ""
    spelled = [century + text.zfill(2) if len(text) < 3 and text else text or None for text in texts]
    return pa.chunked_array([pa.array(spelled, pa.string()).take(coded.indices)])


def _add_half(table: RawTable, at: int) -> None:
    """Put AM and PM, where they have a column of their own, to the time of day to the left of it."""
    halves = {cell.strip().lower() for cell in texts_of(table.columns[at], _LOOKED_AT) if cell.strip()}
    before = [n for n in range(at) if fold(table.names[n]) in TIME_WORDS and _ends_with_clock(table, n)]
    if not halves or not halves <= _HALVES or not before:
        return
    clock, half = (column.cast(pa.string()) for column in (table.columns[before[-1]], table.columns[at]))
    table.put_together([before[-1], at], pc.binary_join_element_wise(clock, half, " "), table.names[before[-1]])


def _ends_with_clock(table: RawTable, n: int) -> bool:
    if not is_text(table.columns[n]):
        return False
    cells = [cell for cell in texts_of(table.columns[n], _LOOKED_AT) if cell.strip()]
    return bool(cells) and all(looks_like_clock(cell.split()[-1]) for cell in cells)
