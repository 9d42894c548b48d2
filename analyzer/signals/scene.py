"""The building laid out for judgement: every name that a rule may use, as one array over all rows.

Arrays run over the rows of ``Trends.terminals`` (all terminals, one after the other); per-terminal arrays run over its
terminals. Nothing here loops over either.
"""

from __future__ import annotations

import weakref
from collections import Counter
from collections.abc import Callable
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.signals.axes import Axes
from analyzer.signals.excluded import excluded_rows, moments_excluded
from analyzer.signals.kinds import kinds_of
from analyzer.signals.layout import HOLD_INTERVALS, Layout
from analyzer.signals.membership import learned_owners
from analyzer.signals.register import SIGNALS, Signal
from analyzer.signals.silent import LEAST_RESTLESS, RESTLESS, silent_rows, weight_of_rows
from analyzer.signals.windows import hold, last_before
from analyzer.site.model import SCHEDULE, Site
from analyzer.trends import Trends

NUMBERS = tuple(name for name, dimension in SCHEDULE.items() if dimension != "text")
# Every so many rows are looked at first where one that is known is enough.
A_FEW = 64
# A signal is worked out on a part of the scene where no more than this share of its rows can have it. Measured.
WORTH_A_PART = 0.75
# A point of an air handler is held for so long [s].
AIR_HANDLER_HOLD = 3600.0


class Scene(Layout):
    """All rows of a building and what is known of them; where they stand and when is told in ``Layout``.

    Attributes
    ----------
    terminals : ndarray of str
        The tags, in the order of the rows.
    excluded : ndarray of bool, or None
        The rows that are left out of judging; None where there are none.
    given : dict
        Arrays over the rows that are laid in from outside, for the signals that hand them on.
    agreed : dict, optional
        What the terminals of air handlers agree on by day, where they are not all in this scene: see
        ``analyzer.signals.agreed``.
    """

    def __init__(self, trends: Trends, site: Site, *, schedule: pd.DataFrame | None = None, agreed: dict | None = None):
        table = trends.terminals
        self.trends, self.site, self.table = trends, site, table
        self.time_zone = site.time_zone
        self.terminals = table["terminal"].cat.categories.to_numpy(dtype=object)
        self._lay_out(np.bincount(table["terminal"].cat.codes.to_numpy(), minlength=len(self.terminals)))
        self.seconds = table["time"].astype("int64").to_numpy() / 1e6
        self.interval, self.regular = self._grid()
        self.hours = self._hours()
        self.excluded = excluded_rows(site.excluded, self.terminals, self.first, self.seconds)
        self.schedule = (site.schedule if schedule is None else schedule).reindex(self.terminals, columns=[*SCHEDULE])
        self.logging = trends.logging.reindex(self.terminals)
        self.given: dict[str, np.ndarray] = {}
        self.agreed = agreed
        self.notes: list[str] = []
        self.kinds_read: Counter[str] = Counter()  # of the terminals that no schedule knows
        self.tallies: Counter[Any] = Counter()  # how many terminals each sentence of ``tally`` holds for
        self.named: dict[str, set[str]] = {}  # the terminals that each sentence of ``name_them`` is of
        self.learned: Counter[Any] = Counter()  # terminals whose air handler was learned, by it and from what

    # Names --------------------------------------------------------------------------------------------------------

    def value(self, name: str, parameters: dict[str, float] | None = None) -> np.ndarray:
        """Return the array of a trend, signal or schedule value, over all rows; NaN is unknown."""
        found = SIGNALS.get(name)
        given = {key: (parameters or {})[key] for key in found.parameters} if found else {}
        key = (name, tuple(given.values()))
        if key not in self._known:
            self._known[key] = self._work_out(found, given) if found else self._plain(name)
        return self._known[key]

    def _work_out(self, found: Signal, given: dict[str, float]) -> np.ndarray:
        """Work a signal out for the terminals that can have it; the others' is unknown."""
        if not found.where_trended:
            return found.function(self, **given)
        trended = np.logical_and.reduce([self.trended(name) for name in found.where_trended])
        # Rows that are nearly all of them cost less as they are than taken out and laid back.
        if self.rows_of[trended].sum() > WORTH_A_PART * self.size:
            return found.function(self, **given)
        at = self.part(trended)
        return self.lay(at, at.value(found.name, given) if at.size else np.empty(0))

    def _plain(self, name: str) -> np.ndarray:
        return self.trend(name) if name in TERMINAL else self.per_row(self.scheduled(name))

    def part(self, terminals: np.ndarray) -> Scene:
        """Return some of the terminals (a bool each) as a scene of their own; all of them are the scene itself."""
        if terminals.all():
            return self
        return self.once(("part", terminals.tobytes()), lambda: Part(self, np.flatnonzero(terminals)))

    def lay(self, part: Scene, values: np.ndarray, elsewhere: float | np.ndarray = np.nan) -> np.ndarray:
        """Lay a value per row of a part over the rows of the scene, among what holds elsewhere."""
        if part is self:
            return values
        assert isinstance(part, Part)
        found = np.full(self.size, elsewhere)
        found[part.rows] = values
        return found

    def trend(self, name: str) -> np.ndarray:
        """Return a trended column with short gaps bridged by the value before them; or a point of the air handler."""
        if name in AIR_HANDLER and name not in TERMINAL:
            return self.air_handler(name)
        return self.once(("trend", name), lambda: self._bridged(name))

    def _bridged(self, name: str) -> np.ndarray:
        values = self.column(name)
        missing = np.isnan(values)
        # What is trended nowhere, or missing nowhere, has no gaps; nor has a terminal without the point.
        if name == "fan_starts" or not self.trended(name).any() or not missing.any():
            return values
        if not self.trended(name).all():
            missing &= self.per_row(self.trended(name))
        longest = np.fmax(HOLD_INTERVALS * self.interval, np.nan_to_num(self.logged_every(name)))
        return self._judged(hold(values, np.flatnonzero(missing), self.code, self.first, self.seconds, longest))

    def column(self, name: str) -> np.ndarray:
        """Return a trended column as it was logged; unknown where a row is left out of judging."""
        return self.once(("column", name), lambda: self._judged(self.table[name].to_numpy()))

    def _judged(self, values: np.ndarray) -> np.ndarray:
        for left_out in (self.excluded, self.silent):
            values = values if left_out is None else np.where(left_out, np.nan, values)
        return values

    @cached_property
    def silent(self) -> np.ndarray | None:
        """The rows that repeat what a terminal that has fallen silent said last; None where there are none."""
        columns = [self.table[name].to_numpy() for name in RESTLESS if name in self.table]
        there = np.stack([self._any_known(values) for values in columns])
        found = silent_rows(
            [values for values, any_there in zip(columns, there, strict=True) if any_there.any()],
            self.first, self.code, self.seconds, there.sum(axis=0) >= LEAST_RESTLESS, weight_of_rows(self),
        )  # fmt: skip
        if found is not None:
            self.name_them(
                "All temperatures and airflows of {count} terminals were frozen at once for longer than is credible: "
                "{terminals}. Those hours count as not logged.",
                self.reduce(np.logical_or, found, False),
            )
        return found

    @property
    def whole_scene(self) -> Scene:
        """The scene of which this may be a part."""
        return self

    def in_whole(self, work_out: Callable[[Scene], np.ndarray]) -> np.ndarray:
        """Return per terminal what a function works out from the whole scene of which this may be a part."""
        return work_out(self)

    def scheduled(self, name: str) -> np.ndarray:
        """Return a number of the terminal schedule, one per terminal."""
        return self.once(("scheduled", name), lambda: self.schedule[name].to_numpy(dtype=float))

    def words(self, name: str) -> np.ndarray:
        """Return a word of the terminal schedule, one per terminal; empty where blank.

        A blank ``air_handler`` is the one that was learned from the trends, where one was.
        """

        def work_out():
            words = self.schedule[name].to_numpy(dtype=object)
            words = np.where(pd.isna(words), "", words)
            return learned_owners(self, words) if name == "air_handler" else words

        return self.once(("words", name), work_out)

    def trended(self, name: str) -> np.ndarray:
        """Tell for each terminal whether the point has any value."""
        return self.once(("trended", name), lambda: self._any_known(self.column(name)))

    def available(self, name: str, parameters: dict[str, float] | None = None) -> np.ndarray:
        """Tell for each terminal whether a name has any value at all."""
        if name in NUMBERS:
            return ~np.isnan(self.scheduled(name))
        if name not in SIGNALS:
            return self.trended(name)
        given = tuple((parameters or {})[key] for key in SIGNALS[name].parameters)
        return self.once(("available", name, given), lambda: self._any_known(self.value(name, parameters)))

    def _any_known(self, values: np.ndarray) -> np.ndarray:
        """Tell for each terminal whether any of its rows is known: by a few of them where that is enough."""
        few, owner = values[::A_FEW], self.code[::A_FEW]
        known = np.zeros(self.count, dtype=bool)
        known[owner[few == few]] = True
        return known if known.all() else self.reduce(np.logical_or, values == values, False)

    def logged_every(self, name: str) -> np.ndarray:
        """Return how often a name is logged [s]: 0 on change; NaN where it is not there or is no trend."""
        if name in SIGNALS:
            # A signal is as coarse as the coarsest trend it is made of.
            return self.once(("coarsest", name), lambda: self._coarsest(SIGNALS[name].needs))
        if name not in TERMINAL:
            return np.full(self.count, np.nan)
        return self.trend_logged_every(name)

    def trend_logged_every(self, name: str) -> np.ndarray:
        """Return how often a trend is logged [s]: 0 on change, NaN without it; also where a signal has its name."""
        return self.once(("logged", name), lambda: self.logging[name].to_numpy())

    def _coarsest(self, names) -> np.ndarray:
        return np.fmax.reduce([np.full(self.count, np.nan), *map(self.logged_every, names)])

    # Air handlers -------------------------------------------------------------------------------------------------

    def air_handler(self, name: str) -> np.ndarray:
        """Return a point of each terminal's air handler at the time of each row, held for an hour."""
        return self.of_air_handlers(("air handler", name), lambda scene: scene.joined(name))

    def of_air_handlers(self, key, work_out: Callable[[Scene], np.ndarray]) -> np.ndarray:
        """Return per row what a function works out from the scene, over its ``air_handler_axes.rows``."""
        return self.once(key, lambda: work_out(self)[self.air_handler_axes.row])

    @cached_property
    def air_handler_axes(self) -> Axes:
        """The time axes of each air handler's terminals, and of those of none."""
        _, tag = np.unique(self.words("air_handler").astype(str), return_inverse=True)
        return Axes(np.column_stack([self._clock_key, tag.reshape(-1).astype(float)]), self.first)

    @cached_property
    def _owner(self) -> np.ndarray:
        """The number of each terminal's air handler in the air handlers' table; -1 for none."""
        tags = self.trends.air_handlers["air_handler"].cat.categories
        return pd.Index(tags).get_indexer(self.words("air_handler")) if len(tags) else np.full(self.count, -1)

    def joined(self, name: str) -> np.ndarray:
        """Return a point of the air handlers over ``air_handler_axes.rows``."""
        return self.once(("joined", name), lambda: self._join(name))

    def _join(self, name: str) -> np.ndarray:
        if name not in AIR_HANDLER:
            raise KeyError(name)
        return self.join(self.trends.air_handlers[name].to_numpy())

    def join(self, values: np.ndarray) -> np.ndarray:
        """Return what is known at the rows of the air handlers' table over ``air_handler_axes.rows``."""
        codes, seconds = self.once("air handlers' rows", self._air_handler_rows)
        there, axes = ~np.isnan(values), self.air_handler_axes
        if self.excluded is not None:
            there &= ~moments_excluded(self.site.excluded, seconds)
        owner = np.repeat(self._owner[axes.terminal], np.diff(axes.first))
        at = last_before(owner, self.seconds[axes.rows], codes[there], seconds[there], AIR_HANDLER_HOLD)
        return np.where(at >= 0, np.append(values[there], np.nan)[at], np.nan)

    def of_owner(self, values: np.ndarray) -> np.ndarray:
        """Return per row what holds one value for each air handler of the table; NaN without one."""
        return self.per_row(np.append(values, np.nan)[self._owner])

    def _air_handler_rows(self) -> tuple[np.ndarray, np.ndarray]:
        table = self.trends.air_handlers
        return table["air_handler"].cat.codes.to_numpy().astype(int), table["time"].astype("int64").to_numpy() / 1e6

    # What a terminal is, and days -----------------------------------------------------------------------------------

    @cached_property
    def kinds(self) -> np.ndarray:
        """The kind of each terminal: as scheduled, else inferred from its fan."""
        return kinds_of(self)

    @cached_property
    def has_reheat(self) -> np.ndarray:
        """Whether each terminal has reheat: as scheduled, else if its reheat is trended."""
        scheduled = self.words("reheat")
        return np.where(scheduled == "", self.trended("reheat_position"), scheduled != "none")

    @cached_property
    def has_outdoor_air_inlet(self) -> np.ndarray:
        """Whether each terminal has a dedicated outdoor-air inlet: scheduled with one, or its flow is trended."""
        return ~np.isnan(self.scheduled("outdoor_air_inlet_min")) | self.trended("outdoor_air_flow")

    def assumed(self, names) -> np.ndarray:
        """Tell for each terminal whether one of the names rests on an assumption that nobody has confirmed."""
        unsure = np.zeros(self.count, dtype=bool)
        if {"occupied", "out_of_hours"} & set(names) and self.site.occupied_hours is None:
            unsure |= ~self.trended("occupied")
        return unsure

    def note(self, sentence: str) -> None:
        """State an assumption of the judgement once."""
        if sentence not in self.notes:
            self.notes.append(sentence)

    def tally(self, sentence: str, terminals: np.ndarray) -> None:
        """State an assumption about some terminals (a bool each); ``{count}`` in it becomes how many of all groups."""
        if terminals.any():
            self.tallies[sentence] += int(terminals.sum())

    def name_them(self, sentence: str, terminals: np.ndarray) -> None:
        """State an assumption about some terminals (a bool each), which ``{terminals}`` in it becomes the names of."""
        if terminals.any():
            self.named.setdefault(sentence, set()).update(self.terminals[terminals].tolist())


class Part(Scene):
    """Some of a scene's terminals as a scene of their own.

    What the whole scene knows already is taken from it, and so are trends, points of air handlers and the signals that
    are worked out for a whole scene at once. The rest is worked out here, for these terminals only.

    Attributes
    ----------
    of_whole : ndarray of int
        The number of each terminal in the whole scene.
    rows : ndarray of int
        The row of each row in the whole scene.
    """

    def __init__(self, whole: Scene, of_whole: np.ndarray):
        # The whole keeps its parts, not they it: once nobody holds the whole, all of it goes at once.
        self.whole, self.of_whole = weakref.proxy(whole), of_whole
        self.trends, self.site, self.time_zone = whole.trends, whole.site, whole.time_zone
        self.terminals = whole.terminals[of_whole]
        self._lay_out(whole.rows_of[of_whole])
        self.rows = np.arange(self.size) + self.per_row(whole.first[of_whole] - self.first[:-1])
        self.seconds, self.hours = whole.seconds[self.rows], whole.hours[self.rows]
        self.interval, self.regular = whole.interval[of_whole], whole.regular[of_whole]
        self.excluded = None if whole.excluded is None else whole.excluded[self.rows]
        self.notes, self.tallies, self.named = whole.notes, whole.tallies, whole.named

    def value(self, name: str, parameters: dict[str, float] | None = None) -> np.ndarray:
        found = SIGNALS.get(name)
        key = (name, tuple((parameters or {})[key] for key in found.parameters) if found else ())
        if key in self._known:
            return self._known[key]
        if found and not found.whole and key not in self.whole._known:
            return super().value(name, parameters)
        self._known[key] = self.whole.value(name, parameters)[self.rows]
        return self._known[key]

    def trend(self, name: str) -> np.ndarray:
        return self.once(("trend", name), lambda: self.whole.trend(name)[self.rows])

    def column(self, name: str) -> np.ndarray:
        return self.once(("column", name), lambda: self.whole.column(name)[self.rows])

    @property
    def whole_scene(self) -> Scene:
        return self.whole.whole_scene

    @cached_property
    def silent(self) -> np.ndarray | None:
        return None if self.whole.silent is None else self.whole.silent[self.rows]

    def in_whole(self, work_out: Callable[[Scene], np.ndarray]) -> np.ndarray:
        return work_out(self.whole)[self.of_whole]

    def trended(self, name: str) -> np.ndarray:
        return self.whole.trended(name)[self.of_whole]

    def logged_every(self, name: str) -> np.ndarray:
        return self.whole.logged_every(name)[self.of_whole]

    def trend_logged_every(self, name: str) -> np.ndarray:
        return self.whole.trend_logged_every(name)[self.of_whole]

    def scheduled(self, name: str) -> np.ndarray:
        return self.whole.scheduled(name)[self.of_whole]

    def words(self, name: str) -> np.ndarray:
        return self.whole.words(name)[self.of_whole]

    def of_air_handlers(self, key, work_out: Callable[[Scene], np.ndarray]) -> np.ndarray:
        return self.once(key, lambda: self.whole.of_air_handlers(key, work_out)[self.rows])

    def by_clock(self, key, work_out: Callable[[pd.DatetimeIndex], np.ndarray]) -> np.ndarray:
        return self.once(key, lambda: self.whole.by_clock(key, work_out)[self.rows])

    @cached_property
    def kinds(self) -> np.ndarray:
        return self.whole.kinds[self.of_whole]

    @cached_property
    def local_days(self) -> pd.DatetimeIndex:
        return self.whole.local_days

    @cached_property
    def group_of_day(self) -> np.ndarray:
        """As of a scene: the days are those of the whole."""
        group = self.whole.group_of_day[self.rows]
        group -= self.per_row((self.of_whole - np.arange(self.count)) * self.days)
        return group
