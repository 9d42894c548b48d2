"""Dates in parts: a column of weeks, one of weekdays, and perhaps one of years, put together."""

from __future__ import annotations

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.coded import as_coded, is_text
from analyzer.intake.tables.raw_table import RawTable, texts_of
from analyzer.intake.tables.stamp_columns import stamp_share
from analyzer.intake.words.vocabulary import fold
from analyzer.intake.words.weeks import date_of, is_iso, part_of_week, week_of, weekday_of

_AMONG = 12  # columns, the first, that may hold parts of the stamp; judgement
_LOOKED_AT = 200  # distinct cells
_BETWEEN = "\x1f"  # cells that are joined; no cell holds it


def join_weeks(table: RawTable) -> RawTable:
    """Put weeks and weekdays together to dates, where the table has no others; return the table.

    Only weeks of ISO 8601 are read: other calendars begin the year's first week, or the week, on other days.
    """
    places: dict[str, int] = {}
    for n, name in enumerate(table.names[:_AMONG]):
        if part := part_of_week(name):
            places.setdefault(part, n)
    if not {"week", "weekday"} <= set(places) or _has_dates(table, places):
        return table
    names = {part: table.names[n] for part, n in places.items()}
    if not is_iso(names["week"], _cells(table, places["week"]), names["weekday"]):
        return table
    parts = [places[part] for part in ("year", "week", "weekday") if part in places]
    counted = [cell for cell in _cells(table, places["weekday"]) if cell.removesuffix(".0").isdigit()]
    dates = _dates(table, parts, names["weekday"])
    if dates.null_count == len(dates):
        return table
    table.put_together(sorted(parts), dates, "date")
    if counted and "=" not in names["weekday"]:
        table.assume("its weekdays are numbers; they were read as ISO 8601 counts them, Monday the first.")
    return table


def _cells(table: RawTable, n: int) -> list[str]:
    return [cell.strip() for cell in texts_of(table.columns[n], _LOOKED_AT) if cell.strip()]


def _dates(table: RawTable, parts: list[int], heading: str) -> pa.ChunkedArray:
    """Return the date of each row; null where it has none."""
    texts = [pc.fill_null(table.columns[n].cast(pa.string()), "") for n in parts]
    coded = as_coded(pc.binary_join_element_wise(*texts, _BETWEEN))
    dates = [_date(*text.split(_BETWEEN), heading=heading) for text in coded.dictionary.to_pylist()]
    return pa.chunked_array([pa.array(dates, pa.string()).take(coded.indices)])


def _date(*parts: str, heading: str) -> str | None:
    *years, week, weekday = parts
    found, day = week_of(week), weekday_of(weekday, heading)
    if found is None or day is None:
        return None
    own = years[0].strip().removesuffix(".0") if years else ""
    year = found[0] or (int(own) if own.isdigit() else None)
    return (date_of(year, found[1], day) if year else "") or None


def _has_dates(table: RawTable, places: dict[str, int]) -> bool:
    others = [n for n in range(min(_AMONG, len(table.names))) if n not in places.values()]
    return any(
        (is_text(table.columns[n]) or pa.types.is_timestamp(table.columns[n].type))
        and stamp_share(table.columns[n], fold(table.names[n])) > 0
        for n in others
    )
