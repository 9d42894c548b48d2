"""Dates that are figures alone, 250120 under 'yymmdd': spelled as stamps are."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

import pyarrow as pa

from analyzer.intake.tables.coded import as_coded, is_text
from analyzer.intake.tables.raw_table import RawTable, texts_of
from analyzer.intake.words.date_patterns import UNSAID, date_pattern, spell_date
from analyzer.intake.words.vocabulary import DAY_WORDS, fold

_AMONG = 3  # columns, the first, one of which may hold such dates. Judgement, all that follows
_LOOKED_AT = 400  # distinct cells
_LEAST = 2  # days by which an order is told that no heading says
_APART = 3  # days from one to the next, on average, in the order that they have
_WHOLE = 100_000  # some date of six figures is above it; days as spreadsheets count them are not
_DATES = DAY_WORDS | {"date", "datum", "fecha"}  # headings that say no order


def first_row_of_figures(rows: list[list[str]]) -> int | None:
    """Find the first row of data under a header that says how its dates are spelled; None where no row is one."""
    for n, header in enumerate(rows):
        for at, cell in enumerate(header[:_AMONG]):
            cells = [row[at] for row in rows[n + 1 :] if at < len(row) and len(row) >= len(header)]
            pattern = date_pattern(cell) or (_order_of(cells) if fold(cell) in _DATES else "")
            if pattern and cells:
                below = range(n + 1, len(rows))
                return next((m for m in below if spell_date("".join(rows[m][at : at + 1]), pattern)), None)
    return None


def spell_figures(table: RawTable) -> RawTable:
    """Spell dates that are figures alone as dates; return the table."""
    for n in range(min(_AMONG, len(table.names))):
        name, column = table.names[n], table.columns[n]
        pattern = date_pattern(name)
        said = bool(pattern)
        if not (pa.types.is_integer(column.type) or pa.types.is_floating(column.type) or is_text(column)):
            continue
        cells = [cell for cell in texts_of(column, _LOOKED_AT) if cell.strip()]
        if not said and fold(name) in _DATES:
            pattern = _order_of(cells)
        if not pattern or not cells or not all(spell_date(cell, pattern) for cell in cells):
            continue
        coded = as_coded(column if is_text(column) else column.cast(pa.string()))
        dates = [spell_date(text or "", pattern) or None for text in coded.dictionary.to_pylist()]
        table.put_together([n], pa.chunked_array([pa.array(dates, pa.string()).take(coded.indices)]), "date")
        if not said:
            table.assume(
                f"{name!r} holds dates of six figures; they were read as {{detail}}, in which days follow.", pattern
            )
        break
    return table


def _order_of(cells: Sequence[str]) -> str:
    """Return the order of six figures in which alone cells are days that follow each other; nothing where none does."""
    texts = {cell.strip().removesuffix(".0") for cell in cells if cell.strip()}
    if len(texts) < _LEAST or not all(text.isdigit() for text in texts) or max(map(int, texts)) < _WHOLE:
        return ""
    found = []
    for pattern in UNSAID:
        dates = [spell_date(text, pattern) for text in texts]
        if all(dates):
            days = [datetime.date.fromisoformat(date).toordinal() for date in dates]
            if max(days) - min(days) <= _APART * (len(days) - 1):
                found.append(pattern)
    return found[0] if len(found) == 1 else ""
