"""What a review comes to: the record from which every work product is written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, overload

import numpy as np
import pandas as pd

from analyzer.engine import IMPACTS, SEVERITIES, Forms, Rule
from analyzer.site import Site
from analyzer.trends import TrendSource

__all__ = [
    "IMPACTS", "REQUEST_COLUMNS", "SEVERITIES", "VERDICT_COLUMNS", "Answer", "Completeness", "Episode", "Episodes",
    "Finding", "Measure", "Results", "Round", "AIR_HANDLER_SCOPE", "BUILDING", "BUILDING_SCOPE", "SCOPES",
    "TERMINAL_SCOPE",
]  # fmt: skip
TERMINAL_SCOPE, AIR_HANDLER_SCOPE, BUILDING_SCOPE = SCOPES = ("terminal", "air_handler", "building")
BUILDING = "building"  # what stands for the terminal in a finding of the whole building
VERDICT_COLUMNS = [
    "terminal", "rule", "verdict", "confidence", "reason", "judged_hours", "fault_hours", "first_seen", "last_seen",
]  # fmt: skip
REQUEST_COLUMNS = ["terminal", "point", "interval", "length", "condition", "settles"]


@dataclass(frozen=True)
class Episode:
    """A stretch of time in which the fault stood; UTC."""

    start: pd.Timestamp
    end: pd.Timestamp


class Episodes(Sequence[Episode]):
    """Stretches of time, held as two numbers each: a year of a large building has millions of them.

    Parameters
    ----------
    edges : ndarray of int, shape (n, 2)
        The first and the last moment of each [microseconds since 1970 UTC].
    """

    def __init__(self, edges: np.ndarray):
        self.edges = np.ascontiguousarray(edges, dtype=np.int64).reshape(-1, 2)

    @classmethod
    def of(cls, episodes: Iterable[Episode]) -> Episodes:
        """Hold episodes in this way."""
        if isinstance(episodes, Episodes):
            return episodes
        moments = [edge for episode in episodes for edge in (episode.start, episode.end)]
        return cls(pd.DatetimeIndex(moments, dtype="datetime64[us, UTC]").asi8)

    @property
    def seconds(self) -> np.ndarray:
        """The first and the last moment of each [s since 1970 UTC], shape (n, 2)."""
        return self.edges / 1e6

    def __len__(self) -> int:
        return len(self.edges)

    @overload
    def __getitem__(self, at: int) -> Episode: ...

    @overload
    def __getitem__(self, at: slice) -> Episodes: ...

    def __getitem__(self, at: int | slice) -> Episode | Episodes:
        return Episodes(self.edges[at]) if isinstance(at, slice) else Episode(*_moments(self.edges[at]))

    def __iter__(self) -> Iterator[Episode]:
        moments = iter(_moments(self.edges.ravel()))
        return (Episode(start, end) for start, end in zip(moments, moments, strict=True))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"Episodes({list(self)!r})"


def _moments(microseconds: np.ndarray) -> pd.DatetimeIndex:
    return pd.DatetimeIndex(microseconds.view("datetime64[us]"), tz="UTC")


@dataclass(frozen=True)
class Measure:
    """A figure of a finding, in the unit that the site shows; ``label`` names it with its statistic."""

    value: float
    unit: str
    label: str = ""


@dataclass(frozen=True)
class Answer:
    """What was written into the issue log about a finding: by whoever corrects it, or by whoever answers for it.

    ``decision``, ``decided`` (the day) and ``initials`` are the commissioning agent's sign-off.
    """

    response: str = ""
    date: str = ""
    status: str = ""
    decision: str = ""
    decided: str = ""
    initials: str = ""


@dataclass(frozen=True)
class Round:
    """One review of a building among several: what it counted, beside the one before it.

    ``new`` and ``gone`` count the findings that the round before did not have, and those that only it had (which says
    nothing on whether they were corrected); None in the first round. ``verdicts`` is empty where the file does not say.
    """

    start: str
    end: str
    findings: int
    severity: dict[str, int]
    verdicts: dict[str, int]
    new: int | None = None
    gone: int | None = None


@dataclass(frozen=True)
class Remark:
    """What someone wrote into an issue log beside its answers: where, on which finding if known, and the words."""

    place: str
    id: str
    text: str


@dataclass(frozen=True)
class Standing:
    """In how many reviews of a building a finding was there, out of all that its folder has seen.

    A review that could not judge it says neither that it stands nor that it is corrected.

    Attributes
    ----------
    rounds : tuple of int
        The numbers of those that have it, from 1.
    in_a_row : int
        How many have it since one without it; 0 where it does not stand any more.
    returns : int
        How often it came back after a review without it.
    unjudged : tuple of int
        The numbers of those, after the first that has it, that could not judge it.
    corrected : int or None
        The first after the last that has it in which it was judged clear, or whose file does not say; None where
        there is none.
    """

    rounds: tuple[int, ...]
    in_a_row: int
    returns: int
    unjudged: tuple[int, ...] = ()
    corrected: int | None = None

    @property
    def since(self) -> int:
        """The number of the review that has it first since one without it; or in its last run."""
        return self.rounds[-self.run]

    @property
    def run(self) -> int:
        """How many have it since the last one without it that lies before some that have it."""
        run = 1
        for later, before in zip(self.rounds[::-1], self.rounds[-2::-1], strict=False):
            if any(number not in self.unjudged for number in range(before + 1, later)):
                break
            run += 1
        return run

    @property
    def found(self) -> int:
        """How many reviews have it."""
        return len(self.rounds)


@dataclass(frozen=True)
class Past:
    """What an earlier review said of a finding, for those that this one does not have."""

    terminal: str
    rule: str
    title: str
    severity: str


@dataclass(frozen=True)
class Finding:
    """One fault of one terminal, in the words and figures of its rule; or one that many terminals share.

    ``scope`` is "terminal", "air_handler" or "building"; a shared finding names its ``terminals``, and stands under the
    tag of the air handler, or "building", in the place of the terminal's. ``id`` is terminal and rule: it is stable.
    ``under`` is the id of the finding that it follows from, where there is one: it is told with that finding, and not
    counted again. ``logged_until`` is the moment at which the log of what it rests on ends, where it is known: no
    fault after it says nothing. The words fit the terminal's kind and reheat; ``supported_causes`` are the first of
    ``likely_causes``, those that its trends support.
    """

    id: str
    terminal: str
    air_handler: str | None
    rule: str
    title: str
    severity: str
    impact: str
    confidence: str
    start: pd.Timestamp
    end: pd.Timestamp
    fault_hours: float
    judged_hours: float
    episodes: Episodes
    measures: dict[str, Measure]
    summary: str
    why_it_matters: str
    likely_causes: tuple[str, ...]
    next_steps: tuple[str, ...]
    retest: str
    caution: str | None = None
    looks_like: tuple[str, ...] = ()
    supported_causes: tuple[str, ...] = ()
    under: str | None = None
    scope: str = TERMINAL_SCOPE
    terminals: tuple[str, ...] = ()
    answer: Answer | None = None
    logged_until: pd.Timestamp | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "episodes", Episodes.of(self.episodes))


@dataclass(frozen=True)
class Completeness:
    """How much of each terminal's trends there is.

    Attributes
    ----------
    counts : DataFrame
        Index terminal, a column per quantity: how many values it has.
    logging : DataFrame
        As ``Trends.logging``.
    interval : Series
        The usual spacing of each terminal's rows [s]; NaN where it has but one.
    """

    counts: pd.DataFrame
    logging: pd.DataFrame
    interval: pd.Series

    @staticmethod
    def joined(parts: list[Completeness]) -> Completeness:
        """Put groups of terminals together, in the order of their tags."""
        names = ("counts", "logging", "interval")
        return Completeness(*(pd.concat([getattr(part, name) for part in parts]).sort_index() for name in names))


@dataclass
class Results:
    """A review's outcome.

    Attributes
    ----------
    trends : TrendSource
        Where the trends are read from, some terminals at a time.
    rules : dict
        The rules that were applied, by id, in the order in which the matrix shows them.
    verdicts : DataFrame
        ``VERDICT_COLUMNS``; one row per terminal and applicable rule; times UTC or NaT.
    findings : list of Finding
        In the order of what to do first (``analyzer.findings.order``).
    requests : DataFrame
        ``REQUEST_COLUMNS``: the trends still missing and the verdicts each would settle; ``terminal`` is the tuple of
        the terminals that lack it.
    moments : (Timestamp, Timestamp)
        The first and the last moment of the trends, UTC.
    completeness : Completeness
    heating : DataFrame
        Index terminal: heat delivered, the most by primary air alone and with the fan, heat needed [W], and the hours
        of heating that they are of; terminals that barely heated are left out.
    assumptions : list of str
        Everything that was taken as given, from intake to judgement.
    contract : dict
        The outcome of the table's data contract.
    may_be : dict
        Terminal to what it may be, pairs of kind and reheat: one where both are scheduled or seen in its points.
    history : list of Round
        The rounds of review that the folder has seen, the earliest first and this one last.
    standing : dict of Standing
        Of every finding of any round by its id: in which of them it was there.
    past : dict of Past
        The findings of earlier rounds that this one does not have, by their id, as the last that has each says them.
    not_judged : list of str
        Those of them that this round could not judge.
    remarks : list of Remark
        What stood in the issue log beside its answers.
    earlier_answers : dict of Answer
        What the issue log said of findings that this round does not have, by their id.
    numbers : dict of int
        The issue number of each finding by its id, also of those of earlier rounds: it stays from round to round.
    kept : list of str
        Files of the review's folder that stood where this one writes and are kept as copies, once it is written.
    """

    site: Site
    trends: TrendSource
    rules: dict[str, Rule]
    verdicts: pd.DataFrame
    findings: list[Finding]
    requests: pd.DataFrame
    moments: tuple[pd.Timestamp, pd.Timestamp]
    completeness: Completeness
    heating: pd.DataFrame = field(default_factory=pd.DataFrame)
    assumptions: list[str] = field(default_factory=list)
    contract: dict[str, Any] = field(default_factory=dict)
    may_be: dict[str, Forms] = field(default_factory=dict)
    history: list[Round] = field(default_factory=list)
    standing: dict[str, Standing] = field(default_factory=dict)
    past: dict[str, Past] = field(default_factory=dict)
    not_judged: list[str] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    earlier_answers: dict[str, Answer] = field(default_factory=dict)
    numbers: dict[str, int] = field(default_factory=dict)
    kept: list[str] = field(default_factory=list)

    @property
    def period(self) -> tuple[pd.Timestamp, pd.Timestamp]:
        """The first and last moment of the trends, in the site's zone."""
        first, last = self.moments
        return first.tz_convert(self.site.time_zone), last.tz_convert(self.site.time_zone)

    def kind_of(self, terminal: str) -> str:
        """Return the kind of a terminal, as scheduled or as its points show; empty where neither says."""
        schedule = self.site.schedule
        told = schedule["kind"].get(terminal) if "kind" in schedule else None
        if isinstance(told, str) and told:
            return told
        kinds = {kind for kind, _ in self.may_be.get(terminal, ())}
        return kinds.pop() if len(kinds) == 1 else ""

    def keeps(self, contract: dict[str, Any]) -> None:
        """Note the outcome of the table's data contract, for the report and for the ledger."""
        self.contract = self.trends.ledger.contract = contract
