"""Modes whose names do not say of what: told by their cells, ``Mode`` with ``Occupied`` and ``Unoccupied``."""

from __future__ import annotations

from dataclasses import replace

import pyarrow as pa

from analyzer.intake.points.entries import Entry
from analyzer.intake.points.layout import Layout
from analyzer.intake.tables.coded import is_text
from analyzer.intake.tables.raw_table import RawTable, texts_of
from analyzer.intake.words.names import concepts_of, is_quantity_word, tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.values import is_missing
from analyzer.intake.words.vocabulary import NO, YES
from analyzer.intake.words.wording import some

_SAYS_NO_MORE = frozenset({"MODE", "STATUS", "STATE", "ACTUAL", "ACTIVE"})
_OCCUPANCY = frozenset({"OCCUPANCY", "UNOCCUPIED"})
_MOST_WORDS = 8  # distinct cells of a mode; judgement
_ABOUT = "occupancy mode"


def tell_modes(table: RawTable, layout: Layout, entries: list[Entry], tags: TagFinder) -> list[Entry]:
    """Give points that are called but mode or state the meaning of their cells, where all are words for occupancy."""
    if layout.kind == "long":
        return entries
    names = {table.names[n] for n in layout.values if _holds_occupancy(table.columns[n])}
    told = [_is_mode(entry, names, tags) for entry in entries]
    if any(told):
        columns = list(dict.fromkeys(repr(entry.shown) for entry, mode in zip(entries, told, strict=True) if mode))
        table.assume("{detail} holds words for occupancy alone, and was read as the occupancy mode.", some(columns))
    return [replace(entry, about=_ABOUT) if mode else entry for entry, mode in zip(entries, told, strict=True)]


def _is_mode(entry: Entry, names: set[str], tags: TagFinder) -> bool:
    if entry.column not in names:
        return False
    words = tags.find(take_unit(entry.column)[0], entry.owner, given=entry.given).words
    concepts = concepts_of(" ".join(words))
    return bool(concepts) and concepts <= _SAYS_NO_MORE and all(map(is_quantity_word, words))


def _holds_occupancy(column: pa.ChunkedArray) -> bool:
    """Tell a column whose every cell is a word for occupancy, or says that there is no value."""
    if not is_text(column):
        return False
    texts = texts_of(column, _MOST_WORDS + 1)
    words = [text.strip().lower() for text in texts if not is_missing(text)]
    concepts = [concepts_of(" ".join(token.low for token in tokens_of(word))) for word in words]
    says = [found & _OCCUPANCY for found in concepts]
    return bool(words) and len(texts) <= _MOST_WORDS and all(word in YES | NO for word in words) and all(says)
