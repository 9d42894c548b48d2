"""Files that name their point, or their terminal, in a line above the header: once, or block after block."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pyarrow as pa

from analyzer.intake.limits import LONGEST_NAME
from analyzer.intake.tables.coded import as_coded, codes, is_text
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.words.names import read_quantity
from analyzer.intake.words.stamps import looks_like_stamp
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import is_measure, is_unit, take_unit
from analyzer.intake.words.vocabulary import NAME_WORDS, PLACE_WORDS, TAG_WORDS, UNIT_WORDS, VALUE_WORDS, fold

# "Point: VAV-1-01 Space Temperature"
_LABELLED = re.compile(r"^\W*(?P<label>[A-Za-z][A-Za-z .]{0,30}?)\s*[:=]\s*(?P<text>.*)$")
_NUMBERED = re.compile(r"^[\d\s.,/:-]*(?:of|von|de|sur)?[\d\s]*$", re.IGNORECASE)  # "2 of 6"
_POINT, _TERMINAL = "point", "terminal"
_UNIT = re.compile(r"^\W*(?:engineering )?units?\b[\s:=]*(?P<unit>\S.*)$", re.IGNORECASE)


def unstack(table: RawTable) -> RawTable:
    """Lay a file in which blocks of data stand one after another, each under lines of its own and the same header.

    What these lines say of their blocks, such as the point, the terminal or the unit, becomes columns of the table.
    """
    if not table.not_data.get("repeated header") or not is_text(table.columns[0]):
        return table
    lines = _lines_among(table)
    first = {match["label"]: match["text"].strip() for match in map(_LABELLED.match, table.preamble) if match}
    told = {label: {text, *(each for _, each, other in lines if other == label)} for label, text in first.items()}
    told = {label: texts for label, texts in told.items() if len(texts) > 1 and not all(map(_says_nothing, texts))}
    if not told:
        return table
    head = next(iter(told))
    is_line = np.zeros(table.rows, bool)
    is_line[[row for row, _, _ in lines]] = True
    data = np.where(is_line, -1, np.arange(table.rows))
    begin = np.maximum.accumulate(np.r_[-1, data])[[row for row, _, label in lines if label == head]] + 1
    block = np.searchsorted(begin, np.flatnonzero(~is_line), side="right")
    kept = pa.array(~is_line)
    laid = replace(
        table,
        columns=[_without_unused(column.filter(kept)) for column in table.columns],
        not_data=table.not_data | {"preamble": table.not_data.get("preamble", 0) + len(lines)},
    )
    long = any(fold(name) in VALUE_WORDS for name in table.names)
    for label in told:
        name = _heading(label, told[label], (_POINT if long else _TERMINAL) if label == head else "")
        if name and fold(name) not in map(fold, table.names):
            texts = _text_of_blocks(first[label], [(row, text) for row, text, of in lines if of == label], begin)
            number = pa.array(block.astype(np.int32))
            column = pa.DictionaryArray.from_arrays(number, pa.array(texts, pa.string()))
            laid.put_beside(name, pa.chunked_array([column]))
    return laid


def _without_unused(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Code a column's texts anew: what only the lines held is no cell of it, and would be taken for one."""
    return pa.chunked_array([as_coded(column.cast(pa.string()))]) if is_text(column) else column


def _heading(label: str, texts: set[str], otherwise: str) -> str:
    """Return the heading of a column of what lines of a label say; nothing where they say nothing of a point."""
    if fold(label) in UNIT_WORDS:
        return label if all(map(is_unit, texts)) else otherwise and _TERMINAL  # "Unit: VAV-1"
    return label if fold(label) in NAME_WORDS | TAG_WORDS | PLACE_WORDS else otherwise


def _lines_among(table: RawTable) -> list[tuple[int, str, str]]:
    """Return the lines among the data that are labelled: their row, text and label."""
    coded = as_coded(table.columns[0])
    labelled = [_LABELLED.match(str(text)) for text in coded.dictionary.to_pylist()]
    code = codes(coded)
    rows = np.flatnonzero(np.isin(code, [n for n, match in enumerate(labelled) if match])).tolist()
    beside = table.columns[1] if len(table.columns) > 1 and is_text(table.columns[1]) else None
    lines = []
    for row in rows:
        match = labelled[code[row]]
        text = match["text"].strip() or (beside[row].as_py() if beside is not None else "") or ""
        lines.append((row, text.strip(), match["label"]))
    return lines


def _text_of_blocks(first: str, lines: list[tuple[int, str]], begin: np.ndarray) -> list[str]:
    """Return what the lines of one label say of each block; one that has none has no text."""
    texts = [first] + [""] * len(begin)
    for row, text in lines:
        texts[int(np.searchsorted(begin, row, side="right"))] = text
    return texts


def _says_nothing(text: str) -> bool:
    """Tell the number of a page, a count or the moment of a print from what may name a point, or a unit."""
    return bool(_NUMBERED.match(text)) or looks_like_stamp(text)


def name_by_line_above(table: RawTable, tags: TagFinder) -> None:
    """Name a file of one point by the line above its header that does, where the file's own name says less."""
    if not _names_a_point(table.stem, tags):
        told = (match["text"] if (match := _LABELLED.match(line)) else line for line in table.preamble)
        table.name_after(next((text for text in told if _names_a_point(text, tags)), table.stem))
    _give_unit(table)


def _give_unit(table: RawTable) -> None:
    """Give the values the unit that a line above the header tells."""
    told = (match["unit"].strip() for match in map(_UNIT.match, table.preamble) if match)
    unit = next((text for text in told if is_measure(text)), None)
    if unit:
        table.fill_units(unit)


def _names_a_point(text: str, tags: TagFinder) -> bool:
    if len(text) > LONGEST_NAME:
        return False
    owner = tags.find(take_unit(text)[0])
    return owner.tag is not None and read_quantity(owner.words, air_handler=owner.air_handler) is not None
