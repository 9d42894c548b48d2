"""Which rows of a table are its header, its units and its data: for text and for workbooks alike."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import islice

from analyzer.intake.tables.figure_dates import first_row_of_figures
from analyzer.intake.tables.stamp_parts import first_row_of_parts
from analyzer.intake.words.elapsed import first_row_that_counts
from analyzer.intake.words.names import read_quantity, tokens_of
from analyzer.intake.words.stamps import is_day_number, is_stamp_number, looks_like_clock, looks_like_stamp
from analyzer.intake.words.units import is_measure, is_unit
from analyzer.intake.words.values import BETWEEN_GROUPS
from analyzer.intake.words.vocabulary import SUMMARY_WORDS, TIME_WORDS, fold

# Judgement, all that follows.
STAMP_AMONG = 12  # columns, the first, one of which holds the stamp: before it stand row numbers, names and places
NUMBER_AMONG = 3  # columns, the first, one of which may hold a stamp that is a plain number: values look like one, too
_NEAR = 3  # rows from a header to its first row of data: a row of units and a blank one between
DAMAGED = 0.5  # share of a row's cells that are numbers and makes it one of data whose stamp is damaged
IN_UNITS = 0.5  # share of a row's cells that are units and makes it a units row: some points have none
# First words of lines that sum up, at the end of a table.
_SUMMARY = re.compile(rf"^\W*({'|'.join(SUMMARY_WORDS)})\b", re.IGNORECASE)
# A line drawn under a heading: "|-----|=====|", "----+----", "----,----"; it holds no letter and no figure.
_RULE = re.compile(r"^[\s|+:,;=_-]*(?:-{3}|={3}|_{3})[\s|+:,;=_-]*$")
_NUMBER = re.compile(rf"^\s*[-+]?(\d[\d.,{BETWEEN_GROUPS}]*)([eE][-+]?\d+)?\s*$")


@dataclass
class Head:
    """The top of a table.

    Attributes
    ----------
    first : int
        The first row of data.
    header, units_row : int or None
        The rows that hold names and units.
    names : list of str
        Made up where there is no header.
    units : list of str or None
    preamble : list of str
        What stands above the header.
    not_data : dict
        Rows that are no data, by kind.
    """

    first: int
    header: int | None = None
    units_row: int | None = None
    names: list[str] = field(default_factory=list)
    units: list[str] | None = None
    preamble: list[str] = field(default_factory=list)
    not_data: dict[str, int] = field(default_factory=dict)


def find_header(rows: list[list[str]]) -> Head | None:
    """Find header, units row and first row of data; None where no row holds a time stamp.

    Parameters
    ----------
    rows : list of list of str
        The first rows, in cells.
    """
    counts = first_row_that_counts(rows)
    first = _first_data_row(rows) if counts is None else counts
    if first is None:
        first = first_row_of_parts(rows)
    if first is None:
        first = first_row_of_figures(rows)
    clocks = _first_row_of_clocks(rows)
    if clocks is not None and not any(_stamp_place(row) is not None for row in rows[clocks:]):
        first = clocks  # what stands above tells their day
    if first is None:
        return None
    head = Head(first)
    width = len(rows[first])
    above = [n for n in range(first) if any(rows[n])]
    if above and is_units_row(rows[above[-1]], width):
        head.units_row = above.pop()
        head.units = rows[head.units_row]
        head.not_data["units row"] = 1
    if above and len(rows[above[-1]]) >= min(2, width):
        head.header = above.pop()
        head.names = rows[head.header]
        between = None
        if head.units is None and len(above) > 1 and _is_units_between(rows[above[-1]], rows[above[-2]], head.names):
            between = above.pop()
        if above and _is_upper_row(rows[above[-1]], head.names):
            upper, lower = rows[above.pop()], head.names
            head.names = _joined(upper, lower)
            if between is None and head.units is None and above and is_units_row(rows[above[-1]], len(upper)):
                between = above.pop()  # the units stand above all
            if between is not None:
                head.units, head.not_data["units row"] = rows[between], 1
            if head.units is not None:
                head.units = _spread_over(upper, lower, head.units)
    else:
        head.names = [f"column {number}" for number in range(1, width + 1)]
    head.preamble = [" ".join(filter(None, rows[n])) for n in above]
    blank = sum(not any(rows[n]) for n in range(first))
    head.not_data |= {kind: count for kind, count in (("preamble", len(above)), ("blank line", blank)) if count}
    return head


def _is_upper_row(upper: list[str], names: list[str]) -> bool:
    """Tell a second row of headers: as long, and the names under it stand several times over or lack the stamp's."""
    if len(upper) != len(names) or not any(upper[1:]):
        return False
    named = [name for name in names[1:] if name]
    return len(set(named)) < len(named) or (not names[0] and fold(upper[0]) in TIME_WORDS)


def _is_units_between(cells: list[str], upper: list[str], names: list[str]) -> bool:
    """Tell a units row between two rows of headers: it stands over as many names as the row above it does."""
    if len(cells) != len(names) or len(upper) != len(names) or not _is_upper_row(upper, names):
        return False
    filled = [n for n in range(1, len(cells)) if cells[n]]
    return is_units_row(cells, len(names)) and all(upper[n] for n in filled if not cells[n - 1])


def _spread_over(upper: list[str], names: list[str], units: list[str]) -> list[str]:
    """Give the unit over a quantity's first column to its others, where terminals stand under the quantity."""
    spread, last, quantity = [], "", False
    for over, name, unit in zip(upper, names, units + [""] * (len(upper) - len(units)), strict=False):
        if over:
            quantity, last = _says_quantity(over), ""
        last = unit or last
        spread.append(unit or (last if quantity and not _says_quantity(name) else ""))
    return spread


def _says_quantity(header: str) -> bool:
    words = tuple(token.low for token in tokens_of(header))
    return any(read_quantity(words, air_handler=kind) is not None for kind in (False, True))


def _joined(upper: list[str], names: list[str]) -> list[str]:
    """Put the upper row's words before the names under them; an empty cell goes on with the one before it."""
    joined, last = [], ""
    for over, name in zip(upper, names, strict=True):
        last = over or last
        joined.append(f"{last} {name}".strip() if name and name != last else name or last)
    return joined


def _first_data_row(rows: list[list[str]]) -> int | None:
    """Find the first row with its stamp where most rows have it, and as many cells as they have.

    A report's heading may hold stamps too ("Printed: ..."), and a damaged first row none.
    """
    shapes = [(len(row), _stamp_place(row)) for row in rows]
    stamped = Counter(shape for shape in shapes if shape[1] is not None)
    if not stamped:
        return None
    usual = max(stamped, key=lambda shape: (stamped[shape] * shape[0], shape))
    first = shapes.index(usual)
    while (below := _below_header(rows, shapes, usual, first)) is not None:
        first = below
    while first and _is_damaged_row(rows[first - 1], usual[0]):
        first -= 1
    return first


def _below_header(
    rows: list[list[str]], shapes: list[tuple[int, int | None]], usual: tuple[int, int | None], first: int
) -> int | None:
    """Return the row of data under the header that a line with but a moment (``Exported 1/23/2026``) stands above.

    None where the row is no such line: as wide as the others in a sheet, and a header between it and them.
    """
    if sum(map(bool, rows[first])) > 1 or usual not in shapes[first + 1 :]:
        return None
    below = shapes.index(usual, first + 1)
    header = any(shapes[n][1] is None and sum(map(bool, rows[n])) > 1 for n in range(first + 1, below))
    return below if header else None


def clock_place(header: list[str], is_clock: Callable[[int], bool]) -> int | None:
    """Return the first column that a word for time heads and that holds times of day; None where none does."""
    among = range(min(STAMP_AMONG, len(header)))
    return next((n for n in among if fold(header[n]) in TIME_WORDS and is_clock(n)), None)


def _first_row_of_clocks(rows: list[list[str]]) -> int | None:
    """Find the first row of times of day under a header; whoever asks has to find their date elsewhere."""
    for n, header in enumerate(rows):
        for m in range(n + 1, min(n + 1 + _NEAR, len(rows))):
            if _stamp_place(rows[m]) is not None:
                break
            clocks = {k for k, cell in enumerate(rows[m][:STAMP_AMONG]) if looks_like_clock(cell)}
            if clocks and clock_place(header, clocks.__contains__) is not None:
                return m
    return None


def _stamp_place(cells: list[str]) -> int | None:
    place = next((n for n, cell in enumerate(cells[:STAMP_AMONG]) if looks_like_stamp(cell)), None)
    return 0 if place is None and _holds_stamp_number(cells) else place


def _is_damaged_row(cells: list[str], width: int) -> bool:
    filled = [cell for cell in cells if cell]
    if any(fold(cell) in TIME_WORDS for cell in filled[:STAMP_AMONG]):
        return False  # a header whose points bear numbers
    numbers = sum(looks_like_number(cell) for cell in filled)
    return len(cells) == width and numbers >= 1 and numbers >= DAMAGED * (len(filled) - 1)


def holds_stamp(cells: list[str]) -> bool:
    return any(looks_like_stamp(cell) for cell in cells[:STAMP_AMONG]) or _holds_stamp_number(cells)


def _holds_stamp_number(cells: list[str]) -> bool:
    """Tell a row that begins with Unix time, a spreadsheet's day number or 20260125, and goes on with other cells."""
    for cell in cells[:NUMBER_AMONG]:
        if is_day_number(cell) and len(cells) > 2:
            return True
        try:
            if is_stamp_number(float(cell.replace(",", "."))) and len(cells) > 1:
                return True
        except ValueError:
            continue
    return False


def is_units_row(cells: list[str], width: int) -> bool:
    """Tell a row of units: at least half of its filled cells are units, and the first is none or a word for time."""
    filled = [cell for cell in cells if cell]
    if len(cells) < min(width, 2) or not filled:
        return False
    if not _enough(filled, is_unit):
        return False
    return any(map(is_measure, filled)) and not any(map(looks_like_stamp, filled))


def _enough(cells: list[str], test: Callable[[str], bool]) -> bool:
    """Tell whether ``IN_UNITS`` of the cells pass a test; a header of thousands of names fails it half-way through."""
    failed = (cell for cell in cells if not test(cell))
    return next(islice(failed, int(len(cells) * (1 - IN_UNITS)), None), None) is None


def is_footer(cells: list[str], filled: list[str], width: int) -> bool:
    """Tell a row after the data that sums it up or closes the table.

    Parameters
    ----------
    cells, filled : list of str
        The row's cells, and those that are not empty.
    width : int
        Of a row of data.
    """
    if holds_stamp(cells) and len(cells) >= min(width, 2):
        return False
    numbers = sum(bool(_NUMBER.match(cell)) for cell in filled)
    return is_sum(filled) or (numbers == 0 and len(filled) < max(2, width))


def is_rule(line: str) -> bool:
    """Tell a line that is drawn between a heading and its rows, or around a table."""
    return bool(_RULE.match(line))


def is_sum(filled: list[str]) -> bool:
    """Tell the filled cells of a line that sums a table up, by its first word."""
    return bool(_SUMMARY.match(filled[0]))


def looks_like_number(cell: str) -> bool:
    """Tell whether a cell is a number in any of the usual spellings."""
    return bool(_NUMBER.match(cell))
