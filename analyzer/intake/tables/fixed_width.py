"""Texts whose columns stand under each other, parted by spaces alone: made tables with separators."""

from __future__ import annotations

import re

import numpy as np

from analyzer.intake.limits import MEBIBYTE
from analyzer.intake.tables.export_text import ExportText
from analyzer.intake.words.stamps import looks_like_stamp

LARGEST = 32 * MEBIBYTE  # bytes; such reports are made to be read
_WIDEST = 4096  # letters of a line
_APART = 2  # spaces that part columns: one parts words of a name, and a date from its time of day
_GAP = re.compile(r" {2,}")
_LEAST = 3  # rows


def part_columns(text: ExportText) -> ExportText | None:
    """Return a text with tabs between its columns; None where its lines do not show columns.

    Columns are told by the spaces that stand in every row of data, and in the heading above them, at the same places:
    an empty cell leaves its place empty.
    """
    if text.size > LARGEST:
        return None
    lines = text.whole(0, text.size).decode("utf-8", "replace").splitlines()
    data = [n for n, line in enumerate(lines) if looks_like_stamp(_GAP.split(line.strip(), 1)[0]) and _GAP.search(line)]
    if len(data) < _LEAST:
        return None
    heading = next((n for n in reversed(range(data[0])) if any(map(str.isalpha, lines[n]))), None)
    table = ([] if heading is None else [heading]) + data
    width = max(len(lines[n].rstrip()) for n in table)
    if width > _WIDEST or any("\t" in lines[n] for n in table):
        return None
    cuts = _cuts([lines[n].rstrip() for n in data], width)
    together = _cuts([lines[n].rstrip() for n in table], width)
    if cuts and len(together) == len(cuts):
        cuts = together
    else:
        names = [] if heading is None else _GAP.split(lines[heading].strip())
        if heading is None or not cuts or len(names) != len(cuts) + 1:
            return None  # nothing tells which name is whose
        lines[heading] = "\t".join(names)
        table = data
    below = [] if heading is None else range(heading + 1, data[0])
    units = [n for n in below if any(map(str.isalnum, lines[n]))]
    for n in below:
        lines[n] = lines[n] if n in units else ""  # a rule
    for n in [*table, *units]:
        lines[n] = "\t".join(lines[n][a:b].strip() for a, b in zip([0, *cuts], [*cuts, width], strict=True))
    return ExportText(text.label, "\n".join(lines).encode("utf-8"), text.encoding)


def _cuts(lines: list[str], width: int) -> list[int]:
    """Return where columns end: where lines have so many spaces that all of them share."""
    blank = np.ones(width + 1, bool)
    for line in lines:
        letters = np.frombuffer(line.encode("utf-32-le"), np.uint32)
        blank[: len(letters)] &= letters == ord(" ")
    blank[width] = False
    edge = np.flatnonzero(np.diff(blank.astype(np.int8), prepend=0))
    runs = list(zip(edge[::2].tolist(), edge[1::2].tolist(), strict=True))
    return [end for begin, end in runs if begin and end - begin >= _APART]
