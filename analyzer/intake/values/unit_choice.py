"""The unit of a point that no file names: the site's, or the one typical of its values. Always said."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from analyzer.intake.points.point import Point
from analyzer.intake.points.usual import CHOICES, USUAL, fitting_units
from analyzer.intake.words.units import unit_of
from analyzer.intake.words.wording import some
from analyzer.quantities import Unit
from analyzer.site import Site

ROOM_TEMPERATURES = ("zone_temp", "heating_setpoint", "cooling_setpoint")
_DEFAULT = "which is the default"
_GOES_WITH_DEGF = "which goes with the exports' temperatures in degF"
# A room that reads more than this is in degF. Judgement.
_NO_ROOM_IN_DEGC = 45


def asks_company(point: Point, site: Site) -> bool:
    """Tell whether a point's unit is sought last, beside those of its table: 30 may be a mild day or a frosty one."""
    return point.quantity == "outdoor_temp" and point.unit is None and not site.units_told


def as_exports_speak(site: Site, temperatures: Iterable[tuple[Point, float]]) -> Site:
    """Tell of exports without units in the site file whether they are in IP: where most temperatures are in degF.

    Parameters
    ----------
    temperatures : iterable of tuple
        Those whose unit is told, and those of rooms, each with the greatest number of its log.
    """
    votes = Counter(
        unit_of(point.unit, "temperature") == unit_of("degF", "temperature") if point.unit else high > _NO_ROOM_IN_DEGC
        for point, high in temperatures
        if np.isfinite(high)
    )
    return replace(site, units="ip") if votes[True] > votes[False] else site


def choose_unit(point: Point, values: np.ndarray, site: Site, company: Sequence[Point] = ()) -> None:
    """Give a point its unit, and why.

    Parameters
    ----------
    values : ndarray of float
        The point's readable values as the file spells them.
    company : sequence of Point
        The points of its table: where its values fit two units, it has that of the other temperatures.
    """
    dimension = point.meaning.dimension
    choices = CHOICES.get(dimension)
    if not len(values):
        return
    if choices is None:
        if point.unknown_unit:
            point.take_unit(point.meaning.unit, "assumption", _unknown(point, _DEFAULT))
        return
    if not site.units_told:
        unit, why = (choices[0], _DEFAULT) if site.units == "si" else (choices[1], _GOES_WITH_DEGF)
    else:
        unit, why = choices[site.units == "ip"], f"as the site file says units = {site.units!r}"
    if point.quantity in USUAL:
        fits = fitting_units(point.quantity, dimension, values)
        others = _unit_of_others(company)
        if len(fits) == 2 and others in fits:
            unit, why = others, "as the other temperatures of its file are"
        if len(fits) == 1 and (fits[0] != unit or not site.units_told):
            unit, why = fits[0], "typical of its values"
    point.take_unit(unit, "assumption", _unknown(point, why))


def _unknown(point: Point, why: str) -> str:
    """Put a unit that the file tells and nobody knows beside the reason for the one that is taken."""
    return f"{why} (its {point.unknown_unit!r} is no unit that is known)" if point.unknown_unit else why


def _unit_of_others(company: Sequence[Point]) -> str | None:
    """Return the unit that most temperatures of a table have by their names or their values; None where none has."""
    known = Counter(
        "degF" if unit_of(point.unit, "temperature") == unit_of("degF", "temperature") else "degC"
        for point in company
        if point.mapped
        and point.unit
        and point.meaning.dimension == "temperature"
        and not point.assumed.startswith(_DEFAULT)
    )
    (most, count), *rest = [*known.most_common(2), (None, 0)]
    return most if count > max((other for _, other in rest), default=0) else None


def choose_from_cells(point: Point, told: list[tuple[str, int]], plain: np.ndarray, site: Site) -> None:
    """Give a point the unit that stands beside its numbers.

    Where most numbers are bare, a unit that all the others agree on is taken for them too, and said; where those do
    not agree, the bare numbers have their unit as if no cell told one.

    Parameters
    ----------
    told : list of tuple
        Spellings of units of the point's dimension, and how many cells hold each.
    plain : ndarray of float
        The bare numbers.
    """
    cells: dict[Unit, int] = {}
    for spelling, count in told:
        unit = unit_of(spelling, point.meaning.dimension)
        assert unit is not None, "only spellings of its units are handed over"
        cells[unit] = cells.get(unit, 0) + count
    few = sum(cells.values()) < len(plain)
    if few and len(cells) > 1:
        choose_unit(point, plain, site)
    if point.unit is None:
        usual = max(cells, key=lambda unit: cells[unit])
        spelling = next(s for s, _ in told if unit_of(s, point.meaning.dimension) == usual)
        point.take_unit(spelling, "cells", "as the few of its cells that hold a unit say" if few else "")


def assumed_units(points: list[Point]) -> list[str]:
    """Word the units that no file told: a sentence for each unit and reason, with the columns of one quantity."""
    alike: dict[tuple[str, str], dict[str, list[str]]] = {}
    for point in points:
        if point.mapped and point.assumed and point.unit:
            by_meaning = alike.setdefault((point.unit, point.assumed), {})
            by_meaning.setdefault(point.meaning.meaning, []).append(point.column)
    return [_unit_told(unit, why, by_meaning) for (unit, why), by_meaning in alike.items()]


def _unit_told(unit: str, why: str, by_meaning: dict[str, list[str]]) -> str:
    meanings = [re.split(r"[:,(]", meaning)[0].strip() for meaning in by_meaning]
    columns = some(list(dict.fromkeys(column for own in by_meaning.values() for column in own)))
    named = f"{', '.join(meanings[:-1])} and {meanings[-1]} were" if len(meanings) > 1 else f"{meanings[0]} was"
    return f"{named[0].upper()}{named[1:]} read in {unit}, {why}: {columns}."
