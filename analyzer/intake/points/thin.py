"""Points that would make far more terminals than there are, each with next to nothing: left out, and said once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from analyzer.intake.points.point import Point
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.wording import some

# Judgement. So many terminals without a temperature or a flow at the least, and so many times those that have one.
MANY, TIMES = 10, 3
_TELLING = ("temperature", "flow")
# Judgement: rooms, or seats, with a sensor for people and nothing else are so many to a terminal at the most.
_ROOMS_OF_A_TERMINAL = 4


def leave_out_thin(points: Sequence[Point], tags: TagFinder) -> list[str]:
    """Leave out points of terminals that have neither a temperature nor a flow, where they outnumber those that have.

    Those with nothing but an occupancy (of people, desks or seats) are no terminals where there are fewer of them, too.
    What the schedule or the point list names stays.

    Returns
    -------
    list of str
        What was assumed.
    """
    quantities: dict[str, set[str]] = {}
    telling, named = set(), set()
    for point in points:
        if point.tag and point.quantity and point.mapped and not point.air_handler:
            quantities.setdefault(point.tag, set()).add(point.quantity)
            if point.meaning.dimension in _TELLING:
                telling.add(point.tag)
            if point.certainty == "point list":
                named.add(point.tag)
    thin = {tag for tag in quantities.keys() - telling - named if tags.known_terminal(tag) is None}
    people = {tag for tag in thin if quantities[tag] == {"occupied"}}
    others = sum(of_tag != {"occupied"} for of_tag in quantities.values())
    if telling and len(thin) >= max(MANY, TIMES * len(telling)):
        return [_leave_out(points, thin, len(telling))]
    if others and len(people) > _ROOMS_OF_A_TERMINAL * others:
        return [_leave_out(points, people, others)]
    return []


def _leave_out(points: Sequence[Point], terminals: set[str], beside: int) -> str:
    out = [point for point in points if point.mapped and not point.air_handler and point.tag in terminals]
    meanings = Counter(point.meaning.meaning for point in out)
    for point in out:
        point.give_up(
            f"no terminal: one of {len(terminals)} tags without a temperature or a flow, beside {beside} with more"
        )
    return (
        f"{len(out)} points ({some([name for name, _ in meanings.most_common()])}) of {len(terminals)} tags without a "
        f"temperature or a flow, beside {beside} with more, were left out, since they are no terminals: "
        f"{some(list(dict.fromkeys(repr(point.column) for point in out)))}; the schedule or the point list can say "
        "otherwise."
    )
