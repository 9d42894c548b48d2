"""Tags that have an occupancy and nothing else, far more of them than there are terminals."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.intake.points.point import Point
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.wording import some

# Judgement: rooms with a sensor for people are a few to a terminal at the most.
_ROOMS_OF_A_TERMINAL = 4


def leave_out_mere_occupancy(points: Sequence[Point], tags: TagFinder) -> list[str]:
    """Leave out occupancy that would multiply the terminals: of people, seats or desks, of which a building logs many.

    Tags of the schedule and of the point list stand.

    Returns
    -------
    list of str
        What was assumed.
    """
    quantities: dict[str, set[str]] = {}
    listed: set[str] = set()
    for point in points:
        if point.tag and point.quantity and point.mapped and not point.air_handler:
            quantities.setdefault(point.tag, set()).add(point.quantity)
            if point.certainty == "point list":
                listed.add(point.tag)
    mere = {tag for tag, of_tag in quantities.items() if of_tag == {"occupied"}}
    terminals = len(quantities) - len(mere)
    mere = {tag for tag in mere - listed if tags.known_terminal(tag) is None}
    if not terminals or len(mere) <= _ROOMS_OF_A_TERMINAL * terminals:
        return []
    out = [point for point in points if point.mapped and not point.air_handler and point.tag in mere]
    for point in out:
        point.give_up(
            f"no terminal: one of {len(mere)} tags with no point but an occupancy, beside {terminals} with more"
        )
    return [
        f"Occupancy of {len(mere)} tags that have no other point, beside {terminals} terminals that do, was left out "
        f"({some(list(dict.fromkeys(point.column for point in out)))}), since they are no terminals; the schedule or "
        "the point list can say otherwise."
    ]
