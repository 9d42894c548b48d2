"""Where several names claim one quantity of one terminal: which is taken, and what is said of it.

The order of the columns decides nothing. Names decide by what they mean: a percentage before a count of stages, what is
measured before what is commanded, what is in force before what is not, and the name that says most. Where names say as
much, the values decide; and where those do too, the first in the order of the alphabet is taken.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from itertools import pairwise

from analyzer.intake.points.evidence import Evidence
from analyzer.intake.points.point import Point
from analyzer.intake.words.names import concepts_of, tokens_of
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.vocabulary import FAN_POWERED
from analyzer.intake.words.wording import some

_RANK = {"point list": 4, "sure": 3, "likely": 2, "guess": 1}
_NUMBER = re.compile(r"\d+")
# A signal that passes this is a percentage, whatever its name: electric heat has this many stages at most. Judgement.
MOST_STAGES = 4
_FAN = ("fan_status", "fan_command", "fan_speed", "fan_starts")
_ZONE_SETPOINTS = {
    f"{mode}{side}_setpoint" for mode in ("", "occupied_", "standby_", "unoccupied_") for side in ("heating", "cooling")
}


def settle_conflicts(points: list[Point], evidence: Evidence | None = None) -> list[str]:
    """Where several names claim one quantity of one terminal, keep the likeliest and say so.

    The same name in several files is one point logged in parts, and no conflict.

    Parameters
    ----------
    evidence : Evidence, optional
        What the points' values say; where they are not read, whether a point moves.
    """
    said = _take_the_only_flow_for_primary(points, evidence)
    said += _take_a_restless_setpoint_for_a_temperature(points, evidence)
    said += _take_the_only_setpoint_for_the_active_one(points)
    claims: dict[tuple, list[Point]] = {}
    for point in points:
        if point.mapped:
            claims.setdefault(point.key, []).append(point)
    lost: dict[tuple[str, str], int] = {}
    inlets: dict[tuple[str, ...], int] = {}
    renamed: dict[tuple[str, ...], int] = {}
    for (_, _tag, quantity), rivals in claims.items():
        names: dict[str, list[Point]] = {}
        for point in rivals if len(rivals) > 1 else ():
            names.setdefault(_plain(point.column), []).append(point)
        if len(names) < 2 or _one_point_in_parts(names):
            continue
        if evidence is not None and (order := _one_after_another(names, evidence)):
            renamed[tuple(same[0].column for same in order)] = 1
            continue
        if flows := _of_several_inlets(names):
            inlets[tuple(same[0].column for same in flows)] = 1
            for point in rivals:
                point.give_up("flows of its terminal differ by a number alone: it may have two inlets")
            continue
        best = _best([names[name] for name in sorted(names)], evidence)
        for same in names.values():
            if same is not best:
                for point in same:
                    point.give_up(f"{best[0].column!r} is taken for the {quantity} of {point.tag}", rival=True)
                lost[best[0].column, same[0].column] = 1
    if renamed:
        told = some([" then ".join(map(repr, order)) for order in renamed])
        said.append(
            f"Names of which one ends before the next begins were taken for one point that was renamed: {told}."
        )
    if inlets:
        told = some([" and ".join(map(repr, flows)) for flows in inlets])
        said.append(
            "Flows of one terminal whose names differ by a number alone may be those of two inlets, and none was "
            f"taken: {told}. Say in the point list which is the primary one."
        )
    shown = [f"{winner!r} rather than {loser!r}" for winner, loser in lost]
    if not shown:
        return said
    return [
        *said,
        f"Where several points could be one quantity of a terminal, one was chosen: {some(shown)}. The point list "
        "can say otherwise.",
    ]


def _one_after_another(names: dict[str, list[Point]], evidence: Evidence) -> list[list[Point]]:
    """Return names in the order of their time where each ends before the next begins; nothing where they do not.

    Names that hold no value, or that say less than the others, are no parts of the point.
    """
    apart = sum(len({point.file for point in same}) for same in names.values())
    files = {point.file for same in names.values() for point in same}
    # Names of one file that say less may be another point's; where the files are others, so is the way of naming.
    ranked = apart > len(files)
    claims = {(point.stages, ranked and _RANK[point.certainty]) for same in names.values() for point in same}
    spans = [(span, name) for name, same in names.items() if (span := evidence.span(same)) is not None]
    spans.sort()
    if len(claims) > 1 or len(spans) < len(names):
        return []
    if any(span[1] >= after[0] for (span, _), (after, _) in pairwise(spans)):
        return []
    return [names[name] for _, name in spans]


def _of_several_inlets(names: dict[str, list[Point]]) -> list[list[Point]]:
    """Return the flows of a terminal whose names differ by a number alone, where none of its others says more.

    Those that the point list names are what it says.
    """
    flows = [same for same in names.values() if same[0].meaning.dimension == "flow" and not math.isnan(same[0].high)]
    if len(flows) < 2 or any(point.certainty == "point list" for same in flows for point in same):
        return []
    best = max(_claim(point) for same in flows for point in same)
    alike: dict[str, list[list[Point]]] = {}
    for same in flows:
        if max(map(_claim, same)) == best:
            alike.setdefault(_NUMBER.sub("#", _plain(same[0].column)), []).append(same)
    return next((several for several in alike.values() if len(several) > 1), [])


def _best(rivals: list[list[Point]], evidence: Evidence | None) -> list[Point]:
    """Choose among points, each in its parts: by their names, and where those say as much by their values."""
    claims = [max(map(_claim, same)) for same in rivals]
    alike = [same for same, claim in zip(rivals, claims, strict=True) if claim == max(claims)]
    if len(alike) == 1:
        return alike[0]
    return max(alike, key=evidence.weigh if evidence else lambda same: max(point.high > point.low for point in same))


def _claim(point: Point) -> tuple:
    """How good a point's claim to its quantity is by its name; the greater the better. One without a value has none."""
    listed = point.certainty == "point list"
    guessed = point.certainty == "guess" and not point.high > MOST_STAGES
    in_percent = not point.stages and not (guessed and point.meaning.dimension == "percent")
    signal = point.meaning.dimension == "percent"
    told = (point.measured, point.strength) if signal else (point.strength, point.measured)
    return listed, not math.isnan(point.high), in_percent, _RANK[point.certainty], *told


def _take_the_only_flow_for_primary(points: list[Point], evidence: Evidence | None) -> list[str]:
    """Take a delivered flow for the primary airflow where its terminal has no other: few but the inlet have a sensor.

    One that has another only before or after it has none at the time. A flow that is named for the discharge is taken
    so at a terminal without a fan, of which nothing else joins the primary air.
    """
    with_fan = {point.tag for point in points if point.mapped and point.quantity in _FAN}
    with_fan |= {
        point.tag for point in points
        if point.tag and not FAN_POWERED.isdisjoint(token.low for token in tokens_of(point.tag))
    }  # fmt: skip
    at_the_inlet: dict[str | None, list[Point]] = {}
    for point in points:
        if point.mapped and point.quantity == "primary_flow":
            at_the_inlet.setdefault(point.tag, []).append(point)
    alone = [
        point
        for point in points
        if point.mapped and point.quantity == "discharge_flow"
        and (point.certainty == "guess" or (point.certainty != "point list" and point.tag not in with_fan))
        and all(evidence is not None and evidence.apart(point, other) for other in at_the_inlet.get(point.tag, ()))
    ]  # fmt: skip
    for point in alone:
        point.means("primary_flow")
    delivered = {point.tag for point in points if point.mapped and point.quantity == "discharge_flow"}
    for point in points:
        guessed = point.mapped and (point.quantity, point.certainty) == ("primary_flow_setpoint", "guess")
        if guessed and point.tag in delivered:
            point.give_up("its terminal has a flow of delivered air, whose setpoint it may be")
        elif guessed and point.tag in with_fan and _says_discharge(point):
            point.give_up("its terminal has a fan, whose air it may be the setpoint of")
    told = [
        (alone, "The only airflow of a terminal was taken for its primary airflow"),
        (
            [p for p in points if p.mapped and p.quantity == "primary_flow_setpoint" and _says_discharge(p)],
            "A setpoint of the discharge airflow was taken for that of the primary airflow, at terminals without a fan",
        ),
    ]
    return [f"{said}: {some(list(dict.fromkeys(p.column for p in taken)))}." for taken, said in told if taken]


def _says_discharge(point: Point) -> bool:
    return point.certainty == "guess" and "DISCHARGE" in concepts_of(" ".join(point.words))


def _take_a_restless_setpoint_for_a_temperature(points: list[Point], evidence: Evidence | None) -> list[str]:
    """Take ``SPT`` for the space temperature where it moves as one, and its terminal has no other."""
    if evidence is None:
        return []
    zoned = {point.tag for point in points if point.mapped and point.quantity == "zone_temp"}
    moving = [
        point
        for point in points
        if point.mapped and (point.quantity, point.certainty, point.words) == ("effective_setpoint", "guess", ("spt",))
        and point.tag not in zoned and evidence.is_restless(point)
    ]  # fmt: skip
    for point in moving:
        point.means("zone_temp")
    if not moving:
        return []
    told = some(list(dict.fromkeys(point.column for point in moving)))
    return [
        f"SPT was taken for the space temperature, since it changes all the time as none of the setpoints does: {told}."
    ]


def _take_the_only_setpoint_for_the_active_one(points: list[Point]) -> list[str]:
    """Take a plain zone setpoint for the one in force where its terminal has no other; else it may be their base."""
    others = {point.tag for point in points if point.mapped and point.quantity in _ZONE_SETPOINTS}
    plain = [
        point
        for point in points
        if point.mapped and (point.quantity, point.certainty) == ("effective_setpoint", "guess")
    ]
    for point in plain:
        if point.tag in others:
            point.give_up(
                "its terminal has setpoints for heating and cooling; a plain one beside them may be their base"
            )
    told = some(list(dict.fromkeys(point.column for point in plain if point.quantity)))
    if not told:
        return []
    return [f"The only zone setpoint of a terminal was taken for the one in force, in heating and in cooling: {told}."]


def _one_point_in_parts(names: dict[str, list[Point]]) -> bool:
    """Tell names that differ only from file to file: each file holds one of them, and all are equally sure."""
    files = [{point.file for point in same} for same in names.values()]
    ranks = {(point.stages, _RANK[point.certainty], point.strength) for same in names.values() for point in same}
    return len(ranks) == 1 and sum(map(len, files)) == len(set().union(*files))


@lru_cache(maxsize=65536)
def _plain(column: str) -> str:
    return "".join(token.low for token in tokens_of(take_unit(column)[0]))
