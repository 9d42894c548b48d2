"""A building cut into groups of terminals that can be judged by themselves; memory is bounded by the group."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.site.model import Site

# So many rows a group holds at the most: some 75 terminals of a week at five minutes, or one of a year. What is worked
# out of a group takes some 2 kB a row; beside that, a group costs a tenth of a second however few rows it has.
MOST_ROWS = 150_000


@dataclass(frozen=True)
class Group:
    """Terminals that are judged together, and the air handlers that they hang on ("" where that is not known)."""

    terminals: tuple[str, ...]
    owners: tuple[str, ...]

    @property
    def air_handlers(self) -> tuple[str, ...]:
        """The air handlers that are known."""
        return tuple(owner for owner in self.owners if owner)


def groups_of(tags: Sequence[str], rows: np.ndarray, site: Site, most_rows: int = MOST_ROWS) -> list[Group]:
    """Cut a building into groups.

    The terminals of one open zone stay together, and those of one air handler where so many rows hold them; where not,
    ``across`` tells, and what they agree on is worked out beforehand (``analyzer.signals.agreed``).

    Parameters
    ----------
    tags : sequence of str
        The terminals that have trends.
    rows : ndarray of int
        How many rows each has.
    site : Site
        Its schedule says who hangs on which air handler, and who shares an open zone.
    most_rows : int
        A group is filled up to so many rows; an open zone, or a terminal, with more is a group by itself.
    """
    schedule = site.schedule.reindex(tags)
    owners, zones = ([word if isinstance(word, str) else "" for word in schedule[name]] for name in _TOGETHER)
    units = []
    for bundle in _bundles(range(len(tags)), owners, zones):
        units += [bundle] if rows[bundle].sum() <= most_rows else _bundles(bundle, zones)
    groups: list[list[int]] = []
    filled: list[int] = []
    held = 0
    for unit in units:
        own = int(rows[unit].sum())
        if filled and held + own > most_rows:
            groups.append(filled)
            filled, held = [], 0
        filled = filled + unit
        held += own
    groups += [filled] if filled else []
    return [
        Group(tuple(sorted(tags[at] for at in group)), tuple(sorted({owners[at] for at in group}))) for group in groups
    ]


def across(groups: Sequence[Group]) -> bool:
    """Tell whether the terminals of any air handler, or those of none that is known, may stand in several groups.

    A terminal for which the schedule names none may turn out to hang on any.
    """
    owners = [owner for group in groups for owner in group.owners]
    return len(set(owners)) < len(owners) or (len(groups) > 1 and "" in owners)


_TOGETHER = ("air_handler", "open_zone")


def _bundles(members: Sequence[int], *words: list[str]) -> list[list[int]]:
    """Sort members into bundles, in order: those that share a word, or share one with a third, are in the same."""
    leader = {at: at for at in members}

    def lead(at: int) -> int:
        while leader[at] != at:
            leader[at] = leader[leader[at]]
            at = leader[at]
        return at

    for column in words:
        first: dict[str, int] = {}
        for at in members:
            if column[at]:
                leader[lead(at)] = lead(first.setdefault(column[at], at))
    bundles: dict[int, list[int]] = {}
    for at in members:
        bundles.setdefault(lead(at), []).append(at)
    return list(bundles.values())
