"""Columns of units beside the columns of values that they are of: ``Space Temp, Temp Unit, Airflow, Flow Unit``."""

from __future__ import annotations

import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.tables.coded import as_coded, is_text
from analyzer.intake.tables.raw_table import RawTable, texts_of
from analyzer.intake.words.names import is_quantity_word, tokens_of
from analyzer.intake.words.units import is_measure, no_unit, take_unit
from analyzer.intake.words.vocabulary import UNIT_WORDS, VALUE_WORDS, fold

_LOOKED_AT = 20  # distinct cells


def put_units(table: RawTable) -> RawTable:
    """Put the units of such columns into the cells before them, or over the column where all are one; return the table.

    The one column of values of a long table is not meant: its points tell their units apart.
    """
    for n in reversed(range(1, len(table.names))):
        if not _heads_units(table.names[n]) or not _measures(table.names[n - 1]):
            continue
        units = _units_in(table.columns[n])
        if units is None or not _holds_numbers(table.columns[n - 1]):
            continue
        name, column = table.names[n - 1], table.columns[n - 1]
        single = units[0] if len(units) == 1 and table.columns[n].null_count == 0 else None
        table.put_together([n - 1, n], column if single else _with_units(column, table.columns[n]), name)
        if single:
            table.put_unit(n - 1, single)
    return table


def _heads_units(header: str) -> bool:
    tokens = tokens_of(header)
    return fold(header) in UNIT_WORDS or (bool(tokens) and fold(tokens[-1].text) in UNIT_WORDS)


def _measures(header: str) -> bool:
    name = take_unit(header)[0]
    return fold(name) not in VALUE_WORDS and any(is_quantity_word(token.low) for token in tokens_of(name))


def _units_in(column: pa.ChunkedArray) -> list[str] | None:
    """Return the units that a column holds; None where it holds anything else, or none at all."""
    if not is_text(column):
        return None
    texts = texts_of(column, _LOOKED_AT + 1)
    units = [text.strip() for text in texts if not no_unit(text)]
    if not units or len(texts) > _LOOKED_AT or not all(is_measure(unit) and not unit.isdigit() for unit in units):
        return None
    return units if len(units) == len(texts) else [*units, ""]


def _holds_numbers(column: pa.ChunkedArray) -> bool:
    if not is_text(column):
        return pa.types.is_floating(column.type) or pa.types.is_integer(column.type)
    return any(any(sign.isdigit() for sign in text) for text in texts_of(column, _LOOKED_AT))


def _with_units(column: pa.ChunkedArray, units: pa.ChunkedArray) -> pa.ChunkedArray:
    """Put each cell's unit behind its number; an empty cell stays empty."""
    number = column.cast(pa.string()).combine_chunks()
    unit = pc.fill_null(as_coded(units).cast(pa.string()), "")
    filled = pc.greater(pc.utf8_length(pc.fill_null(pc.utf8_trim_whitespace(number), "")), 0)
    cells = pc.if_else(filled, pc.binary_join_element_wise(number, unit, " "), number)
    return pa.chunked_array([pc.utf8_trim_whitespace(cells).dictionary_encode()])
