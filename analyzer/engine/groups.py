"""A building cut into groups of terminals that can be judged by themselves; memory is bounded by the group."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.site.model import Site

# So many rows a group holds at the most, where its air handlers are no larger: some 120 terminals of a week at five
# minutes. All that is worked out of a group takes about 1.5 kB a row.
MOST_ROWS = 250_000


@dataclass(frozen=True)
class Group:
    """Terminals that are judged together, and the air handlers that they hang on; sorted."""

    terminals: tuple[str, ...]
    air_handlers: tuple[str, ...]


def groups_of(tags: Sequence[str], rows: np.ndarray, site: Site, most_rows: int = MOST_ROWS) -> list[Group]:
    """Cut a building into groups; what ``analyzer.engine.building`` wants together stays together.

    Parameters
    ----------
    tags : sequence of str
        The terminals that have trends.
    rows : ndarray of int
        How many rows each has.
    site : Site
        Its schedule says who hangs on which air handler, and who shares an open zone.
    most_rows : int
        A group is filled up to so many rows; an air handler with more is a group by itself.
    """
    schedule = site.schedule.reindex(tags)
    handlers, zones = ([word if isinstance(word, str) else "" for word in schedule[name]] for name in _TOGETHER)
    bundles: dict[int, list[int]] = {}
    for number, bundle in enumerate(_bundles(handlers, zones)):
        bundles.setdefault(bundle, []).append(number)
    groups, filled, held = [], [], 0
    for bundle in bundles.values():
        own = int(rows[bundle].sum())
        if filled and held + own > most_rows:
            groups.append(filled)
            filled, held = [], 0
        filled = filled + bundle
        held += own
    groups += [filled] if filled else []
    return [
        Group(tuple(sorted(tags[at] for at in group)), tuple(sorted({handlers[at] for at in group} - {""})))
        for group in groups
    ]


_TOGETHER = ("air_handler", "open_zone")


def _bundles(*words: list[str]) -> list[int]:
    """Number terminals so that those that share a word, or share one with a third, have the same number."""
    leader = list(range(len(words[0])))

    def lead(at: int) -> int:
        while leader[at] != at:
            leader[at] = leader[leader[at]]
            at = leader[at]
        return at

    for column in words:
        first: dict[str, int] = {}
        for at, word in enumerate(column):
            if word:
                leader[lead(at)] = lead(first.setdefault(word, at))
    return [lead(at) for at in range(len(leader))]
