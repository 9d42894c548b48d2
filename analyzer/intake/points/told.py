"""What a reading says of its points: one line for each kind of thing, however many points it is true of."""

from __future__ import annotations

from collections.abc import Iterable

from analyzer.intake.points.point import Point
from analyzer.intake.words.wording import some


class Told:
    """Gathers what is said of single points into a sentence a kind."""

    def __init__(self):
        self._points: dict[str, list[Point]] = {}
        self._details: dict[str, dict[str, None]] = {}

    def of(self, point: Point, sentence: str, details: Iterable[str] = ()) -> None:
        """Say of a point what a sentence says.

        ``{points}`` in it becomes the columns that it is true of, ``{details}`` what each of them adds.
        """
        self._points.setdefault(sentence, []).append(point)
        self._details.setdefault(sentence, {}).update(dict.fromkeys(details))

    def sentences(self) -> list[str]:
        """Return the sentences, in the order in which they were first said."""
        return [
            sentence.replace("{points}", _columns(points)).replace("{details}", some(list(self._details[sentence])))
            for sentence, points in self._points.items()
        ]


def _columns(points: list[Point]) -> str:
    columns = list(dict.fromkeys(repr(point.column) for point in points))
    files = len({point.file for point in points})
    if files == 1:
        return f"{points[0].file}: {some(columns)}"
    return f"{some(columns)} in {files} files"
