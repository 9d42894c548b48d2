"""The same point logged twice over: at an interval and on change of value."""

from __future__ import annotations

import numpy as np

from analyzer.intake.account import Account
from analyzer.intake.convert import REASON, USED
from analyzer.intake.logs import classify
from analyzer.intake.moments import Samples, tidy_sources
from analyzer.ledger import Ledger
from analyzer.quantities import AIR_HANDLER, TERMINAL


def part_kinds(samples: Samples, account: Account, ledger: Ledger) -> None:
    """Where a point comes both as an interval log and as a change-of-value log, keep one over the time that both cover.

    Of a status the change-of-value log is kept, so that no start is lost; of anything else the interval log. What the
    other log holds before and after is kept too, as a log of its own.
    """
    sources = np.zeros(len(account.points), bool)
    sources[np.unique(samples.source)] = True
    told = sources & (account.target_of >= 0)
    shared = np.bincount(account.target_of[told], minlength=len(account.targets)) > 1
    if not shared.any():
        return
    at = np.flatnonzero(shared[samples.target] & (samples.reason == USED))
    kind = _kinds(samples.take(at), account)
    both = np.array(
        [set(kind[told & (account.target_of == n)]) >= {0, 1} if shared[n] else False for n in range(len(shared))]
    )
    if not both.any():
        return
    _keep_one(samples, account, both, kind)
    doubled = [" ".join(account.targets[n][1:]) for n in np.flatnonzero(both).tolist()]
    more = f" and {len(doubled) - 5} more" if len(doubled) > 5 else ""
    ledger.assume(
        "Points that came both at an interval and on change of value were taken from one of the logs where both run (a "
        f"status from its changes, anything else from its interval log): {', '.join(doubled[:5])}{more}."
    )


def _kinds(samples: Samples, account: Account) -> np.ndarray:
    """Return for every source 1 for a change-of-value log, 0 for an interval log, -1 without a sample."""
    owners = {target[:2]: n for n, target in enumerate(dict.fromkeys(t[:2] for t in account.targets))}
    owner_of = np.array([owners[account.targets[t][:2]] if t >= 0 else 0 for t in account.target_of.tolist()])
    state = np.array([point.mapped and point.meaning.state for point in account.points])
    ordered = tidy_sources(samples)
    by_source = Samples(ordered.source, ordered.time, ordered.value, ordered.source, ordered.reason)
    logs = classify(by_source, np.array(account.tabled), state, owner_of)
    kind = np.full(len(account.points), -1)
    kind[logs.target] = logs.interval == 0
    return kind


def _keep_one(samples: Samples, account: Account, both: np.ndarray, kind: np.ndarray) -> None:
    """Set the other log aside where the kept one runs; number what is left of it as a log of its own."""
    size = len(both)
    keeps_changes = np.array(
        [(AIR_HANDLER if handler else TERMINAL)[name].state for handler, _, name in account.targets]
    )
    at = np.flatnonzero(both[samples.target])
    target, time = samples.target[at], samples.time[at]
    kept = (kind[samples.source[at]] == 1) == keeps_changes[target]
    used = samples.reason[at] == USED
    first, last = np.full(size, np.iinfo(np.int64).max), np.full(size, np.iinfo(np.int64).min)
    np.minimum.at(first, target[kept & used], time[kept & used])
    np.maximum.at(last, target[kept & used], time[kept & used])
    double = at[~kept & used & (time >= first[target]) & (time <= last[target])]
    samples.reason[double] = REASON["duplicate timestamp"]
    samples.value[double] = np.nan
    second = np.zeros(size, samples.target.dtype)
    second[both] = [account.another(n) for n in np.flatnonzero(both).tolist()]
    samples.target[at[~kept]] = second[target[~kept]]
