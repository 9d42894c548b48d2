"""The names of an export's points: what each was taken for, why and how sure, and what its cells look like."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from analyzer.intake.points.alike import family_of, name_of
from analyzer.intake.points.looks import Look, Looks
from analyzer.intake.points.patterns import fits
from analyzer.intake.points.point import Point
from analyzer.intake.words.vocabulary import TERMINAL_EQUIPMENT
from analyzer.quantities import AIR_HANDLER, TERMINAL

NOT_RECOGNISED, UNUSABLE, GUESS, LEFT_OUT = "not recognized", "no usable value", "guess", "left out"
# How sure a reading is, the doubtful first; "point list" is the user's own word.
SURENESS = (NOT_RECOGNISED, UNUSABLE, GUESS, LEFT_OUT, "likely", "sure", "point list")
DOUBTFUL = SURENESS[:4]
_ORDER = {quantity: n for n, quantity in enumerate([*TERMINAL, *AIR_HANDLER])}
_WHY = {
    "sure": "its name says so",
    "likely": "its name says so, though not in full",
    "guess": "its name may say so",
    "point list": "the point list says so",
}
_UNUSABLE = {
    True: "but none of its values says on or off: spell its codes",
    False: "but none of its values is possible for it, or it has none",
}
_TOLD_BY = {
    "header": "its header says {}",
    "units row": "the row of units says {}",
    "unit column": "the column of units says {}",
    "cells": "its cells say {}",
    "notes": "a note says {}",
    "point list": "the point list says {}",
}


@dataclass(frozen=True)
class Outcome:
    """What a point was taken for; None where it was not.

    ``equipment`` is, where that is in doubt, the sort of thing that the point belongs to: a pump's is no terminal's.
    """

    quantity: str | None
    unit: str
    equipment: str = ""


@dataclass
class Name:
    """Points of one name that were taken for the same, at every terminal or at those of ``terminal`` alone.

    Attributes
    ----------
    column : str
        The name with ``*`` for the tag; of a single point's row the column as its file spells it.
    terminal, file : str
        Blank for any.
    usable : bool
        Whether any of its values came into the table.
    """

    column: str
    outcome: Outcome
    points: list[Point]
    look: Look
    terminal: str = ""
    file: str = ""
    usable: bool = True

    @property
    def quantity(self) -> str:
        return self.outcome.quantity or ""

    @property
    def unit(self) -> str:
        return self.outcome.unit

    @property
    def air_handler(self) -> bool:
        return self.points[0].air_handler

    @property
    def certainty(self) -> str:
        """How sure the least sure of its points is."""
        least = min((certainty_of(point) for point in self.points), key=SURENESS.index)
        return least if self.usable or not self.quantity else UNUSABLE

    @property
    def doubtful(self) -> bool:
        return self.certainty in DOUBTFUL

    @property
    def unit_assumed(self) -> bool:
        return any(point.mapped and point.unit_from in ("assumption", "values") for point in self.points)

    @property
    def why(self) -> str:
        """Why it was taken for what it is, or for nothing; and its unit."""
        point = min(self.points, key=lambda point: SURENESS.index(certainty_of(point)))
        if not point.mapped:
            return point.why or "the point list leaves it out"
        unusable = "" if self.usable else _UNUSABLE[point.meaning.state]
        return "; ".join(filter(None, (_WHY[point.certainty], self._why_unit(), unusable)))

    def _why_unit(self) -> str:
        told = next((point for point in self.points if point.mapped and point.unit), None)
        if told is None:
            return ""
        if told.assumed:
            return f"{told.unit}, {told.assumed}"
        return _TOLD_BY.get(told.unit_from or "", "{}").format(told.unit)

    @property
    def files(self) -> list[str]:
        return list(dict.fromkeys(point.file for point in self.points))

    @property
    def tags(self) -> list[str]:
        return list(dict.fromkeys(point.tag for point in self.points if point.tag))


def certainty_of(point: Point) -> str:
    """How sure it is what a point is."""
    if point.mapped or point.ignored:
        return point.certainty
    return LEFT_OUT if point.rival else NOT_RECOGNISED


def names_of(points: Iterable[Point], looks: Looks, used: set[tuple[bool, str, str]]) -> list[Name]:
    """Put the points of one name together: a name for what most were taken for, and others only where that differs.

    Parameters
    ----------
    used : set of tuple
        Of what a value came into the tables: air handler or not, tag, quantity.

    Returns
    -------
    list of Name
        The doubtful first, and what means the same together.
    """
    alike: dict[str, list[Point]] = {}
    for point in points:
        alike.setdefault(name_of(point), []).append(point)
    found = [name for column, same in alike.items() for name in _parted(column, same, looks)]
    for name in found:
        name.usable = any(point.mapped and point.key in used for point in name.points)
    return sorted(found, key=_place)


def _place(name: Name) -> tuple[Any, ...]:
    """Order: the doubtful first, by how doubtful; then by meaning; each name before its exceptions."""
    doubt = SURENESS.index(name.certainty) if name.doubtful else len(DOUBTFUL)
    about = [*_ABOUT, _about(name)].index(_about(name))
    quantity = _ORDER.get(name.quantity, len(_ORDER))
    return doubt, about, quantity, name.points[0].words, name.column, name.terminal, name.file


def _parted(column: str, points: list[Point], looks: Looks) -> list[Name]:
    groups = _by_outcome(points)
    others = sorted(groups.items(), key=lambda item: (-len(item[1]), str(item[0])))
    names = []
    if len(others) == 1 or not others[0][0].equipment:
        most, main = others.pop(0)
        names.append(Name(column, most, main, looks.of(main)))
    for outcome, group in others:
        rest = [point for point in points if point not in _Same(group)]
        families: dict[str, list[Point]] = {}
        for point in group:
            families.setdefault(family_of(point.tag) if point.tag else "", []).append(point)
        for family, members in families.items():
            if len(family) > 1 and not any(point.tag and fits(family, point.tag) for point in rest):
                names.append(Name(column, outcome, members, looks.of(members), family))
            else:
                names += _one_by_one(outcome, members, rest, looks.of(members))
    return names


class _Same:
    """Whether a point is one of some, by itself: two may hold the same."""

    def __init__(self, points: Iterable[Point]):
        self._ids = {id(point) for point in points}

    def __contains__(self, point: Point) -> bool:
        return id(point) in self._ids


def _one_by_one(outcome: Outcome, points: list[Point], rest: list[Point], look: Look) -> list[Name]:
    """A row for each terminal; for each file too where another file of the same terminal differs."""
    elsewhere = {(point.column, point.tag) for point in rest}
    rows: dict[tuple[str, str, str], list[Point]] = {}
    for point in points:
        by_file = point.file if (point.column, point.tag) in elsewhere else ""
        rows.setdefault((point.column, point.tag or "", by_file), []).append(point)
    return [Name(column, outcome, same, look, tag, file) for (column, tag, file), same in rows.items()]


def _by_outcome(points: list[Point]) -> dict[Outcome, list[Point]]:
    """Group points by what they were taken for; one whose values tell no unit goes with the others."""
    groups: dict[Outcome, list[Point]] = {}
    blank: list[Point] = []
    for point in points:
        quantity = point.quantity if point.mapped else None
        if quantity and not point.unit and _tells_no_unit(point):
            blank.append(point)
        else:
            groups.setdefault(Outcome(quantity, (quantity and point.unit) or "", _equipment(point)), []).append(point)
    for point in blank:
        there = [outcome for outcome in groups if outcome.quantity == point.quantity]
        most = (
            max(there, key=lambda outcome: len(groups[outcome]))
            if there
            else Outcome(point.quantity, "", _equipment(point))
        )
        groups.setdefault(most, []).append(point)
    _join_percent(groups)
    return groups


def _join_percent(groups: dict[Outcome, list[Point]]) -> None:
    """Put signals of which nothing tells a unit, and which are percent then, to those that are told to be."""
    for outcome in list(groups):
        told = replace(outcome, unit="")
        if outcome.unit == "%" and told in groups and not any(point.stages for point in groups[told]):
            groups[outcome] += groups.pop(told)


def _tells_no_unit(point: Point) -> bool:
    """Tell a point without a value, and a signal that never leaves 0: in percent and as a share it is the same."""
    still = point.low == point.high == 0 and point.meaning.dimension == "percent"
    return math.isnan(point.high) or (still and not point.stages)


def _equipment(point: Point) -> str:
    """Tell whose a doubtful point is by the words of its tag, where those are no words for terminals."""
    if not point.tag or certainty_of(point) not in (NOT_RECOGNISED, GUESS):
        return ""
    if point.air_handler:
        return "air handler"
    word = family_of(point.tag).rstrip("*").strip(" -_.").lower()
    return "" if word in TERMINAL_EQUIPMENT or not any(sign.isdigit() for sign in point.tag) else word


@dataclass(frozen=True)
class Group:
    """Names under one heading."""

    heading: str
    names: list[Name] = field(default_factory=list)


_HEADINGS = {
    UNUSABLE: "Without a usable value",
    NOT_RECOGNISED: "Not recognized",
    GUESS: "Guesses",
    LEFT_OUT: "Left out, as a likelier one measures the same",
}


# What the quantities of a terminal are about, by parts of their names.
_ABOUT = {
    "Zone, setpoints and occupancy": ("zone", "heating_setpoint", "cooling_setpoint", "effective", "occupied", "co2"),
    "Airflow and damper": ("flow", "damper"),
    "Fan": ("fan",),
    "Heat and air temperatures": ("reheat", "temp"),
}


def grouped(names: Iterable[Name]) -> list[Group]:
    """Put names, in their order, under headings: how doubtful they are, else what they mean."""
    groups: dict[str, Group] = {}
    for name in names:
        heading = _HEADINGS.get(name.certainty) or _about(name)
        groups.setdefault(heading, Group(heading)).names.append(name)
    return list(groups.values())


def _about(name: Name) -> str:
    """Return what a name is about."""
    if name.quantity in AIR_HANDLER and (name.air_handler or name.quantity not in TERMINAL):
        return "Air handlers"
    return next((heading for heading, parts in _ABOUT.items() if any(part in name.quantity for part in parts)), "Other")


def meaning(quantity: str) -> str:
    """Return what a quantity is, in words."""
    both = {**AIR_HANDLER, **TERMINAL}
    return both[quantity].meaning if quantity in both else "left out"


def counted(names: Iterable[Name]) -> int:
    """Return how many names there are, exceptions not counted."""
    return len({name_of(point) for name in names for point in name.points})
