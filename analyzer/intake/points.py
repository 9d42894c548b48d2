"""Which terminal and quantity every point of the exports is, in which unit, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache

from analyzer.intake.entries import Entry
from analyzer.intake.names import Reading, read_quantity, tokens_of
from analyzer.intake.point_list import PointList
from analyzer.intake.tags import Owner, TagFinder
from analyzer.intake.unit_text import bare, no_unit, take_unit, trailing_unit, unit_of
from analyzer.quantities import AIR_HANDLER, TERMINAL, Quantity, unit_dimensions


@dataclass
class Point:
    """One point: what it was found to be.

    Attributes
    ----------
    file, column : str
        Where it stands, as the file spells it.
    tag, quantity : str or None
        None where it was not recognised.
    air_handler : bool
    unit, unit_from : str or None
        The unit's spelling and what told it: 'header', 'units row', 'unit column', 'point list', 'cells', 'values' or
        'assumption'; None where nothing did.
    assumed : str
        Why that unit was taken where no file told it.
    unknown_unit : str or None
        What the file tells and nobody knows.
    certainty : str
        'point list', 'sure', 'likely' or 'guess'.
    states : dict
        Codes of a multi-state point, lower case, to 0 or 1.
    ignored : bool
        The point list says to leave it out.
    why : str
        Why it was not mapped.
    spelled : str
        Its tag as the exports spell it.
    owner : str or None
        What else than its name may hold its tag: a column of tags, the file's name.
    rival : bool
        It was not mapped since a likelier point measures the same.
    stages : bool
        Its name counts stages.
    low, high : float
        The least and the greatest number that its cells hold, as the file spells them; NaN where nobody looked.
    """

    file: str
    column: str
    tag: str | None = None
    quantity: str | None = None
    air_handler: bool = False
    unit: str | None = None
    unit_from: str | None = None
    assumed: str = ""
    unknown_unit: str | None = None
    certainty: str = "guess"
    strength: int = 0
    states: dict[str, float] = field(default_factory=dict)
    ignored: bool = False
    why: str = ""
    spelled: str = ""
    owner: str | None = None
    rival: bool = False
    stages: bool = False
    low: float = math.nan
    high: float = math.nan

    @property
    def mapped(self) -> bool:
        return self.tag is not None and self.quantity is not None and not self.ignored

    @property
    def meaning(self) -> Quantity:
        return (AIR_HANDLER if self.air_handler else TERMINAL)[self.quantity]

    @property
    def key(self) -> tuple[bool, str, str]:
        """What it fills: table, tag and quantity."""
        return self.air_handler, self.tag, self.quantity


def propose(file: str, entry: Entry, tags: TagFinder) -> Point:
    """Propose what a point is, from its name and what its table says of it."""
    name, unit = take_unit(entry.column)
    found = tags.find(name, entry.owner)
    # A name's own words say the same whoever owns it; where they hold no unit, its spelling may.
    said = _said(found.words, found.air_handler, name if unit is None else "", unit, entry.unit, entry.unit_from)
    if said is None:
        point = Point(file, entry.column, found.tag, air_handler=found.air_handler, owner=entry.owner)
        return _building_point(point, found, tags)
    why = said.why if found.tag is not None else "its name holds no terminal's tag"
    return Point(
        file, entry.column, found.tag, said.quantity, found.air_handler, said.unit, said.unit_from,
        certainty=said.certainty, strength=said.strength, why=why, unknown_unit=said.unknown_unit,
        owner=entry.owner, stages=said.stages, spelled=found.spelled,
    )  # fmt: skip


@lru_cache(maxsize=65536)
def _said(
    words: tuple[str, ...], air_handler: bool, name: str, unit: str | None, beside: str | None, beside_from: str | None
) -> Point | None:
    """What the words and the unit of a name say, as a point of nobody's; None where they say nothing."""
    reading = read_quantity(words, air_handler=air_handler)
    if unit is None:
        reading, unit = _with_spelled_unit(words, name, air_handler, reading)
    if reading is None:
        return None
    point = Point("", "", None, reading.quantity, air_handler, certainty=reading.certainty, strength=reading.strength)
    point.stages = reading.stages
    given, told_by = (unit, "header") if unit else (beside, beside_from)
    if not no_unit(given):
        _take_unit(point, bare(given), told_by)
    return point


def _building_point(point: Point, found: Owner, tags: TagFinder) -> Point:
    """Give the building's outdoor temperature to its air handler; of anything else say that nothing is known."""
    reading = None if found.air_handler else read_quantity(found.words, air_handler=True)
    if reading is None or reading.quantity != "outdoor_temp":
        point.why = "its name says nothing that the vocabulary knows"
        return point
    point.tag, point.air_handler = tags.only_air_handler(), True
    point.quantity, point.certainty, point.strength = reading.quantity, reading.certainty, reading.strength
    if point.tag is None:
        point.why = "it is the building's, and no air handler is known to belong to it"
    return point


def _with_spelled_unit(words: tuple[str, ...], name: str, air_handler: bool, reading: Reading | None):
    """Find a unit that a name carries without brackets: at its end, or as one of its words (``VAV-101 CFM SP``)."""
    glossary = AIR_HANDLER if air_handler else TERMINAL
    for cut in (1, 2):
        left = read_quantity(words[:-cut], air_handler=air_handler) if words[:-cut] else None
        for named in filter(None, (left, reading)):
            spelling = trailing_unit(name, glossary[named.quantity].dimension)[1]
            if named is not left and glossary[named.quantity].dimension == "fraction" and spelling != "%":
                continue  # "outdoor air fraction" names the quantity, and no unit
            if spelling and len(tokens_of(spelling)) >= cut:
                return named, spelling
    if reading is not None and glossary[reading.quantity].dimension != "fraction":
        units = [word for word in words if len(word) >= 3 and unit_of(word, glossary[reading.quantity].dimension)]
        return reading, units[0] if units else None
    return reading, None


def _take_unit(point: Point, unit: str, told_by: str) -> None:
    """Give a point its unit; a unit of another kind shows that the name was misread."""
    if point.quantity in ("fan_status", "fan_command") and unit_of(unit, "percent") and unit not in ("1", "0-1"):
        point.quantity = "fan_speed"
    meaning = point.meaning
    if unit_of(unit, meaning.dimension) is not None:
        point.unit, point.unit_from = unit, told_by
    elif meaning.state:
        return
    elif unit_dimensions(unit):
        point.quantity = None
        point.why = f"its unit {unit!r} is no unit of {meaning.dimension.replace('_', ' ')}"
    else:
        point.unknown_unit = unit


def map_points(file: str, entries: list[Entry], tags: TagFinder, listed: PointList) -> list[Point]:
    """Map the points of a table, the point list's word over the proposal."""
    return [listed.apply(propose(file, entry, tags), entry.owner) for entry in entries]
