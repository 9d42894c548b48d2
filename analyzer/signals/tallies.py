"""What a scene assumes of some of its terminals, put into sentences once the groups of a building are together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

MOST_NAMED = 5  # terminals; the rest are counted


def tallies_told(tallies: Counter[str]) -> list[str]:
    """Put the counts of all groups into the sentences of ``Scene.tally``."""
    return [sentence.replace("{count} terminals", _terminals(count)) for sentence, count in tallies.items()]


def named_told(named: Iterable[Mapping[str, set[str]]]) -> list[str]:
    """Put the terminals of all groups into the sentences of ``Scene.name_them``."""
    joined: dict[str, set[str]] = {}
    for each in named:
        for sentence, terminals in each.items():
            joined.setdefault(sentence, set()).update(terminals)
    return [
        sentence.replace("{count} terminals", _terminals(len(tags))).replace("{terminals}", _few(sorted(tags)))
        for sentence, tags in joined.items()
    ]


def _terminals(count: int) -> str:
    return f"{count} terminal{'s' if count > 1 else ''}"


def _few(tags: list[str]) -> str:
    rest = len(tags) - MOST_NAMED
    return ", ".join(tags[:MOST_NAMED]) + (f" and {rest} more" if rest > 0 else "")
