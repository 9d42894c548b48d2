"""The same point logged twice over: at an interval and on change of value, or otherwise in another file."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from analyzer.errors import ExportError
from analyzer.intake.grid.logs import classify
from analyzer.intake.grid.moments import Samples, as_series
from analyzer.intake.values.account import Account
from analyzer.intake.words.wording import some
from analyzer.ledger import Ledger
from analyzer.quantities import AIR_HANDLER, TERMINAL

# Share of the values of overlapping logs that is rejected for another file's, and from which on the files contradict
# each other as a whole; judgement: a file that was corrected, or whose clock was set, differs in a part.
_CONTRADICTED = 0.5
# So many points at the least; judgement: of one or two the likelier log is kept, and that is said.
_LEAST_POINTS = 3
# And so many values of one file that contradicts itself; judgement: a few may be a clock that was set.
_LEAST_VALUES = 24


def part_kinds(samples: Samples, account: Account, ledger: Ledger) -> Samples:
    """Where a point comes both as an interval log and as a change-of-value log, keep one over the time that both cover.

    Of a status the change-of-value log is kept, so that no start is lost; of anything else the interval log. What the
    other log holds before and after is kept too, as a log of its own.
    """
    source_target = np.unique(samples.source * len(account.targets) + samples.target)
    target = source_target % len(account.targets)
    if (np.bincount(target, minlength=len(account.targets)) < 2).all():
        return samples
    kind = _kinds(samples, account)
    told = kind[source_target // len(account.targets)]
    both = np.zeros(len(account.targets), bool)
    both[np.intersect1d(target[told == 0], target[told == 1])] = True
    if not both.any():
        return samples
    doubled = [" ".join(account.targets[n][1:]) for n in np.flatnonzero(both).tolist()]
    ledger.assume(
        "Points that came both at an interval and on change of value were taken from one of the logs where both run (a "
        f"status from its changes, anything else from its interval log): {some(doubled)}."
    )
    return _keep_one(samples, account, both, kind)


def _kinds(samples: Samples, account: Account) -> np.ndarray:
    """Return for every source 1 for a change-of-value log, 0 for an interval log, -1 without a sample."""
    owners = {owner: n for n, owner in enumerate(dict.fromkeys(target[:2] for target in account.targets))}
    owner_of = np.zeros(len(account.points), np.int64)
    told = np.flatnonzero(account.target_of >= 0)
    owner_of[told] = [owners[account.targets[n][:2]] for n in account.target_of[told].tolist()]
    state = np.array([point.mapped and point.meaning.state for point in account.points])
    tabled = np.array(account.tabled)[samples.source]
    kind = np.full(len(account.points), -1)
    for common in (False, True):
        part = samples.take((tabled == common) & ~np.isnan(samples.value))
        if len(part.time):
            part = part.take(np.lexsort((part.time, part.source)))
            series = as_series(Samples(part.source, part.source, part.time, part.value), tabled=common)
            logs = classify([series], owner_of, state)
            kind[logs.target] = logs.interval == 0
    return kind


def _keep_one(samples: Samples, account: Account, both: np.ndarray, kind: np.ndarray) -> Samples:
    """Set the other log aside where the kept one runs; number what is left of it as a log of its own."""
    size = len(both)
    status = np.array([(AIR_HANDLER if handler else TERMINAL)[name].state for handler, _, name in account.targets])
    at = np.flatnonzero(both[samples.target])
    target, time = samples.target[at], samples.time[at]
    kept = (kind[samples.source[at]] == 1) == status[target]
    used = ~np.isnan(samples.value[at])
    first, last = np.full(size, np.iinfo(np.int64).max), np.full(size, np.iinfo(np.int64).min)
    np.minimum.at(first, target[kept & used], time[kept & used])
    np.maximum.at(last, target[kept & used], time[kept & used])
    double = at[~kept & (time >= first[target]) & (time <= last[target])]
    account.move(samples.source[double[~np.isnan(samples.value[double])]], "duplicate timestamp")
    second = np.zeros(size, samples.target.dtype)
    second[both] = [account.another(n) for n in np.flatnonzero(both).tolist()]
    target_of = samples.target.copy()
    target_of[at[~kept]] = second[target[~kept]]
    rest = np.ones(len(samples.time), bool)
    rest[double] = False
    return replace(samples, target=target_of).take(rest)


def refuse_contradiction(sources: np.ndarray, samples: int, account: Account) -> None:
    """Refuse files that hold other values for most of what they hold of the same points, and one that does so itself.

    Parameters
    ----------
    sources : ndarray of int
        The source of every value that was rejected for another file's.
    samples : int
        How many values logs that overlap have.

    Raises
    ------
    ExportError
        ``_CONTRADICTED`` of them and more were rejected, of several points.
    """
    if not len(sources) or len(sources) < _CONTRADICTED * samples:
        return
    contradicted = np.unique(account.target_of[sources])
    rivals = np.flatnonzero(np.isin(account.target_of, contradicted))
    files = list(dict.fromkeys(account.points[number].file for number in rivals.tolist()))
    if len(files) > 1 and len(contradicted) >= _LEAST_POINTS:
        raise ExportError(
            some(files, most=2),
            "hold other values of the same points at the same moments, nearly throughout, and nothing tells which hold",
            "Leave out the wrong one; or, if they are other terminals', give each a tag of its own in the point list.",
        )
    if len(files) == 1 and len(sources) >= _LEAST_VALUES and 2 * len(contradicted) >= _targets_of(files[0], account):
        names = some([repr(account.points[number].column) for number in np.unique(sources).tolist()], most=3)
        raise ExportError(
            files[0],
            f"holds several values of one point at one moment, nearly throughout ({names}), "
            "and nothing tells which hold",
            "Export it with a column that tells them apart (the terminal, the controller, the server), or one of them.",
        )


def _targets_of(file: str, account: Account) -> int:
    """Return how many quantities of terminals and air handlers a file holds."""
    numbers = [number for number, point in enumerate(account.points) if point.file == file]
    found = account.target_of[numbers]
    return len(np.unique(found[found >= 0]))


def tell_conflicts(sources: np.ndarray, account: Account) -> list[str]:
    """Say of which points several files hold other values at the same moments: they may be two terminals.

    Parameters
    ----------
    sources : ndarray of int
        The source of every value that was rejected for another of its moment.
    """
    files: dict[int, dict[str, None]] = {}
    for source in np.unique(sources).tolist():
        files.setdefault(int(account.target_of[source]), {})[account.points[source].file] = None
    told = [
        f"{' '.join(account.targets[target][1:])} ({some(list(labels), most=2)})"
        for target, labels in files.items()
        if len(labels) > 1
    ]
    if not told:
        return []
    return [
        "Several files hold other values of one point at the same moments; both were rejected. If these are two "
        f"terminals, give each a tag of its own in the point list: {some(told)}."
    ]
