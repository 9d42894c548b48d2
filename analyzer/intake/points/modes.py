"""Modes whose names do not say of what: told by their cells, ``Mode`` with ``Occupied`` and ``Unoccupied``."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyzer.intake.points.entries import Entry, Log
from analyzer.intake.tables.coded import as_coded, codes, is_text
from analyzer.intake.tables.raw_table import texts_of
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


def tell_modes(log: Log, tags: TagFinder) -> list[Entry]:
    """Give points that are called but mode or state the meaning of their cells, where all are words for occupancy."""
    modes = [n for n, entry in enumerate(log.entries) if _is_called_mode(entry, tags)]
    if not modes:
        return log.entries
    found = set(_of_long(log, modes) if log.layout.kind == "long" else _of_columns(log, modes))
    if found:
        columns = list(dict.fromkeys(repr(log.entries[n].shown) for n in sorted(found)))
        log.table.assume("{detail} holds words for occupancy alone, and was read as the occupancy mode.", some(columns))
    return [replace(entry, about=_ABOUT) if n in found else entry for n, entry in enumerate(log.entries)]


def _is_called_mode(entry: Entry, tags: TagFinder) -> bool:
    name = take_unit(entry.column)[0]
    if _SAYS_NO_MORE.isdisjoint(concepts_of(name)):  # most names: nobody needs to know whose they are
        return False
    words = tags.find(name, entry.owner, given=entry.given).words
    concepts = concepts_of(" ".join(words))
    return bool(concepts) and concepts <= _SAYS_NO_MORE and all(map(is_quantity_word, words))


def _of_columns(log: Log, modes: list[int]) -> list[int]:
    """Return the modes whose columns hold words for occupancy; each name heads one column."""
    table = log.table
    columns = {table.names[n]: table.columns[n] for n in log.layout.values}
    told = {
        name: is_text(column) and _are_occupancy(texts_of(column, _MOST_WORDS + 1)) for name, column in columns.items()
    }
    return [n for n in modes if told.get(log.entries[n].column)]


def _of_long(log: Log, modes: list[int]) -> list[int]:
    """Return the modes whose rows in the column of values hold words for occupancy."""
    column = log.table.columns[log.layout.values[0]]
    if not is_text(column) or log.code is None:
        return []
    coded = as_coded(column)
    size = len(coded.dictionary) + 1
    rows = np.isin(log.code, modes)
    pairs = np.unique(log.code[rows].astype(np.int64) * size + codes(coded)[rows])
    words = [*coded.dictionary.to_pylist(), ""]
    texts: dict[int, list[str]] = {}
    for pair in pairs.tolist():
        texts.setdefault(pair // size, []).append(words[pair % size])
    return [n for n in texts if _are_occupancy(texts[n])]


def _are_occupancy(texts: list[str]) -> bool:
    """Tell cells each of which is a word for occupancy, or says that there is no value."""
    words = [text.strip().lower() for text in texts if not is_missing(text)]
    concepts = [concepts_of(" ".join(token.low for token in tokens_of(word))) for word in words]
    says = [found & _OCCUPANCY for found in concepts]
    return bool(words) and len(texts) <= _MOST_WORDS and all(word in YES | NO for word in words) and all(says)
