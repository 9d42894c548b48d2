"""Columns of tags that are numbers: ``101, 102, 103`` under "Room", made the texts that tags are."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.coded import as_coded, is_text
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.words.vocabulary import KEY_WORDS, NAME_WORDS, TAG_WORDS

# Judgement. Where stamps are rows of several terminals, each stands in two rows or more, and each number in three.
ROWS_OF_A_STAMP, ROWS_OF_A_NUMBER = 2, 3
# Headers that name a quantity of the terminal as well: one number throughout may be its temperature.
_AMBIGUOUS = frozenset({"room", "zone", "box", "unit", "station"})


def spell_number_tags(table: RawTable, words: list[str], time: int) -> None:
    """Make columns of whole numbers under a header for tags or names columns of text, where they tell rows apart.

    Parameters
    ----------
    words : list of str
        The folded headers.
    time : int
        The column of stamps.
    """
    headed = [n for n in range(len(words)) if words[n] in TAG_WORDS | NAME_WORDS and n != time]
    for n in headed:
        numbers = table.columns[n]
        if not (pa.types.is_integer(numbers.type) or pa.types.is_floating(numbers.type)) or not table.rows:
            continue
        distinct = pc.unique(numbers).drop_null().to_numpy()
        if not len(distinct) or (distinct != np.round(distinct)).any() or np.abs(distinct).max() >= 2**53:
            continue
        several = len(distinct) * ROWS_OF_A_NUMBER <= table.rows and _stamps_stand_again(table, time)
        alone = words[n] in TAG_WORDS - _AMBIGUOUS or (words[n] == "id" and not KEY_WORDS.isdisjoint(words))
        if several if len(distinct) > 1 else alone:
            table.put_column(n, pa.chunked_array([as_coded(numbers.cast(pa.int64()))]))


def _stamps_stand_again(table: RawTable, time: int) -> bool:
    stamps = table.columns[time]
    distinct = len(as_coded(stamps).dictionary) if is_text(stamps) else len(pc.unique(stamps))
    return distinct * ROWS_OF_A_STAMP <= table.rows
