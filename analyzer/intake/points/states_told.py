"""Codes of states that a heading spells: ``Occupancy (1=Occupied 2=Unoccupied)``."""

from __future__ import annotations

import re
from functools import lru_cache

from analyzer.intake.words.vocabulary import NO, YES

_BRACKET = re.compile(r"[\[({]\s*([^\[\](){}]*=[^\[\](){}]*?)\s*[\])}]")
_PAIR = re.compile(r"\s*([^=,;/|]+?)\s*=\s*([^=,;/|]+?)\s*(?=[,;/|]|\s[^\s=,;/|]+\s*=|$)[,;/|]?")
_LEAST = 2  # states


@lru_cache(maxsize=65536)
def take_states(name: str) -> tuple[str, tuple[tuple[str, float], ...]]:
    """Split a heading into its name and the codes that it spells in brackets; none where they are not all known.

    Returns
    -------
    str, tuple of (str, float)
        Each code, lower case, with 1 for on or occupied and 0 for off.

    Examples
    --------
    >>> take_states("VAV-1 Occupancy (1=Occupied 2=Unoccupied)")
    ('VAV-1 Occupancy', (('1', 1.0), ('2', 0.0)))
    """
    for match in _BRACKET.finditer(name):
        pairs = [(one.strip().lower(), other.strip().lower()) for one, other in _PAIR.findall(match[1])]
        pairs = [(one, other) if _is_code(one) else (other, one) for one, other in pairs]
        if len(pairs) >= _LEAST and all(_is_code(code) and word in YES | NO for code, word in pairs):
            rest = (name[: match.start()] + name[match.end() :]).strip()
            return rest, tuple((code, float(word in YES)) for code, word in pairs)
    return name, ()


def _is_code(text: str) -> bool:
    return text.removeprefix("-").isdigit()
