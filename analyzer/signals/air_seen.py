"""What the terminals of an air handler show together of its air: that it has gone, that it is there, or nothing.

Counts by air handler and quarter hour (``air_counts``) add up over groups of terminals; what follows from the sums is
worked out once (``settle``). Terminals of no air handler that is known are counted together, under the tag "".
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analyzer.signals.agreed import counted, in_few_bytes, in_four_bytes
from analyzer.signals.air_signs import by_quarter, quarters_of
from analyzer.signals.axes import QUARTER, local_time
from analyzer.signals.scene import Scene
from analyzer.signals.unit_state import state_by_quarter

AIR_SEEN = "air seen"
# So many terminals without air, and this share of those that tell of theirs, are no matter of single terminals.
# Judgement. Where no air handler is known: five, and this share of all, for one of several air handlers may be out.
LEAST, LEAST_UNASSIGNED = 3, 5
SHARE, SHARE_UNASSIGNED = 0.6, 0.15
# Most of them, where the other way round is told of by as many. Judgement.
MOST = 0.5
# They lost it together where this share fell within half an hour of the first. Judgement.
TOGETHER = 0.5
# Nearly all of those that tell are without: the whole air handler, whoever fell when. Judgement.
NEARLY_ALL = 0.8
# Of all flows; then nothing moves anywhere. Judgement: one sensor in ten may be off its zero.
ALL_STILL = 0.9
# It is usual that air is there where it was at this share of other days at the hour. Judgement: an outage of some days
# in a week leaves as much.
USUAL = 1 / 3
# Where nobody is in, an air handler cycles with the cold, on some nights and weekends: there it is usual at this share
# of so many other days and more. Judgement.
USUAL_UNOCCUPIED, DAYS_UNOCCUPIED = 0.8, 4
# A stretch without air is joined across so many quarter hours that tell otherwise, and so many without a log.
FLICKER, SILENCE = 2, 8
# Two lose their air at the same moment where so many quarter hours lie between, at the most.
SAME_MOMENT = 2
# Before so many quarter hours have passed, what was seen last still tells how it was before.
BEFORE = 16

SUMMED = ("present", "in_use", "known", "still", "told", "moves", "nothing", "cut", "fell", "called")
_PER_DAY = int(86400 / QUARTER)


def _add(tables: Sequence[pd.DataFrame]) -> pd.DataFrame:
    """Add up what groups of terminals counted; what is of the clock or the air handler is the same in all."""
    how = dict.fromkeys(SUMMED, "sum") | dict.fromkeys(("slot", "runs", "live"), "max")
    return in_few_bytes(pd.concat(tables).groupby(["owner", "quarter"], as_index=False, sort=True).agg(how))


def settle(counts: pd.DataFrame) -> pd.DataFrame:
    """Tell what follows from the counts of all terminals.

    Returns
    -------
    DataFrame
        ``counts`` by owner (categorical) and quarter hour, and: ``air`` (the air handler is seen to supply air),
        ``idle`` (no flow anywhere, and none asked for), ``stretch`` (the number of the stretch without air, -1 for
        none), ``whole`` (it is nearly all of its terminals), ``outage`` (air was to be expected then), ``lasts`` (the
        stretch [s]).
    """
    return _Settling(in_four_bytes(counts.sort_values(["owner", "quarter"], ignore_index=True))).table()


class _Settling:
    """Stretches without air, found in the counts of each air handler, one after another."""

    def __init__(self, counts: pd.DataFrame):
        self.counts = counts
        self.n = {name: counts[name].to_numpy() for name in (*SUMMED, "quarter", "slot", "runs", "live")}
        self.tags, self.owner = np.unique(counts["owner"].to_numpy().astype(str), return_inverse=True)
        self.unassigned = (self.tags == "")[self.owner]
        self.most = np.zeros(len(self.tags), dtype=np.int64)
        np.maximum.at(self.most, self.owner, self.n["known"])
        self.most = self.most[self.owner]
        self.lost = self.n["nothing"] + self.n["cut"]
        self.place = self.owner * 2**40 + self.n["quarter"]
        self.moving = (self.n["moves"] >= LEAST) & (self.n["moves"] >= MOST * self.n["told"])
        self.begin, self.end = self._stretches()
        self.size = self.end - self.begin

    def table(self) -> pd.DataFrame:
        whole = self._whole()
        seen = self._together() | (whole & ~self._runs_live()) | self._by_points()
        self._keep((self._lasts() >= 2 * QUARTER) & self._since(seen))
        whole = self._whole()
        number = self._per_row(np.arange(len(self.begin)), -1)
        idle = self._idle() & (number < 0)
        outage = self._outages(number, idle, whole)
        outage &= ~self._per_row(self._told_of_another(outage) | self._off_by_the_clock(outage, idle), False)
        settled = self.counts.assign(
            owner=pd.Categorical.from_codes(self.owner, self.tags),
            air=self.moving & (number < 0) & ~self.unassigned,
            idle=idle,
            stretch=number,
            whole=self._per_row(whole, False),
            outage=outage,
            lasts=self._per_row(self._lasts_in_all(), 0.0),
        )
        return in_four_bytes(settled)

    def _stretches(self) -> tuple[np.ndarray, np.ndarray]:
        """Join the quarter hours at which many are without air: first row of each stretch, the one after its last."""
        least = np.where(self.unassigned, LEAST_UNASSIGNED, LEAST)
        of_how_many = np.where(self.unassigned, SHARE_UNASSIGNED * self.most, SHARE * self.n["told"])
        without = (self.n["nothing"] >= least) & (self.lost >= of_how_many)
        rows = np.flatnonzero(without | ((self.n["known"] == 0) & (self.n["runs"] == 0)))
        if not len(rows):
            return rows, rows
        apart = (np.diff(rows) > FLICKER + 1) | (np.diff(self.place[rows]) > SILENCE)
        begins = np.append(True, apart)
        return rows[begins], rows[np.append(apart, True)] + 1

    def _keep(self, kept: np.ndarray) -> None:
        self.begin, self.end, self.size = self.begin[kept], self.end[kept], self.size[kept]

    def _lasts(self) -> np.ndarray:
        """How long each stretch lasts [s]."""
        return (self.n["quarter"][self.end - 1] + 1.0 - self.n["quarter"][self.begin]) * QUARTER

    def _apart(self) -> np.ndarray:
        """Which stretches, from the second on, follow on air that was seen, or on more than a day of nothing."""
        total = np.append(0, np.cumsum(self.moving))
        first, last = self.begin[1:], self.end[:-1]
        return (total[first] > total[last]) | (self.place[first] - self.place[last - 1] > _PER_DAY)

    def _since(self, holds: np.ndarray) -> np.ndarray:
        """Tell whether something holds of a stretch, or of one before it, no air having been seen in between.

        After a night without air those who had lost theirs lose it no second time: it is the same outage.
        """
        if not len(self.begin):
            return holds
        number = np.append(0, np.cumsum(self._apart()))
        total = np.cumsum(holds)
        before = (total - holds)[np.flatnonzero(np.append(True, number[1:] > number[:-1]))]
        return total > before[number]

    def _lasts_in_all(self) -> np.ndarray:
        """How long each stretch lasts with those before and after it, no air having been seen in between [s]."""
        if not len(self.begin):
            return np.zeros(0)
        apart = self._apart()
        number = np.append(0, np.cumsum(apart))
        start = np.flatnonzero(np.append(True, apart))
        end = np.append(start[1:], len(number)) - 1
        lasts = self.n["quarter"][self.end[end] - 1] + 1.0 - self.n["quarter"][self.begin[start]]
        return (lasts * QUARTER)[number]

    def _sum(self, values: np.ndarray) -> np.ndarray:
        """Sum a value per row over each stretch."""
        total = np.append(0.0, np.cumsum(values))
        return total[self.end] - total[self.begin]

    def _within(self, values: np.ndarray, start: int, end: int) -> np.ndarray:
        """Sum a value per row from so many quarter hours after each stretch's first up to, but not at, so many."""
        total, first = np.append(0.0, np.cumsum(values)), self.place[self.begin]
        at = np.searchsorted(self.place, [first + start, first + end])
        return total[at[1]] - total[at[0]]

    def _together(self) -> np.ndarray:
        """Whether most of the terminals of each stretch lost their air within half an hour of its first."""
        first = self.begin[:, None] + np.arange(4)
        lost = np.where(first < self.end[:, None], self.lost[np.minimum(first, len(self.lost) - 1)], 0).max(
            axis=1, initial=0
        )
        return self._within(self.n["fell"], -2, 3) >= TOGETHER * lost

    def _whole(self) -> np.ndarray:
        lost, told, known = self._sum(self.lost), self._sum(self.n["told"]), self._sum(self.n["known"])
        return (lost >= NEARLY_ALL * told) & (self._sum(self.n["still"]) >= MOST * known)

    def _runs_live(self) -> np.ndarray:
        """Whether an air handler runs by points that are live: who gets no air by and by then has a shut damper."""
        return self._sum((self.n["runs"] == 1) & (self.n["live"] == 1)) >= MOST * self.size

    def _by_points(self) -> np.ndarray:
        """Whether each stretch is told by the air handler's own points alone, no terminal having a flow."""
        return self._sum(self.n["known"]) == 0

    def _per_row(self, values: np.ndarray, elsewhere) -> np.ndarray:
        found = np.full(len(self.counts), elsewhere, dtype=np.result_type(values, type(elsewhere)))
        rows = np.arange(self.size.sum()) + np.repeat(self.begin - (np.cumsum(self.size) - self.size), self.size)
        found[rows] = np.repeat(values, self.size)
        return found

    def _idle(self) -> np.ndarray:
        """Whether nothing flows at nearly all terminals, and none is asked to."""
        least = np.maximum(np.where(self.unassigned, LEAST_UNASSIGNED, LEAST), MOST * self.most)
        return (self.n["known"] >= least) & (self.n["still"] >= ALL_STILL * self.n["known"]) & (self.n["moves"] == 0)

    def _outages(self, number: np.ndarray, idle: np.ndarray, whole: np.ndarray) -> np.ndarray:
        """Tell at which rows of which stretches air was to be expected, and is no matter of the clock."""
        on = self.moving | ((self.n["known"] == 0) & (self.n["runs"] == 1))
        off = ((number >= 0) | idle | (self.n["runs"] == 0)) & ~(on & (number < 0))
        expected = self._expected(number, on & (number < 0), off) & (number >= 0)
        broke_off = expected[self.begin] & (self._within(on, -BEFORE, 0) > 0)
        called, known = self.n["called"] * expected, self.n["known"] * expected
        share = self._sum(called) / np.maximum(self._sum(known), 1)
        # Asked for more than while it is off as usual: it did not start. Where it never is, by who is in. Or its own
        # points say that it runs, while nothing arrives.
        nights = off & ~expected
        usual_called, usual_known = (
            np.bincount(self.owner, values * nights, len(self.tags))[self.owner[self.begin]]
            - self._sum(values * nights)
            for values in (self.n["called"], self.n["known"])
        )
        used = self._sum(self.n["in_use"] * expected) >= MOST * self._sum(self.n["present"] * expected)
        unusual = np.where(usual_known > 0, usual_called < 0.5 * share * usual_known, used)
        claims_to_run = self._sum((self.n["runs"] == 1) & ~(self.n["live"] == 1) & expected) >= MOST * np.maximum(
            self._sum(expected), 1
        )
        did_not_start = whole & (share >= MOST) & (unusual | claims_to_run)
        return expected & self._per_row(self._since(broke_off | did_not_start), False)

    def _told_of_another(self, outage: np.ndarray) -> np.ndarray:
        """Whether the terminals of no known air handler lost their air at the moment of an outage of one that is."""
        begins, nobodys = self.n["quarter"][self.begin], self.unassigned[self.begin]
        known = np.sort(begins[~nobodys & (self._sum(outage) > 0)])
        if not len(known):
            return np.zeros(len(begins), dtype=bool)
        at = np.searchsorted(known, begins - SAME_MOMENT)
        return nobodys & (at < len(known)) & (known[np.minimum(at, len(known) - 1)] <= begins + SAME_MOMENT)

    def _off_by_the_clock(self, outage: np.ndarray, idle: np.ndarray) -> np.ndarray:
        """Whether terminals of no known air handler are without air while one that is known is off as usual."""
        off = ~self.unassigned & ~outage & (idle | (self.n["runs"] == 0))
        off_then = np.isin(self.n["quarter"], self.n["quarter"][off])
        return self.unassigned[self.begin] & (self._sum(off_then) >= MOST * self.size)

    def _expected(self, number: np.ndarray, on: np.ndarray, off: np.ndarray) -> np.ndarray:
        """Whether air is usual at the hour, by other days of the sort; where there is none, whether people are in."""
        slot = self.owner * (2 * _PER_DAY) + self.n["slot"]
        there, gone = np.bincount(slot, on)[slot], np.bincount(slot, off)[slot]
        own = np.unique(np.stack([number, slot]), axis=1, return_inverse=True)[1].reshape(-1)
        others = there + gone - np.bincount(own, off)[own] * (number >= 0)
        used = self.n["in_use"] >= MOST * np.maximum(self.n["present"], 1)
        knows_hours = (np.bincount(self.owner, self.n["in_use"], len(self.tags)) > 0)[self.owner]
        usual = there >= USUAL * others
        usual_unoccupied = (others >= DAYS_UNOCCUPIED) & (there >= USUAL_UNOCCUPIED * others)
        return np.where(others > 0, np.where(used | ~knows_hours, usual, usual_unoccupied), used)


@counted(AIR_SEEN, add=_add, settle=settle)
def air_counts(scene: Scene) -> pd.DataFrame:
    """Count by air handler and quarter hour what the terminals of a scene show of their air.

    Returns
    -------
    DataFrame
        ``owner, quarter``, then ``SUMMED``: terminals that have a flow, or are not trended for one; those of them that
        are occupied; that have a flow, and of these what ``Quarters`` tells. ``slot``: the hour of the day and the sort
        of day; ``runs``, ``live``: whether the air handler runs by its own points, and whether these are live.
    """
    signs = quarters_of(scene)
    tags, owner = np.unique(scene.words("air_handler").astype(str), return_inverse=True)
    owner = owner.reshape(-1)
    if "" in tags:  # on which of them its terminals hang is not known
        tags = np.append(tags, np.setdiff1d(scene.trends.air_handlers["air_handler"].cat.categories.astype(str), tags))
    of_points = state_by_quarter(scene.trends.air_handlers, tags)
    terminal, quarter, in_use = _without_flow(scene)
    quarters = [signs.quarter, quarter, of_points.index.get_level_values("quarter").to_numpy(np.int64)]
    grid = _Grid(len(tags), quarters)
    shown, others = grid.place(owner[signs.terminal], signs.quarter), grid.place(owner[terminal], quarter)
    counts = {"known": grid.count(shown)}
    counts |= {name: grid.count(shown[getattr(signs, name)]) for name in SUMMED if name not in ("present", "known")}
    counts["present"] = counts["known"] + grid.count(others)
    counts["in_use"] = counts["in_use"] + grid.count(others[in_use])
    at = grid.place(of_points.index.get_level_values("owner").to_numpy(np.int64), quarters[2])
    table = pd.DataFrame({name: counts[name] for name in SUMMED})
    for name in ("runs", "live"):
        table[name] = np.nan
        table.loc[at, name] = of_points[name].to_numpy()
    table.insert(0, "owner", np.repeat(tags.astype(object), grid.span))
    table.insert(1, "quarter", np.tile(grid.first + np.arange(grid.span), len(tags)))
    told = (table["present"] > 0) | table["runs"].notna() | table["live"].notna()
    table = table[told].reset_index(drop=True)
    return in_few_bytes(table.assign(slot=_slots(table["quarter"].to_numpy(), scene.time_zone)))


class _Grid:
    """Every air handler at every quarter hour, one air handler after another."""

    def __init__(self, air_handlers: int, quarters: Sequence[np.ndarray]):
        some = [part for part in quarters if len(part)]
        self.first = min((int(part.min()) for part in some), default=0)
        self.span = max((int(part.max()) for part in some), default=-1) + 1 - self.first
        self.size = air_handlers * self.span

    def place(self, owner: np.ndarray, quarter: np.ndarray) -> np.ndarray:
        return owner * self.span + (quarter - self.first)

    def count(self, places: np.ndarray) -> np.ndarray:
        return np.bincount(places, minlength=self.size)


def _without_flow(scene: Scene) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The quarter hours of the terminals whose flow is not trended, and whether they are occupied."""
    rows = np.flatnonzero(scene.per_row(~scene.trended("primary_flow")))
    terminal, quarter, in_use = by_quarter(scene, rows, (scene.value("occupied")[rows] > 0.5)[None, :])
    return terminal, quarter, in_use[0]


def _slots(quarter: np.ndarray, time_zone: str) -> np.ndarray:
    """The quarter hour of the local day, those of weekends numbered on."""
    moments, of_row = np.unique(quarter, return_inverse=True)
    local = local_time(moments * QUARTER, time_zone)
    of_day = ((local.hour * 60 + local.minute) * 60 // QUARTER).astype(np.int64)
    return (of_day + _PER_DAY * (local.day_of_week >= 5)).to_numpy()[of_row]
