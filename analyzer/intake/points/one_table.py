"""That a file is one table: rows under another header, or of another terminal, would be read as the first one's."""

from __future__ import annotations

import numpy as np
import pyarrow as pa

from analyzer.errors import ExportError
from analyzer.intake.limits import LONGEST_NAME
from analyzer.intake.points.layout import Layout
from analyzer.intake.tables.coded import as_coded, codes, count
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.stamps import UNREADABLE, Stamps
from analyzer.intake.words.names import tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.vocabulary import TERMINAL_EQUIPMENT, TIME_WORDS, WEAK_EQUIPMENT, fold

_LOOKED_AT = 100  # distinct cells


def check_one_table(table: RawTable, layout: Layout, stamps: Stamps, hint: str, tags: TagFinder) -> None:
    """Look at the rows that have no stamp, as titles and headers have none.

    Parameters
    ----------
    hint : str
        What names the terminal of the file, where the columns do not.

    Raises
    ------
    ExportError
        One is another header, or names another terminal.
    """
    column = table.columns[layout.time[0]]
    if not (stamps.reason == UNREADABLE).any() or not pa.types.is_dictionary(column.type):
        return
    coded = as_coded(column)
    code, cells = codes(coded), len(coded.dictionary)
    doubtful = count(code, cells + 1)[:cells] > 0  # a part of a file has cells of the others in its dictionary
    if len(layout.time) == 1:  # then the stamps are numbered as the cells are
        doubtful &= stamps.reason[:cells] == UNREADABLE
    by_hint = layout.kind == "wide" and all(tags.find(take_unit(table.names[n])[0]).tag is None for n in layout.values)
    for number in np.flatnonzero(doubtful)[:_LOOKED_AT].tolist():
        text = coded.dictionary[number].as_py() or ""
        if fold(text) in TIME_WORDS:
            at = int(np.flatnonzero(code == number)[0])
            told = [
                (fold(_cell(other, at)), fold(name)) for other, name in zip(table.columns, table.names, strict=True)
            ]
            if any(found and found != name for found, name in told):
                raise _not_one(table, at, f"holds another header ({text!r} ...)")
        elif by_hint and text not in table.preamble and _names_another(text[:LONGEST_NAME], hint, tags):
            at = int(np.flatnonzero(code == number)[0])
            raise _not_one(table, at, f"names another terminal ({text!r}) than the file does")


def _cell(column: pa.ChunkedArray, at: int) -> str:
    value = column[at].as_py()
    return "" if value is None else str(value)


def _names_another(text: str, hint: str, tags: TagFinder) -> bool:
    """Tell a text that names equipment by its word and number, another than the hint's."""
    strong = any(token.low in TERMINAL_EQUIPMENT - WEAK_EQUIPMENT for token in tokens_of(text))
    tag = tags.find(text).tag if strong or tags.known_terminal(text) else None
    return tag is not None and tag != (tags.find(hint).tag or hint)


def _not_one(table: RawTable, at: int, found: str) -> ExportError:
    return ExportError(
        table.label,
        f"{found}: its rows below belong to another table",
        "Export each table into a file of its own, or all points side by side.",
        place=f"row {at + 1:,} of its data",
    )
