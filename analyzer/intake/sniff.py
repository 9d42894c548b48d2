"""Look at the head and tail of a text export: its dialect, and which of its lines are data."""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass, field

from analyzer.errors import ExportError
from analyzer.intake.limits import LONGEST_LINE, MEBIBYTE, MOST_COLUMNS
from analyzer.intake.stamp_text import looks_like_clock, looks_like_stamp
from analyzer.intake.stamps import is_stamp_number
from analyzer.intake.unit_text import is_measure, is_unit

DELIMITERS = (",", ";", "\t", "|")
_HEAD_BYTES = 512 * 1024
_HEAD_LINES = 200
_SAMPLE_LINES = 50
_TAIL_BYTES = 64 * 1024
_TAIL_LINES = 40
# First words of lines that sum up, at the end of a table.
_SUMMARY = re.compile(
    r"^\W*(total|totals|sum|average|avg|mean|min|minimum|max|maximum|count|records?|rows?|end|samples|std)\b",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"^\s*[-+]?(\d[\d.,' ]*)([eE][-+]?\d+)?\s*$")
_DECIMAL_COMMA = re.compile(r"^\s*[-+]?\d{1,3}(?:\.\d{3})+,\d+\s*$|^\s*[-+]?\d+,(?:\d{1,2}|\d{4,})\s*$")
_DECIMAL_POINT = re.compile(r"^\s*[-+]?[\d,]*\.(?:\d{1,2}|\d{4,})\s*$|^\s*[-+]?\d{1,3}(?:,\d{3})+\.\d+\s*$")


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
    header_line, units_line : bytes or None
        As they stand in the file, to find them again among the data.
    not_data : dict
        Lines that are no data, by kind.
    sample : list of list of str
        The first lines of data, in cells.
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
    not_data: dict[str, int] = field(default_factory=dict)
    sample: list[list[str]] = field(default_factory=list)


@dataclass
class _Line:
    begin: int
    end: int
    text: str
    cells: list[str] = field(default_factory=list)


def sniff(data: bytes, label: str) -> Dialect:
    """Find the dialect, the header and where the data begins and ends.

    Raises
    ------
    ExportError
        The file is empty, a line or the number of columns is over its limit, or no line holds a time stamp.
    """
    if not data[:_HEAD_BYTES].strip() and not data.strip():
        raise ExportError(label, "is empty", "Export it again, or leave it out.")
    lines = _lines(data, 0, min(len(data), _HEAD_BYTES), _HEAD_LINES, label)
    dialect = Dialect(end=len(data))
    start = _named_delimiter(lines, dialect)
    lines = lines[start:]
    if not start:
        dialect.delimiter = _delimiter(lines)
    for line in lines:
        line.cells = split(line.text, dialect.delimiter)
    first = _first_data_line(lines)
    if first is None:
        raise ExportError(
            label,
            f"no time stamp was found in its first {len(lines)} lines",
            "Export it as a table with a time stamp in every row, or leave it out.",
            place="line 1",
        )
    _read_header(lines, first, dialect)
    if len(dialect.names) > MOST_COLUMNS:
        raise ExportError(
            label,
            f"has {len(dialect.names)} columns; allowed are {MOST_COLUMNS}",
            "Split the export by terminal.",
            place="header",
        )
    dialect.begin = lines[first].begin
    dialect.sample = [line.cells for line in lines[first : first + _SAMPLE_LINES]]
    dialect.decimal = _decimal(dialect.sample)
    _cut_footer(data, dialect, len(lines[first].cells))
    return dialect


def split(text: str, delimiter: str) -> list[str]:
    """Split one line into its cells, quotes taken off."""
    try:
        return [cell.strip() for cell in next(csv.reader([text], delimiter=delimiter, skipinitialspace=True), [])]
    except csv.Error:
        return [cell.strip() for cell in text.split(delimiter)]


def _lines(data: bytes, begin: int, until: int, most: int, label: str) -> list[_Line]:
    lines = []
    while begin < until and len(lines) < most:
        end = data.find(b"\n", begin, begin + LONGEST_LINE + 1)
        if end < 0:
            if len(data) - begin > LONGEST_LINE:
                raise _endless(label, len(lines) + 1)
            end = len(data)
        lines.append(_Line(begin, end + 1, data[begin:end].decode("utf-8", "replace").rstrip("\r")))
        begin = end + 1
    return lines


def _endless(label: str, number: int) -> ExportError:
    return ExportError(
        label,
        f"is longer than {LONGEST_LINE / MEBIBYTE:.0f} MiB, the longest line allowed",
        "Export it as a table with one row per time stamp.",
        place=f"line {number}",
    )


def _named_delimiter(lines: list[_Line], dialect: Dialect) -> int:
    """Take a first line ``sep=;`` at its word."""
    match = re.match(r"^\W*sep=(.)\W*$", lines[0].text, re.IGNORECASE) if lines else None
    if not match:
        return 0
    dialect.delimiter = match[1]
    dialect.not_data["preamble"] = 1
    return 1


def _delimiter(lines: list[_Line]) -> str:
    """Take the delimiter that cuts most of the lines into the same number of cells, time stamps whole."""
    texts = [line.text for line in lines if line.text.strip()]
    texts = texts[:_SAMPLE_LINES] + texts[-_SAMPLE_LINES:] if len(texts) > 2 * _SAMPLE_LINES else texts

    def score(delimiter: str) -> tuple:
        cut = [split(text, delimiter) for text in texts]
        counts = Counter(len(cells) for cells in cut if len(cells) > 1)
        if not counts:
            return (0, 0, 0)
        width, often = counts.most_common(1)[0]
        stamped = sum(_holds_stamp(cells) for cells in cut if len(cells) == width)
        return (stamped, often, width)

    return max(DELIMITERS, key=score)


def _first_data_line(lines: list[_Line]) -> int | None:
    """Find the first line with its stamp where most lines have it, and as many cells as they have.

    A report's heading may hold stamps too ("Printed: ..."), and a damaged first row none.
    """
    shapes = [(len(line.cells), _stamp_place(line.cells)) for line in lines]
    stamped = Counter(shape for shape in shapes if shape[1] is not None)
    if not stamped:
        return None
    usual = max(stamped, key=lambda shape: (stamped[shape] * shape[0], shape))
    first = shapes.index(usual)
    while first and _is_damaged_row(lines[first - 1].cells, usual[0]):
        first -= 1
    return first


def _stamp_place(cells: list[str]) -> int | None:
    place = next((n for n, cell in enumerate(cells) if looks_like_stamp(cell)), None)
    return 0 if place is None and _holds_stamp_number(cells) else place


def _is_damaged_row(cells: list[str], width: int) -> bool:
    filled = [cell for cell in cells if cell]
    numbers = sum(looks_like_number(cell) for cell in filled)
    return len(cells) == width and numbers >= 1 and numbers >= 0.5 * (len(filled) - 1)


def _holds_stamp(cells: list[str]) -> bool:
    return any(looks_like_stamp(cell) for cell in cells) or _holds_stamp_number(cells)


def _holds_stamp_number(cells: list[str]) -> bool:
    """Tell a row that begins with Unix time or a spreadsheet's day number and goes on with other cells."""
    for cell in cells[:3]:
        try:
            if is_stamp_number(float(cell.replace(",", "."))) and len(cells) > 1:
                return True
        except ValueError:
            continue
    return False


def _read_header(lines: list[_Line], first: int, dialect: Dialect) -> None:
    """Find header, units row and preamble above the first line of data."""
    width = len(lines[first].cells)
    above = list(range(first))
    while above and not lines[above[-1]].text.strip():
        above.pop()
    if above and _is_units_row(lines[above[-1]].cells, width):
        units = lines[above.pop()]
        dialect.units, dialect.units_line = units.cells, data_line(units)
        dialect.not_data["units row"] = 1
        while above and not lines[above[-1]].text.strip():
            above.pop()
    if above and len(lines[above[-1]].cells) >= min(2, width):
        header = lines[above.pop()]
        dialect.names, dialect.header_line = header.cells, data_line(header)
    else:
        dialect.names = [f"column {number}" for number in range(1, width + 1)]
    preamble = [lines[n].text.strip() for n in above]
    dialect.preamble = [text for text in preamble if text]
    if dialect.preamble:
        dialect.not_data["preamble"] = dialect.not_data.get("preamble", 0) + len(dialect.preamble)
    blank = sum(not lines[n].text.strip() for n in range(first))
    if blank:
        dialect.not_data["blank line"] = blank


def data_line(line: _Line) -> bytes:
    """Return the bytes of a line as they are looked for among the data."""
    return line.text.encode("utf-8")


def _is_units_row(cells: list[str], width: int) -> bool:
    """Tell a row of units: at least half of its filled cells are units, and the first is none or a word for time."""
    filled = [cell for cell in cells if cell]
    if len(cells) < min(width, 2) or not filled:
        return False
    known = sum(is_unit(cell) for cell in filled)
    stamped = any(looks_like_stamp(cell) for cell in filled)
    return any(map(is_measure, filled)) and known >= 0.5 * len(filled) and not stamped


def _decimal(sample: list[list[str]]) -> str:
    """Tell a decimal comma from a decimal point."""
    cells = {cell for cells in sample for cell in cells}
    commas = sum(bool(_DECIMAL_COMMA.match(cell)) for cell in cells)
    points = sum(bool(_DECIMAL_POINT.match(cell)) for cell in cells)
    return "," if commas > points else "."


def _cut_footer(data: bytes, dialect: Dialect, width: int) -> None:
    """Leave out lines after the data that sum it up or close the file."""
    begin = max(dialect.begin, len(data) - _TAIL_BYTES)
    if begin > dialect.begin:
        begin = data.find(b"\n", begin) + 1 or len(data)
    tail, at = [], begin
    for raw in data[begin:].splitlines(keepends=True):
        tail.append((at, raw.decode("utf-8", "replace").strip()))
        at += len(raw)
    for start, text in tail[: -_TAIL_LINES - 1 : -1]:
        cells = split(text, dialect.delimiter)
        filled = [cell for cell in cells if cell]
        if not filled:
            kind = "blank line"
        elif _is_footer(cells, filled, width):
            kind = "footer"
        else:
            break
        if start <= dialect.begin:
            break
        dialect.end = start
        dialect.not_data[kind] = dialect.not_data.get(kind, 0) + 1


def _is_footer(cells: list[str], filled: list[str], width: int) -> bool:
    if _holds_stamp(cells) and len(cells) >= min(width, 2):
        return False
    numbers = sum(bool(_NUMBER.match(cell)) for cell in filled)
    return bool(_SUMMARY.match(filled[0])) or (numbers == 0 and len(filled) < max(2, width))


def looks_like_number(cell: str) -> bool:
    """Tell whether a cell is a number in any of the usual spellings."""
    return bool(_NUMBER.match(cell))


def holds_clock(cell: str) -> bool:
    """Tell whether a cell is a time of day alone."""
    return looks_like_clock(cell)
