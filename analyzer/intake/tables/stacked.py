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
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import is_measure, take_unit

# "Point: VAV-1-01 Space Temperature"
_LABELLED = re.compile(r"^\W*(?P<label>[A-Za-z][A-Za-z .]{0,30}?)\s*[:=]\s*(?P<text>.*)$")
_UNIT = re.compile(r"^\W*(?:engineering )?units?\b[\s:=]*(?P<unit>\S.*)$", re.IGNORECASE)


def unstack(table: RawTable) -> list[RawTable]:
    """Split a file in which blocks of data stand one after another, each under lines of its own and the same header."""
    label = next((match["label"] for match in map(_LABELLED.match, table.preamble) if match), None)
    if label is None or not table.not_data.get("repeated header") or not is_text(table.columns[0]):
        return [table]
    coded = as_coded(table.columns[0])
    labelled = [_LABELLED.match(str(text)) for text in coded.dictionary.to_pylist()]
    heads = [n for n, match in enumerate(labelled) if match and match["label"] == label]
    if not heads:
        return [table]
    code = codes(coded)
    begin = np.r_[0, np.flatnonzero(np.isin(code, heads)), len(code)]
    is_line = np.isin(code, [n for n, match in enumerate(labelled) if match])
    lines = [str(text) for text in coded.dictionary.to_pylist()]
    parts: list[RawTable] = []
    for first, last in zip(begin[:-1].tolist(), begin[1:].tolist(), strict=True):
        above = [lines[n] for n in code[first:last][is_line[first:last]].tolist()] or table.preamble
        kept = pa.array(~is_line[first:last])
        columns = [column.slice(first, last - first).filter(kept) for column in table.columns]
        part = replace(table, columns=columns, names=list(table.names), units=list(table.units), preamble=above)
        parts.append(_named(part) if not parts else replace(_named(part), not_data={}, assumptions=[]))
    preamble = table.not_data.get("preamble", 0) + int(is_line.sum())
    parts[0] = replace(parts[0], not_data=table.not_data | {"preamble": preamble})
    return [part for part in parts if part.rows]


def name_by_line_above(table: RawTable, tags: TagFinder) -> None:
    """Name a file of one point by the line above its header that does, where the file's own name says less."""
    if not _names_a_point(table.stem, tags):
        told = (match["text"] if (match := _LABELLED.match(line)) else line for line in table.preamble)
        table.name_after(next((text for text in told if _names_a_point(text, tags)), table.stem))
    _give_unit(table)


def _named(table: RawTable) -> RawTable:
    """Name a block by the first line above it."""
    match = next(filter(None, map(_LABELLED.match, table.preamble)), None)
    return replace(table, stem=match["text"].strip()) if match else table


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
