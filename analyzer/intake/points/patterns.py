"""Names with ``*`` in them: any text, none too, stands for it."""

from __future__ import annotations

import re
from functools import lru_cache

ANY = "*"


@lru_cache(maxsize=65536)
def _expression(pattern: str) -> re.Pattern[str]:
    return re.compile(".*".join(map(re.escape, pattern.split(ANY))), re.DOTALL)


def is_pattern(text: str) -> bool:
    """Tell whether a text holds a ``*``."""
    return ANY in text


def fits(pattern: str, text: str) -> bool:
    """Tell whether a whole text is what a pattern says; a text without ``*`` is itself alone.

    Examples
    --------
    >>> fits("* ZN-T", "VAV-1-01 ZN-T"), fits("* ZN-T", "VAV-1-01 ZN-TEMP")
    (True, False)
    """
    return pattern == text or (ANY in pattern and _expression(pattern).fullmatch(text) is not None)


def literal(pattern: str) -> int:
    """Return how much of a pattern is said: of two that fit, the one that says more is meant."""
    return len(pattern) - pattern.count(ANY)


def tail(pattern: str) -> str:
    """Return what follows the last ``*`` of a pattern."""
    return pattern.rpartition(ANY)[2]
