"""Cells to SI values, each used or set aside for a reason.

The work goes log by log, each log a whole array: that is a few thousand values that stay in the processor's cache,
where passes over the whole table would not.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.intake.points.blocks import Block
from analyzer.intake.points.conflicts import MOST_STAGES
from analyzer.intake.points.point import Point
from analyzer.intake.points.told import Told
from analyzer.intake.values.percent import read_percent
from analyzer.intake.values.plausibility import (
    DEAD,
    may_be_full_scale,
    read_running,
    read_stages,
    set_full_scale_aside,
    set_minus_one_aside,
    set_no_sensor_aside,
    set_sentinels_aside,
    tell_codes,
    tell_unknown_words,
)
from analyzer.intake.values.reasons import REASON, USED
from analyzer.intake.values.unit_choice import asks_company, choose_from_cells, choose_unit
from analyzer.intake.words.units import unit_of
from analyzer.intake.words.values import FLAG, NOTHING, WORD
from analyzer.intake.words.values import UNREADABLE as UNREADABLE_VALUE
from analyzer.site import Site

_OF_KIND = {
    NOTHING: REASON["missing value"],
    UNREADABLE_VALUE: REASON["unreadable value"],
    FLAG: REASON["flagged by the source"],
}


def to_si(block: Block, points: list[Point], site: Site, told: Told) -> np.ndarray:
    """Convert a block's numbers to SI where they stand.

    Parameters
    ----------
    block : Block
        ``number`` becomes SI, NaN where a cell is set aside.
    points : list of Point
        All the table's points; ``block.entry`` numbers them.
    told : Told
        Assumptions are added here.

    Returns
    -------
    ndarray of uint8, shape (columns, rows)
        ``USED`` or a number of ``REASON``.
    """
    reason = np.zeros(block.kind.shape, np.uint8)
    for kind, number in _OF_KIND.items():
        if (block.worst >= kind).any():
            reason += (block.kind == kind).view(np.uint8) * np.uint8(number)
    begin = block.begin.tolist()
    in_cells = any(block.units)
    later = []
    spoken = block.greatest(block.kind == WORD, np.logical_or)
    lists = (each.tolist() for each in (block.entry, block.low, block.high, block.worst, spoken))
    for column, logs in enumerate(zip(*lists, strict=True)):
        value, kind, place = block.number[column], block.kind[column], block.place.get(column)
        for run, (entry, low, high, worst, words) in enumerate(zip(*logs, strict=True)):
            if entry >= 0:
                part = slice(begin[run], begin[run + 1])
                cells = _Cells(value[part], reason[column, part], low, high)
                if worst > NOTHING:
                    cells.unbound()
                if words and not points[entry].meaning.state:
                    cells.tell_words(kind[part], points[entry])
                if points[entry].states:
                    cells.apply_states(points[entry], kind[part], None if place is None else place[part], block.texts)
                elif worst >= UNREADABLE_VALUE and points[entry].meaning.state and place is not None:
                    tell_unknown_words(points[entry], kind[part], place[part], block.texts, told)
                if place is not None and in_cells:
                    cells.apply_units(points[entry], place[part], block.units, site)
                if asks_company(points[entry], site):
                    later.append((cells, points[entry]))
                else:
                    cells.convert(points[entry], site, told)
    for cells, point in later:
        cells.convert(point, site, told, points)
    return reason


class _Cells:
    """The cells of one log: views into the block's arrays, changed where they stand.

    ``low`` and ``high`` bound the values; NaN where that is not known.
    """

    def __init__(self, value: np.ndarray, reason: np.ndarray, low: float, high: float):
        self.value, self.reason = value, reason
        self.low, self.high = low, high
        self.word: np.ndarray | None = None

    def convert(self, point: Point, site: Site, told: Told, company: Sequence[Point] = ()) -> None:
        """Bring the log to SI; ``company`` are the points of its table, where those bear on its unit."""
        meaning = point.meaning
        if point.unit is None and not meaning.state:
            choose_unit(point, self.value[self.reason == USED], site, company)
        if meaning.dimension == "temperature" and not (self.low > max(DEAD) or self.high < min(DEAD)):
            self.unbound()
            set_sentinels_aside(point, self.value, self.reason, told)
        if meaning.dimension == "percent" and not self.low > -1.0:
            self.unbound()
            set_minus_one_aside(point, self.value, self.reason, told)
        if meaning.dimension in ("flow", "concentration"):
            if may_be_full_scale(self.high):
                self.unbound()
                set_full_scale_aside(point, self.value, self.reason, told)
            if point.quantity in ("co2", "outdoor_air_flow"):
                self.unbound()
                set_no_sensor_aside(point, self.value, self.reason, told)
        unit = unit_of(point.unit, meaning.dimension) if point.unit else None
        if meaning.dimension in ("percent", "fraction"):
            plainly = self.high > 1 and meaning.dimension == "percent" and (unit is None or unit.scale == 1.0)
            if meaning.dimension == "percent" and self.high <= MOST_STAGES and point.unit is None:
                read_stages(point, self.value, self.reason, told)
                plainly &= not point.stages
            if not plainly:
                self.unbound()
                read_percent(point, unit, self.value, self.reason, self.word, told)
        elif unit is not None:
            self._scale(unit)
        self._check_range(point, told)

    def unbound(self) -> None:
        """Forget the bounds, where not all cells that hold something are numbers in the log's unit."""
        self.low = self.high = np.nan

    def tell_words(self, kind: np.ndarray, point: Point) -> None:
        """Say what "on" is: 1 for a status, but fully open for a signal in percent, nothing for a measurement."""
        self.unbound()
        self.word = kind == WORD
        self.value[self.word] *= 100.0 if point.meaning.dimension == "percent" else np.nan

    def apply_states(self, point: Point, kind: np.ndarray, place: np.ndarray | None, texts: list[str]) -> None:
        """Read the codes that the point list spells, and the usual words, and no others."""
        self.unbound()
        is_word = kind == WORD
        meant = np.where(is_word, self.value, np.nan)
        for code, state in point.states.items():
            try:
                meant[(self.value == float(code)) & ~is_word] = state
            except ValueError:
                spelt = [n for n, text in enumerate(texts) if " ".join(str(text).lower().split()) == code]
                if place is not None:
                    meant[np.isin(place, spelt)] = state
        told = ~np.isin(kind, (NOTHING, FLAG))
        self.value[told] = meant[told]
        self.reason[told] = np.where(np.isnan(meant[told]), REASON["unreadable value"], USED)

    def apply_units(self, point: Point, place: np.ndarray, units: list[str | None], site: Site) -> None:
        """Convert numbers that carry their unit in the cell to the point's unit."""
        self.unbound()
        dimension = point.meaning.dimension
        said = {n: unit_of(units[n], dimension) for n in np.unique(place).tolist() if n >= 0 and units[n]}
        cells = {n: np.flatnonzero((place == n) & (self.reason == USED)) for n in said}
        for n in said:
            if said[n] is None:
                self.reason[cells[n]] = REASON["unreadable value"]
        told = {n: unit for n, unit in said.items() if unit is not None and len(cells[n])}
        if point.unit is None and told:
            plain = (self.reason == USED) & ~np.isnan(self.value) & ~np.isin(place, [*told])
            choose_from_cells(point, [(units[n], len(cells[n])) for n in told], self.value[plain], site)
        own = unit_of(point.unit, dimension) if point.unit else None
        for n, unit in told.items():
            assert own is not None, "by now the point has a unit of its dimension"
            if unit != own:
                self.value[cells[n]] = own.from_si(unit.to_si(self.value[cells[n]]))

    def _scale(self, unit) -> None:
        if unit.before:
            self.value += unit.before
        if unit.scale != 1.0:
            self.value *= unit.scale
        if unit.after:
            self.value += unit.after
        self.low, self.high = unit.to_si(self.low), unit.to_si(self.high)

    def _check_range(self, point: Point, told: Told) -> None:
        """Set aside what is physically impossible (a status must be 0 or 1), and what is no number after all."""
        value, meaning = self.value, point.meaning
        if meaning.state and not self.high < 2 and read_running(point, value, self.reason, told):
            self.unbound()
        bounded = self.low >= meaning.low and self.high <= meaning.high
        if bounded and (not meaning.state or (value * value == value).all()):
            return
        good = (value == 0) | (value == 1) if meaning.state else (value >= meaning.low) & (value <= meaning.high)
        if good.all() and not self.reason.any():
            return
        bad = ~good & (self.reason == USED)
        empty = np.isnan(value)
        self.reason[bad & empty] = REASON["unreadable value"]
        outside = bad & ~empty
        self.reason[outside] = REASON["outside physical range"]
        if meaning.state and outside.any():
            tell_codes(point, value[outside], told)
        value[self.reason != USED] = np.nan
