"""What the terminals of one air handler have in common: faults that many of them have at the same time.

Each group of terminals counts its faults by air handler and moment (``faults_at_once``); the counts of all groups are
added up (``add_up``), and only then laid out as a scene in which air handlers are judged (``lay_together``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import itemgetter

import numpy as np
import pandas as pd

from analyzer.engine.episodes import Episodes
from analyzer.engine.judge import Judgement
from analyzer.engine.rule import AIR_HANDLER
from analyzer.quantities import TERMINAL
from analyzer.signals import Scene
from analyzer.site.model import SCHEDULE, Site
from analyzer.trends import Trends, no_air_handlers

# A rule belongs to a common cause where its share is high for this long within it [h]. Judgement.
LEAST_SHARED_HOURS = 0.5


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
        The air handlers, sorted.
    owner, seconds : ndarray, one per place
        A place is an air handler (its number) at a moment [s] at which any of its terminals has a row; in order.
    rules : dict
        Rule id to its counts, for every rule that was judged.
    """

    tags: tuple[str, ...]
    owner: np.ndarray
    seconds: np.ndarray
    rules: dict[str, FaultCounts]


def faults_at_once(scene: Scene, judgement: Judgement) -> FaultsAtOnce:
    """Count the faults of a group of terminals by air handler and moment."""
    words = scene.words("air_handler")
    tags = tuple(sorted({tag for tag in words if tag}))
    owner = pd.Index(tags, dtype=object).get_indexer(words)
    moment, seconds = scene.moments
    key = scene.per_row(owner * len(seconds)) + moment  # negative where the terminal has no air handler
    there = np.zeros(len(tags) * len(seconds), dtype=bool)
    there[key[key >= 0]] = True
    places = np.flatnonzero(there)
    rules = {}
    for rule, found in judgement.episodes.items():
        at, terminals = np.unique(key[found.row], return_counts=True)
        faulty = [number for number in np.unique(found.terminal) if owner[number] >= 0]
        rules[rule] = FaultCounts(
            place=np.searchsorted(places, at[at >= 0]),
            terminals=terminals[at >= 0],
            judged=np.bincount(owner[judgement.decided[rule] & (owner >= 0)], minlength=len(tags)),
            faulty=tuple((int(owner[number]), scene.terminals[number]) for number in faulty),
        )
    return FaultsAtOnce(tags, *_owner_and_moment(places, seconds), rules)


def _owner_and_moment(key: np.ndarray, seconds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Take a key apart that counts all moments of one air handler after those of another."""
    most = max(len(seconds), 1)
    return key // most, seconds[key % most]


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
    return FaultsAtOnce(tags, *_owner_and_moment(places, seconds), rules)


def _added(counts: list[tuple[FaultCounts, np.ndarray, np.ndarray]], air_handlers: int) -> FaultCounts:
    """Add up one rule's counts, each with the numbers that its air handlers and its places have in the whole."""
    place, number = np.unique(np.concatenate([at for _, _, at in counts]), return_inverse=True)
    terminals = np.bincount(number, np.concatenate([own.terminals for own, _, _ in counts]), len(place))
    judged = np.zeros(air_handlers, dtype=np.int64)
    for own, owner, _ in counts:
        judged[owner] += own.judged
    faulty = sorted(((int(owner[at]), tag) for own, owner, _ in counts for at, tag in own.faulty), key=itemgetter(1))
    return FaultCounts(place, terminals.astype(np.int64), judged, tuple(faulty))


def lay_together(at_once: FaultsAtOnce, site: Site) -> Scene:
    """Lay the counts out as a scene of air handlers, with the count and share of the fault that most have at once."""
    tags = np.array(at_once.tags, dtype=object)
    moments = pd.DatetimeIndex((at_once.seconds * 1e6).astype("int64").view("datetime64[us]"), tz="UTC")
    table = pd.DataFrame(np.nan, index=range(len(moments)), columns=list(TERMINAL))
    table.insert(0, "terminal", pd.Categorical.from_codes(at_once.owner, tags))
    table.insert(1, "time", moments)
    schedule = pd.DataFrame({"kind": AIR_HANDLER, "air_handler": tags}, index=tags).reindex(columns=list(SCHEDULE))
    not_logged = pd.DataFrame(np.nan, index=tags, columns=list(TERMINAL))
    scene = Scene(Trends(table, no_air_handlers(), not_logged, site.time_zone), site, schedule=schedule)
    scene.given.update(_most_shared(at_once))
    return scene


def _most_shared(at_once: FaultsAtOnce) -> dict[str, np.ndarray]:
    """At each place the count and the share of the fault that most terminals have; unknown where none was judged."""
    most_judged = np.max([np.zeros(len(at_once.tags)), *(own.judged for own in at_once.rules.values())], axis=0)
    share = np.where(most_judged > 0, 0.0, np.nan)[at_once.owner]
    count = share.copy()
    for own in at_once.rules.values():
        higher = _share(at_once, own) > share[own.place]
        share[own.place[higher]] = _share(at_once, own)[higher]
        count[own.place[higher]] = own.terminals[higher]
    return {"terminals_at_fault": count, "share_at_fault": share}


def _share(at_once: FaultsAtOnce, own: FaultCounts) -> np.ndarray:
    """The share of the judged terminals that are at fault, at each of the rule's places."""
    return own.terminals / own.judged[at_once.owner[own.place]]


def sharers(at_once: FaultsAtOnce, scene: Scene, common: Episodes, least_share: float) -> dict:
    """Name who shares what: (air handler, rule) to the terminals whose faults make up the air handler's.

    A rule belongs to an air handler's common cause where its share reaches the least for half an hour or more of the
    common episodes; its terminals are those with that fault.

    Parameters
    ----------
    at_once : FaultsAtOnce
    scene : Scene
        The air handlers, as ``lay_together`` laid them out.
    common : Episodes
        Of the air handlers' common cause.
    least_share : float
        The limit of the rule that judged them.
    """
    found: dict[tuple[str, str], list[str]] = {}
    for rule, own in at_once.rules.items():
        rows = own.place[_share(at_once, own) >= least_share]
        rows = rows[np.isin(rows, common.row)]
        hours = np.bincount(scene.code[rows], weights=scene.hours[rows], minlength=scene.count)
        for number in np.flatnonzero(hours >= LEAST_SHARED_HOURS):
            found[at_once.tags[number], rule] = [tag for owner, tag in own.faulty if owner == number]
    return found
