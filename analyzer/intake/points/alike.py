"""Points that bear one name: what is left of it where their owner's tag is taken out."""

from __future__ import annotations

import re
from functools import lru_cache

from analyzer.intake.points.patterns import ANY
from analyzer.intake.points.point import Point
from analyzer.intake.words.names import is_quantity_word, tokens_of
from analyzer.intake.words.vocabulary import AIR_HANDLER_EQUIPMENT


def name_of(point: Point) -> str:
    """Return a point's name with ``*`` in the place of its owner's tag and of what only says where that is.

    Examples
    --------
    >>> name_of(Point("week.csv", "AHU-1/VAV-1-01/ZN-T", spelled="VAV-1-01"))
    '*/ZN-T'
    """
    return _without_tag(point.column, point.spelled) if point.spelled else point.column


@lru_cache(maxsize=65536)
def _without_tag(column: str, spelled: str) -> str:
    found = re.search(rf"(?<![^\W_]){re.escape(spelled)}(?![^\W_])", column)
    begin = found.start() if found else column.find(spelled)
    if begin < 0:
        return column
    head, rest = column[:begin], column[begin + len(spelled) :]
    name = f"{'' if _says_where(head) else head}{ANY}{rest}"
    return name if name.strip(ANY) else column


@lru_cache(maxsize=4096)
def _says_where(head: str) -> bool:
    """Tell whether what stands before a tag names no quantity: a building, a floor, an air handler."""
    return not any(is_quantity_word(token.low) and token.low not in AIR_HANDLER_EQUIPMENT for token in tokens_of(head))


@lru_cache(maxsize=65536)
def family_of(tag: str) -> str:
    """Return the pattern of a tag's family, which is what it begins with before its first number: ``AHU-*``."""
    return re.split(r"\d", tag, maxsplit=1)[0] + ANY
