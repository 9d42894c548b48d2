"""Points that would make far more terminals than there are, each with nothing else: left out, and said once."""

from __future__ import annotations

from collections import Counter

from analyzer.intake.points.point import Point
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.wording import some

# Judgement. So many terminals at the least, and so many times those that have a temperature or a flow.
MANY, TIMES = 10, 3
_TELLING = ("temperature", "flow")


def leave_out_thin(points: list[Point], tags: TagFinder) -> list[str]:
    """Leave out points of terminals that have neither a temperature nor a flow, where they outnumber those that have.

    What the schedule or the point list names stays.

    Returns
    -------
    list of str
        What was assumed.
    """
    mine = [point for point in points if point.mapped and not point.air_handler]
    full = {point.tag for point in mine if point.meaning.dimension in _TELLING}
    thin = [
        point
        for point in mine
        if point.tag not in full and point.certainty != "point list" and not tags.known_terminal(point.tag or "")
    ]
    terminals = {point.tag for point in thin}
    if not full or len(terminals) < MANY or len(terminals) < TIMES * len(full):
        return []
    quantities = Counter(point.meaning.meaning for point in thin)
    for point in thin:
        point.give_up("its terminal would have nothing else, and there would be far more such terminals than others")
    return [
        f"{len(thin)} points ({some([name for name, _ in quantities.most_common()])}) would make {len(terminals)} "
        f"terminals without a temperature or a flow, beside {len(full)} that have one, and were left out: "
        f"{some(list(dict.fromkeys(repr(point.column) for point in thin)))}; the point list can say otherwise."
    ]
