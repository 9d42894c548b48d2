"""The sign before the decimals of a text export's numbers: one for a whole file."""

from __future__ import annotations

import re

from analyzer.intake.tables.header import looks_like_number
from analyzer.intake.words.stamps import is_stamp_number, looks_like_stamp
from analyzer.intake.words.values import BETWEEN_GROUPS, plain_number

_STAMP_DIGITS = 9  # ciphers of a number that may be a stamp beside columns of values: Unix time has ten; judgement
_COMMA, _POINT = ",", "."
# Bare numbers in which a sign can only stand before decimals: three of them alone could be thousands, but not after
# a nought, and not after four ciphers without a sign.
_ALONE = {
    sign: re.compile(
        rf"^\s*[-+]?(?:\d*\{sign}(?:\d{{1,2}}|\d{{4,}})|(?:0|\d{{4,}})?\{sign}\d{{3}}|\d{{1,3}}(?:\{other}\d{{3}})+\{sign}\d+)\s*$"
    )
    for sign, other in ((_COMMA, _POINT), (_POINT, _COMMA))
}
# The same with spaces or apostrophes between the thousands, and with a unit or a note after it.
_DRESSED = {
    sign: re.compile(
        rf"^\s*[-+\u2212]?(?:\d{{1,3}}(?:[{BETWEEN_GROUPS}]\d{{3}})+\{sign}\d+|\d*\{sign}(?:\d{{1,2}}|\d{{4,}}))"
        rf"\s*(?:[^\W\d_].*|[%°º(\[{{].*)?$"
    )
    for sign in (_COMMA, _POINT)
}
_GROUPED = {sign: re.compile(rf"^\s*[-+]?[1-9]\d{{0,2}}(?:\{sign}\d{{3}})+\s*$") for sign in (_COMMA, _POINT)}


def decimal_sign(rows: list[list[str]]) -> str | None:
    """Return the decimal sign that some of the numbers prove; None where none does.

    Parameters
    ----------
    rows : list of list of str
        Lines of data, in cells.
    """
    cells = {cell for cells in rows for cell in cells}
    for forms in (_ALONE, _DRESSED):
        commas, points = (sum(bool(form.match(cell)) for cell in cells if sign in cell) for sign, form in forms.items())
        if commas or points:
            return _COMMA if commas > points else _POINT
    for sign, other in ((_POINT, _COMMA), (_COMMA, _POINT)):
        if any(_GROUPED[sign].match(cell) for cell in cells if sign in cell) and any(
            _parts_thousands(column, sign) for column in _columns(rows)
        ):
            return other
    return None


def likely_sign(rows: list[list[str]]) -> tuple[str, tuple[str, str] | None]:
    """Choose a decimal sign that nothing proves, and word the doubt; none where no number has such a sign.

    A comma is one where every number of the file has it before three ciphers, as a fixed form of three decimals does.
    """
    cells = {cell for column in _columns(rows) for cell in column if looks_like_number(cell)}
    grouped = {sign: [cell for cell in cells if form.match(cell)] for sign, form in _GROUPED.items()}
    found = _COMMA if grouped[_COMMA] else _POINT
    if not grouped[found]:
        return _POINT, None
    fixed = len(grouped[found]) == len(cells)
    if fixed and found == _POINT:
        return _POINT, None
    sign = _COMMA if fixed else _POINT
    example, name = min(grouped[found]), {_COMMA: "comma", _POINT: "point"}[found]
    sentence = f"{{detail}}; nothing in the file tells whether its {name} stands between thousands or before decimals."
    return sign, (sentence, f"{example!r} was read as {plain_number(example, sign):.10g}")


def _columns(rows: list[list[str]]) -> list[set[str]]:
    """Return the distinct cells of the columns of values."""
    columns = map(set, zip(*(cells for cells in rows if len(cells) == len(rows[0])), strict=True))
    return [column for column in columns if not any(map(_is_stamp, column))]


def _is_stamp(cell: str) -> bool:
    return looks_like_stamp(cell) or (cell.isdigit() and len(cell) >= _STAMP_DIGITS and is_stamp_number(float(cell)))


def _parts_thousands(cells: set[str], sign: str) -> bool:
    """Tell a column of whole numbers with a sign between the thousands: others of it are below a thousand."""
    numbers = [cell for cell in cells if looks_like_number(cell)]
    grouped = [cell for cell in numbers if _GROUPED[sign].match(cell)]
    whole = [cell for cell in numbers if cell.isdigit() and 100 <= int(cell) < 1000]
    return bool(grouped and whole) and all(_GROUPED[sign].match(cell) or cell.lstrip("-").isdigit() for cell in numbers)
