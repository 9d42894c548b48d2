"""Units that no file names and that one point alone cannot tell: settled for all its files and its namesakes together.

Terminals of a building whose points bear one name are logged alike. So it is asked of all of them whether a signal runs
to 1 or to 100, which span its volts have, and whether airflow in metric exports is in L/s or in m3/h.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from analyzer.intake.points.cells import Opened, log_of_each
from analyzer.intake.points.point import Point
from analyzer.intake.values.percent import is_share
from analyzer.intake.values.unsaid_volts import settle_unsaid_volts
from analyzer.intake.words.units import is_volts, unit_of
from analyzer.intake.words.values import NUMBER
from analyzer.site import Site

_SHARE, _PERCENT = "0-1", "%"
# A signal of 2 to 10 V that is off stands at 2 V, plus or minus this. Judgement: what a converter's last bits come to.
_LOWEST, _GIVE = 2.0, 0.1  # V
# Where the greatest airflow of the usual terminal is past this, metric exports are in m3/h. Judgement: in L/s it would
# be a terminal of 2,100 cfm, and few are that large; in m3/h it is one of 590.
_LARGE_TERMINAL = 1000.0  # L/s
_FLOWS = ("primary_flow", "discharge_flow")


def settle_units(logs: Sequence[Opened], site: Site) -> None:
    """Give signals, and metric airflows, the unit that their namesakes tell."""
    every = [each for opened in logs for each in _read(opened)]
    settle_unsaid_volts(every)
    alike: dict[tuple, list[_Told]] = {}
    for each in every:
        if each.point.meaning.dimension == "percent" and not each.point.stages:
            alike.setdefault((each.point.air_handler, each.point.quantity, each.point.words), []).append(each)
    for namesakes in alike.values():
        _settle_volts([each for each in namesakes if each.open and is_volts(each.point.unknown_unit)])
        _settle_percent([each for each in namesakes if not is_volts(each.point.unknown_unit)])
    if site.units == "si":
        _settle_flows([each.point for each in every if each.open])


class _Told:
    """A point, and its numbers as the file spells them."""

    def __init__(self, opened: Opened, point: Point, log: int, in_cells: bool):
        self.point, self._opened, self._log = point, opened, log
        column = log // opened.block.entry.shape[1]
        self._bare = not (in_cells and column in opened.block.place)

    @property
    def open(self) -> bool:
        """Whether nothing has told its unit yet."""
        return self.point.unit is None and self._bare

    def numbers(self) -> np.ndarray:
        """Return the numbers that may be a signal's: no words, nothing that is flagged, no code out of its range."""
        block, meaning = self._opened.block, self.point.meaning
        column, run = divmod(self._log, block.entry.shape[1])
        part = slice(block.begin[run], block.begin[run + 1])
        number = block.number[column, part][block.kind[column, part] == NUMBER]
        return number[(number >= meaning.low) & (number <= meaning.high)]

    def passes_one(self) -> bool:
        """Tell whether a signal goes further than 1."""
        if self.point.high <= self.point.meaning.high:
            return self.point.high > 1.0
        return bool((self.numbers() > 1.0).any())


def _read(opened: Opened) -> Iterable[_Told]:
    """Return the points of a table that are read."""
    in_cells = any(opened.block.units)
    for point, log in zip(opened.points, log_of_each(opened), strict=True):
        if log >= 0 and point.mapped and not point.states:
            yield _Told(opened, point, log, in_cells)


def _settle_percent(namesakes: list[_Told]) -> None:
    """Tell percent from a share of one: by a namesake's unit, by one that passes 1, or by all of them together."""
    low = [each for each in namesakes if each.open and not each.passes_one() and len(each.numbers())]
    if not low:
        return
    units = [each.point.unit for each in namesakes if each.point.unit]
    stated = {unit_of(unit, "percent"): unit for unit in units}
    if len(stated) == 1:
        unit, why = next(iter(stated.values())), "as its namesakes say"
    elif any(each.open and each.passes_one() for each in namesakes):
        unit, why = _PERCENT, "as its namesakes pass 1"
    elif is_share(np.concatenate([each.numbers() for each in low])):
        unit, why = _SHARE, "as it never passes 1 (1 = 100 %)"
    else:
        return
    for each in low:
        if each.numbers().any():
            each.point.take_unit(unit, "values", why)


def _settle_volts(namesakes: list[_Told]) -> None:
    """Find the span of volts: they stand at 2 V when off, or fall under it."""
    lowest = min((each.point.low for each in namesakes if np.isfinite(each.point.low)), default=np.nan)
    if not np.isfinite(lowest):
        return
    off_at_two = abs(lowest - _LOWEST) <= _GIVE
    unit = "2-10 V" if off_at_two else "0-10 V"
    why = "as its volts and its namesakes' never fall under 2" if off_at_two else "as volts run where nothing says more"
    for each in namesakes:
        each.point.take_unit(unit, "values", why)


def _settle_flows(points: list[Point]) -> None:
    """Take metric airflows, air handlers' too, for m3/h where most terminals would be too large in L/s."""
    flows = [point for point in points if point.meaning.dimension == "flow" and not point.unknown_unit]
    most: dict[str, float] = {}
    for point in flows:
        if not point.air_handler and point.quantity in _FLOWS and np.isfinite(point.high):
            tag = point.tag or ""
            most[tag] = max(point.high, most.get(tag, 0.0))
    if most and float(np.median(list(most.values()))) > _LARGE_TERMINAL:
        for point in flows:
            point.take_unit("m3/h", "assumption", "as most terminals would be too large in L/s")
