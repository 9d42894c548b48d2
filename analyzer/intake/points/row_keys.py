"""What tells rows of one point apart: a second key, such as the instrument, where a room has two."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.points.layout import Layout
from analyzer.intake.tables.coded import as_coded, codes, is_text
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.stamps import GOOD, Stamps
from analyzer.intake.words.vocabulary import KEY_WORDS, NAME_WORDS, TAG_WORDS

# Judgement, all that follows.
MOST_KEYS = 50  # distinct texts of a column that tells logs apart: with more of them it holds remarks
TWICE = 0.1  # share of rows whose point and moment stand again, from which on a column under any header may be a key
TELLS_APART = 0.9  # ... and tells this share of them apart
TOGETHER = (
    0.1  # share of the shorter span over which logs of two keys run together; a sensor that is replaced overlaps less
)


def second_key(table: RawTable, layout: Layout, words: list[str], stamps: Stamps) -> int | None:
    """Find a column by which several logs of one point differ.

    Parameters
    ----------
    words : list of str
        The folded headers.

    Returns
    -------
    int or None
        Of the columns that nothing else is known of, one under a header for instruments or names, of which one point
        has several that run at the same time; or one that tells rows apart whose point and moment are the same.
    """
    good = stamps.reason[stamps.code] == GOOD
    left = [n for n in layout.left if 2 <= _distinct(table.columns[n]) <= MOST_KEYS]
    if not left or not good.any():
        return None
    point = _numbered([table.columns[n] for n in layout.names])[good]
    moment = stamps.first[stamps.code][good]
    for n in left:
        key = _numbered([table.columns[n]])[good]
        if words[n] in KEY_WORDS | NAME_WORDS | TAG_WORDS:
            if _run_together(point, key, moment):
                return n
        elif is_text(table.columns[n]):
            twice = _rows_again(point, moment)
            if (
                twice >= TWICE * len(point)
                and _rows_again(point * MOST_KEYS + key, moment) <= (1 - TELLS_APART) * twice
            ):
                return n
    return None


def _distinct(column: pa.ChunkedArray) -> int:
    return len(as_coded(column).dictionary) if is_text(column) else len(pc.unique(column))


def _numbered(columns: list[pa.ChunkedArray]) -> np.ndarray:
    """Number the combinations of cells of some columns, row by row, from 0 on."""
    code = np.zeros(len(columns[0]), np.int64)
    for column in columns:
        coded = as_coded(column)
        code = code * (len(coded.dictionary) + 1) + codes(coded)
    return np.unique(code, return_inverse=True)[1]


def _run_together(point: np.ndarray, key: np.ndarray, moment: np.ndarray) -> bool:
    """Tell whether the logs of two keys of one point run at the same time."""
    pair = point * (int(key.max()) + 1) + key
    order = np.lexsort((moment, pair))
    begin = np.flatnonzero(np.r_[True, np.diff(pair[order]) > 0])
    first, last = moment[order[begin]], moment[order[np.r_[begin[1:], len(order)] - 1]]
    of = point[order[begin]]
    in_time = np.lexsort((first, of))
    of, first, last = of[in_time], first[in_time], last[in_time]
    both = np.minimum(last[:-1], last[1:]) - first[1:]
    shorter = np.minimum(last[:-1] - first[:-1], last[1:] - first[1:])
    return bool(((of[1:] == of[:-1]) & (both >= TOGETHER * shorter) & (both > 0)).any())


def _rows_again(point: np.ndarray, moment: np.ndarray) -> int:
    """Count the rows whose point and moment stood before."""
    order = np.lexsort((moment, point))
    return int(((np.diff(point[order]) == 0) & (np.diff(moment[order]) == 0)).sum())
