"""Where in a grid the tables are: their headings, their rows, what stands between and under them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import takewhile

from analyzer.schedule.cells import Grid, Place
from analyzer.schedule.columns import Column, read_columns
from analyzer.schedule.figures import is_ditto, number_of
from analyzer.schedule.meaning import meaning_of
from analyzer.schedule.tag_columns import (
    is_body,
    is_numbering,
    is_tag_heading,
    is_type,
    says_box,
    says_tag,
    shape,
    tag_headings,
    tags_beneath,
    tags_without_heading,
    type_headings,
)  # fmt: skip
from analyzer.schedule.tags import looks_like_tag
from analyzer.schedule.types import key_of
from analyzer.schedule.words import fold, read_heading

_MOST_HEADINGS = 6  # rows of headings, a row of units and one of numbers among them
_TOTAL = re.compile(r"^\s*(?:SUB[- ]?|GRAND )?TOTALS?\b|^\s*SUM\b|^\s*AVERAGE\b|^\s*AVG\b", re.IGNORECASE)
_NOTES = re.compile(
    r"^\s*(?:GENERAL |SCHEDULE |KEYED |KEY(?:ED)? |SHEET )*(?:NOTES?|REMARKS|LEGEND|ABBREVIATIONS)\b\s*[:.]?",
    re.IGNORECASE,
)
_TITLE = re.compile(r"\bSCHEDULE\b|\bREPORT\b|\bTERMINALS?\b.*\bUNITS?\b|\bBALANC", re.IGNORECASE)
_NUMBERED_NOTE = re.compile(r"^\s*(?:\(?\d{1,2}[.)]|[A-Z][.)]|\*|NOTE\s*\d)\s*\S+\s+\S+", re.IGNORECASE)


@dataclass
class Table:
    """A table of a grid.

    Attributes
    ----------
    grid : Grid
    header : list of int
        Rows of headings.
    left, right : int
        Its columns, the last one not among them.
    tag_at : int
        The column of tags.
    columns : list of Column
        All but that of the tags.
    rows : list of int
        Rows of values.
    sections : list of (row, text)
        Lines between them that stand over a part of the rows.
    titles, notes : list of str
        What stands above it, and beneath.
    not_data : set of Place
        Cells of it that are no values, as in the file.
    by_type : bool
        Its rows are types of terminal, and its column of tags holds their keys.
    totals : list of int
        Rows that give totals.
    carried : list of str
        Lines over a part of the rows of the page before, which this table continues.
    """

    grid: Grid
    header: list[int]
    left: int
    right: int
    tag_at: int
    columns: list[Column] = field(default_factory=list)
    rows: list[int] = field(default_factory=list)
    sections: list[tuple[int, str]] = field(default_factory=list)
    titles: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    not_data: set[Place] = field(default_factory=set)
    end: int = 0
    by_type: bool = False
    totals: list[int] = field(default_factory=list)
    carried: list[str] = field(default_factory=list)

    @property
    def of_boxes(self) -> bool:
        """Whether the heading of its tags names terminals."""
        return any(says_box(self.grid.text(row, self.tag_at)) for row in self.header)

    @property
    def worth(self) -> int:
        """How much it says: its rows by its known columns."""
        known = [column for column in self.columns if column.name not in ("", "skip", "remarks")]
        return len(self.rows) * len(known)

    @property
    def width_known(self) -> int:
        """How many of its columns are figures or words that a schedule needs."""
        known = [column.name not in ("", "skip", "remarks", "quantity") for column in self.columns]
        staged = [any(part.stage for part in column.parts) for column in self.columns]
        return max(sum(known), sum(staged))


def find_tables(grid: Grid) -> list[Table]:
    """Return the tables of a grid, read as it stands or on its side, whichever says more."""
    upright = _tables(grid)
    plain, lone = grid.without_lone_lines()
    turned = _tables(plain.transposed())
    for table in turned:
        table.not_data |= lone
    if sum(table.worth for table in turned) > 1.2 * sum(table.worth for table in upright):
        return turned
    return upright


def _tables(grid: Grid) -> list[Table]:
    return _with_headings(grid, tag_headings) or _with_headings(grid, tags_without_heading)


def _with_headings(grid: Grid, look: Callable[[Grid, int], list[int]]) -> list[Table]:
    """Read the tables whose column of tags is found by what a row of headings holds."""
    found: list[Table] = []
    row, above = 0, 0
    while row < grid.height:
        tables = _tables_at(grid, row, look)
        if not tables:
            row += 1
            continue
        for table in tables:
            _read_rows(table)
            _titles(table, above)
        kept = [table for table in tables if table.rows and table.width_known]
        if not kept:
            row += 1
            continue
        found += kept
        row = above = max(max(table.end for table in kept), row + 1)
    return found


def _tables_at(grid: Grid, row: int, look: Callable[[Grid, int], list[int]]) -> list[Table]:
    """Return the tables whose headings stand in a row: of terminals, or else of types of terminal."""
    heads = look(grid, row)
    tables = [table for left, at, right in _ranges(grid, row, heads) if (table := _table(grid, row, left, at, right))]
    if tables or look is not tag_headings:
        return tables
    for at in heads or type_headings(grid, row):
        table = _table(grid, row, 0, at, grid.width, by_type=True)
        if table is not None and not _tags_beside(table):
            return [table]
    return []


def _tags_beside(table: Table) -> bool:
    """Tell whether another column holds tags of terminals, or the keys of types come more than once."""
    grid = table.grid
    typed = [is_type(grid, r, table.left, table.tag_at, table.right) for r in range(grid.height)]
    first = next((r for r in range(table.end, grid.height) if typed[r]), grid.height)
    rows = list(takewhile(lambda r: typed[r], range(first, grid.height)))
    keys = [key_of(grid.text(r, table.tag_at)) for r in rows]
    if len(set(keys)) < len(keys):
        return True
    for at in range(table.left, table.right):
        texts = [text for r in rows if (text := grid.text(r, at))]
        tags = [text for text in texts if looks_like_tag(text) and re.match(r"[A-Za-z]+[-_ .]?\d", text)]
        if at != table.tag_at and len(tags) * 2 > len(texts):
            return True
    return False


def _ranges(grid: Grid, row: int, heads: list[int]) -> list[tuple[int, int, int]]:
    """Part a row of headings into tables side by side: (first column, column of tags, end)."""
    if not heads:
        return []
    begins = [0]
    chosen = [heads[0]]
    for at in heads[1:]:
        apart = any(_blank(grid, column, row) for column in range(chosen[-1] + 1, at))
        again = [fold(grid.text(row, at + n)) for n in (0, 1) if at + n < grid.width] == [
            fold(grid.text(row, chosen[-1] + n)) for n in (0, 1) if at + n < grid.width
        ]
        if apart or again:
            gap = [column for column in range(chosen[-1] + 1, at) if _blank(grid, column, row)]
            begins.append(gap[-1] + 1 if gap else at)
            chosen.append(at)
        elif (tags_beneath(grid, row, at), says_tag(grid.text(row, at))) > (
            tags_beneath(grid, row, chosen[-1]), says_tag(grid.text(row, chosen[-1]))
        ):  # fmt: skip
            chosen[-1] = at
    ends = [*begins[1:], grid.width]
    return list(zip(begins, chosen, ends, strict=True))


def _blank(grid: Grid, column: int, row: int) -> bool:
    return not any(grid.text(r, column) for r in range(row, min(row + 6, grid.height)))


def _table(grid: Grid, row: int, left: int, at: int, right: int, *, by_type: bool = False) -> Table | None:
    """Find where the headings end and the values begin."""
    bottom = max(r for r in range(row, min(row + _MOST_HEADINGS, grid.height)) if grid.origin(r, at) == (row, at))
    first = bottom + 1
    fits = is_type if by_type else is_body
    while first < grid.height and not fits(grid, first, left, at, right):
        if first - row > _MOST_HEADINGS or is_tag_heading(grid.text(first, at)):
            return None
        first += 1
    if first >= grid.height:
        return None
    while first - 1 > bottom and (
        _is_section(grid, first - 1, left, at, right) or not grid.filled(first - 1, left, right)
    ):
        first -= 1
    top = row
    while top > 0 and row - top < 4 and _heads_group(grid, top - 1, left, right, at):
        top -= 1
    header = [r for r in range(top, first) if grid.filled(r, left, right)]
    table = Table(grid, header, left, right, at, end=first, by_type=by_type)
    numbered = [r for r in header if is_numbering(grid, r, left, right)]
    table.header = [r for r in header if r not in numbered]
    for r in header:
        table.not_data |= {grid.plain(*cell) for cell in grid.filled(r, left, right)}
    table.columns = [
        column for column in read_columns(grid, table.header, left, right, first)
        if column.at != at and (column.heading or _any_value(grid, column.at, first))
    ]  # fmt: skip
    beside = [column.at for column in table.columns if _is_notes_beside(grid, column.at, top)]
    table.columns = [column for column in table.columns if column.at not in beside]
    for column in beside:
        cells = {grid.origin(r, column) for r in range(top, grid.height) if grid.text(r, column)}
        table.notes += [grid.text(*cell) for cell in sorted(cells)]
        table.not_data |= {grid.plain(*cell) for cell in cells}
    return table


def _is_notes_beside(grid: Grid, at: int, top: int) -> bool:
    """Tell whether a column holds the notes of a table, one below the other."""
    texts = [text for r in range(top, grid.height) if (text := grid.text(r, at))]
    notes = sum(bool(re.match(r"\s*\(?\d{1,2}[.)]\s+[A-Za-z]+\s", text)) for text in texts)
    return notes > 1 and notes * 2 > len(texts)


def _any_value(grid: Grid, at: int, first: int) -> bool:
    return any(grid.text(r, at) for r in range(first, grid.height))


def _alone(grid: Grid, row: int, left: int, right: int) -> str | None:
    """Return the text of a row that holds one text and nothing else."""
    filled = grid.filled(row, left, right)
    return grid.text(*filled[0]) if len(filled) == 1 else None


def _is_section(grid: Grid, row: int, left: int, at: int, right: int) -> bool:
    """Tell whether a row holds one line over the rows that follow, and no heading of a column."""
    text = _alone(grid, row, left, right)
    if text is None or read_heading(text).only_units:
        return False
    return grid.filled(row, left, right)[0][1] <= at or not _heads(grid, row, left, right)


def _heads(grid: Grid, row: int, left: int, right: int) -> bool:
    texts = [grid.text(*cell) for cell in grid.filled(row, left, right)]
    return any((told := read_heading(text)).units or meaning_of(told).name for text in texts)


def _heads_group(grid: Grid, row: int, left: int, right: int, at: int) -> bool:
    """Tell whether a row over the headings groups them, and is no title of the sheet."""
    filled = grid.filled(row, left, right)
    if not filled:
        return False
    texts = [grid.text(*cell) for cell in filled]
    if any(re.search(r"\bSCHEDULE\b|\bREPORT\b|:\s*\S", text, re.IGNORECASE) for text in texts):
        return False
    if len(filled) == 1:
        begin = filled[0][1]
        width = sum(grid.origin(row, c) == filled[0] for c in range(left, right))
        if begin <= at and not (begin > left and width < (right - left) * 0.6) or width > 0.8 * (right - left):
            return False
    told = [read_heading(text) for text in texts]
    numbers = sum(number_of(text) is not None for text in texts)
    return numbers <= len(texts) / 3 and any(heading.concepts or heading.units for heading in told)


def _read_rows(table: Table) -> None:
    """Part what stands under the headings into values, sections, repeated headings, totals and notes."""
    grid, left, right, at = table.grid, table.left, table.right, table.tag_at
    heads = {tuple(fold(grid.text(r, c)) for c in range(left, right)) for r in table.header}
    row, notes = table.end, False
    for early in range(max(table.header, default=0) + 1, row):  # a section's line right under the headings
        text = _alone(grid, early, left, right)
        if text is not None:
            table.sections.append((early, text))
            table.not_data |= {grid.plain(*cell) for cell in grid.filled(early, left, right)}
    while row < grid.height:
        filled = grid.filled(row, left, right)
        texts = [grid.text(*cell) for cell in filled]
        places = {grid.plain(*cell) for cell in filled}
        if not filled:
            row += 1
            continue
        if tuple(fold(grid.text(row, c)) for c in range(left, right)) in heads or is_numbering(grid, row, left, right):
            table.not_data |= places
        elif _new_table(grid, row, table):
            row = _give_back_titles(table, row)
            break
        elif notes or _NOTES.match(texts[0]) or (len(filled) == 1 and _NUMBERED_NOTE.match(texts[0])):
            notes = True
            table.notes += [" = ".join(texts)] if len(texts) == 2 else texts
            table.not_data |= places
        elif any(_TOTAL.match(text) for text in texts[:2]):
            table.totals.append(row)
            table.not_data |= places
        elif len(filled) == 1 and not (looks_like_tag(texts[0]) and filled[0][1] == at and _alike(table, texts[0])):
            table.sections.append((row, texts[0]))
            table.not_data |= places
        elif _repeats(table, row):
            table.not_data |= places
        else:
            table.rows.append(row)
        row += 1
    table.end = row
    last = max(table.rows, default=table.end)
    table.notes += [text for at, text in table.sections if at > last]
    table.sections = [(at, text) for at, text in table.sections if at < last]


def _give_back_titles(table: Table, row: int) -> int:
    """Leave the lines that stand between a table's last values and other headings to these; return where they begin."""
    last = max(table.rows, default=table.end)
    over = [at for at, _ in table.sections if last < at < row]
    table.sections = [(at, text) for at, text in table.sections if at not in over]
    table.not_data -= {
        table.grid.plain(*cell) for at in over for cell in table.grid.filled(at, table.left, table.right)
    }
    return min(over, default=row)


def notes_of_sheet(grid: Grid) -> list[str]:
    """Return the lines of a sheet of notes or of a legend, whose two cells beside each other are what is meant."""
    lines = [[grid.text(*cell) for cell in grid.filled(row)] for row in range(grid.height)]
    lines = [texts for texts in lines if texts]
    if not lines or not (_NOTES.match(grid.sheet) or _NOTES.match(lines[0][0])):
        return []
    return [" = ".join(texts) if len(texts) == 2 else " ".join(texts) for texts in lines]


def _is_note(line: str) -> bool:
    return bool(_NOTES.match(line) or _NUMBERED_NOTE.match(line))


def _alike(table: Table, text: str) -> bool:
    """Tell whether a text alone in its row is a tag like those of the rows before."""
    grid = table.grid
    shapes = {shape(grid.text(row, table.tag_at)) for row in table.rows}
    return shape(text) in shapes


def _repeats(table: Table, row: int) -> bool:
    """Tell whether a row has headings again: a new page of the same table, its headings a little different."""
    tag = table.grid.text(row, table.tag_at)
    if tag and looks_like_tag(tag) and re.search(r"\d", tag):
        return False
    texts = [table.grid.text(*cell) for cell in table.grid.filled(row, table.left, table.right)]
    if any(number_of(text) is not None or is_ditto(text) for text in texts):
        return False
    known = sum(bool((told := read_heading(text)).units or meaning_of(told).name) for text in texts)
    return known >= 2 and known >= 0.6 * len(texts)


def _new_table(grid: Grid, row: int, table: Table) -> bool:
    """Tell whether other headings begin in a row."""
    heads = tag_headings(grid, row)
    return any(
        table.left <= at < table.right and _heads(grid, row, table.left, table.right) for at in heads
    ) and not any(number_of(grid.text(*cell)) is not None for cell in grid.filled(row, table.left, table.right))


def _titles(table: Table, above: int) -> None:
    """Take what stands over a table as its titles."""
    grid = table.grid
    top = min(table.header, default=0)
    for row in range(above, top):
        cells = grid.filled(row, table.left, table.right)
        texts = [grid.text(*cell) for cell in cells]
        for n, cell in enumerate(cells):
            labels = texts[n].endswith(":") and n + 1 < len(cells)  # "STOREY:" and its number in the cell beside it
            table.titles.append(f"{texts[n]} {texts[n + 1]}" if labels else texts[n])
            table.not_data.add(grid.plain(*cell))
    named = [line for line in grid.loose if line in grid.above or _TITLE.search(line) and not _is_note(line)]
    named += [line for line in grid.above if line not in named]
    table.titles += [*named, *([] if grid.sheet.startswith("page ") else [grid.sheet])]
    table.notes += [line for line in grid.loose if line not in named]
