"""Tags of the schedule and of the exports: the same, spelled alike, perhaps the same, in one of the two alone."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from analyzer.intake.words.names import tokens_of

_FEWEST_LED = 3  # tags that all begin with one word before it is taken for their building's. Judgement.


@dataclass(frozen=True)
class Matched:
    """What the two lists have in common.

    Attributes
    ----------
    spelled : dict
        A tag of the schedule to the exports' tag that is spelled like it: another case, other signs between its words
        and numbers, other zeros; the word of a building in front of all of them.
    proposed : tuple of (str, str)
        A tag of the schedule and one of the exports that hold the same numbers under other words; nothing is made of
        it.
    only_scheduled, only_exported : tuple of str
        In one list, and not in the other.
    """

    spelled: dict[str, str]
    proposed: tuple[tuple[str, str], ...]
    only_scheduled: tuple[str, ...]
    only_exported: tuple[str, ...]


def match(scheduled: Iterable[str], exported: Iterable[str]) -> Matched:
    """Match the tags of a schedule with those of exports; what is not plain is only proposed."""
    left, right = list(dict.fromkeys(scheduled)), list(dict.fromkeys(exported))
    spelled = {tag: tag for tag in left if tag in set(right)}
    for key in (_alike, _zeroless):
        pairs = _unmistakable(left, right, key)  # of all: what two of a list could be is neither
        spelled |= {one: tag for one, tag in pairs.items() if one not in spelled and tag not in spelled.values()}
    spelled |= _without_their_lead(_rest(left, spelled), _rest(right, spelled.values()), left)
    proposed: dict[str, str] = {}
    for key in (_numbers, _digits):
        mine, theirs = _rest(left, {**spelled, **proposed}), _rest(right, {*spelled.values(), *proposed.values()})
        proposed |= _unmistakable(mine, theirs, key)
    return Matched(
        spelled,
        tuple(proposed.items()),
        tuple(_rest(left, spelled)),
        tuple(_rest(right, spelled.values())),
    )


def _rest(tags: list[str], taken: Iterable[str]) -> list[str]:
    gone = set(taken)
    return [tag for tag in tags if tag not in gone]


def _unmistakable(left: list[str], right: list[str], key: Callable[[str], str]) -> dict[str, str]:
    """Pair the tags whose key no other tag of either list has."""
    mine, theirs = _by_key(left, key), _by_key(right, key)
    return {tags[0]: theirs[k][0] for k, tags in mine.items() if len(tags) == len(theirs.get(k, ())) == 1}


def _by_key(tags: list[str], key: Callable[[str], str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for tag in tags:
        if name := key(tag):
            found.setdefault(name, []).append(tag)
    return found


def _without_their_lead(mine: list[str], theirs: list[str], left: list[str]) -> dict[str, str]:
    """Pair tags that all bear one more word in front, that of their building: ``B-TU-001`` is ``TU-001``.

    None where one tag of the schedule lacks the word, or most of them have no counterpart without it.
    """
    lead = common_lead(left)
    if not lead or any(tokens_of(tag)[0].low == lead for tag in theirs):
        return {}
    bare = {tag[tokens_of(tag)[1].begin :]: tag for tag in mine}
    found = _unmistakable(list(bare), theirs, _zeroless)
    return {bare[one]: tag for one, tag in found.items()} if len(found) * 2 > len(left) else {}


def common_lead(tags: Iterable[str]) -> str:
    """Return the word that stands in front of the words and numbers of all tags; "" where there is none."""
    every = [tokens_of(tag) for tag in tags]
    if len(every) < _FEWEST_LED or any(len(tokens) < 3 or tokens[1].is_number for tokens in every):
        return ""
    leads = {tokens[0].low for tokens in every}
    return leads.pop() if len(leads) == 1 and next(iter(leads)).isalpha() else ""


def _alike(tag: str) -> str:
    return "-".join(token.low for token in tokens_of(tag))


def _zeroless(tag: str) -> str:
    return "-".join(token.low.lstrip("0") or "0" if token.is_number else token.low for token in tokens_of(tag))


def _numbers(tag: str) -> str:
    return "-".join(token.text.lstrip("0") or "0" for token in tokens_of(tag) if token.is_number)


def _digits(tag: str) -> str:
    digits = "".join(token.text for token in tokens_of(tag) if token.is_number)
    return digits if len(digits) >= 3 else ""
