"""Outdoor air of the building, which no name gives to an air handler: given to one of the exports."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.intake.points.point import Point
from analyzer.intake.words.wording import some

# Stands for the tag until all files are known; no name can hold it.
_BUILDING = "\0building"


def await_air_handler(point: Point) -> None:
    """Keep an outdoor temperature that names no air handler until it is known which there are."""
    if point.quantity == "outdoor_temp" and point.air_handler and point.tag is None and not point.ignored:
        point.belongs_to(_BUILDING)


def give_building_air(points: Sequence[Point]) -> list[str]:
    """Give outdoor temperatures that name no air handler to one, where none has its own; else leave them out.

    They stand in the air that all of them take in; of several the first by the alphabet has it.

    Returns
    -------
    list of str
        What was assumed.
    """
    building = [point for point in points if point.tag == _BUILDING]
    handlers = sorted({point.tag for point in points if point.mapped and point.air_handler and point.tag} - {_BUILDING})
    known = any(point.mapped and point.quantity == "outdoor_temp" and point.tag != _BUILDING for point in points)
    if not handlers or known:
        for point in building:
            point.belongs_to_none(
                "it is the building's, and an air handler has its own"
                if known
                else "it is the building's, and no air handler is known to belong to it"
            )
        return []
    for point in building:
        point.belongs_to(handlers[0])
    if not building:
        return []
    whose = "the only air handler" if len(handlers) == 1 else f"the first of {len(handlers)} air handlers"
    return [
        f"An outdoor temperature that names no air handler was taken for that of {handlers[0]}, {whose}: "
        f"{some(list(dict.fromkeys(point.column for point in building)))}."
    ]
