"""Values of cells: a number with or without its unit, a size, a word; what is no value."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from analyzer.quantities import find_unit
from analyzer.schedule.words import fold, read_heading

MISSING = {
    "",
    "-",
    "--",
    "---",
    "—",
    "–",
    "N/A",
    "NA",
    "N.A.",
    "NONE",
    "NIL",
    ".",
    "X",
    "N / A",
    "...",
    "TBD",
    "*",
    "_",
    "NR",
    "N/R",
    "N.R.",
    "NOT APPLICABLE",
    "NO",
}
FORMULA = "a formula whose value is not stored in the file: open it, save it, and name it again"
DITTO = {'"', "''", "″", "”", "“", "DITTO", "DO", "DO.", "SAME", "↓", "〃", "′′", '" "', "SAME AS ABOVE", "AS ABOVE"}
_NUMBER = r"[-+]?(?:\d{1,3}(?:[,\s\u00a0\u202f]\d{3})+(?:\.\d+)?|\d+(?:[.,]\d+)?|[.,]\d+)"
_FRACTION = re.compile(r"(\d+)[\s-]+(\d+)\s*/\s*(\d+)(?!\d)|^(\d+)\s*/\s*([248]|16)(?=\s*(?:\"|IN|$))", re.IGNORECASE)
# Under this a figure is no inlet's coefficient [L/s per sqrt(Pa)]: one of 100 mm has about 5. Judgement.
_LEAST_COEFFICIENT = 3.0
_POWER = re.compile(rf"({_NUMBER})\s*(KW|MBH|KBTU/H|BTU/?H)\b", re.IGNORECASE)
_FIRST = re.compile(rf"^\s*(?:[~≈≤<>=]\s*)?({_NUMBER})\s*(.*)$", re.DOTALL)
_MARKS = re.compile(
    r"[△▲∆][ ]?(?:\d{1,2}|[A-Z](?![A-Za-z]))?\s*|/\d{1,2}\\|\bREV\.?\s*\d{1,2}\b|(?<![A-Za-z])[²³]+|[*†‡¹⁴⁵⁶⁷⁸⁹]+|"
    r"[(\[]\s*(?:WAS|PREV(?:IOUSLY)?|FORMERLY|ORIGINALLY)\b[.:]?\s*[\d.,]+[^)\]]*[)\]]|"
    r"[(\[<{]\s*(?:\d{1,2}|[A-Z]|R\d|REV\.?\s*\w|NOTES?\s*[\d, ]+|TYP\.?)\s*[)\]>}]",
    re.IGNORECASE,
)
_BY = re.compile(
    rf"^\s*({_NUMBER})\s*(\"|''|IN\.?|MM|INCH(?:ES)?)?\s*[xX×/]\s*({_NUMBER})\s*(.*)$", re.IGNORECASE | re.DOTALL
)
_PAIR = re.compile(
    rf"^\s*({_NUMBER}[^/|;]*?|[-–—]|N/?A)\s*[/|;]\s*({_NUMBER}.*|[-–—]|N/?A)\s*$", re.DOTALL | re.IGNORECASE
)
# Feet and inches as models of buildings export them: 0' - 8", 1'-2".
_FEET = re.compile(
    r"^\s*(\d{1,2})\s*['’′]\s*-?\s*(?:(\d{1,2}(?:\.\d+)?)(?:\s+(\d{1,2})/(2|4|8|16))?\s*(?:\"|''|”|″))?\s*$"
)
_AT = re.compile(rf"^\s*({_NUMBER})\s*@\s*({_NUMBER})\s*$")  # a flow at a pressure
_DUAL = re.compile(rf"^\s*({_NUMBER})\s*[(\[/]\s*({_NUMBER})\s*[)\]]?\s*$")


@dataclass(frozen=True)
class Figure:
    """A number in SI, or why there is none.

    ``note`` says what was made of it: a size that was worked out.
    """

    value: float = math.nan
    problem: str = ""
    note: str = ""


def is_missing(text: str) -> bool:
    """Tell whether a cell says that there is no value."""
    return text.strip().upper() in MISSING or bool(re.fullmatch(r"[\s.\-_–—]*", text))


def is_undecided(text: str) -> bool:
    """Tell whether a cell without a value leaves it to somebody, and does not say that there is none."""
    return text.strip().upper() in ("*", "TBD", "...", "_")


def is_ditto(text: str) -> bool:
    """Tell whether a cell repeats the one above."""
    return text.strip().upper() in DITTO


def split_pair(text: str) -> tuple[str, str] | None:
    """Part the two figures of a cell such as ``420 / 120``."""
    match = _PAIR.match(_without_marks(text)) or _AT.match(text)
    if match:
        return match[1].strip(), match[2].strip()
    lines = [line.strip() for line in text.split("\n") if line.strip()]
    return (lines[0], lines[1]) if len(lines) == 2 and all(_FIRST.match(line) for line in lines) else None


def split_figures(text: str, count: int) -> list[str] | None:
    """Part the figures of a cell whose heading names so many; None where there are not as many.

    A cell without a value says it of all; the last figure may have slashes of its own: ``6 / 2 / 480/3``.
    """
    if count == 1 or is_missing(text):
        return [text] * count
    if count == 2:
        pair = split_pair(text)
        return list(pair) if pair else None
    pieces = [piece.strip() for piece in re.split(r"\s+/\s+|\n", text)]
    if len(pieces) != count:
        pieces = [piece.strip() for piece in re.split(r"[/|;\n]", text, maxsplit=count - 1)]
    return pieces if len(pieces) == count else None


def _without_marks(text: str) -> str:
    return _MARKS.sub(" ", text).strip()


def number_of(text: str) -> float | None:
    """Return the number of a text that begins with one."""
    match = _FIRST.match(_without_marks(text))
    return _number(match[1]) if match else None


def _number(text: str) -> float:
    plain = re.sub(r"[\s\u00a0\u202f]", "", text)
    if re.fullmatch(r"[-+]?\d{1,3}(,\d{3})+(\.\d+)?", plain):
        return float(plain.replace(",", ""))
    return float(plain.replace(",", "."))


def read_figure(text: str, dimension: str, units: tuple[str, ...]) -> Figure:
    """Read a cell as a figure of a dimension.

    Parameters
    ----------
    text : str
    dimension : str
    units : tuple of str
        What its heading says. Two are of a pair such as ``420 (198)``, the second of which is checked by the first.

    Returns
    -------
    Figure
        SI; with a problem where it holds no number, or none of this dimension.
    """
    plain = _without_marks(text)
    if len(units) > 1 and (dual := _DUAL.match(plain)):
        return _dual(dual[1], dual[2], dimension, units)
    match = _FIRST.match(plain)
    if not match:
        return Figure(problem=FORMULA if plain.startswith("=") else "it is no number")
    number, rest = _number(match[1]), match[2].strip()
    spelled = _unit_in(rest, dimension)
    if dimension != "number" and rest and "PERCENT" in read_heading(rest).concepts:
        return Figure(problem="a share, and no figure of its own")
    if spelled is None and rest and not _harmless(rest):
        return Figure(problem="a range, not a value" if re.match(r"[-–—]\s*\d|TO\s", rest, re.IGNORECASE) else
                      f"{rest!r} behind the number was not understood")  # fmt: skip
    if dimension == "number":
        return Figure(number)
    spelling = spelled or (units[0] if units else "")
    if not spelling:
        return Figure(problem="no unit is named")
    unit = find_unit(spelling, dimension)
    if unit is None:
        return Figure(problem=f"{spelling!r} is no unit of {dimension.replace('_', ' ')}")
    return Figure(float(unit.to_si(number)))


def capacity_in(text: str) -> Figure | None:
    """Return the power that a text on a heater names: "6.0 kW electric, 2 stage"; None where it names none, or two."""
    found = {(match[1], match[2]) for match in _POWER.finditer(text)}
    if len(found) != 1:
        return None
    number, spelled = found.pop()
    figure = read_figure(f"{number} {spelled}", "power", ())
    return None if figure.problem else figure


def no_multiplier(figure: Figure) -> Figure:
    """Return a flow coefficient; a factor that a controller multiplies its own reading by is none."""
    if figure.value < _LEAST_COEFFICIENT:
        return Figure(problem="a multiplier of the reading, and no flow coefficient")
    return figure


def _dual(first: str, second: str, dimension: str, units: tuple[str, ...]) -> Figure:
    one, other = find_unit(units[0], dimension), find_unit(units[1], dimension)
    if one is None or other is None:
        return Figure(problem="two figures, and it is not clear in which units")
    value, again = float(one.to_si(_number(first))), float(other.to_si(_number(second)))
    digits = [abs(float(unit.to_si(_number(text) + _last_digit(text)) - unit.to_si(_number(text))))
              for unit, text in ((one, first), (other, second))]  # fmt: skip
    if abs(value - again) > 0.03 * max(abs(value), abs(again)) + max(digits):
        return Figure(problem=f"the figures in {units[0]} and {units[1]} are not the same")
    return Figure(value)


def _last_digit(text: str) -> float:
    """Return what a step of a number's last digit is: 0.1 of "3.2"; each of the two may be rounded to it."""
    behind = re.search(r"[.,](\d{1,2})$", text)
    return 10.0 ** -len(behind[1]) if behind else 1.0


def _unit_in(rest: str, dimension: str) -> str | None:
    """Return the unit that follows a number, if it is one of the dimension."""
    if not rest:
        return None
    heading = read_heading(rest)
    return next((unit for unit in heading.units if find_unit(unit, dimension) is not None), None)


def _harmless(rest: str) -> bool:
    """Tell whether what follows a number only says what its heading says: a shape, a word of it, a bracketed remark."""
    told = read_heading(rest)
    return not re.search(r"\d", rest) and not told.unknown and not told.units


def unit_of(text: str) -> tuple[str, ...]:
    """Return the units that a text names."""
    return read_heading(text).units


def read_size(text: str, units: tuple[str, ...]) -> Figure:
    """Read an inlet's size as its diameter [m]; of an oval or rectangular one that of a circle of the same area."""
    plain = _without_marks(text)
    match = _BY.match(plain)
    if match and not _FRACTION.search(plain):
        unit = find_unit(_unit_in(match[4], "length") or (match[2] and _spelled(match[2])) or
                         (units[0] if units else ""), "length")  # fmt: skip
        if unit is None:
            return Figure(problem="no unit is named")
        sides = sorted(float(unit.to_si(_number(match[n]))) for n in (1, 3))
        if sides[0] <= 0:
            return Figure(problem="it is no size")
        oval = bool(re.search(r"OVAL|OV\b|F\.?O\.?", match[4], re.IGNORECASE)) or "ø" in plain.lower()
        area = sides[0] * (sides[1] - sides[0]) + math.pi / 4 * sides[0] ** 2 if oval else sides[0] * sides[1]
        return Figure(
            2 * math.sqrt(area / math.pi), note=f"{'oval' if oval else 'rectangular'}: diameter of the same area"
        )
    if feet := _FEET.match(plain):
        inches = 12.0 * int(feet[1]) + (_number(feet[2]) if feet[2] else 0.0)
        inches += int(feet[3]) / int(feet[4]) if feet[3] else 0.0
        return read_figure(f"{inches:g}", "length", ("in",))
    fraction = _FRACTION.search(plain)
    if fraction and fraction[1]:
        plain = f"{int(fraction[1]) + int(fraction[2]) / int(fraction[3])}{plain[fraction.end() :]}"
    if re.match(r"^\s*[øØ⌀∅]", plain):
        plain = plain.strip()[1:]
    plain = re.sub(r"(?<=\d)\s*[øØ⌀∅]|\b(?:DIA|RD|RND|ROUND)\b\.?", " ", plain, flags=re.IGNORECASE)
    return read_figure(plain.strip(), "length", units)


def _spelled(unit: str) -> str:
    return "mm" if unit.strip().lower().startswith("mm") else "in"


def folded(text: str) -> str:
    """Fold a text for comparing words."""
    return fold(text)
