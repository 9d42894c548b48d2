"""Days and times of day that are plain numbers, 20260125 and 1430: spelled as stamps are."""

from __future__ import annotations

import re

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.coded import as_coded, is_text
from analyzer.intake.tables.raw_table import RawTable, texts_of
from analyzer.intake.tables.stamp_columns import CLOCK_WITHIN
from analyzer.intake.words.stamps import is_day_number, looks_like_stamp
from analyzer.intake.words.vocabulary import DAY_WORDS, TIME_WORDS, fold

_LOOKED_AT = 200  # distinct cells
_POINTED = re.compile(r"^\s*\d{1,2}[.,][0-5]\d(?:[.,][0-5]\d)?(?:\s*[AaPp]\.?[Mm]\.?)?\s*$")  # 14.30, 2.30 PM
_RUN_TOGETHER = ("hhmm", "hhmmss")  # headers that say so
_NO_PERIOD = 100  # the first hour of a day ends before it, and no day has as many periods that are logged
_ROUNDING = 1e-6  # of hundredths: what is further from a whole number is no minute


def spell_day_numbers(table: RawTable) -> RawTable:
    """Spell days that are numbers, and times of day beside a column of days, as stamps are; return the table."""
    for n in range(min(CLOCK_WITHIN + 1, len(table.names))):
        days = _numbers(table.columns[n])
        if days is not None and _are_days(days, fold(table.names[n])):
            spelled = _spelled(days, lambda day: f"{day // 10_000:04d}-{day // 100 % 100:02d}-{day % 100:02d}")
            table.put_column(n, spelled)
        elif not _are_spelled_days(table.columns[n]):
            continue
        for m in range(max(0, n - CLOCK_WITHIN), min(n + CLOCK_WITHIN + 1, len(table.names))):
            word = fold(table.names[m])
            clock = _clock_column(table.columns[m], word) if m != n and word in TIME_WORDS else None
            if clock is not None:
                table.put_column(m, clock)
                break
        break
    return table


def _are_spelled_days(column: pa.ChunkedArray) -> bool:
    """Tell a column of dates without times of day."""
    if pa.types.is_date(column.type):
        return True
    cells = texts_of(column, _LOOKED_AT) if is_text(column) else []
    return bool(cells) and all(looks_like_stamp(cell) and ":" not in cell for cell in cells if cell.strip())


def _clock_column(column: pa.ChunkedArray, word: str) -> pa.ChunkedArray | None:
    """Return times of day that are numbers, as text; None for any other column.

    They are hours and minutes run together (1430), parted by a point (14.30), or the share of a day that has gone by.
    """
    clock = _numbers(column)
    if clock is not None:
        size = _clock_size(clock, word)
        return _spelled(pc.multiply(clock, size), _clock) if size else None
    if is_text(column) and all(_POINTED.match(cell) for cell in texts_of(column, _LOOKED_AT) if cell.strip()):
        coded = as_coded(column)
        texts = pc.replace_substring_regex(coded.dictionary, r"^(\s*\d{1,2})[.,](\d{2})(?:[.,](\d{2}))?", r"\1:\2:\3")
        texts = pc.replace_substring_regex(texts, r":(\D*)$", r"\1")
        return pa.chunked_array([pa.DictionaryArray.from_arrays(coded.indices, texts)])
    share = _fractions(column)
    if share is None:
        return None
    seen = share.drop_null().to_numpy()
    if len(seen) and seen.min() >= 0 and seen.max() < 1:
        return _spelled(pc.cast(pc.round(pc.multiply(share, 86_400.0)), pa.int64()), _clock_of_second)
    hundreds = pc.round(pc.multiply(share, 100.0))
    exact = len(seen) and abs(hundreds.drop_null().to_numpy() - 100 * seen).max() < _ROUNDING
    return _clock_column(hundreds.cast(pa.int64()), "hhmm") if exact else None


def _fractions(column: pa.ChunkedArray) -> pa.ChunkedArray | None:
    """Return numbers with fractions as float64; None for a column of anything else."""
    if pa.types.is_floating(column.type):
        return column
    if not is_text(column):
        return None
    coded = as_coded(column)
    try:
        number = pc.replace_substring(pc.utf8_trim_whitespace(coded.dictionary), ",", ".").cast(pa.float64())
    except pa.ArrowInvalid:
        return None
    return pa.chunked_array([number.take(coded.indices)])


def _numbers(column: pa.ChunkedArray) -> pa.ChunkedArray | None:
    """Return whole numbers, or texts that are, as int64; None for any other column."""
    if pa.types.is_integer(column.type):
        return column.cast(pa.int64())
    if pa.types.is_floating(column.type):
        try:
            column.slice(0, _LOOKED_AT).cast(pa.int64())  # most columns of fractions show them at once
            return column.cast(pa.int64())
        except pa.ArrowInvalid:
            return None
    if not is_text(column):
        return None
    coded = as_coded(column)
    if not len(coded.dictionary) or not pc.all(pc.match_substring_regex(coded.dictionary, r"^\s*\d{1,8}\s*$")).as_py():
        return None
    number = pc.utf8_trim_whitespace(coded.dictionary).cast(pa.int64())
    return pa.chunked_array([number.take(coded.indices)])


def _are_days(days: pa.ChunkedArray, word: str) -> bool:
    first = pc.unique(days.slice(0, 50 * _LOOKED_AT)).drop_null().to_pylist()[:_LOOKED_AT]
    return bool(first) and (word in TIME_WORDS | DAY_WORDS or not word) and all(map(is_day_number, map(str, first)))


def _clock_size(clock: pa.ChunkedArray, word: str) -> int:
    """Return by what a time of day is multiplied to be hours, minutes and seconds run together; 0 where it is none."""
    number = pc.unique(clock).drop_null().to_numpy()
    if len(number) and number.max() < _NO_PERIOD and word not in _RUN_TOGETHER:
        return 0  # hours, or periods of the day
    size = 1 if word.endswith("ss") or (len(number) and number.max() > 2400) else 100
    whole = number * size
    good = (whole >= 0) & (whole <= 240_000) & (whole // 100 % 100 < 60) & (whole % 100 < 60)
    return size if len(number) and bool(good.all()) else 0


def _clock(number: int) -> str:
    return f"{number // 10_000:02d}:{number // 100 % 100:02d}:{number % 100:02d}"


def _clock_of_second(second: int | None) -> str | None:
    if second is None:
        return None
    return f"{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}"


def _spelled(numbers: pa.ChunkedArray, spell) -> pa.ChunkedArray:
    coded = numbers.combine_chunks().dictionary_encode()
    coded = coded.chunk(0) if isinstance(coded, pa.ChunkedArray) else coded
    texts = pa.array([spell(number) for number in coded.dictionary.to_pylist()], pa.string())
    return pa.chunked_array([pa.DictionaryArray.from_arrays(coded.indices, texts)])
