"""What the cells of a name look like, mapped or not: for a user who has to say what the name means."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from analyzer.intake.points.alike import family_of, name_of
from analyzer.intake.points.blocks import Block, gather
from analyzer.intake.points.entries import Log
from analyzer.intake.points.point import Point
from analyzer.intake.tables.stamps import GOOD, Stamps
from analyzer.intake.words.values import NUMBER, UNREADABLE, WORD

WEEK = 7 * 86_400_000_000  # us
BUCKETS = 168  # of a picture: an hour each where it shows a week
_AT_ONCE = 1000  # points that nobody asks for are read so many at a time: their cells are not kept
_WORDS = 6  # that are no numbers and no usual words for on and off, of a name


@dataclass
class Look:
    """What the cells of all points of one name hold, as their files spell them.

    Attributes
    ----------
    low, high : float
        NaN where no cell holds a number.
    changes, days : float
        How often values change, and the days over which that was counted, of all points together.
    words : dict of str to None
        Cells that could not be read, the first few.
    example : tuple of str and str
        The file and the column of the point that is drawn.
    last : float
        Its last number.
    start, length : int
        The moment at which the drawn week begins [us, UTC], and how long it is [us]: less where the log is.
    lows, highs : ndarray of float, shape (168,)
        The least and the greatest number in each part of that time; NaN where there is none.
    """

    low: float = np.nan
    high: float = np.nan
    changes: float = 0.0
    days: float = 0.0
    words: dict[str, None] = field(default_factory=dict)
    example: tuple[str, str] = ("", "")
    last: float = np.nan
    start: int = 0
    length: int = WEEK
    lows: np.ndarray = field(default_factory=lambda: np.full(BUCKETS, np.nan))
    highs: np.ndarray = field(default_factory=lambda: np.full(BUCKETS, np.nan))

    def add(self, point: Point, time: np.ndarray, value: np.ndarray) -> None:
        """Take in the moments [us, UTC, in their order] and the numbers of another point."""
        self.example = self.example if self.example[1] else (point.file, point.column)
        if not len(value):
            return
        low, high, drawn = float(value.min()), float(value.max()), self.highs - self.lows
        still = np.isnan(self.last) or (np.nanmax(self.highs) == np.nanmin(self.lows) and not np.nansum(drawn))
        if still and (np.isnan(self.last) or high > low):
            self._draw(point, time, value)
        self.low, self.high = float(np.fmin(self.low, low)), float(np.fmax(self.high, high))
        self.changes += int(np.count_nonzero(np.diff(value)))
        self.days += float(time[-1] - time[0]) / (WEEK / 7)

    def _draw(self, point: Point, time: np.ndarray, value: np.ndarray) -> None:
        self.example, self.last, self.start = (point.file, point.column), float(value[-1]), int(time[0])
        self.length = min(WEEK, int(time[-1] - time[0]) + 1)
        inside = time < self.start + self.length
        at_part = (time[inside] - self.start) * BUCKETS // self.length
        for at, find, none in ((self.lows, np.minimum, np.inf), (self.highs, np.maximum, -np.inf)):
            at[:] = none
            find.at(at, at_part, value[inside])
            at[np.isinf(at)] = np.nan


def looked_at_together(looks: Sequence[Look]) -> Look:
    """Put looks together: the first that moves is drawn."""
    if not looks:
        return Look()
    drawn = next((look for look in looks if look.low < look.high), looks[0])
    words = {word: None for look in looks for word in look.words}
    return replace(
        drawn,
        low=float(np.fmin.reduce([look.low for look in looks])),
        high=float(np.fmax.reduce([look.high for look in looks])),
        changes=sum(look.changes for look in looks),
        days=sum(look.days for look in looks),
        words=dict.fromkeys([*words][:_WORDS]),
    )


class Looks:
    """Gathers what the names of an export look like, table by table, those of each family of tags by themselves."""

    def __init__(self) -> None:
        self._of_name: dict[tuple[str, str], Look] = {}

    def of(self, points: Iterable[Point]) -> Look:
        """Return what the names of some points look like, in their families of tags."""
        keys = dict.fromkeys(_key(point) for point in points)
        return looked_at_together([self._of_name[key] for key in keys if key in self._of_name])

    def see(self, log: Log, points: Sequence[Point], block: Block) -> None:
        """Look at the points of a table: those that are mapped have their cells in its block already."""
        self._see(log, points, block)
        others = [n for n, point in enumerate(points) if not point.mapped]
        for begin in range(0, len(others), _AT_ONCE):
            wanted = np.zeros(len(points), bool)
            wanted[others[begin : begin + _AT_ONCE]] = True
            self._see(log, points, gather(log, points, wanted)[0])

    def _see(self, log: Log, points: Sequence[Point], block: Block) -> None:
        for column, run in np.argwhere(block.entry >= 0).tolist():
            point = points[block.entry[column, run]]
            look = self._of_name.setdefault(_key(point), Look())
            part = slice(int(block.begin[run]), int(block.begin[run + 1]))
            look.add(
                point, *_in_order(log.stamps, block.stamp[part], block.kind[column, part], block.number[column, part])
            )
            for word in _unreadable(block, column, part) if len(look.words) < _WORDS else ():
                look.words[word] = None


def _key(point: Point) -> tuple[str, str]:
    """A point's name and the family of its tag as its name spells it."""
    return name_of(point), family_of(point.spelled)


def _in_order(stamps: Stamps, code: np.ndarray, kind: np.ndarray, number: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return moments and numbers of a log in the order of time, without the cells that hold none."""
    good = (stamps.reason[code] == GOOD) & ((kind == NUMBER) | (kind == WORD)) & np.isfinite(number)
    time, value = stamps.first[code[good]], number[good]
    if len(time) > 1 and (np.diff(time) < 0).any():
        order = np.argsort(time, kind="stable")
        time, value = time[order], value[order]
    return time, value


def _unreadable(block: Block, column: int, part: slice) -> Iterable[str]:
    if column not in block.place:
        return ()
    place = block.place[column][part][block.kind[column, part] == UNREADABLE]
    return [block.texts[n] for n in np.unique(place[place >= 0]).tolist()[:_WORDS]]
