"""Look at the head and tail of a text export: its dialect, and which of its lines are data."""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass, field
from functools import lru_cache

from analyzer.errors import ExportError
from analyzer.intake.limits import LONGEST_LINE, MOST_COLUMNS
from analyzer.intake.tables.decimals import decimal_sign, likely_sign
from analyzer.intake.tables.export_text import ExportText, endless_line
from analyzer.intake.tables.header import find_header, holds_stamp, is_footer, is_rule
from analyzer.intake.tables.several import refuse_rows_above, several_headers
from analyzer.intake.tables.sideways import stamps_side_by_side
from analyzer.intake.words.stamps import looks_like_stamp
from analyzer.intake.words.vocabulary import TIME_WORDS, fold

DELIMITERS = (",", ";", "\t", "|")
_HEAD_BYTES = 512 * 1024
_HEAD_LINES = 200
_LEAST_LINES = 12  # however long they are
_ENOUGH_BYTES = 96 * 1024  # of head; with as many lines as is asked for next
_ENOUGH_LINES = 60
_USUAL_LINE = 64 * 1024
_SAMPLE_LINES = 50
_TAIL_BYTES = 64 * 1024
_TAIL_LINES = 40
_OPEN_QUOTE = re.compile(r'(?:^|[,;\t|])\s*"[^"]*$')
_CELL = re.compile(r"[,;\t|]")


class NoTable(ExportError):
    """A file holds no table with time stamps."""


@dataclass
class Dialect:
    """What the head and tail tell.

    Attributes
    ----------
    delimiter, decimal : str
    names : list of str
        The header's cells; made up where there is no header.
    units : list of str or None
        The units row's cells.
    preamble : list of str
        The lines before the header.
    begin, end : int
        The bytes of the data.
    header_line, units_line, rule_line : bytes or None
        As they stand in the file, to find them again among the data.
    not_data : dict
        Lines that are no data, by kind.
    sample : list of list of str
        The first lines of data, in cells.
    loose_quotes : bool
        Whether spaces, or the equals sign that makes a spreadsheet take a cell for text, stand before quotes.
    doubt : tuple of str or None
        What is open about the decimal sign: a remark's sentence and its detail.
    stump : str
        The cell with which the last line breaks off; it is no part of the data.
    several : bool
        Whether another header begins another table among the first lines; then but the names of one is told.
    sideways : int or None
        The line that holds the stamps of a table on its side; then nothing else is told.
    """

    delimiter: str = ","
    decimal: str = "."
    names: list[str] = field(default_factory=list)
    units: list[str] | None = None
    preamble: list[str] = field(default_factory=list)
    begin: int = 0
    end: int = 0
    header_line: bytes | None = None
    units_line: bytes | None = None
    rule_line: bytes | None = None
    not_data: dict[str, int] = field(default_factory=dict)
    sample: list[list[str]] = field(default_factory=list)
    loose_quotes: bool = False
    doubt: tuple[str, str] | None = None
    stump: str = ""
    several: bool = False
    sideways: int | None = None

    def count(self, kind: str, lines: int = 1) -> None:
        """Count lines that are no data."""
        self.not_data[kind] = self.not_data.get(kind, 0) + lines

    @property
    def width(self) -> int:
        """The most cells that a row is known to have."""
        return max(map(len, [self.names, self.units or [], *self.sample]))


@dataclass
class _Line:
    begin: int
    end: int
    text: str


def sniff(text: ExportText, *, one: bool = False) -> Dialect:
    """Find the dialect, the header and where the data begins and ends.

    Parameters
    ----------
    one : bool
        Take it for one table, whatever headers stand further down.

    Raises
    ------
    ExportError
        The file is empty, a line or the number of columns is over its limit, or no line holds a time stamp.
    """
    label = text.label
    lines = _head_lines(text)
    dialect = Dialect(end=text.size)
    start = _named_delimiter(lines, dialect)
    whole = lines[start:]
    lines = _without_rules(whole, dialect)
    known: dict[str, list[str]] = {}
    if not start:
        dialect.delimiter, known = _delimiter(lines)
    rows = [known.get(line.text) or split(line.text, dialect.delimiter) for line in lines]
    dialect.sideways = stamps_side_by_side(rows)
    if dialect.sideways is not None:
        dialect.sideways = start + whole.index(lines[dialect.sideways])
        return dialect
    head = find_header(rows)
    if head is None:
        raise NoTable(
            label,
            "no time stamp was found",
            "Export it as a table with a time stamp in every row, or leave it out.",
            place=f"lines 1 to {len(lines)}",
        )
    dialect.names, dialect.units, dialect.preamble = head.names, head.units, head.preamble
    if not one and several_headers(rows, head.header):
        dialect.several = True
        return dialect
    dialect.header_line, dialect.units_line = (
        None if n is None else lines[n].text.encode("utf-8") for n in (head.header, head.units_row)
    )
    for kind, count in head.not_data.items():
        dialect.count(kind, count)
    dialect.begin = lines[head.first].begin
    dialect.sample = rows[head.first : head.first + _SAMPLE_LINES]
    width = dialect.width
    if width > MOST_COLUMNS:
        named = width == len(dialect.names)  # a line below the header is read in part only
        raise ExportError(
            label,
            f"has {width if named else f'more than {MOST_COLUMNS}'} columns; allowed are {MOST_COLUMNS}",
            "Split the export by terminal.",
            place="header" if named else f"line {start + whole.index(lines[head.first]) + 1}",
        )
    top = head.first if head.header is None else head.header
    refuse_rows_above(rows, top, label, f"lines 1 to {start + top}")
    loose = before_quotes(dialect.delimiter)
    dialect.loose_quotes = any(
        loose.search(line.text) for line in lines[head.first :][:_SAMPLE_LINES] if '"' in line.text
    )
    if head.header is not None:
        _fit_names(dialect, label, f"line {start + whole.index(lines[head.first]) + 1}")
    _cut_stump(text, dialect, rows[head.first :])
    _cut_footer(text, dialect, len(rows[head.first]))
    _settle_decimals(text, dialect)
    return dialect


def split(text: str, delimiter: str) -> list[str]:
    """Split one line into its cells, quotes taken off."""
    if '"' not in text:
        return list(map(str.strip, text.split(delimiter))) if text else []
    text = before_quotes(delimiter).sub(r'\1"', text)
    try:
        return [cell.strip() for cell in next(csv.reader([text], delimiter=delimiter, skipinitialspace=True), [])]
    except csv.Error:
        return [cell.strip() for cell in text.split(delimiter)]


@lru_cache
def before_quotes(delimiter: str) -> re.Pattern[str]:
    """Return what finds cells whose quotes do not stand first, ``; "21.5"`` and ``;="21.5"``; group 1 parts them."""
    return re.compile(rf'(^|{re.escape(delimiter)})(?: +|=)"', re.MULTILINE)


def _head_lines(text: ExportText) -> list[_Line]:
    """Return the first lines."""
    data = text.part(0, _HEAD_BYTES + _USUAL_LINE)
    if not data.strip() and not text.part(0, text.size).strip():
        raise NoTable(text.label, "is empty", "Export it again, or leave it out.")
    while data.count(b"\n") < _LEAST_LINES and len(data) < text.size and _may_go_on(data):
        longer = text.part(0, 2 * len(data))  # a header of tens of thousands of names, and rows as long
        if len(longer) <= len(data):
            raise ExportError(
                text.label, "became shorter while it was read", "Wait until it is written to its end, and try again."
            )
        data = longer
    lines: list[_Line] = []
    begin = 0
    while begin < text.size and len(lines) < _HEAD_LINES:
        if len(lines) >= _LEAST_LINES and (begin >= _HEAD_BYTES or begin >= len(data)):
            break
        if begin > _ENOUGH_BYTES and len(lines) >= _ENOUGH_LINES:
            break  # a wide table tells with fewer
        end = data.find(b"\n", begin, begin + LONGEST_LINE + 1)
        if end < 0:
            if text.size - begin > LONGEST_LINE:
                raise endless_line(text.label, len(lines) + 1)
            end = text.size
        lines.append(_Line(begin, end + 1, data[begin:end].decode("utf-8", "replace").rstrip("\r")))
        begin = end + 1
    return _joined(lines)


def _may_go_on(data: bytes) -> bool:
    """Tell whether the line that is not ended yet may still be within the limit."""
    return len(data) - (data.rfind(b"\n") + 1) <= LONGEST_LINE


def _joined(lines: list[_Line]) -> list[_Line]:
    """Put lines together that are one: a name in quotes may go on in the next line."""
    joined: list[_Line] = []
    at = 0
    while at < len(lines):
        line, last = lines[at], at
        if line.text.count('"') % 2 and _OPEN_QUOTE.search(line.text):
            quotes = line.text.count('"')
            while quotes % 2 and last + 1 < len(lines) and not holds_stamp(_CELL.split(lines[last + 1].text)):
                last += 1
                quotes += lines[last].text.count('"')
            if quotes % 2:
                last = at  # it is never closed: no quote that opens a cell
        whole = (
            line if last == at else _Line(line.begin, lines[last].end, " ".join(n.text for n in lines[at : last + 1]))
        )
        joined.append(whole)
        at = last + 1
    return joined


def _without_rules(lines: list[_Line], dialect: Dialect) -> list[_Line]:
    """Leave out the lines that are drawn above and under a heading, as query tools print them."""
    ruled = [line for line in lines if is_rule(line.text)]
    if ruled:
        dialect.rule_line = ruled[-1].text.encode("utf-8")
        dialect.count("rule", len(ruled))
    return [line for line in lines if not is_rule(line.text)]


def _named_delimiter(lines: list[_Line], dialect: Dialect) -> int:
    """Take a first line ``sep=;`` at its word."""
    match = re.match(r"^\W*sep=(.)\W*$", lines[0].text, re.IGNORECASE) if lines else None
    if not match:
        return 0
    dialect.delimiter = match[1]
    dialect.count("preamble")
    return 1


def _delimiter(lines: list[_Line]) -> tuple[str, dict[str, list[str]]]:
    """Take the delimiter that cuts most of the lines into the same number of cells, time stamps whole.

    Returns
    -------
    str, dict
        The delimiter, and the cells of the lines that were looked at.
    """
    texts = [line.text for line in lines if line.text.strip()]
    texts = texts[:_SAMPLE_LINES] + texts[-_SAMPLE_LINES:] if len(texts) > 2 * _SAMPLE_LINES else texts

    cuts = {delimiter: [split(text, delimiter) for text in texts] for delimiter in DELIMITERS}

    def score(delimiter: str) -> tuple:
        cut = cuts[delimiter]
        counts = Counter(len(cells) for cells in cut if len(cells) > 1)
        if not counts:
            return (0, 0, 0)
        width, often = counts.most_common(1)[0]
        stamped = sum(holds_stamp(cells) for cells in cut if len(cells) == width)
        return (stamped, often, width)

    best = max(DELIMITERS, key=score)
    return best, dict(zip(texts, cuts[best], strict=True))


def _fit_names(dialect: Dialect, label: str, place: str) -> None:
    """See to headers that name fewer columns than the rows have: with a name less they stand one column too early.

    Raises
    ------
    ExportError
        Numbers stand beyond the header's names, and commas part the cells: they may part decimals as well.
    """
    named = len(dialect.names)
    longer = [cells for cells in dialect.sample if any(cells[named:])]
    if not longer or 2 * len(longer) < len(dialect.sample):
        return
    row = longer[0]
    if len(row) == named + 1 and row[0].isdigit() and looks_like_stamp(row[1]) and fold(dialect.names[0]) in TIME_WORDS:
        dialect.names = ["row", *dialect.names]
        dialect.units = dialect.units and ["", *dialect.units]
    elif dialect.delimiter == "," and any(cell.isdigit() for cells in longer for cell in cells[named:]):
        raise ExportError(
            label,
            f"has {len(row)} cells where the header names {named}; its commas may part cells, decimals or thousands",
            "Export it with semicolons between the cells, or quotes around the numbers, and every column named.",
            place=place,
        )


def _settle_decimals(text: ExportText, dialect: Dialect) -> None:
    """Settle the decimal sign from the first rows, else from the last as well."""
    proven = decimal_sign(dialect.sample)
    if proven is None:
        rows = dialect.sample + _last_rows(text, dialect)
        proven = decimal_sign(rows)
        if proven is None:
            proven, dialect.doubt = likely_sign(rows)
    dialect.decimal = proven


def _last_rows(text: ExportText, dialect: Dialect) -> list[list[str]]:
    """Return the last rows of data."""
    begin = max(dialect.begin, dialect.end - _TAIL_BYTES)
    lines = text.part(begin, dialect.end).decode("utf-8", "replace").splitlines()[begin > dialect.begin :]
    return [split(line, dialect.delimiter) for line in lines[-_TAIL_LINES:]]


def _cut_stump(text: ExportText, dialect: Dialect, rows: list[list[str]]) -> None:
    """Leave out the last cell of a last line that breaks off: it has fewer cells than all others, and no end."""
    tail = text.part(max(dialect.begin, dialect.end - _TAIL_BYTES), dialect.end)
    begin = tail.rfind(b"\n") + 1
    width = len(rows[0])
    if not begin or begin == len(tail) or any(len(row) != width for row in rows[:-1]):
        return
    line, separator = tail[begin:], dialect.delimiter.encode()
    if not 1 < len(split(line.decode("utf-8", "replace"), dialect.delimiter)) < width:
        return
    cut = line.rfind(separator)
    while line[:cut].count(b'"') % 2:  # it breaks off between quotes
        cut = line.rfind(separator, 0, cut)
    if line[cut + 1 :].strip():
        dialect.stump = line[cut + 1 :].strip().decode("utf-8", "replace")
        dialect.end -= len(line) - cut


def _cut_footer(text: ExportText, dialect: Dialect, width: int) -> None:
    """Leave out lines after the data that sum it up or close the file."""
    begin = max(dialect.begin, dialect.end - _TAIL_BYTES)
    data = text.part(begin, dialect.end)
    if begin > dialect.begin:
        cut = data.find(b"\n") + 1 or len(data)
        begin, data = begin + cut, data[cut:]
    tail, at = [], begin
    for raw in data.splitlines(keepends=True):
        tail.append((at, raw.decode("utf-8", "replace").strip()))
        at += len(raw)
    for start, line in tail[: -_TAIL_LINES - 1 : -1]:
        cells = split(line, dialect.delimiter)
        filled = [cell for cell in cells if cell]
        if not filled:
            kind = "blank line"
        elif is_footer(cells, filled, width):
            kind = "footer"
        else:
            break
        if start <= dialect.begin:
            break
        dialect.end = start
        dialect.count(kind)
