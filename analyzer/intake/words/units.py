"""Units as exports spell them: alone in a cell, in brackets or at the end of a header, after a number."""

from __future__ import annotations

import re
from functools import lru_cache

from analyzer.intake.words.vocabulary import NO_UNIT, OTHER_UNITS, OVER_STAMPS, VOLTS
from analyzer.quantities import AIR_HANDLER, TERMINAL, Unit, find_unit, unit_dimensions

# What is trended, but for what is counted or is on or off; differences and power only stand in exports.
_DIMENSIONS = {quantity.dimension for quantity in (*TERMINAL.values(), *AIR_HANDLER.values())}
_DIMENSIONS = _DIMENSIONS - {"state", "count"} | {"temperature_difference", "power"}
_INNER = re.compile(r"\s+\(([^()]*)\)?$")  # "V (0-10)", its last bracket taken off or not
_BRACKET = re.compile(r"[\[({]\s*([^\[\](){}]*?)\s*[\])}]")


@lru_cache(maxsize=4096)
def unit_of(spelling: str, dimension: str) -> Unit | None:
    """Return the unit of a spelling, as the glossary does; a building spells few units many times over."""
    return find_unit(spelling, dimension)


@lru_cache(maxsize=4096)
def is_measure(text: str) -> bool:
    """Tell whether a text is a unit of something that is trended."""
    return bool(set(unit_dimensions(bare(text))) & _DIMENSIONS) or is_other_unit(text)


def is_other_unit(text: str) -> bool:
    """Tell a unit of what is none of the quantities."""
    return bare(text).lower() in OTHER_UNITS


def is_volts(text: str | None) -> bool:
    """Tell volts whose span is not said."""
    return text is not None and bare(text).lower() in VOLTS


@lru_cache(maxsize=65536)
def is_unit(text: str) -> bool:
    """Tell whether a cell of a units row is a unit, or says that there is none."""
    word = bare(text).lower()
    return word in NO_UNIT or word in OVER_STAMPS or is_volts(text) or is_measure(text)


def bare(text: str) -> str:
    """Take brackets off a unit."""
    return _INNER.sub(r" \1", text.strip().strip("[](){}")).strip()


def no_unit(text: str | None) -> bool:
    """Tell whether a unit cell says nothing."""
    return text is None or bare(text).lower() in NO_UNIT


@lru_cache(maxsize=65536)
def take_unit(header: str) -> tuple[str, str | None]:
    """Split a header into its name and the unit that it carries in brackets; ``None`` where it carries none.

    Examples
    --------
    >>> take_unit("VAV-101 ZN-T (°F)")
    ('VAV-101 ZN-T', '°F')
    """
    for match in reversed(list(_BRACKET.finditer(header))):
        inside = _of_equals(match[1])
        if inside and (is_measure(inside) or is_volts(inside)):
            name = (header[: match.start()] + header[match.end() :]).strip()
            return name or header, inside
    return header, None


def _of_equals(inside: str) -> str:
    """Return the signal of a span that is spelled with its meaning, ``0-10 V = 0-100 %``; else the text as it is."""
    sides = [side.strip() for side in inside.split("=")]
    if len(sides) != 2 or not all(map(is_measure, sides)):
        return inside
    return sides[1] if "%" in sides[0] else sides[0]


_LAST_RATE = re.compile(r"(?<=[\s_,;:|-])[^\W_]+[\s_-]+per[\s_-]+[^\W\d_]+$", re.IGNORECASE)
_LAST_WORD = re.compile(r"(?<=[\s_,;:|-])(?:[^\W\d_][^\s_,;:|-]*|\d+-\d+\s?[^\W\d_]*)$")


def unit_at_end(name: str) -> str:
    """Return the last word of a name where it is a unit with a figure or a stroke in it: ``m3/h``; else nothing.

    Examples
    --------
    >>> unit_at_end("Airflow m3/h"), unit_at_end("airflow_m3_per_h"), unit_at_end("VAV-3")
    ('m3/h', 'm3_per_h', '')
    """
    rate = _LAST_RATE.search(name)
    if rate and is_measure(rate[0]):
        return rate[0]
    match = _LAST_WORD.search(name)
    return match[0] if match and any(sign in "/0123456789³²" for sign in match[0]) and is_measure(match[0]) else ""


def without_sign(name: str) -> str:
    """Take a unit off the end of a name that no word is: one with a sign, ``°F``, ``%``, or ``m3/h``.

    Examples
    --------
    >>> without_sign("VAV-A Heat SP °F"), without_sign("Zone Temp F")
    ('VAV-A Heat SP', 'Zone Temp F')
    """
    head, _, last = name.strip().rpartition(" ")
    return head.rstrip(" ,;:-") if head and not last.isalnum() and is_measure(last) else name


@lru_cache(maxsize=65536)
def trailing_unit(name: str, dimension: str) -> tuple[str, str | None]:
    """Split a unit off the end of a name that has no brackets, given what the name measures.

    Examples
    --------
    >>> trailing_unit("VAV-101 ZN-T degF", "temperature")
    ('VAV-101 ZN-T', 'degF')
    """
    parts = re.split(r"([\s_,;:|-]+)", name.strip())
    for words in (4, 3, 2, 1):
        tail = "".join(parts[-(2 * words - 1) :])
        if len(parts) > 2 * words - 1 and not tail.isdigit() and unit_of(tail, dimension) is not None and tail.strip():
            return "".join(parts[: -2 * words]).strip(), tail
    return name, None
