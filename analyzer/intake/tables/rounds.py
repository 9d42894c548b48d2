"""Rounds: a row per terminal without a stamp, under a line with the moment at which all of them were read."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from analyzer.intake.limits import MEBIBYTE
from analyzer.intake.tables.export_text import ExportText
from analyzer.intake.tables.header import is_footer, is_rule, is_units_row, looks_like_number
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.sniff import DELIMITERS, split
from analyzer.intake.words.letters import plain
from analyzer.intake.words.stamps import looks_like_clock, looks_like_stamp, stamp_at_end
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.vocabulary import MOMENT_WORDS, NAME_WORDS, ROW_WORDS, TAG_WORDS, TIME_WORDS, fold

LARGEST = 32 * MEBIBYTE  # bytes; such files are written by people and small scripts
# Judgement, all that follows.
_TOP = 30  # rows, the first, among which the first moment stands
_AMONG = 12  # columns, the first, that hold no stamps
_OWNER_AMONG = 3  # columns, the first, one of which names what was read
_LONGEST = 80  # letters of a line that tells a moment
_DATED = re.compile(r"\d{1,4}\s?[-/. ]\s?\w{1,9}\.?\s?[-/. ,]\s?\d{1,4}|(?:19|20)\d{6}")
_CLOCK = re.compile(r"\d[:hH.]\d\d")
_NO_MOMENT = ("time", "")  # beside a header, and a row of units
_SIGNS = " \t=*#-_~>|<+"
_WORD = re.compile(r"[^\W\d_]+")


@dataclass
class Rounds:
    """Which rows of a sheet or a text are what.

    Attributes
    ----------
    above : list of int
        The rows above the first moment and the first header.
    rows : list of (int, str)
        Headers, rows of units and of data in their order, each with the moment that stands above it; a header with
        the word for one, a row of units with nothing.
    moments : int
        How many there are.
    again, footers : int
        How many headers stand again, and lines that are no data.
    told : bool
        Whether the first line of a moment says that it tells one (``Taken``, ``Date``), and not that of a print.
    """

    above: list[int] = field(default_factory=list)
    rows: list[tuple[int, str]] = field(default_factory=list)
    moments: int = 0
    again: int = 0
    footers: int = 0
    told: bool = False

    @property
    def headers(self) -> int:
        """How many headers there are that differ."""
        return sum(stamp == _NO_MOMENT[0] for _, stamp in self.rows)

    def sure(self, *others: Rounds) -> bool:
        """Tell whether the moments, with those of others of the same export, are those at which rows were read."""
        seen = {stamp for each in (self, *others) for _, stamp in each.rows if stamp not in _NO_MOMENT}
        return len(seen) > 1 or (self.told and bool(seen))

    def not_data(self) -> dict[str, int]:
        """Return the lines that are no data, and no part of what is read on, by kind."""
        counts = {"preamble": self.moments, "repeated header": self.again, "footer": self.footers}
        return {kind: count for kind, count in counts.items() if count}


def moment_in(cells: Sequence[str]) -> str | None:
    """Return the stamp of a row that holds one with a time of day and, beside it, words alone; else None.

    Examples
    --------
    >>> moment_in(["Taken", "2025-04-14 07:00:00", "", "by", "R. O."]), moment_in(["2025-04-14 07:00", "21.5"])
    ('2025-04-14 07:00:00', None)
    """
    filled = [text for cell in cells if (text := cell.strip(_SIGNS))]
    if not filled or sum(map(len, filled)) > _LONGEST or not any(map(_DATED.search, filled)):
        return None
    if any(map(looks_like_number, filled)):
        return None
    stamps = [cell for cell in filled if looks_like_stamp(cell)]
    clocks = [cell for cell in filled if looks_like_clock(cell)]
    if len(stamps) == 1:
        if _CLOCK.search(stamps[0]):
            return None if clocks else stamps[0]
        return f"{stamps[0]} {clocks[0]}" if len(clocks) == 1 else None
    ends = [stamp for cell in filled if (stamp := stamp_at_end(cell))]
    return ends[0] if len(ends) == 1 and not stamps and _CLOCK.search(ends[0]) else None


def find_rounds(rows: Sequence[list[str]]) -> Rounds | None:
    """Find the rounds of a sheet or a text; None where the rows have stamps of their own, or none stands above them.

    Parameters
    ----------
    rows : sequence of list of str
        All rows, in cells.
    """
    top = [n for n, cells in enumerate(rows[:_TOP]) if any(cells)]
    first = next((n for n in top if moment_in(rows[n])), None)
    if first is None:
        return None
    header = _header_by(rows, first)
    if header is None:
        return None
    found = Rounds(above=[n for n in range(first) if n != header and any(rows[n])])
    names = rows[header]
    found.rows.append((header, _NO_MOMENT[0]))
    moments: list[str] = []
    seen: set[str] = set()
    owner = _owner(names)
    after_header = header > first
    for n in range(first, len(rows)):
        cells = rows[n]
        filled = [cell for cell in cells if cell]
        if n == header or not filled:
            continue
        if (moment := moment_in(cells)) is not None:
            moments.append(moment)
            seen, after_header = set(), False
        elif cells == names:
            found.again += 1
            after_header = True
        elif _is_header(cells) and not seen:
            names, owner = cells, _owner(cells)  # other columns from here on
            found.rows.append((n, _NO_MOMENT[0]))
            after_header = True
        elif after_header and not seen and is_units_row(cells, len(names)):
            found.rows.append((n, _NO_MOMENT[1]))
        elif is_footer(cells, filled, len(names)) and not any(map(looks_like_number, filled)):
            found.footers += 1
        elif _is_row(cells, names, owner, seen):
            seen.add(cells[owner])
            found.rows.append((n, moments[-1]))
        else:
            return None
    found.moments, found.told = len(moments), _says_moment(rows[first])
    return found if _hold_values(rows, found) else None


def _header_by(rows: Sequence[list[str]], first: int) -> int | None:
    """Return the header below the first moment, or the one right above it."""
    below = next((n for n in range(first + 1, min(len(rows), first + _TOP)) if any(rows[n])), None)
    above = next((n for n in reversed(range(first)) if any(rows[n])), None)
    return next((n for n in (below, above) if n is not None and _is_header(rows[n])), None)


def _is_header(cells: list[str]) -> bool:
    """Tell a row that names columns, one of which names what was read and none of which holds times."""
    filled = [cell for cell in cells if cell]
    if len(filled) < 2 or any(map(looks_like_number, filled)) or any(map(looks_like_stamp, filled)):
        return False
    words = [fold(take_unit(cell)[0]) for cell in cells]
    return any(word in TAG_WORDS | NAME_WORDS for word in words[:_OWNER_AMONG]) and TIME_WORDS.isdisjoint(words)


def _owner(names: list[str]) -> int:
    words = [fold(take_unit(name)[0]) for name in names[:_OWNER_AMONG]]
    return next(n for kind in (TAG_WORDS, NAME_WORDS) for n, word in enumerate(words) if word in kind)


def _is_row(cells: list[str], names: list[str], owner: int, seen: set[str]) -> bool:
    """Tell a row of data: it names what was read, once in its round, and holds no stamp."""
    if not owner < len(cells) <= len(names) or not cells[owner] or cells[owner] in seen:
        return False
    return not any(looks_like_stamp(cell) or looks_like_clock(cell) for cell in cells[:_AMONG])


def _hold_values(rows: Sequence[list[str]], found: Rounds) -> bool:
    """Tell rows of values from a dated list of names: most hold a number that is none of the row."""
    names = [fold(name) for name in rows[found.rows[0][0]]]
    data = [rows[n] for n, stamp in found.rows if stamp not in _NO_MOMENT]
    owner = _owner(rows[found.rows[0][0]])
    plain_rows = [
        [cell for n, cell in enumerate(cells) if n != owner and (n >= len(names) or names[n] not in ROW_WORDS)]
        for cells in data
    ]
    return 2 * sum(any(map(looks_like_number, cells)) for cells in plain_rows) > len(data)


def _says_moment(cells: list[str]) -> bool:
    return any(word in MOMENT_WORDS for cell in cells for word in _WORD.findall(plain(cell)))


def lay_rounds(text: ExportText) -> tuple[ExportText, Rounds] | None:
    """Return a text whose rows have the moments that stand above them; None where these are no rounds."""
    if text.size > LARGEST:
        return None
    top = text.part(0, MEBIBYTE // 8).decode("utf-8", "replace").splitlines()
    if not _may_begin(top):
        return None
    # The first moment stands near the top: most files are not read here to their end.
    delimiters = [sign for sign in DELIMITERS if any(map(moment_in, _cut(top[:_TOP], sign)))]
    lines = text.whole(0, text.size).decode("utf-8", "replace").splitlines() if delimiters else []
    for delimiter in delimiters:
        found = find_rounds(_cut(lines, delimiter))
        if found is None or not found.sure():
            continue
        laid = [lines[n] for n in found.above]
        for n, stamp in found.rows:
            laid.append(f'"{stamp}"{delimiter}{lines[n]}' if delimiter in stamp else f"{stamp}{delimiter}{lines[n]}")
        return ExportText(text.label, ("\n".join(laid) + "\n").encode("utf-8"), text.encoding), found
    return None


def _cut(lines: list[str], delimiter: str) -> list[list[str]]:
    return [[] if is_rule(line) else split(line, delimiter) for line in lines]


def _may_begin(lines: list[str]) -> bool:
    """Tell quickly whether a line with a date stands before or behind one that may be a header: in most files none."""
    top = [line for line in lines[: 2 * _TOP] if line.strip()][:_TOP]
    dated = [bool(_DATED.search(line[:_LONGEST])) and len(line) <= 2 * _LONGEST for line in top]
    plain_line = [not re.search(r"^\W*\d", line) and not _DATED.search(line) for line in top]
    return any(
        dated[n]
        and any(plain_line[m] for m in (n - 1, n + 1) if 0 <= m < len(top))
        and not re.match(r"\W*\d+\W*$", top[n])
        for n in range(len(top))
    )


def say_rounds(tables: list[RawTable], found: list[Rounds]) -> list[RawTable]:
    """Say of tables of rounds what their rows were given, and count the lines that are no data."""
    for each in found:
        tables[0].count_not_data(each.not_data())
    tables[0].assume(
        "its rows have no stamps; each was given the moment of the line above it, of which there are {detail}.",
        sum(each.moments for each in found),
    )
    return tables
