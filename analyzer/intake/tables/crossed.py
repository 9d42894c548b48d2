"""Tables with a column for every terminal and the quantities in a column of names: laid out again, a row a value."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pyarrow as pa

from analyzer.intake.tables.coded import is_text
from analyzer.intake.tables.day_rows import in_rows
from analyzer.intake.tables.raw_table import RawTable, text_column, texts_of
from analyzer.intake.tables.stamp_columns import STAMPED, is_clock, stamp_share
from analyzer.intake.words.names import is_quantity_word, read_quantity, tokens_of
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.vocabulary import (
    FLAG_WORDS,
    KEY_WORDS,
    NAME_WORDS,
    PLACE_WORDS,
    ROW_WORDS,
    SUMMARY_WORDS,
    TERMINAL_EQUIPMENT,
    TIME_WORDS,
    UNIT_WORDS,
    VALUE_WORDS,
    fold,
)

# Judgement, all that follows.
_AMONG = 6  # columns, the first, one of which may hold the quantities
_LEAST = 2  # columns of terminals: one is the value of a long table
_LOOKED_AT = 60  # distinct quantities
_NAMED = 0.5  # share of them that the vocabulary knows
_BESIDE = TIME_WORDS | ROW_WORDS | UNIT_WORDS | PLACE_WORDS | FLAG_WORDS
_POINT, _TERMINAL, _VALUE = "point", "terminal", "value"


def lay_out_crossed(table: RawTable) -> RawTable:
    """Return a table whose columns are terminals, beside one of quantities, with a row a value; any other as it is."""
    at = next((n for n in range(min(_AMONG, len(table.names))) if _holds_quantities(table, n)), None)
    if at is None:
        return table
    kept = [n for n in range(len(table.names)) if n != at and _is_beside(table, n)]
    tags = [n for n in range(len(table.names)) if n != at and n not in kept]
    if len(tags) < _LEAST or not _are_tags([table.names[n] for n in tags]):
        return table
    rows, wide = table.rows, len(tags)
    row = pa.array(np.repeat(np.arange(rows), wide))
    tag = text_column([table.names[n] for n in tags]).take(pa.array(np.tile(np.arange(wide), rows)))
    laid = replace(
        table,
        names=[*(table.names[n] for n in kept), _TERMINAL, _POINT, _VALUE],
        columns=[
            *(table.columns[n].take(row) for n in kept),
            tag,
            table.columns[at].take(row),
            in_rows([table.columns[n] for n in tags]),
        ],
        units=[None] * (len(kept) + 3),
    )
    laid.assume("its columns are terminals and its rows quantities; every value was given its own row.")
    return laid


def _holds_quantities(table: RawTable, n: int) -> bool:
    """Tell a column headed as names whose cells say what is measured, and of no terminal."""
    if fold(table.names[n]) not in NAME_WORDS | VALUE_WORDS or not is_text(table.columns[n]):
        return False
    cells = [take_unit(cell)[0] for cell in texts_of(table.columns[n], _LOOKED_AT) if cell.strip()]
    known = [cell for cell in cells if read_quantity(_words(cell), air_handler=False) is not None]
    numbered = [cell for cell in cells if any(token.is_number for token in tokens_of(cell))]
    return bool(cells) and len(known) >= _NAMED * len(cells) and len(numbered) < _NAMED * len(cells)


def _is_beside(table: RawTable, n: int) -> bool:
    """Tell a column of stamps, of units, of places or of numbers of rows."""
    if fold(take_unit(table.names[n])[0]) in _BESIDE:
        return True
    return stamp_share(table.columns[n], "") >= STAMPED or is_clock(table.columns[n])


def _are_tags(headings: list[str]) -> bool:
    """Tell headings that are tags: all with a number, or all with a word for terminals; none says what it holds."""
    tokens = [tokens_of(heading) for heading in headings]
    numbered = all(any(token.is_number for token in each) for each in tokens)
    equipment = all(any(token.low in TERMINAL_EQUIPMENT for token in each) for each in tokens)
    return (numbered or equipment) and not any(map(_says_what_it_holds, headings))


def _says_what_it_holds(heading: str) -> bool:
    words = [word for word in _words(heading) if not word.isdigit() and word not in TERMINAL_EQUIPMENT]
    named = read_quantity(_words(take_unit(heading)[0]), air_handler=False) is not None
    return named or any(is_quantity_word(word) or word in KEY_WORDS or word.startswith(SUMMARY_WORDS) for word in words)


def _words(text: str) -> tuple[str, ...]:
    return tuple(token.low for token in tokens_of(text))
