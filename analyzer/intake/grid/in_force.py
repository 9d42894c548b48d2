"""Over which slots a changed value stands: to the next change, but not for ever, and not through an outage."""

from __future__ import annotations

import numpy as np

from analyzer.intake.grid.clocks import Clock
from analyzer.intake.grid.lanes import Lanes
from analyzer.intake.grid.logs import SECOND
from analyzer.intake.grid.moments import Samples
from analyzer.intake.grid.rows import NEVER, Spans
from analyzer.intake.limits import HOLD_LIMIT_HOURS, SILENCE_LIMIT_HOURS

_HOLD = int(HOLD_LIMIT_HOURS * 3600) * SECOND
_SILENCE = int(SILENCE_LIMIT_HOURS * 3600) * SECOND


def stand(
    change: Samples, owner: np.ndarray, clock: Clock, lanes: list[Lanes], end: int
) -> tuple[np.ndarray, np.ndarray, Spans]:
    """Return the first and last slot of each changed value: to the next change, the hold limit or the end.

    Parameters
    ----------
    change : Samples
        In order.
    owner : ndarray of int
        Of each sample.
    end : int
        The last moment of the reading [us]: to there a terminal without an interval log is held.

    Returns
    -------
    ndarray of int, ndarray of int, Spans
        The slots; and the silences through which a value would have stood.
    """
    first = clock.following(change.time, owner)
    if not len(first):
        return first, first, Spans(first, first, first)
    final = np.full(len(clock.step), NEVER)
    for lane in lanes:
        np.maximum.at(final, lane.owner, lane.last)
    final = np.where(final == NEVER, (end - clock.phase) // clock.step, final)
    np.maximum.at(final, owner, first)
    until = np.minimum(clock.before(change.time + _HOLD, owner), final[owner])
    follows = np.r_[change.target[1:] == change.target[:-1], False]
    until = np.where(follows, np.minimum(until, np.r_[first[1:], 0]), until)
    until = np.maximum(until, first)
    silences = find_silences(clock, lanes, owner, first)
    return first, until, silences.take(np.isin(silences.owner, owner[silences.next_after(owner, first) <= until]))


def find_silences(clock: Clock, lanes: list[Lanes], owner: np.ndarray, slot: np.ndarray) -> Spans:
    """Find the slots that come more than ``SILENCE_LIMIT_HOURS`` after an owner's last record, and before its next.

    They are looked for while the owner's interval logs run: a log of changes is silent where nothing changes.

    Parameters
    ----------
    owner, slot : ndarray of int
        Of every change, target by target in the order of time.
    """
    limit = _SILENCE // clock.step
    since, until = np.full(len(clock.step), np.iinfo(np.int64).max), np.full(len(clock.step), NEVER)
    reports = [_merged(owner, slot, limit)]
    for lane in lanes:
        np.minimum.at(since, lane.owner, lane.first)
        np.maximum.at(until, lane.owner, lane.last)
        whole = lane.straight
        reports.append(Spans(lane.owner[whole], lane.first[whole], lane.last[whole]))
        reports.append(_merged(np.repeat(lane.owner, np.diff(lane.place)), lane.slot, limit))
    owner, first, last = (np.concatenate([getattr(part, name) for part in reports]) for name in vars(reports[0]))
    order = np.lexsort((first, owner))
    owner, first, last = owner[order], first[order], last[order]
    # How far the reports had reached: the greatest slot so far, begun anew for every owner.
    shift = owner * (int(last.max(initial=0)) - int(first.min(initial=0)) + 1)
    reached = (np.maximum.accumulate(last + shift) - shift)[:-1]
    owner, same, first = owner[1:], owner[1:] == owner[:-1], first[1:]
    silent = same & (first - reached > limit[owner] + 1) & (reached >= since[owner]) & (first <= until[owner])
    return Spans(owner[silent], (reached + limit[owner] + 1)[silent], (first - 1)[silent])


def _merged(owner: np.ndarray, slot: np.ndarray, limit: np.ndarray) -> Spans:
    """Put records that follow each other within the limit together."""
    step = slot[1:] - slot[:-1]
    apart = (owner[1:] != owner[:-1]) | (step < 0) | (step > limit[owner[1:]])
    begin = np.flatnonzero(np.r_[True, apart][: len(slot)])
    return Spans(owner[begin], slot[begin], slot[np.r_[begin[1:], len(slot)][: len(begin)] - 1])
