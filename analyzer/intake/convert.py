"""Cells to SI values, each used or set aside for a reason."""

from __future__ import annotations

import numpy as np

from analyzer.intake.blocks import Block
from analyzer.intake.percent import read_percent
from analyzer.intake.points import Point
from analyzer.intake.reasons import REASON, USED
from analyzer.intake.unit_choice import choose_unit
from analyzer.intake.value_text import FLAG, NOTHING, WORD
from analyzer.intake.value_text import UNREADABLE as UNREADABLE_VALUE
from analyzer.quantities import Unit, find_unit
from analyzer.site import Site

_AS_IT_IS = Unit("", 1.0)


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
    by_kind = np.zeros(5, np.uint8)
    by_kind[NOTHING] = REASON["missing value"]
    by_kind[UNREADABLE_VALUE] = REASON["unreadable value"]
    by_kind[FLAG] = REASON["flagged by the source"]
    reason = by_kind[block.kind] if block.kind.any() else np.zeros(block.kind.shape, np.uint8)
    for column in range(len(block.entry)):
        _convert_column(block, column, points, reason[column], site, said)
    return reason


def _convert_column(block: Block, column: int, points: list[Point], reason: np.ndarray, site: Site, said: list[str]) -> None:
    value, kind = block.number[column], block.kind[column]
    mine = [points[n] if n >= 0 else None for n in block.entry[column].tolist()]
    word = kind == WORD if kind.any() else None
    if word is not None and word.any():
        factor = np.array([_word_factor(point) for point in mine])
        value[word] *= _over_rows(factor, block)[word] if np.ndim(_over_rows(factor, block)) else factor[0]
    if column in block.place or any(point and point.states for point in mine):
        _apply_states(block, column, mine, reason)
        _in_cell_units(block, column, mine, reason)
    for run in _runs_without_unit(mine):
        part = slice(block.begin[run], block.begin[run + 1])
        choose_unit(mine[run], value[part][(reason[part] == USED)], site, said)
    _scale(block, column, mine, reason, word)
    _check_range(block, column, mine, reason, said)


def _over_rows(by_run: np.ndarray, block: Block) -> np.ndarray:
    """Spread a figure per run over the rows; one figure for all rows stays one."""
    by_run = np.asarray(by_run)
    if len(by_run) == 1 or (by_run == by_run[0]).all():
        return by_run[0]
    return np.repeat(by_run, block.lengths)


def _word_factor(point: Point | None) -> float:
    """Say what "on" is for a point: 1 for a status, fully open for a signal in percent, nothing for a measurement."""
    if point is None:
        return np.nan
    return 1.0 if point.meaning.state else 100.0 if point.meaning.dimension == "percent" else np.nan


def _apply_states(block: Block, column: int, mine: list[Point | None], reason: np.ndarray) -> None:
    """Read the codes that the point list spells, and no others, for the points that have them."""
    for run, point in enumerate(mine):
        if point is None or not point.states:
            continue
        part = slice(block.begin[run], block.begin[run + 1])
        number, kind = block.number[column, part], block.kind[column, part]
        meant = np.where(kind == WORD, number, np.nan)
        for code, state in point.states.items():
            try:
                meant[(number == float(code)) & (kind != WORD)] = state
            except ValueError:
                spelt = [n for n, text in enumerate(block.texts) if " ".join(str(text).lower().split()) == code]
                if column in block.place:
                    meant[np.isin(block.place[column][part], spelt)] = state
        held = np.isin(kind, (NOTHING, FLAG))
        number[~held] = meant[~held]
        reason[part][~held] = np.where(np.isnan(meant[~held]), REASON["unreadable value"], USED)


def _in_cell_units(block: Block, column: int, mine: list[Point | None], reason: np.ndarray) -> None:
    """Convert numbers that carry their unit in the cell to their point's unit, which is the first one met."""
    spoken = [n for n, unit in enumerate(block.units) if unit]
    if not spoken or column not in block.place:
        return
    for run, point in enumerate(mine):
        part = slice(block.begin[run], block.begin[run + 1])
        place = block.place[column][part]
        for n in np.intersect1d(place, spoken).tolist() if point else ():
            cells = (place == n) & (reason[part] == USED)
            unit = find_unit(block.units[n], point.meaning.dimension)
            if unit is None:
                reason[part][cells] = REASON["unreadable value"]
            elif point.unit is None:
                point.unit, point.unit_from = block.units[n], "cells"
            else:
                own = find_unit(point.unit, point.meaning.dimension)
                block.number[column, part][cells] = own.from_si(unit.to_si(block.number[column, part][cells]))


def _runs_without_unit(mine: list[Point | None]) -> list[int]:
    return [run for run, point in enumerate(mine) if point and point.unit is None and not point.meaning.state]


def _scale(block: Block, column: int, mine: list[Point | None], reason: np.ndarray, word: np.ndarray | None) -> None:
    """Convert by each point's unit; percent and shares of one are told apart run by run."""
    value = block.number[column]
    units = []
    for run, point in enumerate(mine):
        unit = find_unit(point.unit, point.meaning.dimension) if point and point.unit else None
        if point and point.meaning.dimension in ("percent", "fraction"):
            part = slice(block.begin[run], block.begin[run + 1])
            read_percent(point, unit, value[part], reason[part], None if word is None else word[part])
            unit = None
        units.append(unit or _AS_IT_IS)
    if any(unit is not _AS_IT_IS for unit in units):
        before, scale, after = (
            _over_rows([getattr(unit, name) for unit in units], block) for name in ("before", "scale", "after")
        )
        if np.any(before):
            value += before
        value *= scale
        if np.any(after):
            value += after


def _check_range(block: Block, column: int, mine: list[Point | None], reason: np.ndarray, said: list[str]) -> None:
    """Set aside what is physically impossible (a status must be 0 or 1), and what is no number after all."""
    value = block.number[column]
    meanings = [point.meaning if point else None for point in mine]
    low = _over_rows([m.low if m else -np.inf for m in meanings], block)
    high = _over_rows([m.high if m else np.inf for m in meanings], block)
    good = (value >= low) & (value <= high)
    state = _over_rows([bool(m and m.state) for m in meanings], block)
    if np.any(state):
        good &= ~state | (value == 0) | (value == 1)
    if good.all():
        return
    bad = ~good & (reason == USED)
    reason[bad & np.isnan(value)] = REASON["unreadable value"]
    reason[bad & ~np.isnan(value)] = REASON["outside physical range"]
    value[reason != USED] = np.nan
