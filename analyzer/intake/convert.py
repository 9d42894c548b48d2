"""Cells to SI values, each used or set aside for a reason.

The work goes log by log, each log a whole array: that is a few thousand values that stay in the processor's cache,
where passes over the whole table would not.
"""

from __future__ import annotations

import numpy as np

from analyzer.intake.blocks import Block
from analyzer.intake.percent import read_percent
from analyzer.intake.plausibility import set_zeros_aside, tell_codes
from analyzer.intake.points import Point
from analyzer.intake.reasons import REASON, USED
from analyzer.intake.unit_choice import choose_unit
from analyzer.intake.unit_text import unit_of
from analyzer.intake.value_text import FLAG, NOTHING, WORD
from analyzer.intake.value_text import UNREADABLE as UNREADABLE_VALUE
from analyzer.site import Site

_BY_KIND = np.zeros(5, np.uint8)
_BY_KIND[NOTHING] = REASON["missing value"]
_BY_KIND[UNREADABLE_VALUE] = REASON["unreadable value"]
_BY_KIND[FLAG] = REASON["flagged by the source"]


def to_si(block: Block, points: list[Point], site: Site, said: list[str]) -> np.ndarray:
    """Convert a block's numbers to SI where they stand.

    Parameters
    ----------
    block : Block
        ``number`` becomes SI, NaN where a cell is set aside.
    points : list of Point
        All the table's points; ``block.entry`` numbers them.
    said : list of str
        Assumptions are added here.

    Returns
    -------
    ndarray of uint8, shape (columns, rows)
        ``USED`` or a number of ``REASON``.
    """
    reason = np.zeros(block.kind.shape, np.uint8)
    begin = block.begin.tolist()
    for column, entries in enumerate(block.entry.tolist()):
        value, kind, place = block.number[column], block.kind[column], block.place.get(column)
        for run, entry in enumerate(entries):
            if entry >= 0:
                part = slice(begin[run], begin[run + 1])
                cells = _Cells(value[part], kind[part], None if place is None else place[part], reason[column, part])
                cells.convert(points[entry], block, site, said)
    return reason


class _Cells:
    """The cells of one log: views into the block's arrays, changed where they stand."""

    def __init__(self, value: np.ndarray, kind: np.ndarray, place: np.ndarray | None, reason: np.ndarray):
        self.value, self.kind, self.place, self.reason = value, kind, place, reason
        self.word: np.ndarray | None = None

    def convert(self, point: Point, block: Block, site: Site, said: list[str]) -> None:
        """Bring the log to SI."""
        if self.kind.any():
            self.reason[:] = _BY_KIND[self.kind]
            self._read_words(point)
        if point.states:
            self._apply_states(point, block.texts)
        if self.place is not None and any(block.units):
            self._in_cell_units(point, block.units)
        meaning = point.meaning
        if point.unit is None and not meaning.state:
            choose_unit(point, self.value[self.reason == USED], site)
        set_zeros_aside(point, self.value, self.reason, said)
        unit = unit_of(point.unit, meaning.dimension) if point.unit else None
        if meaning.dimension in ("percent", "fraction"):
            read_percent(point, unit, self.value, self.reason, self.word)
        elif unit is not None:
            self._scale(unit)
        self._check_range(point, said)

    def _read_words(self, point: Point) -> None:
        """Say what "on" is: 1 for a status, fully open for a signal in percent, nothing for a measurement."""
        word = self.kind == WORD
        if word.any():
            self.word = word
            if point.meaning.dimension == "percent":
                self.value[word] *= 100.0
            elif not point.meaning.state:
                self.value[word] = np.nan

    def _apply_states(self, point: Point, texts: list[str]) -> None:
        """Read the codes that the point list spells, and the usual words, and no others."""
        is_word = self.kind == WORD
        meant = np.where(is_word, self.value, np.nan)
        for code, state in point.states.items():
            try:
                meant[(self.value == float(code)) & ~is_word] = state
            except ValueError:
                spelt = [n for n, text in enumerate(texts) if " ".join(str(text).lower().split()) == code]
                if self.place is not None:
                    meant[np.isin(self.place, spelt)] = state
        told = ~np.isin(self.kind, (NOTHING, FLAG))
        self.value[told] = meant[told]
        self.reason[told] = np.where(np.isnan(meant[told]), REASON["unreadable value"], USED)

    def _in_cell_units(self, point: Point, units: list[str | None]) -> None:
        """Convert numbers that carry their unit in the cell to the point's unit, which is the first one met."""
        for n in np.unique(self.place).tolist():
            if n < 0 or not units[n]:
                continue
            cells = (self.place == n) & (self.reason == USED)
            unit = unit_of(units[n], point.meaning.dimension)
            if unit is None:
                self.reason[cells] = REASON["unreadable value"]
            elif point.unit is None:
                point.unit, point.unit_from = units[n], "cells"
            else:
                own = unit_of(point.unit, point.meaning.dimension)
                self.value[cells] = own.from_si(unit.to_si(self.value[cells]))

    def _scale(self, unit) -> None:
        if unit.before:
            self.value += unit.before
        if unit.scale != 1.0:
            self.value *= unit.scale
        if unit.after:
            self.value += unit.after

    def _check_range(self, point: Point, said: list[str]) -> None:
        """Set aside what is physically impossible (a status must be 0 or 1), and what is no number after all."""
        value, meaning = self.value, point.meaning
        good = (value == 0) | (value == 1) if meaning.state else (value >= meaning.low) & (value <= meaning.high)
        if good.all() and not self.reason.any():
            return
        bad = ~good & (self.reason == USED)
        empty = np.isnan(value)
        self.reason[bad & empty] = REASON["unreadable value"]
        outside = bad & ~empty
        self.reason[outside] = REASON["outside physical range"]
        if meaning.state and outside.any():
            tell_codes(point, value[outside], said)
        value[self.reason != USED] = np.nan
