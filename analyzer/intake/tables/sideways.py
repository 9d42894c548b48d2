"""Tables that lie on their side, a row per point and the stamps side by side above them: turned."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from analyzer.intake.tables.decimals import decimal_sign, likely_sign
from analyzer.intake.tables.header import is_footer, looks_like_number
from analyzer.intake.tables.raw_table import RawTable, text_column
from analyzer.intake.words.stamps import is_stamp_number, looks_like_clock, looks_like_stamp
from analyzer.intake.words.units import is_unit, no_unit
from analyzer.intake.words.vocabulary import ROW_WORDS, UNIT_WORDS, fold

# Judgement, all that follows.
LEAST_STAMPS = 3  # in one row: a heading has one or two ("from ... to ...")
_LABELS = 6  # columns, the first, that may say what a row is
_LOOKED_AT = 12  # columns in which a row of data would have its stamp


def stamps_side_by_side(rows: Sequence[list[str]]) -> int | None:
    """Return the row that holds the stamps of a table on its side; None where the table stands upright.

    Parameters
    ----------
    rows : sequence of list of str
        The first rows, in cells.
    """
    at = next((n for n, cells in enumerate(rows) if _holds_stamps(cells)), None)
    if at is None or at + 1 >= len(rows):
        return None
    looked_at = rows[at][: _LABELS + 40]
    stamps = sum(map(looks_like_stamp, looked_at)) or len(_stamp_numbers(looked_at))
    if stamps < LEAST_STAMPS or 2 * stamps < len(looked_at):
        return None
    below = [cells for cells in rows[at + 1 :] if len(cells) > 1]
    return None if not below or any(map(looks_like_stamp, below[-1][:_LOOKED_AT])) else at


def _holds_stamps(cells: list[str]) -> bool:
    return any(map(looks_like_stamp, cells[: _LABELS + 1])) or len(_stamp_numbers(cells)) >= LEAST_STAMPS


def _stamp_numbers(cells: list[str]) -> list[float]:
    """Return stamps that are plain numbers, where a row has words, then these and nothing else, each after the last."""
    begin = next((n for n, cell in enumerate(cells[:_LABELS]) if looks_like_number(cell)), 0)
    if not begin or not any(cells[:begin]):
        return []
    try:
        numbers = [float(cell) for cell in cells[begin:]]
    except ValueError:
        return []
    rising = all(a < b for a, b in pairwise(numbers))
    return numbers if rising and all(map(is_stamp_number, numbers)) else []


def turn(rows: Sequence[list[str]], at: int, label: str, stem: str) -> RawTable:
    """Turn a table: its rows become columns, named by the cells before their values.

    Parameters
    ----------
    rows : sequence of list of str
        All rows.
    at : int
        The row of the stamps; what stands above it is no data.
    """
    head = rows[at]
    first = next((n for n, cell in enumerate(head) if looks_like_stamp(cell)), 0) or len(head) - len(
        _stamp_numbers(head)
    )
    body, not_data = list(rows[at + 1 :]), {"preamble": at - sum(not any(cells) for cells in rows[:at])}
    if body and _are_clocks(body[0], head, first):
        head = [
            f"{day} {clock}" if n >= first else day
            for n, (day, clock) in enumerate(zip(head, body.pop(0), strict=True))
        ]
    filled = [cells for cells in body if any(cells)]
    while filled and is_footer(filled[-1], [cell for cell in filled[-1] if cell], len(head)):
        filled.pop()
        not_data["footer"] = not_data.get("footer", 0) + 1
    blank = sum(not any(cells) for cells in rows)
    width = max([len(head), *map(len, filled)])
    if not first and width > len(head):
        head, first = [""] * (width - len(head)) + head, width - len(head)  # names without a heading
    filled = [cells + [""] * (width - len(cells)) for cells in filled]
    labels = list(zip(*(cells[:first] for cells in filled), strict=True))
    unit = next(
        (n for n, column in enumerate(labels) if fold(head[n]) in UNIT_WORDS or all(map(is_unit, column))), None
    )
    said = [n for n in range(first) if n != unit and fold(head[n]) not in ROW_WORDS]
    numbers = [cells[first:] for cells in filled]
    table = RawTable(
        label,
        stem,
        ["time", *(" ".join(cells[n] for n in said if cells[n]) or f"column {m}" for m, cells in enumerate(filled, 1))],
        [text_column(list(cells)) for cells in (head[first:] + [""] * (width - len(head)), *numbers)],
        [None, *(None if unit is None or no_unit(cells[unit]) else cells[unit] for cells in filled)],
        [" ".join(filter(None, cells)) for cells in rows[:at] if any(cells)],
        {kind: count for kind, count in (not_data | {"blank line": blank}).items() if count},
        decimal=decimal_sign(numbers) or likely_sign(numbers)[0],
        proven=decimal_sign(numbers) is not None,
    )
    table.assume("the table lies on its side, a row per point; it was turned.")
    if decimal_sign(numbers) is None and (doubt := likely_sign(numbers)[1]):
        table.assume(*doubt)
    return table


def _are_clocks(cells: list[str], head: list[str], first: int) -> bool:
    """Tell a row of times of day below days."""
    clocks = cells[first:]
    return len(cells) == len(head) and bool(clocks) and all(map(looks_like_clock, clocks))
