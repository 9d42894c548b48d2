"""Text without rules as a grid: its columns by the gaps that its rows of values have in common."""

from __future__ import annotations

import re

from analyzer.schedule.cells import Grid, Place, squared

Cell = tuple[float, float, str]  # where a cell of a line begins and ends, and its text
_FEWEST_CELLS = 3  # of a line that is a row of a table


def grid_of_lines(lines: list[list[Cell]], name: str, sheet: str) -> Grid:
    """Part lines of words into columns by the gaps that their rows of values have in common."""
    layout = _columns_of_lines(lines)
    widest = max(map(len, layout), default=0)
    if widest < 2:
        return Grid(name, sheet, squared([[cell[2] for cell in line] for line in lines]), lettered=False)
    rows: list[list[str]] = []
    spans: dict[Place, Place] = {}
    for line, columns in zip(lines, layout, strict=True):
        texts = [""] * widest
        for x0, x1, text in line:
            over = [n for n, (left, right) in enumerate(columns) if min(x1, right) - max(x0, left) > 0]
            over = over or _either_side(columns, x0, x1, text)
            at = over[0]
            texts[at] = f"{texts[at]} {text}".strip()
            if len(over) > 1 and not any(texts[n] for n in over[1:]):
                spans |= {(len(rows), n): (len(rows), at) for n in over}
        rows.append(texts)
    rows = squared(rows)
    spans = {at: first for at, first in spans.items() if at[0] < len(rows) and at[1] < len(rows[0])}
    return Grid(name, sheet, rows, spans, lettered=False)


def _either_side(columns: list[tuple[float, float]], x0: float, x1: float, text: str) -> list[int]:
    """Return the columns on both sides of a text that stands between them: it heads both. A figure has the nearer."""
    nearest = min(range(len(columns)), key=lambda n: abs(sum(columns[n]) / 2 - (x0 + x1) / 2))
    left = [n for n, (_, end) in enumerate(columns) if end <= x0]
    if not left or left[-1] + 1 >= len(columns) or re.match(r"[-+]?[\d.,]", text):
        return [nearest]
    return [left[-1], left[-1] + 1]


def _figures(line: list[Cell]) -> int:
    return sum(bool(re.match(r"[-+]?[\d.,]+|[-–—]$|N/A$", text)) for _, _, text in line)


def _columns_of_lines(lines: list[list[Cell]]) -> list[list[tuple[float, float]]]:
    """Return for each line the columns of the block that it is part of.

    A block is a run of rows of values no two cells of which would share a column; the lines over it belong to it.
    """
    blocks: list[list[list[Cell]]] = []
    of_line: list[int] = []
    for line in lines:
        of_line.append(len(blocks) - 1 if blocks else 0)
        if not _is_of_values(line):
            continue
        if not blocks or _would_share(_common_columns([*blocks[-1], line]), [*blocks[-1], line]):
            blocks.append([])
        blocks[-1].append(line)
        of_line[-1] = len(blocks) - 1
    columns = [_common_columns(block) for block in blocks] or [[]]
    owners, owner = [], len(columns) - 1
    for line, at in zip(reversed(lines), reversed(of_line), strict=True):
        owner = at if _is_of_values(line) or at == len(columns) - 1 else owner
        owners.append(owner)
    return [columns[at] for at in reversed(owners)]


def _is_of_values(line: list[Cell]) -> bool:
    return len(line) >= _FEWEST_CELLS and _figures(line) * 2 >= len(line)


def _would_share(columns: list[tuple[float, float]], lines: list[list[Cell]]) -> bool:
    """Tell whether two cells of one line lie in the same column."""

    def at(x0: float) -> int:
        return next(n for n, (left, right) in enumerate(columns) if left <= x0 <= right)

    return any(len({at(x0) for x0, _, _ in line}) < len(line) for line in lines)


def _common_columns(lines: list[list[Cell]]) -> list[tuple[float, float]]:
    """Return the columns that rows of values share: their cells' extents, put together where they overlap."""
    found: list[tuple[float, float]] = []
    for x0, x1 in sorted((x0, x1) for line in lines for x0, x1, _ in line):
        if found and x0 < found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], x1))
        else:
            found.append((x0, x1))
    return found
