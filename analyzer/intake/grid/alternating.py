"""Logs of one quantity whose readings alternate and jump: of two instruments or terminals, and not to be blended."""

from __future__ import annotations

import numpy as np

from analyzer.intake.grid.moments import Samples
from analyzer.intake.points.alternation import alternate
from analyzer.intake.values.account import Account
from analyzer.intake.words.wording import some
from analyzer.quantities import AIR_HANDLER, TERMINAL


def part_alternating(samples: Samples, account: Account) -> tuple[Samples, list[str], np.ndarray]:
    """Keep of logs that alternate and jump the one with most samples; set the others aside, and say so.

    Parameters
    ----------
    samples : Samples
        Logs of one target that overlap, laid flat.

    Returns
    -------
    Samples, list of str, ndarray of int
        What is left, what is said, and the source of every value that was set aside.
    """
    at = np.flatnonzero(~np.isnan(samples.value))
    target = samples.target[at]
    several = _of_several_sources(target, samples.source[at], len(account.targets))
    aside: list[int] = []
    told = []
    for number in several.tolist():
        handler, tag, quantity = account.targets[number]
        if (AIR_HANDLER if handler else TERMINAL)[quantity].state:
            continue
        own = at[target == number]
        parted = _parted(samples.source[own], samples.time[own], samples.value[own])
        if parted:
            aside += [lost for _, lost in parted]
            points = [account.points[n] for n in parted[0]]
            names = " and ".join(f"{point.column!r} of {point.file}" for point in points)
            told.append(f"{tag} {quantity} ({names})")
    if not aside:
        return samples, [], np.zeros(0, np.int64)
    lost_cells = np.isin(samples.source, aside)
    lost = samples.source[lost_cells & ~np.isnan(samples.value)]
    account.move(lost, "duplicate timestamp")
    sentences = [
        "Logs of one point whose readings alternate, and jump each time, are of two instruments or two terminals; the "
        "one with more samples was kept. If they are two terminals, give each a tag of its own in the point list: "
        f"{some(told)}."
    ]
    return samples.take(~lost_cells), sentences, lost


def _of_several_sources(target: np.ndarray, source: np.ndarray, targets: int) -> np.ndarray:
    pairs = np.unique(source * targets + target)
    return np.flatnonzero(np.bincount(pairs % targets, minlength=targets) > 1) if len(pairs) else pairs


def _parted(source: np.ndarray, time: np.ndarray, value: np.ndarray) -> list[tuple[int, int]]:
    """Return the sources whose readings alternate with those of one that has more samples, each after that one."""
    sources, counts = np.unique(source, return_counts=True)
    logs = {int(n): (time[source == n], value[source == n]) for n in sources.tolist()}
    kept: list[int] = []
    parted = []
    for number in (int(sources[n]) for n in np.argsort(-counts, kind="stable").tolist()):
        rival = next((other for other in kept if alternate(logs[other], logs[number])), None)
        if rival is None:
            kept.append(number)
        else:
            parted.append((rival, number))
    return parted
