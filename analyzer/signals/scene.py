"""The building laid out for judgement: every name that a rule may use, as one array over all rows.

Arrays run over the rows of ``Trends.terminals`` (all terminals, one after the other); per-terminal arrays run over its
terminals. Nothing here loops over either.
"""

from __future__ import annotations

import inspect
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.signals.kinds import kinds_of
from analyzer.signals.windows import hold, last_before, window_start
from analyzer.site.model import SCHEDULE, Site
from analyzer.trends import Trends

# A missing sample is bridged by the value before it for this many intervals of the log, and never more.
HOLD_INTERVALS = 3
NUMBERS = tuple(name for name, dimension in SCHEDULE.items() if dimension != "text")


@dataclass(frozen=True)
class Signal:
    """A derived quantity.

    ``parameters`` are the limits that a rule which uses it must have; ``settled_by`` says what a user can add where
    the signal is unknown; ``needs`` are the trends whose logging interval it inherits.
    """

    name: str
    dimension: str
    function: Callable
    needs: tuple[str, ...]
    settled_by: str
    parameters: tuple[str, ...]
    state: bool

    @property
    def meaning(self) -> str:
        return inspect.getdoc(self.function).split("\n\n")[0].replace("\n", " ")


SIGNALS: dict[str, Signal] = {}


def signal(dimension: str, *, needs: tuple[str, ...] = (), settled_by: str = ""):
    """Register a function of the scene as a signal under its own name."""

    def register(function):
        parameters = tuple(
            name
            for name, parameter in inspect.signature(function).parameters.items()
            if parameter.kind is inspect.Parameter.KEYWORD_ONLY
        )
        SIGNALS[function.__name__] = Signal(
            function.__name__, dimension, function, needs, settled_by, parameters, dimension == "state"
        )
        return function

    return register


class Scene:
    """All rows of a building and what is known of them.

    Attributes
    ----------
    terminals : ndarray of str
        The tags, in the order of the rows.
    code : ndarray of int
        Row to terminal.
    first : ndarray of int
        First row of each terminal, and the number of rows at the end.
    seconds : ndarray of float
        Time of each row, seconds since 1970 UTC.
    interval : ndarray of float
        The grid of each terminal [s].
    given : dict
        Arrays over the rows that are laid in from outside, for the signals that hand them on.
    hours : ndarray of float
        The time for which a row stands [h]: to the next row, or one interval where the next is further than a gap.
    """

    def __init__(self, trends: Trends, site: Site, *, schedule: pd.DataFrame | None = None):
        table = trends.terminals
        self.trends, self.site, self.table = trends, site, table
        self.terminals = table["terminal"].cat.categories.to_numpy(dtype=object)
        self.code = table["terminal"].cat.codes.to_numpy().astype(np.int64)
        self.count = len(self.terminals)
        rows = np.bincount(self.code, minlength=self.count)
        self.first = np.concatenate([[0], np.cumsum(rows)])
        self.seconds = table["time"].astype("int64").to_numpy() / 1e6
        self.interval = self._grid()
        self.hours = self._hours()
        self.schedule = (site.schedule if schedule is None else schedule).reindex(self.terminals)
        self.given: dict[str, np.ndarray] = {}
        self.notes: list[str] = []
        self.kinds_read: Counter = Counter()  # of the terminals that no schedule knows
        self._known: dict = {}

    @property
    def size(self) -> int:
        return len(self.code)

    def _grid(self) -> np.ndarray:
        step = np.diff(self.seconds)
        inside = self.code[1:] == self.code[:-1]
        median = pd.Series(step[inside]).groupby(self.code[1:][inside]).median()
        return median.reindex(range(self.count)).to_numpy()

    def _hours(self) -> np.ndarray:
        step = np.full(self.size, np.nan)
        step[:-1] = np.diff(self.seconds)
        last = self.first[1:] - 1
        step[last] = np.inf
        interval = self.per_row(np.nan_to_num(self.interval))
        return np.where(step <= HOLD_INTERVALS * interval, step, interval) / 3600

    def per_row(self, values: np.ndarray) -> np.ndarray:
        """Spread one value per terminal over the terminal's rows."""
        return np.repeat(values, np.diff(self.first))

    def per_terminal(self, values: np.ndarray) -> np.ndarray:
        """Sum a value per row over each terminal's rows."""
        return np.bincount(self.code, weights=values, minlength=self.count)

    # Names --------------------------------------------------------------------------------------------------------

    def value(self, name: str, parameters: dict[str, float] | None = None) -> np.ndarray:
        """Return the array of a trend, signal or schedule value, over all rows; NaN is unknown."""
        found = SIGNALS.get(name)
        given = {key: parameters[key] for key in found.parameters} if found else {}
        key = (name, tuple(sorted(given.items())))
        if key not in self._known:
            self._known[key] = found.function(self, **given) if found else self._plain(name)
        return self._known[key]

    def _plain(self, name: str) -> np.ndarray:
        return self.trend(name) if name in TERMINAL else self.per_row(self.scheduled(name))

    def trend(self, name: str) -> np.ndarray:
        """Return a trended column with short gaps bridged by the value before them."""
        key = ("trend", name)
        if key not in self._known:
            values = self.table[name].to_numpy()
            if name != "fan_starts":
                own = np.nan_to_num(self.trends.logging[name].reindex(self.terminals).to_numpy())
                longest = np.fmax(HOLD_INTERVALS * self.interval, own)
                values = hold(values, self.code, self.first, self.seconds, longest)
            self._known[key] = values
        return self._known[key]

    def scheduled(self, name: str) -> np.ndarray:
        """Return a number of the terminal schedule, one per terminal."""
        return self.schedule[name].to_numpy(dtype=float)

    def words(self, name: str) -> np.ndarray:
        """Return a word of the terminal schedule, one per terminal; empty where blank."""
        column = self.schedule[name]
        return column.where(column.notna(), "").to_numpy(dtype=object)

    def trended(self, name: str) -> np.ndarray:
        """Tell for each terminal whether the point has any value."""
        key = ("trended", name)
        if key not in self._known:
            self._known[key] = self._any_known(self.table[name].to_numpy())
        return self._known[key]

    def available(self, name: str, parameters: dict[str, float] | None = None) -> np.ndarray:
        """Tell for each terminal whether a name has any value at all."""
        if name in NUMBERS:
            return ~np.isnan(self.scheduled(name))
        values = self.value(name, parameters)
        given = tuple(parameters[key] for key in SIGNALS[name].parameters) if name in SIGNALS else ()
        return self.once(("available", name, given), lambda: self._any_known(values))

    def _any_known(self, values: np.ndarray) -> np.ndarray:
        """Tell for each terminal whether any of its rows is known."""
        known = np.concatenate([[0], np.cumsum(~np.isnan(values))])
        return known[self.first[1:]] > known[self.first[:-1]]

    def logged_every(self, name: str) -> np.ndarray:
        """Return how often a name is logged [s]: 0 on change; NaN where it is not there or is no trend."""
        if name in SIGNALS:
            # A signal is as coarse as the coarsest trend it is made of.
            return self._coarsest(SIGNALS[name].needs)
        if name not in TERMINAL:
            return np.full(self.count, np.nan)
        return self.trends.logging[name].reindex(self.terminals).to_numpy()

    def _coarsest(self, names) -> np.ndarray:
        coarsest = np.full(self.count, np.nan)
        for name in names:
            coarsest = np.fmax(coarsest, self.logged_every(name))
        return coarsest

    def air_handler(self, name: str, longest: float = 3600.0) -> np.ndarray:
        """Return a point of each terminal's air handler at the time of each row, held for ``longest`` [s]."""
        if name not in AIR_HANDLER:
            raise KeyError(name)
        key = ("air handler", name)
        if key not in self._known:
            self._known[key] = self._joined(name, longest)
        return self._known[key]

    def _joined(self, name: str, longest: float) -> np.ndarray:
        table = self.trends.air_handlers
        there = table[name].notna().to_numpy()
        tags = list(table["air_handler"].cat.categories)
        owner = pd.Index(tags).get_indexer(self.words("air_handler")) if tags else np.full(self.count, -1)
        return last_before(
            self.per_row(owner),
            self.seconds,
            table["air_handler"].cat.codes.to_numpy()[there],
            table["time"].astype("int64").to_numpy()[there] / 1e6,
            table[name].to_numpy()[there],
            longest,
        )

    # What a terminal is, and days -----------------------------------------------------------------------------------

    def once(self, key, work_out: Callable):
        """Return what a function works out, worked out once."""
        if key not in self._known:
            self._known[key] = work_out()
        return self._known[key]

    @property
    def kinds(self) -> np.ndarray:
        """The kind of each terminal: as scheduled, else inferred from its fan."""
        return self.once("kinds", lambda: kinds_of(self))

    @property
    def has_reheat(self) -> np.ndarray:
        """Whether each terminal has reheat: as scheduled, else if its reheat is trended."""
        scheduled = self.words("reheat")
        return np.where(scheduled == "", self.trended("reheat_position"), scheduled != "none")

    @property
    def has_outdoor_air_inlet(self) -> np.ndarray:
        """Whether each terminal has a dedicated outdoor-air inlet: scheduled with one, or its flow is trended."""
        return ~np.isnan(self.scheduled("outdoor_air_inlet_min")) | self.trended("outdoor_air_flow")

    @property
    def local_moments(self) -> tuple[np.ndarray, pd.DatetimeIndex]:
        """The different moments of the table in the site's zone, and the number of its moment for each row."""

        def work_out():
            number, moments = pd.factorize(self.seconds)
            index = pd.DatetimeIndex((moments * 1e6).astype("int64").view("datetime64[us]"), tz="UTC")
            return number, index.tz_convert(self.site.time_zone)

        return self.once("local moments", work_out)

    @property
    def group_of_day(self) -> np.ndarray:
        """For each row, the number of its terminal and local day: terminal times the number of days, plus the day."""

        def work_out():
            number, local = self.local_moments
            day = local.tz_localize(None).normalize().astype("int64").to_numpy()
            rank = np.unique(day, return_inverse=True)[1]
            self._days = int(rank.max()) + 1 if len(rank) else 0
            return self.code * self._days + rank[number]

        return self.once("group of day", work_out)

    @property
    def groups(self) -> int:
        """How many groups of terminal and day there are."""
        _ = self.group_of_day
        return self.count * self._days

    def assumed(self, names) -> np.ndarray:
        """Tell for each terminal whether one of the names rests on an assumption that nobody has confirmed."""
        unsure = np.zeros(self.count, dtype=bool)
        if {"occupied", "out_of_hours"} & set(names) and self.site.occupied_hours is None:
            unsure |= ~self.trended("occupied")
        return unsure

    def past(self, seconds: float) -> np.ndarray:
        """Return for each row the first row of its terminal within the past so many seconds."""
        return self.once(("past", seconds), lambda: window_start(self.code, self.first, self.seconds, seconds))

    def note(self, sentence: str) -> None:
        """State an assumption of the judgement once."""
        if sentence not in self.notes:
            self.notes.append(sentence)
