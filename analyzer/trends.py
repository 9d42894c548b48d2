"""The normalized table: one row per terminal and time, SI, missing is null."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import pandas as pd

from analyzer.ledger import Ledger
from analyzer.quantities import AIR_HANDLER, TERMINAL

FORMAT = "trendwright-trends/1"
TABLE_FILE, AIR_HANDLERS_FILE = "trends.parquet", "air_handlers.parquet"
TERMINAL_COLUMNS = ["terminal", "time", *TERMINAL]
AIR_HANDLER_COLUMNS = ["air_handler", "time", *AIR_HANDLER]


def companion(table: str, file: str) -> str:
    """Name the file that belongs to a table: beside ``trends.parquet`` it is ``file``; else it bears the table's name.

    So that two tables in one folder share none.
    """
    return file if table == TABLE_FILE else f"{table.removesuffix('.parquet')}.{file}"


@dataclass(frozen=True)
class Window:
    """A stretch of time, of which alone rows are looked at.

    Attributes
    ----------
    begin, end : datetime64[us] or None
        UTC; ``begin`` is within, ``end`` is not. None where that side is open.
    """

    begin: np.datetime64 | None = None
    end: np.datetime64 | None = None

    @classmethod
    def of(cls, told: Iterable[str | None]) -> Window:
        """Return the window that :meth:`told` has told."""
        begin, end = (None if at is None else np.datetime64(at.removesuffix("Z"), "us") for at in told)
        return cls(begin, end)

    def told(self) -> list[str | None]:
        """Return its begin and its end as text."""
        return [None if at is None else f"{at}Z" for at in (self.begin, self.end)]

    def holds(self, time: np.ndarray) -> np.ndarray:
        """Tell of each moment (datetime64, UTC) whether it is within."""
        within = np.ones(time.shape, bool)
        if self.begin is not None:
            within &= time >= self.begin
        if self.end is not None:
            within &= time < self.end
        return within

    def covers(self, first: np.datetime64, last: np.datetime64) -> bool:
        """Tell whether a whole stretch, both of its ends counted, is within."""
        return bool(self.holds(np.array([first, last], "M8[us]")).all())

    def misses(self, first: np.datetime64, last: np.datetime64) -> bool:
        """Tell whether nothing of a stretch, both of its ends counted, is within."""
        return bool((self.begin is not None and last < self.begin) or (self.end is not None and first >= self.end))

    def within(self, other: Window) -> Window:
        """Return what two windows have in common."""
        begins = [one for one in (self.begin, other.begin) if one is not None]
        ends = [one for one in (self.end, other.end) if one is not None]
        return Window(max(begins, default=None), min(ends, default=None))


class TrendSource(Protocol):
    """Where a review takes trends from: a table in memory, or stored files of which some terminals are read."""

    time_zone: str
    ledger: Ledger

    @property
    def tags(self) -> list[str]:
        """The terminals, sorted."""

    @property
    def rows(self) -> np.ndarray:
        """How many rows each terminal has."""

    @property
    def air_handler_tags(self) -> list[str]:
        """The air handlers that have trends, sorted."""

    def of(self, tags: Iterable[str], air_handlers: Iterable[str] = ()) -> Trends:
        """Return the trends of some terminals and air handlers; those that have none are left out."""


@dataclass
class Trends:
    """The normalized trends of a building.

    Attributes
    ----------
    terminals : DataFrame
        Columns ``TERMINAL_COLUMNS``: ``terminal`` (categorical text, categories sorted), ``time``
        (datetime64[us, UTC]), then float64 quantities in SI with NaN for missing; states are 0.0 or 1.0. Sorted by
        terminal then time, one row for each pair, index 0..n-1.
    air_handlers : DataFrame
        Columns ``AIR_HANDLER_COLUMNS`` in the same form, keyed by ``air_handler``.
    logging : DataFrame
        How each point was logged: index terminal tags (the categories, in order), columns the terminal quantities,
        float64: the interval in seconds; 0 for a change-of-value log; NaN where the point is not there.
    time_zone : str
        The site's IANA zone ("UTC" where no site file says).
    ledger : Ledger
        The account of the cells that were read.
    """

    terminals: pd.DataFrame
    air_handlers: pd.DataFrame
    logging: pd.DataFrame
    time_zone: str = "UTC"
    ledger: Ledger = field(default_factory=Ledger)

    @property
    def tags(self) -> list[str]:
        """The terminals, in the order of their rows."""
        return list(self.terminals["terminal"].cat.categories)

    @property
    def air_handler_tags(self) -> list[str]:
        """The air handlers that have trends."""
        return list(self.air_handlers["air_handler"].cat.categories)

    @property
    def rows(self) -> np.ndarray:
        """How many rows each terminal has."""
        return np.bincount(self.terminals["terminal"].cat.codes, minlength=len(self.tags))

    @property
    def period(self) -> tuple[pd.Timestamp, pd.Timestamp]:
        """The first and the last moment of any terminal, UTC."""
        return self.terminals["time"].min(), self.terminals["time"].max()

    def within(self, window: Window) -> Trends:
        """Return the rows of a window; a terminal without a row in it is left out. The account stays that of all."""
        terminals, handlers = (_within(table, window) for table in (self.terminals, self.air_handlers))
        kept = list(terminals["terminal"].cat.categories)
        return Trends(terminals, handlers, self.logging.loc[kept], self.time_zone, self.ledger)

    def of(self, tags: Iterable[str], air_handlers: Iterable[str] = ()) -> Trends:
        """Return the trends of some terminals and air handlers; those that have none are left out."""
        kept = sorted({*tags} & {*self.tags})
        return Trends(
            _of_keys(self.terminals, kept),
            _of_keys(self.air_handlers, sorted({*air_handlers} & {*self.air_handler_tags})),
            self.logging.loc[kept],
            self.time_zone,
        )


def _of_keys(table: pd.DataFrame, kept: list[str]) -> pd.DataFrame:
    """Return the rows of some keys of a table that is sorted by its key: stretches of it, laid end to end."""
    key = table.columns[0]
    codes, categories = table[key].cat.codes.to_numpy(), table[key].cat.categories
    number = categories.get_indexer(kept)
    if len(kept) == len(categories):
        return table
    first, last = np.searchsorted(codes, number), np.searchsorted(codes, number, side="right")
    # Neighbours in the table are one stretch of it.
    apart = first[1:] != last[:-1]
    begin, end = np.append(first[:1], first[1:][apart]), np.append(last[:-1][apart], last[-1:])
    parts = [table.iloc[a:b] for a, b in zip(begin, end, strict=True)]
    part = pd.concat(parts, ignore_index=True) if parts else table.iloc[:0].copy()
    part[key] = pd.Categorical.from_codes(np.repeat(np.arange(len(kept)), last - first), kept)
    return part


def _within(table: pd.DataFrame, window: Window) -> pd.DataFrame:
    """Return the rows of a window, of a table that is sorted by its key, in the same form."""
    key = table.columns[0]
    part = table[window.holds(table["time"].dt.tz_localize(None).to_numpy("M8[us]"))].reset_index(drop=True)
    part[key] = part[key].cat.remove_unused_categories()
    return part


def in_form(table: pd.DataFrame) -> pd.DataFrame:
    """Bring a table with the right columns into the form that ``Trends`` describes: types, order, index."""
    key = table.columns[0]
    others = table.columns[2:][(table.dtypes.iloc[2:] != "float64").to_numpy()]
    table = table.astype(dict.fromkeys(others, "float64")) if len(others) else table.copy(deep=False)
    table[key] = pd.Categorical(table[key], categories=sorted(table[key].dropna().unique()))
    table["time"] = pd.to_datetime(table["time"], utc=True).astype("datetime64[us, UTC]")
    return table.sort_values([key, "time"], kind="stable", ignore_index=True)


def no_air_handlers() -> pd.DataFrame:
    """Return the air handlers' table without a row."""
    table = pd.DataFrame(columns=list(AIR_HANDLER), dtype="float64")
    table.insert(0, "air_handler", pd.Categorical([], categories=pd.Index([], dtype=object)))
    table.insert(1, "time", pd.DatetimeIndex([], dtype="datetime64[us, UTC]"))
    return table


def observed_logging(terminals: pd.DataFrame) -> pd.DataFrame:
    """Take each point's interval from the table itself: the median spacing of its values.

    A table that was not written by this program does not say which points were logged on change; a fan with more
    than one start in a row can only come from events, and is taken as such.
    """
    tags = list(terminals["terminal"].cat.categories)
    codes = terminals["terminal"].cat.codes.to_numpy()
    seconds = terminals["time"].astype("int64").to_numpy() / 1e6
    logging = pd.DataFrame(np.nan, index=tags, columns=list(TERMINAL))
    for name in TERMINAL:
        there = ~np.isnan(terminals[name].to_numpy())
        spacing = np.diff(seconds[there])
        owner = codes[there]
        same = owner[1:] == owner[:-1]
        median = pd.Series(spacing[same]).groupby(owner[1:][same]).median()
        logging[name] = median.reindex(range(len(tags))).to_numpy()
    events = terminals.loc[terminals["fan_starts"] > 1, "terminal"].unique()
    logging.loc[list(events), ["fan_status", "fan_starts"]] = 0.0
    return logging
