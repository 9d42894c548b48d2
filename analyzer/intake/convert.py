"""Cells to SI values, each used or set aside for a reason."""

from __future__ import annotations

import numpy as np

from analyzer.intake.cells import Cells
from analyzer.intake.points import Point
from analyzer.intake.stamps import NONEXISTENT, UNREADABLE, Stamps
from analyzer.intake.value_text import FLAG, NOTHING, WORD
from analyzer.intake.value_text import UNREADABLE as UNREADABLE_VALUE
from analyzer.ledger import REASONS
from analyzer.quantities import find_unit
from analyzer.site import Site

USED = 0
REASON = {name: number for number, name in enumerate(REASONS, 1)}
# Values whose median lies outside these bounds [SI] are hardly in the unit that was taken; used only where no file says
# the unit. Common practice, no source: what occupied buildings read.
_USUAL = {
    "zone_temp": (10, 35), "heating_setpoint": (10, 30), "cooling_setpoint": (15, 35), "discharge_temp": (7, 55),
    "primary_temp": (5, 45), "plenum_temp": (10, 40), "supply_temp": (5, 45), "outdoor_temp": (-40, 45),
}  # fmt: skip
_DEFAULT = {"temperature": ("degC", "degF"), "flow": ("L/s", "cfm"), "pressure": ("Pa", "in.w.c.")}
# A signal in percent that never passes 1, takes fractions and reaches this is a share of one.
_SHARE_REACHES = 0.3


def to_si(
    cells: Cells, points: list[Point], stamps: Stamps, site: Site, said: list[str]
) -> tuple[np.ndarray, np.ndarray]:
    """Convert a table's cells.

    Parameters
    ----------
    cells : Cells
        Grouped by point.
    points : list of Point
        All the table's points; ``cells.point`` numbers them.
    said : list of str
        Assumptions are added here.

    Returns
    -------
    value : ndarray of float64
        SI; NaN where set aside.
    reason : ndarray of uint8
        ``USED`` or a number of ``REASON``.
    """
    reason = _text_reasons(cells, points)
    value = cells.number.copy()
    word = cells.kind == WORD
    value[word] *= np.array([_word_factor(point) for point in points])[cells.point[word]]
    _apply_states(cells, points, value, reason)
    groups = _groups(cells.point)
    _in_cell_units(cells, points, value, reason)
    _convert(groups, points, value, reason, word, site, said)
    _check_range(groups, points, value, reason)
    stamp = stamps.reason[stamps.code[cells.row]]
    reason[stamp == UNREADABLE] = REASON["unreadable timestamp"]
    reason[stamp == NONEXISTENT] = REASON["nonexistent local time"]
    value[reason != USED] = np.nan
    return value, reason


def _groups(point: np.ndarray) -> list[tuple[int, slice]]:
    """List each point's stretch of cells."""
    if not len(point):
        return []
    begin = np.flatnonzero(np.r_[True, point[1:] != point[:-1]])
    end = np.r_[begin[1:], len(point)]
    return [(int(point[b]), slice(int(b), int(e))) for b, e in zip(begin, end, strict=True)]


def _text_reasons(cells: Cells, points: list[Point]) -> np.ndarray:
    by_kind = np.zeros(5, np.uint8)
    by_kind[NOTHING] = REASON["missing value"]
    by_kind[UNREADABLE_VALUE] = REASON["unreadable value"]
    by_kind[FLAG] = REASON["flagged by the source"]
    return by_kind[cells.kind]


def _word_factor(point: Point) -> float:
    """Say what "on" is for a point: 1 for a status, fully open for a signal in percent, nothing for a measurement."""
    if not point.mapped:
        return np.nan
    return 1.0 if point.meaning.state else 100.0 if point.meaning.dimension == "percent" else np.nan


def _apply_states(cells: Cells, points: list[Point], value: np.ndarray, reason: np.ndarray) -> None:
    """Read the codes that the point list spells, and no others, for the points that have them."""
    for at, point in enumerate(points):
        if not point.states:
            continue
        mine = np.flatnonzero(cells.point == at)
        number = cells.number[mine]
        meant = np.full(len(mine), np.nan)
        for code, state in point.states.items():
            try:
                meant[(number == float(code)) & (cells.kind[mine] != WORD)] = state
            except ValueError:
                spelt = [n for n, text in enumerate(cells.texts) if " ".join(text.lower().split()) == code]
                meant[np.isin(cells.text[mine], spelt)] = state
        held = np.isin(cells.kind[mine], (NOTHING, FLAG))
        plain = (cells.kind[mine] == WORD) & np.isnan(meant)
        meant[plain] = number[plain]
        value[mine] = np.where(held, value[mine], meant)
        reason[mine[~held]] = np.where(np.isnan(meant[~held]), REASON["unreadable value"], USED)


def _in_cell_units(cells: Cells, points: list[Point], value: np.ndarray, reason: np.ndarray) -> None:
    """Convert numbers that carry their unit in the cell; mark them as done by giving them the point's own unit."""
    spoken = [n for n, unit in enumerate(cells.units) if unit]
    if not spoken:
        return
    at = np.flatnonzero(np.isin(cells.text, spoken))
    at = at[reason[at] == USED]
    pairs = cells.point[at].astype(np.int64) * len(cells.texts) + cells.text[at]
    for pair in np.unique(pairs).tolist():
        point, unit = points[pair // len(cells.texts)], cells.units[pair % len(cells.texts)]
        mine = at[pairs == pair]
        found = find_unit(unit, point.meaning.dimension) if point.mapped else None
        if point.mapped and found is None:
            reason[mine] = REASON["unreadable value"]
        elif point.mapped and point.unit is None:
            point.unit, point.unit_from = unit, "cells"
        elif point.mapped:
            own = find_unit(point.unit, point.meaning.dimension)
            value[mine] = own.from_si(found.to_si(value[mine]))


def _convert(groups, points, value, reason, word, site: Site, said: list[str]) -> None:
    """Convert each point's numbers by its unit, found if nothing tells it."""
    for at, part in groups:
        point = points[at]
        if not point.mapped or point.meaning.state:
            continue
        if point.unit is None:
            _find_unit(point, value[part][reason[part] == USED], site, said)
        unit = find_unit(point.unit, point.meaning.dimension) if point.unit else None
        if point.meaning.dimension in ("percent", "fraction"):
            _percent(point, unit, value[part], reason[part], word[part], said)
        elif unit is not None:
            value[part] = unit.to_si(value[part])
        reason[part][np.isnan(value[part]) & (reason[part] == USED)] = REASON["unreadable value"]


def _find_unit(point: Point, value: np.ndarray, site: Site, said: list[str]) -> None:
    """Take the site's unit, or the one in which the values are usual, and say so."""
    choices = _DEFAULT.get(point.meaning.dimension)
    if choices is None or not len(value):
        return
    unit, why = choices[site.units == "ip"], f'as the site file\'s units = "{site.units}"'
    if site.file is None:
        unit, why = choices[0], "as SI is the default"
    usual = _USUAL.get(point.quantity)
    if usual:
        middle = float(np.median(value))
        fits = [
            name for name in choices if usual[0] <= find_unit(name, point.meaning.dimension).to_si(middle) <= usual[1]
        ]
        if len(fits) == 1 and (fits[0] != unit or site.file is None):
            unit, why = fits[0], "in which its values are usual"
    point.unit, point.unit_from = unit, why
    said.append(f"{point.meaning.meaning} without a unit was read in {unit}, {why}.")


def _percent(point: Point, unit, value: np.ndarray, reason: np.ndarray, word: np.ndarray, said: list[str]) -> None:
    """Tell percent from a share of one, for the whole column, and bring it to what the table holds."""
    number = (reason == USED) & ~word
    used = value[number]
    share = unit is not None and unit.scale == (100.0 if point.meaning.dimension == "percent" else 1.0)
    if point.meaning.dimension == "fraction":
        if not share and len(used) and (np.nanmax(used) > 1.0 or (unit is not None and unit.scale == 0.01)):
            value[number] = used * 0.01
        return
    if not share and len(used) and np.nanmax(used) <= 1.0 and np.nanmin(used) >= 0.0:
        between = np.unique(used[(used > 0) & (used < 1)])
        # A signal that only ever reads 0 and 1 is a stage, off and on.
        share = (len(between) >= 2 and used.max() >= _SHARE_REACHES) or (len(between) == 0 and used.max() == 1.0)
        if share:
            said.append(f"{point.meaning.meaning} that never passes 1 was read as a share of one (1 = 100 %).")
    if share:
        value[number] = used * 100.0
        point.unit = "0-1"


def _check_range(groups, points: list[Point], value: np.ndarray, reason: np.ndarray) -> None:
    """Set aside what is physically impossible; a status must be 0 or 1."""
    low, high = np.full(len(points), -np.inf), np.full(len(points), np.inf)
    state = np.zeros(len(points), bool)
    for at, _ in groups:
        if points[at].mapped:
            meaning = points[at].meaning
            low[at], high[at], state[at] = meaning.low, meaning.high, meaning.state
    for at, part in groups:
        used = reason[part] == USED
        with np.errstate(invalid="ignore"):
            bad = (value[part] < low[at]) | (value[part] > high[at])
        if state[at]:
            bad |= (value[part] != 0) & (value[part] != 1)
        reason[part][used & bad] = REASON["outside physical range"]
