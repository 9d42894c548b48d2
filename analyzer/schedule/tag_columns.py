"""Which column of a grid holds the tags of terminals, or the keys of types: by its heading, or by its cells."""

from __future__ import annotations

import re
from collections import Counter

from analyzer.schedule.cells import Grid
from analyzer.schedule.figures import is_missing, number_of
from analyzer.schedule.meaning import meaning_of
from analyzer.schedule.tags import looks_like_tag
from analyzer.schedule.types import is_key, key_of
from analyzer.schedule.words import fold, read_heading

# A tag that begins like a unit: V-101, C12; no M3 and no FT2.
_LETTERED = re.compile(r"[A-Za-z]{1,4}(?:[-_. ]\d[\w.-]*|\d{2}[\w.-]*)")


def tag_headings(grid: Grid, row: int) -> list[int]:
    """Return the columns whose cell in a row heads tags of terminals."""
    return [
        c for c in range(grid.width)
        if grid.origin(row, c) == (row, c) and grid.rows[row][c] and is_tag_heading(grid.rows[row][c])
        and not _is_wide(grid, row, c)
    ]  # fmt: skip


def _is_wide(grid: Grid, row: int, at: int) -> bool:
    """Tell whether a cell is merged over more columns than a tag and its prefix take, and several stand beneath it."""
    end = next((c for c in range(at + 1, grid.width) if grid.origin(row, c) != (row, at)), grid.width)
    beneath = range(row + 1, min(row + 8, grid.height))
    return end > at + 2 and any(len(grid.filled(r, at, end)) > 1 for r in beneath)


def type_headings(grid: Grid, row: int) -> list[int]:
    """Return the columns whose cell in a row heads types of terminal."""
    if len(grid.filled(row)) < 2:
        return []
    return [
        c for c in range(grid.width)
        if grid.origin(row, c) == (row, c) and (text := grid.rows[row][c]) and len(text) <= 30
        and not (told := read_heading(text)).unknown
        and "TYPE" in told.concepts and set(told.concepts) <= {"TYPE", "TAG"}
    ]  # fmt: skip


def tags_without_heading(grid: Grid, row: int) -> list[int]:
    """Return the column under a row of headings whose cells are alike and look like tags, whatever stands over it."""
    known = [c for c in range(grid.width) if (text := grid.text(row, c)) and meaning_of(read_heading(text)).name]
    if len(known) < 2:
        return []
    for column in range(grid.width):
        if column in known and grid.text(row, column):
            continue
        texts = [text for r in range(row + 1, min(row + 40, grid.height)) if (text := grid.text(r, column))]
        shapes = Counter(shape(text) for text in texts if looks_like_tag(text) and re.search(r"[A-Za-z].*\d", text))
        if shapes and max(shapes.values()) >= 2 and max(shapes.values()) * 2 >= len(texts):
            return [column]
    return []


def is_tag_heading(text: str) -> bool:
    """Tell whether a text heads a column of tags."""
    text = re.sub(r"\(.*?\)", " ", text, flags=re.DOTALL)
    if len(text) > 60 or re.search(r"\d|[:=]\s*$", text):  # one that ends in a colon is a form's
        return False
    folded = fold(text)
    if folded in ("VAV", "FPB", "FPTU", "FTU", "FPT", "VAVS", "NO", "#"):
        return True
    told = read_heading(text)
    return not told.unknown and (meaning_of(told).name == "tag" or told.concepts == ("TAG", "OUTLETS"))


def says_tag(text: str) -> bool:
    """Tell whether a heading of tags names a terminal, and does not merely number the lines: NO., #, ITEM, REF."""
    return fold(text) not in ("NO", "#", "ITEM", "ITEM NO", "REF", "REF NO", "REFERENCE", "LINE", "LINE NO")


def says_box(text: str) -> bool:
    """Tell whether a heading of tags names terminals, and no other equipment."""
    return bool(re.search(r"\b(?:BOX(?:ES)?|TERMINALS?|VAV|FPB|FPTU|ATU|TU)\b", fold(text)))


def tags_beneath(grid: Grid, row: int, at: int) -> int:
    """Count the tags beneath a cell."""
    below = [grid.text(r, at) for r in range(row + 1, min(row + 30, grid.height))]
    return sum(looks_like_tag(text) and bool(re.search(r"[A-Za-z]", text)) for text in below if text)


def is_body(grid: Grid, row: int, left: int, at: int, right: int) -> bool:
    """Tell whether a row holds a terminal: a tag, and no heading or unit in its place."""
    text = grid.text(row, at)
    if not text or not looks_like_tag(text) or is_numbering(grid, row, left, right):
        return False
    told = read_heading(text)
    if told.only_units and not _LETTERED.fullmatch(text.strip()):
        return False
    return not (told.concepts and not re.search(r"\d", text))


def is_type(grid: Grid, row: int, left: int, at: int, right: int) -> bool:
    """Tell whether a row holds a type: a key, figures beside it, and no heading or unit in its place."""
    text = grid.text(row, at)
    if not is_key(text) or is_numbering(grid, row, left, right):
        return False
    told = read_heading(text)
    if len(key_of(text)) > 1 and (told.only_units or told.concepts and not told.unknown):
        return False
    others = [grid.text(*cell) for cell in grid.filled(row, left, right) if cell[1] != at]
    return sum(number_of(other) is not None or is_missing(other) for other in others) * 2 >= len(others) > 0


def is_numbering(grid: Grid, row: int, left: int, right: int) -> bool:
    """Tell whether a row numbers the columns: 1, 2, 3 or A, B, C."""
    texts = [grid.text(*cell).strip("() ") for cell in grid.filled(row, left, right)]
    if len(texts) < 4:
        return False
    return texts == [str(n + 1) for n in range(len(texts))] or texts == [
        chr(65 + n) for n in range(min(26, len(texts)))
    ]


def shape(text: str) -> str:
    """Return a text with its numbers made alike."""
    return re.sub(r"\d+", "0", text.upper().strip())
