"""What a fault of an air handler explains at its terminals: which of them, which of their rules, and when."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analyzer.engine.air_tally import NOT_ASSIGNED, TELLS_AGAINST, WITHOUT_AIR, AirTally
from analyzer.engine.common_cause import FaultsAtOnce, share_of
from analyzer.engine.episodes import Episodes, find_episodes
from analyzer.engine.rule import Rule
from analyzer.signals import HOLD_INTERVALS, Scene

# A rule belongs to a common cause where its share is high for this long within it [h]. Judgement.
LEAST_SHARED_HOURS = 0.5
# A terminal is named where it showed it for so long within the air handler's fault [h], or for this share of it.
# Judgement.
LEAST_OWN_HOURS, LEAST_OWN_SHARE = 0.5, 0.1
# A terminal of no known air handler hangs on one where this share of what it shows lies within that one's fault, and
# that fault takes no more than this share of the period: else it may be chance. Judgement.
NEARLY_ALL, NO_CHANCE = 0.8, 0.6
# One shared fault explains another where so much of its time and of its terminals are the other's. Judgement.
LEAST_OVERLAP = 0.5
# A fault of an air handler that stands in occupied hours stands in the night between them as well [s]. Judgement.
A_NIGHT = 14 * 3600.0


@dataclass(frozen=True)
class Explained:
    """What one fault of an air handler explains.

    Attributes
    ----------
    rule, air_handler : str
        The rule that judged the air handler, and its tag: together, the id of the fault.
    fault : str or None
        Of a common cause: the rule whose faults are shared. There is one entry for each.
    terminals : tuple of str
        Those that show it: to be listed.
    covers : tuple of str
        Those at which what it explains may go under it.
    perhaps : tuple of str
        Those of no known air handler, at which it goes under it where nearly all of it lies within.
    explains : tuple of str
        The rules of terminals that it explains.
    spans : tuple of (float, float)
        When [s since 1970 UTC]; a terminal's fault goes under it for as far as it lies within.
    most, share : float
        Of a common cause: the most terminals at once, and the highest share of those judged. Of another fault ``most``
        alone, where terminals of no known air handler show it too: of all that are listed. Else NaN.
    under : tuple of (str, str) or None
        What explains this fault: the tag of an air handler, and the rule of its own fault or of one that is shared at
        it. Only what is shared, or stands with no known air handler, is explained by another.
    """

    rule: str
    air_handler: str
    fault: str | None
    terminals: tuple[str, ...]
    covers: tuple[str, ...]
    explains: tuple[str, ...]
    spans: tuple[tuple[float, float], ...]
    most: float = np.nan
    share: float = np.nan
    under: tuple[str, str] | None = None
    perhaps: tuple[str, ...] = ()

    @property
    def hours(self) -> float:
        """How long [h]."""
        return sum(end - start for start, end in self.spans) / 3600.0

    def within(self, start: float, end: float) -> float:
        """How much of a stretch of time lies within [s]."""
        return sum(max(min(end, last) - max(start, first), 0.0) for first, last in self.spans)


def explained_by(air: AirTally, period: float, scene: Scene, found: Episodes, rule: Rule) -> list[Explained]:
    """Tell what the faults of a rule that judges air handlers explain: an entry for each air handler at fault.

    ``period`` is how long the trends of all are [s].
    """
    told = []
    nobodys = air.members.loc[air.members["owner"] == "", "terminal"]
    for number in np.unique(found.terminal):
        tag, spans = scene.terminals[number], _spans(found, number)
        owner = "" if tag == NOT_ASSIGNED else tag
        every = list(air.members.loc[air.members["owner"] == owner, "terminal"])
        own = every if rule.terminals_by is None else _that_show(air.runs, rule.terminals_by, owner, spans)
        by_chance = sum(last - first for first, last in joined_spans(spans)) > NO_CHANCE * period
        hang = _that_hang(air.runs, rule.terminals_by, spans, by_chance) if rule.terminals_by and owner else []
        own += hang
        # Nothing tells that the terminals of no known air handler hang on one: only those that show it are covered.
        covers = own if tag == NOT_ASSIGNED else sorted({*every, *own})
        told.append(
            Explained(
                rule.id, tag, None, tuple(sorted(own)), tuple(sorted(covers)), rule.explains, spans,
                most=_most_at_once(air.runs, rule.terminals_by, own, spans) if hang else np.nan,
                perhaps=() if by_chance else tuple(nobodys[~nobodys.isin(_not_of_it(air.runs, rule, spans))]),
            )
        )  # fmt: skip
    return told


def joined_spans(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Join the spans of an air handler's fault across the nights between: what it brings does not wait for the day."""
    found: list[tuple[float, float]] = []
    for first, last in spans:
        if found and first - found[-1][1] <= A_NIGHT:
            found[-1] = (found[-1][0], max(last, found[-1][1]))
        else:
            found.append((first, last))
    return found


def _that_hang(runs: pd.DataFrame, sign: str, spans, by_chance: bool) -> list[str]:
    """Name the terminals of no known air handler that show a sign for most of some spans, or at almost no other time.

    Who is without air for most of an outage hangs on that air handler. Who is starved while it is short of pressure may
    have a blocked duct: then it is starved at other times as well.
    """
    if sign == WITHOUT_AIR:
        return _that_show(runs, sign, "", spans, LEAST_OVERLAP)
    if by_chance:
        return []
    runs = runs[(runs["sign"] == sign) & (runs["owner"] == "")]
    total = ((runs["end"] - runs["start"]) / 3600.0).groupby(runs["terminal"]).sum()
    inside = _hours_within(runs, joined_spans(spans))
    return list(inside.index[(inside >= NEARLY_ALL * total) & (inside >= LEAST_OWN_HOURS)])


def _not_of_it(runs: pd.DataFrame, rule: Rule, spans) -> list[str]:
    """Name the terminals of no known air handler that have their air for most of some spans: they hang on another."""
    if rule.terminals_by is None:
        return []
    return _that_show(runs, TELLS_AGAINST[rule.terminals_by], "", spans, LEAST_OVERLAP)


def _that_show(runs: pd.DataFrame, sign: str, owner: str, spans, least_share=LEAST_OWN_SHARE) -> list[str]:
    """Name the terminals that show a sign for long enough within some spans of time."""
    runs = runs[(runs["sign"] == sign) & (runs["owner"] == owner)]
    hours = _hours_within(runs, spans)
    whole = sum(last - first for first, last in spans) / 3600.0
    return list(hours.index[hours >= max(min(LEAST_OWN_HOURS, whole), least_share * whole) - 1e-9])


def _most_at_once(runs: pd.DataFrame, sign: str | None, terminals: list[str], spans) -> float:
    """How many of some terminals show a sign at one moment within some spans, at the most."""
    runs = runs[(runs["sign"] == sign) & runs["terminal"].isin(terminals)]
    start, end = runs["start"].to_numpy(), runs["end"].to_numpy()
    most = 0
    for first, last in spans:
        inside = np.minimum(end, last) > np.maximum(start, first)
        begins, ends = np.maximum(start[inside], first), np.sort(np.minimum(end[inside], last))
        moments = np.sort(begins)
        shown = np.arange(1, len(moments) + 1) - np.searchsorted(ends, moments, side="right")
        most = max(most, int(shown.max(initial=0)))
    return float(most)


def _hours_within(runs: pd.DataFrame, spans) -> pd.Series:
    """How much of the runs of each terminal lies within some spans [h]."""
    start, end = runs["start"].to_numpy(), runs["end"].to_numpy()
    inside = np.zeros(len(runs))
    for first, last in spans:
        inside += np.maximum(np.minimum(end, last) - np.maximum(start, first), 0.0)
    return pd.Series(inside / 3600.0).groupby(runs["terminal"].to_numpy()).sum()


def in_common(at_once: FaultsAtOnce, scene: Scene, common: Episodes, rule: Rule) -> list[Explained]:
    """Tell who shares what: for each air handler with a common cause, an entry for each rule whose faults are shared.

    A rule belongs to it where, by itself, its share and its number of terminals reach the least for half an hour or
    more of the common episodes; its terminals are those with that fault.
    """
    least_share, least = rule.values["least_share"], rule.values.get("least_terminals", 1.0)
    told = []
    for name, own in at_once.rules.items():
        share = share_of(at_once, own)
        shared = (share >= least_share) & (own.terminals >= least) & np.isin(own.place, common.row)
        rows = own.place[shared]
        found = find_episodes(
            rows, lambda rows: np.zeros(len(rows), dtype=bool), scene.code, scene.seconds, scene.hours,
            HOLD_INTERVALS * np.nan_to_num(scene.interval), 0.0,
        )  # fmt: skip
        hours = np.bincount(scene.code[rows], weights=scene.hours[rows], minlength=scene.count)
        for number in np.flatnonzero(hours >= LEAST_SHARED_HOURS):
            terminals = tuple(tag for owner, tag in own.faulty if owner == number)
            here = shared & (at_once.owner[own.place] == number)
            told.append(
                Explained(
                    rule.id, at_once.tags[number], name, terminals, terminals, (name,), _spans(found, int(number)),
                    float(own.terminals[here].max()), float(share[here].max()),
                )
            )  # fmt: skip
    return told


def put_under(explained: Iterable[Explained], rules: dict[str, Rule]) -> list[Explained]:
    """Say of each fault what explains it: a fault of the air handler's own, or another that is shared at it.

    Faults of the terminals of no known air handler go under the same, or an outage, of one that is known.
    """
    explained = list(explained)
    return [replace(own, under=_cause(own, explained, rules)) for own in explained]


def _cause(own: Explained, explained: list[Explained], rules: dict[str, Rule]) -> tuple[str, str] | None:
    if own.air_handler == NOT_ASSIGNED and not own.fault:
        known = [other for other in explained if other.air_handler != NOT_ASSIGNED and not other.fault]
        for other in known:
            alike = other.rule == own.rule or rules[other.rule].terminals_by == WITHOUT_AIR
            if alike and _inside(own, other) >= LEAST_OVERLAP:
                return other.air_handler, other.rule
    if not own.fault:
        return None
    near = [other for other in explained if other.air_handler == own.air_handler and other is not own]
    for other in near:
        if other.fault is None and own.fault in other.explains and _overlap(own, other):
            return other.air_handler, other.rule
    for other in near:
        if other.fault and other.fault in rules[own.fault].follows_from and _overlap(own, other):
            return other.air_handler, other.fault
    return None


def _inside(own: Explained, other: Explained) -> float:
    """The share of one's time that is another's."""
    return sum(other.within(start, end) for start, end in own.spans) / max(own.hours * 3600.0, 1.0)


def _overlap(own: Explained, other: Explained) -> bool:
    """Whether most of the time and most of the terminals of one are another's."""
    shared = len(set(own.terminals) & set(other.covers))
    return _inside(own, other) >= LEAST_OVERLAP and shared >= LEAST_OVERLAP * len(own.terminals)


def _spans(found: Episodes, number: int) -> tuple[tuple[float, float], ...]:
    """The episodes of one air handler."""
    at = np.flatnonzero(found.terminal == number)
    return tuple(zip(found.start[at].tolist(), found.end[at].tolist(), strict=True))
