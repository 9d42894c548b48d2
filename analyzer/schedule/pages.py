"""PDF pages with text as grids of cells: ruled tables by their lines, others by the gaps between their words."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from typing import Any

from analyzer.errors import ScheduleError
from analyzer.schedule.cells import Grid, Place, squared
from analyzer.schedule.gaps import Cell, grid_of_lines
from analyzer.schedule.words import read_heading

MOST_PAGES = 300
# Words of one line that stand apart by more than this share of their height are of two cells. Judgement.
_GAP = 0.75
_SAME_EDGE = 2.0  # points between edges that are one
_MOST_CAPTIONS = 2  # lines over a table that follows another on its page
_IS_NOTE = re.compile(r"\s*(?:NOTES?\b|\(?\d{1,2}[.)]|\*)", re.IGNORECASE)


def pdf_grids(data: bytes, name: str) -> list[Grid]:
    """Read the tables of a PDF, one grid a table, and what else stands on its page.

    Raises
    ------
    ScheduleError
        The library is not installed, the file is damaged, locked or too long, or holds pictures instead of text.
    """
    try:
        import pdfplumber
    except ImportError:
        raise ScheduleError(
            name, "is a PDF, and the library that reads one is not installed",
            "Install it with: pip install 'trendwright[pdf]', or save the schedule as .xlsx or CSV.",
        ) from None  # fmt: skip
    try:
        with pdfplumber.open(io.BytesIO(data)) as document:
            if len(document.pages) > MOST_PAGES:
                raise ScheduleError(
                    name,
                    f"has {len(document.pages)} pages; allowed are {MOST_PAGES}",
                    "Keep the pages of the schedule.",
                )
            pages = [_page(page, name) for page in document.pages]
    except ScheduleError:
        raise
    except Exception as error:  # whatever a damaged file raises, the user is told one thing
        locked = "assword" in f"{error!r} {error.args!r}"
        raise ScheduleError(
            name, "is locked by a password" if locked else f"is not a readable PDF ({type(error).__name__})",
            "Save it again without one." if locked else "Save it again, or as .xlsx or CSV.",
        ) from None  # fmt: skip
    grids = [grid for page in pages for grid in page]
    if not any(grid.rows or grid.loose for grid in grids):
        raise ScheduleError(
            name, "is a scan: its pages hold pictures and no text",
            "Ask for the file that it was printed from, or run text recognition on it and check every figure.",
        )  # fmt: skip
    return _with_notes_of_all(grids)


def _with_notes_of_all(grids: list[Grid]) -> list[Grid]:
    """Let what a note says on one page hold for tables on the others."""
    captions = {line for grid in grids for line in grid.above}
    notes = tuple(dict.fromkeys(line for grid in grids for line in grid.loose if line not in captions))
    return [replace(grid, loose=tuple(dict.fromkeys((*grid.loose, *_notes(notes))))) for grid in grids]


def _notes(lines: tuple[str, ...]) -> list[str]:
    return [
        line
        for line in lines
        if not re.search(r"\bSCHEDULE\b|\bREPORT\b|\bLEVEL\b|\bFLOOR\b|\bAHU", line, re.IGNORECASE)
    ]


def _page(page: Any, name: str) -> list[Grid]:
    sheet = f"page {page.page_number}"
    if not page.chars:
        return [Grid(name, sheet, [], unread="holds no text, and was not read" if page.images else "")]
    page = page.dedupe_chars()
    ruled = [table for table in page.find_tables() if len(table.cells) >= 4]
    ruled = [
        table for table in ruled if not any(_within(table.bbox, other.bbox) for other in ruled if other is not table)
    ]
    if ruled:
        outside = [char for char in page.chars if not any(_inside(char, table.bbox) for table in ruled)]
        loose = _lines_of(outside)
        captions = [_captions(table, ruled, outside) for table in ruled]
        several = len(ruled) > 1
        grids = []
        for n, (table, own) in enumerate(zip(ruled, captions, strict=True), 1):
            others = {line for each in captions for line in each if each is not own} - set(own)
            grid = _ruled(table, page.chars, name, f"{sheet}, table {n}" if several else sheet)
            grids.append(replace(grid, loose=tuple(line for line in loose if line not in others), above=own))
        return grids
    return [grid_of_lines(_word_lines(page), name, sheet)]


def _captions(table: Any, ruled: list[Any], outside: list[dict[str, Any]]) -> tuple[str, ...]:
    """Return the lines right over a table that speak of it alone: no notes, and at a page's head the lowest line."""
    left, top, right, bottom = table.bbox
    over = [other.bbox[3] for other in ruled if other.bbox[3] <= top + _SAME_EDGE]
    begin = max(over, default=0.0)
    band = [char for char in outside if begin <= (char["top"] + char["bottom"]) / 2 <= top]
    if any(other is not table and other.bbox[1] < bottom and other.bbox[3] > top for other in ruled):  # side by side
        band = [char for char in band if left <= (char["x0"] + char["x1"]) / 2 <= right]
    found: list[str] = []
    for line in reversed(_lines_of(band)[-(_MOST_CAPTIONS if over else 1) :]):
        if _IS_NOTE.match(line) or read_heading(line).units:
            break
        found.append(line)
    return tuple(reversed(found))


def _within(box: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return box[0] >= other[0] and box[1] >= other[1] and box[2] <= other[2] and box[3] <= other[3] and box != other


def _inside(char: dict[str, Any], box: tuple[float, ...]) -> bool:
    x, y = (char["x0"] + char["x1"]) / 2, (char["top"] + char["bottom"]) / 2
    return bool(box[0] <= x <= box[2] and box[1] <= y <= box[3])


def _ruled(table: Any, chars: list[dict[str, Any]], name: str, sheet: str) -> Grid:
    """Lay a ruled table's cells on the grid of all its lines; a cell that crosses some of them is a merged block."""
    xs = _edges([x for cell in table.cells for x in (cell[0], cell[2])])
    ys = _edges([y for cell in table.cells for y in (cell[1], cell[3])])
    rows = [[""] * (len(xs) - 1) for _ in range(len(ys) - 1)]
    spans: dict[Place, Place] = {}
    for cell in table.cells:
        left, right = _nearest(xs, cell[0]), _nearest(xs, cell[2])
        top, bottom = _nearest(ys, cell[1]), _nearest(ys, cell[3])
        if right <= left or bottom <= top:
            continue
        rows[top][left] = _text_of([char for char in chars if _inside(char, cell)])
        if (right - left, bottom - top) != (1, 1):
            spans |= {(r, c): (top, left) for r in range(top, bottom) for c in range(left, right)}
    height, width = len(rows), len(rows[0])
    rows = squared(rows)
    if len(rows) < height or (rows and len(rows[0]) < width):
        spans = {at: first for at, first in spans.items() if at[0] < len(rows) and at[1] < len(rows[0])}
    return Grid(name, sheet, rows, spans, lettered=False)


def _edges(values: list[float]) -> list[float]:
    found: list[float] = []
    for value in sorted(values):
        if not found or value - found[-1] > _SAME_EDGE:
            found.append(value)
    return found


def _nearest(edges: list[float], value: float) -> int:
    return min(range(len(edges)), key=lambda n: abs(edges[n] - value))


def _text_of(chars: list[dict[str, Any]]) -> str:
    """Return the text of a cell, turned or not."""
    if not chars:
        return ""
    turned = [char for char in chars if not char.get("upright", True)]
    if len(turned) * 2 > len(chars):
        return _turned_text(turned)
    return "\n".join(_lines_of(chars))


def _lines_of(chars: list[dict[str, Any]]) -> list[str]:
    from pdfplumber.utils import extract_text

    if not chars:
        return []
    size = sorted(char["size"] for char in chars)[len(chars) // 2]
    text = extract_text(chars, x_tolerance=max(1.0, 0.2 * size), y_tolerance=max(2.0, 0.3 * size))
    return [line.strip() for line in text.split("\n") if line.strip()]


def _turned_text(chars: list[dict[str, Any]]) -> str:
    """Read text that runs up the page, or down it, by the way its letters are turned."""
    up = sum(char["matrix"][1] > 0 for char in chars) * 2 >= len(chars)
    size = max(char["x1"] - char["x0"] for char in chars)
    lines: list[list[dict[str, Any]]] = []
    for char in sorted(chars, key=lambda char: char["x0"] if up else -char["x0"]):
        if lines and abs(lines[-1][0]["x0"] - char["x0"]) < 0.6 * size:
            lines[-1].append(char)
        else:
            lines.append([char])
    told = []
    for line in lines:
        line.sort(key=lambda char: -char["bottom"] if up else char["top"])
        text = ""
        for before, char in zip([None, *line], line, strict=False):
            gap = 0.0 if before is None else (before["top"] - char["bottom"] if up else char["top"] - before["bottom"])
            text += (" " if gap > 0.2 * size and not text.endswith(" ") else "") + char["text"]
        told.append(text.strip())
    return " ".join(text for text in told if text)


def _word_lines(page: Any) -> list[list[Cell]]:
    """Return the lines of a page, each as its cells: where one begins and ends, and its text."""
    words = page.extract_words(keep_blank_chars=False, use_text_flow=False, x_tolerance_ratio=0.15)
    lines: list[list[dict[str, Any]]] = []
    for word in sorted(words, key=lambda word: (word["top"] + word["bottom"]) / 2):
        middle = (word["top"] + word["bottom"]) / 2
        last = lines[-1][0] if lines else None
        if last is not None and abs((last["top"] + last["bottom"]) / 2 - middle) < 0.4 * (last["bottom"] - last["top"]):
            lines[-1].append(word)
        else:
            lines.append([word])
    found = []
    for line in lines:
        cells: list[Cell] = []
        for word in sorted(line, key=lambda word: word["x0"]):
            gap = _GAP * (word["bottom"] - word["top"])
            if cells and word["x0"] - cells[-1][1] < gap:
                cells[-1] = (cells[-1][0], word["x1"], f"{cells[-1][2]} {word['text']}")
            else:
                cells.append((word["x0"], word["x1"], word["text"]))
        found.append(cells)
    return found
