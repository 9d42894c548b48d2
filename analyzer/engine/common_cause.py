"""What the terminals of one air handler have in common: faults that many of them have at the same time, and their air.

Each group of terminals counts its faults by air handler and moment, and what its terminals show of their air
(``faults_at_once``); the counts of all groups are added up (``add_up``), and only then laid out as a scene in which air
handlers are judged (``lay_together``).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from operator import itemgetter

import numpy as np
import pandas as pd

from analyzer.dataset.writing import stretches
from analyzer.engine.air_tally import (
    NOT_ASSIGNED,
    AirTally,
    add_tallies,
    air_tally,
    given_of,
    parts_of_tally,
    settle_tally,
)
from analyzer.engine.judge import Judgement
from analyzer.engine.rule import AIR_HANDLER, Rule
from analyzer.quantities import TERMINAL
from analyzer.signals import Scene
from analyzer.signals.agreed import COUNTED
from analyzer.signals.air_seen import AIR_SEEN
from analyzer.signals.axes import QUARTER
from analyzer.signals.demand import DEMAND
from analyzer.site.model import SCHEDULE, Site
from analyzer.trends import Trends, no_air_handlers

# So many places of air handlers are judged at a time: two air handlers of a year, a hundred of a week. Each takes some
# 2 kB, the readings of the air handlers themselves among that.
MOST_PLACES = 75_000


@dataclass(frozen=True)
class FaultCounts:
    """One rule's faults, counted by air handler.

    Attributes
    ----------
    place, terminals : ndarray of int
        The places (of ``FaultsAtOnce``) at which any terminal is at fault, in order, and how many are.
    judged : ndarray of int, one per air handler
        How many terminals have a verdict.
    faulty : tuple of (int, str)
        The terminals with a fault verdict: number of the air handler, tag; in order.
    """

    place: np.ndarray
    terminals: np.ndarray
    judged: np.ndarray
    faulty: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class FaultsAtOnce:
    """How many terminals of each air handler have which fault at which moment.

    Attributes
    ----------
    tags : tuple of str
        The air handlers, sorted; ``NOT_ASSIGNED`` stands for that of the terminals of none that is known.
    owner, seconds : ndarray, one per place
        A place is an air handler (its number) at a moment [s] at which any of its terminals has a row; in order.
    rules : dict
        Rule id to its counts, for every rule that was judged.
    air : AirTally
        What the terminals show of their air.
    period : float
        From the first moment of all to the last [s].
    """

    tags: tuple[str, ...]
    owner: np.ndarray
    seconds: np.ndarray
    rules: dict[str, FaultCounts]
    air: AirTally
    period: float


def faults_at_once(scene: Scene, judgement: Judgement, rules: dict[str, Rule]) -> FaultsAtOnce:
    """Count the faults of a group of terminals by air handler and quarter hour, and what they show of their air.

    By quarter hours, since terminals that are logged at moments of their own never have a fault at the very same one.
    """
    words = np.where(scene.words("air_handler") == "", NOT_ASSIGNED, scene.words("air_handler"))
    tags = tuple(sorted(set(words)))
    owner = pd.Index(tags, dtype=object).get_indexer(words)
    seconds, moment = np.unique(scene.seconds[scene.axes.rows] // QUARTER * QUARTER, return_inverse=True)
    key = scene.per_row(owner * len(seconds)) + moment[scene.axes.row]
    there = np.zeros(len(tags) * len(seconds), dtype=bool)
    there[key] = True
    places = np.flatnonzero(there)
    counts = {}
    for rule, found in judgement.episodes.items():
        own = np.unique(scene.code[found.row].astype(np.int64) * len(there) + key[found.row])  # each terminal once
        at, terminals = np.unique(own % max(len(there), 1), return_counts=True)
        counts[rule] = FaultCounts(
            place=np.searchsorted(places, at).astype(np.int32),
            terminals=terminals.astype(np.int32),
            judged=np.bincount(owner[judgement.decided[rule]], minlength=len(tags)),
            faulty=tuple((int(owner[number]), scene.terminals[number]) for number in np.unique(found.terminal)),
        )
    tally = air_tally(scene, rules)
    return FaultsAtOnce(tags, *_owner_and_moment(places, seconds), counts, tally, _period(seconds))


def _owner_and_moment(key: np.ndarray, seconds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Take a key apart that counts all moments of one air handler after those of another."""
    most = max(len(seconds), 1)
    return (key // most).astype(np.int32), seconds[key % most]


def add_up(parts: Sequence[FaultsAtOnce]) -> FaultsAtOnce:
    """Add up what groups of terminals counted; no terminal may be in two of them."""
    tags = tuple(sorted({tag for part in parts for tag in part.tags}))
    number = {tag: at for at, tag in enumerate(tags)}
    owners = [np.array([number[tag] for tag in part.tags], dtype=np.int64) for part in parts]
    seconds = np.unique(np.concatenate([part.seconds for part in parts]))
    keys = [
        owner[part.owner] * len(seconds) + np.searchsorted(seconds, part.seconds)
        for part, owner in zip(parts, owners, strict=True)
    ]
    places = np.unique(np.concatenate(keys))
    where = [np.searchsorted(places, key) for key in keys]
    counts: dict[str, list] = {}
    for part, owner, at in zip(parts, owners, where, strict=True):
        for rule, own in part.rules.items():
            counts.setdefault(rule, []).append((own, owner, at[own.place]))
    rules = {rule: _added(own, len(tags)) for rule, own in counts.items()}
    tally = add_tallies([part.air for part in parts])
    return FaultsAtOnce(tags, *_owner_and_moment(places, seconds), rules, tally, _period(seconds))


def _period(seconds: np.ndarray) -> float:
    return float(seconds[-1] - seconds[0]) if len(seconds) else 0.0


def parts_of(whole: FaultsAtOnce, most: int = MOST_PLACES) -> Iterator[FaultsAtOnce]:
    """Cut the counts into some air handlers at a time: so many places at the most, or one air handler.

    Each can be judged by itself.
    """
    parts = list(stretches(list(whole.tags), np.bincount(whole.owner, minlength=len(whole.tags)), most))
    first = 0
    for tags, air in zip(parts, parts_of_tally(whole.air, parts), strict=True):
        last = first + len(tags)
        at = slice(*np.searchsorted(whole.owner, [first, last]))
        rules = {name: _part_of(own, range(first, last), at) for name, own in whole.rules.items()}
        owner, seconds = whole.owner[at] - first, whole.seconds[at]
        yield FaultsAtOnce(tuple(tags), owner, seconds, rules, air, whole.period)
        first = last


def _part_of(whole: FaultCounts, air_handlers: range, places: slice) -> FaultCounts:
    at = slice(*np.searchsorted(whole.place, [places.start, places.stop]))
    faulty = ((owner - air_handlers.start, tag) for owner, tag in whole.faulty if owner in air_handlers)
    judged = whole.judged[air_handlers.start : air_handlers.stop]
    return FaultCounts(whole.place[at] - places.start, whole.terminals[at], judged, tuple(faulty))


def _added(counts: list[tuple[FaultCounts, np.ndarray, np.ndarray]], air_handlers: int) -> FaultCounts:
    """Add up one rule's counts, each with the numbers that its air handlers and its places have in the whole."""
    place, number = np.unique(np.concatenate([at for _, _, at in counts]), return_inverse=True)
    terminals = np.bincount(number, np.concatenate([own.terminals for own, _, _ in counts]), len(place))
    judged = np.zeros(air_handlers, dtype=np.int64)
    for own, owner, _ in counts:
        judged[owner] += own.judged
    faulty = sorted(((int(owner[at]), tag) for own, owner, _ in counts for at, tag in own.faulty), key=itemgetter(1))
    return FaultCounts(place.astype(np.int32), terminals.astype(np.int32), judged, tuple(faulty))


def with_those_by_themselves(at_once: FaultsAtOnce, tables: Iterable[pd.DataFrame]) -> FaultsAtOnce:
    """Add the air handlers on which no terminal is known to hang, at the quarter hours of their own points.

    Parameters
    ----------
    tables : iterable of DataFrame
        As ``Trends.air_handlers``: of all of them, or of some after another.
    """
    alone = (_by_their_points(at_once, table) for table in tables)
    return add_up([at_once, *(own for own in alone if own is not None)])


def _by_their_points(at_once: FaultsAtOnce, air_handlers: pd.DataFrame) -> FaultsAtOnce | None:
    tags = [tag for tag in air_handlers["air_handler"].cat.categories if tag not in at_once.tags]
    number = pd.Index(tags).get_indexer(air_handlers["air_handler"].astype(str))
    rows = np.flatnonzero(number >= 0)
    if not len(rows):
        return None
    seconds, moment = np.unique(
        air_handlers["time"].astype("int64").to_numpy()[rows] / 1e6 // QUARTER * QUARTER, return_inverse=True
    )
    places = np.unique(number[rows] * len(seconds) + moment)
    air = at_once.air
    nothing = AirTally(air.counts.iloc[:0], air.runs.iloc[:0], air.members.iloc[:0], demand=air.demand.iloc[:0])
    return FaultsAtOnce(tuple(tags), *_owner_and_moment(places, seconds), {}, nothing, _period(seconds))


def lay_together(
    at_once: FaultsAtOnce, site: Site, air_handlers: pd.DataFrame | None = None, least_terminals: float = 1.0
) -> Scene:
    """Lay the counts out as a scene of air handlers, with their own points where they are trended.

    A fault that fewer terminals than ``least_terminals`` have is not the one that most have, whatever its share.
    """
    tags = np.array(at_once.tags, dtype=object)
    moments = pd.DatetimeIndex((at_once.seconds * 1e6).astype("int64").view("datetime64[us]"), tz="UTC")
    table = pd.DataFrame(np.nan, index=range(len(moments)), columns=list(TERMINAL))
    table.insert(0, "terminal", pd.Categorical.from_codes(at_once.owner, tags))
    table.insert(1, "time", moments)
    words = np.where(tags == NOT_ASSIGNED, "", tags)
    schedule = pd.DataFrame({"kind": AIR_HANDLER, "air_handler": words}, index=tags).reindex(columns=list(SCHEDULE))
    not_logged = pd.DataFrame(np.nan, index=tags, columns=list(TERMINAL))
    points = no_air_handlers() if air_handlers is None else air_handlers
    settled = settle_tally(at_once.air)
    agreed = {AIR_SEEN: settled, DEMAND: COUNTED[DEMAND].settle(at_once.air.demand)}
    scene = Scene(Trends(table, points, not_logged, site.time_zone), site, schedule=schedule, agreed=agreed)
    scene.given.update(
        _most_shared(at_once, least_terminals), **given_of(settled, at_once.tags, at_once.owner, at_once.seconds)
    )
    return scene


def _most_shared(at_once: FaultsAtOnce, least_terminals: float) -> dict[str, np.ndarray]:
    """At each place the count and the share of the fault that most terminals have; unknown where none was judged."""
    most_judged = np.max([np.zeros(len(at_once.tags)), *(own.judged for own in at_once.rules.values())], axis=0)
    share = np.where(most_judged > 0, 0.0, np.nan)[at_once.owner]
    count, many = share.copy(), np.zeros(len(share), dtype=bool)
    for own in at_once.rules.values():
        of_own, enough = share_of(at_once, own), own.terminals >= least_terminals
        higher = (of_own > share[own.place]) & (enough | ~many[own.place]) | (enough & ~many[own.place])
        at = own.place[higher]
        share[at], count[at], many[at] = of_own[higher], own.terminals[higher], enough[higher]
    return {"terminals_at_fault": count, "share_at_fault": share}


def share_of(at_once: FaultsAtOnce, own: FaultCounts) -> np.ndarray:
    """The share of the judged terminals that are at fault, at each of the rule's places."""
    return own.terminals / own.judged[at_once.owner[own.place]]
