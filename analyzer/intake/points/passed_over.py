"""Words of names that the vocabulary does not know, beside others by which the points were read: said, not judged."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.intake.points.point import Point
from analyzer.intake.words.wording import some


def tell_passed_over(points: Sequence[Point]) -> list[str]:
    """Say which names hold a word that is not known and may turn their meaning.

    A word beside several quantities names a place or the equipment; one that stands beside a single quantity may say
    more of that.

    Returns
    -------
    list of str
        What was assumed.
    """
    read = [point for point in points if point.mapped and point.certainty != "point list"]
    beside: dict[str, set[str]] = {}
    for point in read:
        for word in point.passed_over:
            beside.setdefault(word, set()).add(point.quantity or "")
    if len({point.quantity for point in read}) < 2:
        return []
    told = {
        f"{' '.join(words)!r} in names of {point.meaning.meaning.lower()}": None
        for point in read
        if (words := [word for word in point.passed_over if len(beside[word]) == 1])
    }
    if not told:
        return []
    return [
        f"Words that are not known were passed over, and the points read by the rest of their names: {some([*told])}. "
        "Where one of them says otherwise, correct it in points.csv."
    ]
