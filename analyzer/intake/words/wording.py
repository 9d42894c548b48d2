"""Lists in sentences."""

from collections.abc import Sequence


def some(words: Sequence[str], most: int = 5) -> str:
    """List the first few words and count the rest.

    Examples
    --------
    >>> some(["a", "b", "c"], most=2)
    'a, b and 1 more'
    """
    rest = len(words) - most
    return ", ".join(words[:most]) + (f" and {rest} more" if rest > 0 else "")
