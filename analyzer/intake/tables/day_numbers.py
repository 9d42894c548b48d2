"""Days and times of day that are plain numbers, 20260125 and 1430: spelled as stamps are."""

from __future__ import annotations

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.coded import as_coded, is_text
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.stamp_columns import CLOCK_WITHIN
from analyzer.intake.words.stamps import is_day_number
from analyzer.intake.words.vocabulary import DAY_WORDS, TIME_WORDS, fold

_LOOKED_AT = 200  # distinct numbers


def spell_day_numbers(table: RawTable) -> RawTable:
    """Spell a column of days that are numbers, and the times of day beside it, as text; return the table."""
    for n in range(min(CLOCK_WITHIN + 1, len(table.names))):
        days = _numbers(table.columns[n])
        if days is None or not _are_days(days, fold(table.names[n])):
            continue
        table.put_column(n, _spelled(days, lambda day: f"{day // 10_000:04d}-{day // 100 % 100:02d}-{day % 100:02d}"))
        for m in range(max(0, n - CLOCK_WITHIN), min(n + CLOCK_WITHIN + 1, len(table.names))):
            clock = _numbers(table.columns[m]) if m != n and fold(table.names[m]) in TIME_WORDS else None
            if clock is not None and (size := _clock_size(clock, fold(table.names[m]))):
                table.put_column(m, _spelled(pc.multiply(clock, size), _clock))
                break
        break
    return table


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
    size = 1 if word.endswith("ss") or (len(number) and number.max() > 2400) else 100
    whole = number * size
    good = (whole >= 0) & (whole <= 240_000) & (whole // 100 % 100 < 60) & (whole % 100 < 60)
    return size if len(number) and bool(good.all()) else 0


def _clock(number: int) -> str:
    return f"{number // 10_000:02d}:{number // 100 % 100:02d}:{number % 100:02d}"


def _spelled(numbers: pa.ChunkedArray, spell) -> pa.ChunkedArray:
    coded = numbers.combine_chunks().dictionary_encode()
    coded = coded.chunk(0) if isinstance(coded, pa.ChunkedArray) else coded
    texts = pa.array([spell(number) for number in coded.dictionary.to_pylist()], pa.string())
    return pa.chunked_array([pa.DictionaryArray.from_arrays(coded.indices, texts)])
