"""Which terminal and quantity every point of the exports is, in which unit, and how sure that is."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from analyzer.intake.points.building_air import await_air_handler
from analyzer.intake.points.contradictions import hold_against
from analyzer.intake.points.entries import Entry
from analyzer.intake.points.legends import Legend
from analyzer.intake.points.point import Point
from analyzer.intake.points.point_list import PointList
from analyzer.intake.points.states_told import take_states
from analyzer.intake.words.names import (
    Reading,
    concepts_of,
    is_quantity_word,
    phrased,
    read_quantity,
    tokens_of,
    unknown_among,
)
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import bare, is_other_unit, no_unit, take_unit, trailing_unit, unit_at_end, unit_of
from analyzer.intake.words.vocabulary import ROOM_WORDS
from analyzer.quantities import AIR_HANDLER, TERMINAL, unit_dimensions

_IN_BRACKETS = re.compile(r"[^\W\d].*[\[({]\s*([^\W\d][^\d\[\](){}]{0,11}?)\s*[\])}]\s*$")

# Concepts that leave a setpoint as it is.
_SAYS_NO_MORE = frozenset({"SETPOINT", "SP", "ACTUAL", "ACTIVE"})

# Between the steps of a path; and what its steps before the terminal's may stand for.
_PATH_SIGNS = frozenset("/\\.:>|")
_SAYS_WHERE = frozenset({"HANDLER", "BUILDING"})

# Before a "v" they make it volts.
_OF_A_SIGNAL = frozenset({"COMMAND", "OUTPUT", "FEEDBACK"})

# Those that say which of a terminal's or an air handler's airflows it is.
_SAYS_WHICH_AIR = frozenset({"PRIMARY", "SUPPLY", "INLET", "DISCHARGE", "OUTDOOR", "AIR"})


def propose(file: str, entry: Entry, tags: TagFinder) -> Point:
    """Propose what a point is, from its name and what its table says of it."""
    name, states = take_states(entry.column)
    name, unit = take_unit(name)
    found = tags.find(name, entry.owner, given=entry.given)
    # A name's own words say the same whoever owns it; where they hold no unit, its spelling may.
    spelling = (name if unit is None else "", unit, entry.unit, entry.unit_from)
    tag, air_handler = found.tag, found.air_handler
    words = found.words
    said = _said(words, air_handler, *spelling)
    if said is None and (without := _without_room(words)) != words:
        words, said = without, _said(without, air_handler, *spelling)
    if said is None and not air_handler and (behind := _behind_places(name, found.spelled)):
        said = _said(behind, air_handler, *spelling)
        words = behind if said is not None else words
    why = said.why if said is not None else "its name matches none of the quantities"
    if said is None and not air_handler:
        building = _said(found.words, True, *spelling)
        if building is not None and building.quantity == "outdoor_temp":  # the building's: its air handler has it
            said, tag, air_handler, why = building, tags.only_air_handler(), True, building.why
    if said is None and len(entry.about) > 1:  # "t.csv" says nothing
        about, unit_beside = take_unit(entry.about)
        said = _said(tags.find(about).words, air_handler, about, unit or unit_beside, entry.unit, entry.unit_from)
        why = said.why if said is not None else why
    if said is None:
        return Point(
            file, entry.shown, tag, air_handler=air_handler, owner=entry.owner, why=why, words=words,
            spelled=found.spelled,
        )  # fmt: skip
    stateful = said.quantity is not None and (AIR_HANDLER if air_handler else TERMINAL)[said.quantity].state
    if tag is None and not why and said.quantity != "outdoor_temp":
        why = "its name holds no terminal's tag"
    point = Point(
        file, entry.shown, tag, said.quantity, air_handler, said.unit, said.unit_from,
        certainty=said.certainty, strength=said.strength, why=why, unknown_unit=said.unknown_unit,
        owner=entry.owner, stages=said.stages, words=words, measured=said.measured,
        passed_over=said.passed_over, spelled=found.spelled, states=dict(states) if stateful else {},
    )  # fmt: skip
    hold_against(point, entry.unit, entry.unit_from)
    hold_against(point, entry.told_unit, entry.told_from)
    return point


def _without_room(words: tuple[str, ...]) -> tuple[str, ...]:
    """Leave out the room that a terminal serves, ``(Rm 310)`` behind its tag: its word is a temperature's, too."""
    rooms = {n for n in range(len(words) - 1) if words[n] in ROOM_WORDS and words[n + 1].isdigit()}
    return tuple(word for n, word in enumerate(words) if n not in rooms and n - 1 not in rooms)


def _behind_places(name: str, spelled: str) -> tuple[str, ...]:
    """Return the words behind a terminal's tag in a path where those before it say but where it is.

    ``Meridian/FL2/AHU-2/VAV-2-03/SA-F``: names of buildings are words that nobody knows, and short names of quantities
    are read only where all of their words are known.
    """
    before, _, rest = name.partition(spelled) if spelled else ("", "", "")
    if before[-1:] not in _PATH_SIGNS or rest[:1] not in _PATH_SIGNS:
        return ()
    return tuple(token.low for token in tokens_of(rest)) if concepts_of(before) <= _SAYS_WHERE else ()


@lru_cache(maxsize=65536)
def _said(
    words: tuple[str, ...], air_handler: bool, name: str, unit: str | None, beside: str | None, beside_from: str | None
) -> Point | None:
    """What the words and the unit of a name say, as a point of nobody's; None where they say nothing."""
    reading = read_quantity(words, air_handler=air_handler)
    if unit is None:
        reading, unit = _with_spelled_unit(words, name, air_handler, reading)
    if reading is None and (share := _share(words, name, unit, air_handler)) is not None:
        reading, unit = share
    if reading is None and not air_handler:
        reading = _setpoint_by_unit(words, unit or beside)
    if reading is None and (flow := _flow_by_unit(words, name, unit, beside, air_handler)) is not None:
        reading, unit = flow
    if reading is None and (warm := _temperature_by_unit(words, name, unit, beside, air_handler)) is not None:
        reading, unit = warm
    if reading is None:
        return None
    of_unit = {token.low for token in tokens_of(" ".join(filter(None, (unit, beside))))}
    point = Point(
        "", "", None, reading.quantity, air_handler,
        certainty=reading.certainty, strength=reading.strength, stages=reading.stages, measured=reading.measured,
        passed_over=tuple(word for word in unknown_among(words) if word not in of_unit),
    )  # fmt: skip
    given, told_by = (unit, "header") if unit else (beside, beside_from)
    if given and not no_unit(given):
        _take_unit(point, bare(given), told_by or "")
    elif strange := _strange_unit(name):
        point.meet_unknown_unit(strange)
    return point


def _with_spelled_unit(words: tuple[str, ...], name: str, air_handler: bool, reading: Reading | None):
    """Find a unit that a name carries without brackets: at its end, or as one of its words (``VAV-101 CFM SP``)."""
    glossary = AIR_HANDLER if air_handler else TERMINAL
    for cut in (1, 2, 3, 4):
        left = read_quantity(words[:-cut], air_handler=air_handler) if words[:-cut] else None
        for named in filter(None, (left, reading)):
            spelling = trailing_unit(name, glossary[named.quantity].dimension)[1]
            if named is not left and glossary[named.quantity].dimension == "fraction" and spelling != "%":
                continue  # "outdoor air fraction" names the quantity, and no unit
            ending = tuple(token.low for token in tokens_of(spelling or ""))
            if spelling and len(ending) >= cut and (named is reading or words[-cut:] == ending[-cut:]):
                return named, spelling
    if words[-1:] == ("v",) and not concepts_of(" ".join(words[-2:-1])).isdisjoint(_OF_A_SIGNAL):
        signal = read_quantity(words[:-1], air_handler=air_handler)
        if signal is not None and glossary[signal.quantity].dimension == "percent":
            return signal, "V"  # "dmpr_cmd_v"; behind a coil's word it may be a valve
    left = read_quantity(words[:-1], air_handler=air_handler) if words[-1:] in (("fraction",), ("percent",)) else None
    if left is not None and glossary[left.quantity].dimension == "percent":
        return left, words[-1]  # "damperPosFraction"
    if reading is not None and glossary[reading.quantity].dimension != "fraction":
        units = [word for word in words if len(word) >= 3 and unit_of(word, glossary[reading.quantity].dimension)]
        return reading, units[0] if units else None
    return reading, None


def _share(words: tuple[str, ...], name: str, unit: str | None, air_handler: bool) -> tuple[Reading, str | None] | None:
    """Read the name of a signal that is told as a share: ``Heating valve share (0-1)``, ``damper_ratio_0-1``."""
    spelled = unit or trailing_unit(name, "percent")[1]
    ending = tuple(token.low for token in tokens_of(spelled)) if spelled and not unit else ()
    left = words[: -len(ending)] if ending and words[-len(ending) :] == ending else words
    if len(left) < 2 or concepts_of(left[-1]) != {"FRACTION"}:
        return None
    reading = read_quantity(left[:-1], air_handler=air_handler)
    glossary = AIR_HANDLER if air_handler else TERMINAL
    if reading is None or glossary[reading.quantity].dimension != "percent":
        return None
    return reading, spelled


def _setpoint_by_unit(words: tuple[str, ...], unit: str | None) -> Reading | None:
    """Tell what a name that says nothing but setpoint is of, by its unit."""
    concepts = concepts_of(" ".join(words))
    if unit is None or "SETPOINT" not in concepts or concepts - _SAYS_NO_MORE or not all(map(is_quantity_word, words)):
        return None
    if unit_of(bare(unit), "temperature") is not None:
        return Reading("effective_setpoint", "guess", 1)
    return Reading("primary_flow_setpoint", "guess", 1) if unit_of(bare(unit), "flow") is not None else None


def _flow_by_unit(
    words: tuple[str, ...], name: str, unit: str | None, beside: str | None, air_handler: bool
) -> tuple[Reading, str | None] | None:
    """Read a name that says whose air it is by its unit, which is a flow's: ``Zuluft Ist m3/h``, ``V_primary [m3/s]``.

    Every word has to be known, and one to say which air: what else flows says so, too.
    """
    spelled = unit or unit_at_end(name)
    given = spelled or beside
    if not given or unit_of(bare(given), "flow") is None:
        return None
    ending = () if unit else tuple(token.low for token in tokens_of(spelled))
    left = words[: -len(ending)] if ending and words[-len(ending) :] == ending else words
    if concepts_of(" ".join(left)).isdisjoint(_SAYS_WHICH_AIR):
        return None
    reading = read_quantity((*left, "flow"), air_handler=air_handler)
    if reading is None or reading.certainty == "likely":
        return None
    return replace(reading, certainty="likely" if reading.certainty == "sure" else "guess"), spelled or None


def _temperature_by_unit(
    words: tuple[str, ...], name: str, unit: str | None, beside: str | None, air_handler: bool
) -> tuple[Reading, str | None] | None:
    """Read a name that says whose air it is by its unit, which is a temperature's: ``Leaving air F``.

    Every word has to be known, and one to say which air; one of them has to be "air" (``SA-F`` is a flow), unless the
    unit stands apart from the name: ``Discharge`` over ``°C``.
    """
    spelled = unit or trailing_unit(name, "temperature")[1]
    given = spelled or beside
    if not given or unit_of(bare(given), "temperature") is None:
        return None
    ending = () if unit else tuple(token.low for token in tokens_of(spelled or ""))
    left = words[: -len(ending)] if ending and words[-len(ending) :] == ending else words
    concepts, known = concepts_of(" ".join(left)), phrased(left)
    if not all(n in known or is_quantity_word(word) for n, word in enumerate(left)) or concepts <= {"AIR"}:
        return None
    if "air" not in left and (ending or concepts.isdisjoint(_SAYS_WHICH_AIR)):
        return None
    reading = read_quantity((*left, "temp"), air_handler=air_handler)
    if reading is None:
        return None
    return replace(reading, certainty="likely" if reading.certainty == "sure" else "guess"), spelled


def _strange_unit(name: str) -> str | None:
    """Return what stands in brackets at the end of a name, in the place of its unit, and is neither unit nor word."""
    match = _IN_BRACKETS.search(name)
    if match is None or no_unit(match[1]) or any(is_quantity_word(token.low) for token in tokens_of(match[1])):
        return None
    return match[1]


def _take_unit(point: Point, unit: str, told_by: str) -> None:
    """Give a point its unit; a unit of another kind shows that the name was misread."""
    if point.quantity in ("fan_status", "fan_command") and unit_of(unit, "percent") and unit not in ("1", "0-1"):
        point.means("fan_speed")
    if point.quantity == "supply_fan_status" and unit_of(unit, "percent") and unit not in ("1", "0-1"):
        point.means("supply_fan_speed")
    meaning = point.meaning
    if unit_of(unit, meaning.dimension) is not None:
        point.take_unit(unit, told_by)
    elif meaning.state:
        return
    elif unit_dimensions(unit) or is_other_unit(unit):
        point.give_up(f"its unit {unit!r} is no unit of {meaning.dimension.replace('_', ' ')}")
    else:
        point.meet_unknown_unit(unit)


def map_points(
    file: str, entries: list[Entry], tags: TagFinder, listed: PointList, legend: Legend | None = None
) -> list[Point]:
    """Map the points of a table: the point list's word over what a legend says, and that over their names."""
    points = []
    for entry in entries:
        told = legend.explain(entry) if legend else entry
        point = propose(file, told, tags)
        if told is not entry and point.quantity is None:
            named = propose(file, entry, tags)
            point = named if named.certainty == "sure" else point
        point = listed.apply(point, entry.owner)
        await_air_handler(point)
        points.append(point)
    return points
