"""Columns of text as codes and the distinct texts that they stand for."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

AT_A_TIME = 1 << 16  # rows: what numpy makes beside them stays in the processor's cache


def is_text(column: pa.ChunkedArray) -> bool:
    """Tell a column of text, coded or as it is."""
    return pa.types.is_dictionary(column.type) or pa.types.is_string(column.type)


def as_coded(column: pa.ChunkedArray) -> pa.DictionaryArray:
    """Return a column as one array of codes with one dictionary of texts."""
    if not pa.types.is_dictionary(column.type):
        column = column.cast(pa.string()).dictionary_encode()
    if column.num_chunks == 1:
        return column.chunk(0)
    whole = column.unify_dictionaries().combine_chunks()
    return whole.chunk(0) if isinstance(whole, pa.ChunkedArray) else whole


def codes(coded: pa.DictionaryArray) -> np.ndarray:
    """Return the codes as int32; empty cells get the code after the last."""
    indices = coded.indices if coded.indices.type == pa.int32() else coded.indices.cast(pa.int32())
    if indices.null_count:
        indices = pc.fill_null(indices, len(coded.dictionary))
    return indices.to_numpy(zero_copy_only=False)


def spread(meaning: np.ndarray, code: np.ndarray, out: np.ndarray | None = None) -> np.ndarray:
    """Return, or put into ``out``, what each row's code means."""
    out = np.empty(len(code), meaning.dtype) if out is None else out
    for begin in range(0, len(code), AT_A_TIME):
        part = slice(begin, begin + AT_A_TIME)
        np.take(meaning, code[part], out=out[part], mode="clip")
    return out


def count(code: np.ndarray, size: int) -> np.ndarray:
    """Count the rows of each code."""
    counts = np.zeros(size, np.int64)
    step = max(AT_A_TIME, size)
    for begin in range(0, len(code), step):
        counts += np.bincount(code[begin : begin + step], minlength=size)
    return counts
