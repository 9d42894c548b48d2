"""Terminals of one tag: numbered anew under every air handler, on every floor or in every building, and told apart."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise
from pathlib import PurePosixPath

import numpy as np

from analyzer.errors import ExportError
from analyzer.intake.points.alternation import alternate
from analyzer.intake.points.cells import Opened, cells_of, log_of_each
from analyzer.intake.points.point import Point
from analyzer.intake.tables.stamps import GOOD
from analyzer.intake.words.names import is_quantity_word, tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.vocabulary import AIR_HANDLER_EQUIPMENT
from analyzer.intake.words.wording import some

# Judgement: two logs that meet at this share of their moments are compared; they disagree where at most half are equal.
_MEET = 0.1
_EQUAL = 0.5


@dataclass
class _Claim:
    """A point, and which log of its table's block it is, counted column by column; -1 for none.

    ``span`` is the first and the last moment of its table.
    """

    point: Point
    opened: Opened
    log: int
    span: tuple[int, int]


def part_namesakes(logs: Sequence[Opened], tags: TagFinder) -> list[str]:
    """Give terminals that share a tag tags of their own, where neither schedule nor point list names them.

    ``HALL/VAV-1-01`` and ``LAB/VAV-1-01`` are two where both log one quantity over the same time and the values
    disagree; where they agree, or one ends before the other begins, they are one terminal under two names.

    Two spellings of a tag, such as ``VAV-1a`` and ``VAV-1A``, are two where a table holds one quantity for both.

    Returns
    -------
    list of str
        What was assumed.

    Raises
    ------
    ExportError
        Two spellings may be one tag of the schedule, which spells it in neither way.
    """
    contested = _contested(point for opened in logs for point in opened.points)
    claims: dict[tuple[bool, str], list[_Claim]] = {(handler, tag): [] for handler, tag in contested if tag}
    for opened in logs if claims else ():
        span = _span(opened)
        for point, log in zip(opened.points, log_of_each(opened), strict=True):
            if point.mapped and (mine := claims.get((point.air_handler, point.tag or ""))) is not None:
                mine.append(_Claim(point, opened, log, span))
    parted: dict[str, list[str]] = {}
    as_one: dict[str, list[str]] = {}
    for (air_handler, tag), mine in claims.items():
        scheduled = tags.known_terminal(tag) is not None
        if spelled := {} if air_handler else _by_spelling(mine):
            exact = [text for text in spelled if tags.spells(text, tag)]
            if scheduled and len(exact) != 1:
                raise _may_both_be(mine, list(spelled), tag)
            parted[tag] = list(spelled)
            for text, group in spelled.items():
                for claim in group:
                    claim.point.belongs_to(tag if [text] == exact else text)
            continue
        groups = {} if scheduled else _by_name(mine) or _by_folder(mine)
        if len(groups) > 1 and all(_are_two(a, b) for a, b in pairwise(groups.values())):
            parted[tag] = list(groups)
            for name, group in groups.items():
                for claim in group:
                    claim.point.belongs_to(tags.known_terminal(name) or name)
        elif not air_handler and not scheduled and len(names := {claim.point.spelled for claim in mine}) > 1:
            as_one[tag] = sorted(names)
    return [*_told_apart(parted), *_told_as_one(as_one)]


def _told_apart(parted: dict[str, list[str]]) -> list[str]:
    shown = [f"{tag!r} is {' and '.join(map(repr, names))}" for tag, names in parted.items()]
    if not shown:
        return []
    return [
        "Tags that stand for several terminals, whose logs disagree, were told apart by what stands beside the tag or "
        f"by the folder: {some(shown)}; the point list can say otherwise."
    ]


def _told_as_one(as_one: dict[str, list[str]]) -> list[str]:
    shown = [" and ".join(map(repr, names)) for names in as_one.values()]
    if not shown:
        return []
    return [
        "Spellings in files apart, whose logs do not disagree, were taken for one terminal: "
        f"{some(shown)}; if they are several, list them in the schedule."
    ]


def _span(opened: Opened) -> tuple[int, int]:
    stamps = opened.log.stamps
    good = stamps.first[stamps.reason == GOOD]
    return (int(good.min()), int(good.max())) if len(good) else (0, 0)


def _contested(points: Iterable[Point]) -> dict[tuple[bool, str | None], None]:
    """Find the tags of which several points claim one quantity: by other names, or in files alike of other folders."""
    first: dict[tuple, Point] = {}
    contested: dict[tuple[bool, str | None], None] = {}
    for point in points:
        if point.mapped and point.certainty != "point list":
            other = first.setdefault(point.key, point)
            if (other.column, other.owner) != (point.column, point.owner) or (
                other.file != point.file and _alike(other.file, point.file)
            ):
                contested[point.air_handler, point.tag] = None
    return contested


def _by_spelling(claims: list[_Claim]) -> dict[str, list[_Claim]]:
    """Group claims by how their names spell the tag, where those are of several terminals; nothing where they are not.

    No table logs one point twice under two spellings; in tables apart, logs that disagree are of two terminals.
    """
    groups: dict[str, list[_Claim]] = {}
    for claim in claims:
        groups.setdefault(claim.point.spelled, []).append(claim)
    if len(groups) < 2 or not any(_side_by_side(a, b) or _are_two(a, b) for a, b in combinations(groups.values(), 2)):
        return {}
    return groups


def _side_by_side(claims: list[_Claim], others: list[_Claim]) -> bool:
    """Tell whether one table holds a quantity for both."""
    held = {(id(claim.opened), claim.point.quantity) for claim in claims}
    return any((id(other.opened), other.point.quantity) in held for other in others)


def _may_both_be(claims: list[_Claim], spelled: list[str], tag: str) -> ExportError:
    return ExportError(
        claims[0].point.file, f"{spelled[0]!r} and {spelled[1]!r} may both be the schedule's {tag!r}",
        "Spell it in the schedule as the exports do, or say in the point list which is which.",
    )  # fmt: skip


def _by_name(claims: list[_Claim]) -> dict[str, list[_Claim]]:
    """Group claims by what stands beside the tag in their names; nothing where a name has nothing there."""
    groups: dict[tuple[str, ...], list[_Claim]] = {}
    spelled: dict[tuple[str, ...], str] = {}
    for claim in claims:
        words, name = _beside(claim.point.column, claim.point.owner, claim.point.tag)
        groups.setdefault(words, []).append(claim)
        spelled.setdefault(words, name)
    if len(groups) < 2 or () in groups:
        return {}
    return {spelled[words]: group for words, group in groups.items()}


@lru_cache(maxsize=65536)
def _beside(column: str, owner: str | None, tag: str) -> tuple[tuple[str, ...], str]:
    """Return the words before a tag, and a letter after it, that are no quantity's; and the tag with them."""
    wanted = "".join(token.low for token in tokens_of(tag))
    size = len(tokens_of(tag))
    for name in (take_unit(column)[0], owner or ""):  # the tag stands in the point's name or apart from it
        tokens = tokens_of(name)
        at = next((n for n in range(len(tokens)) if "".join(t.low for t in tokens[n : n + size]) == wanted), None)
        if at is not None and size:
            break
    else:
        return (), tag
    begin, end = at, at + size
    while begin and _names_a_place(tokens[begin - 1].low):
        begin -= 1
    if end < len(tokens) and len(tokens[end].low) == 1 and _names_a_place(tokens[end].low):
        end += 1
    words = tuple(token.low for token in (*tokens[begin:at], *tokens[at + size : end]))
    return words, name[tokens[begin].begin : tokens[end - 1].end]


def _names_a_place(word: str) -> bool:
    return word in AIR_HANDLER_EQUIPMENT or not is_quantity_word(word)


def _by_folder(claims: list[_Claim]) -> dict[str, list[_Claim]]:
    """Group claims by the first folder, or archive, in which the paths of their files differ."""
    files = dict.fromkeys(claim.point.file for claim in claims)
    paths = {file: PurePosixPath(file.replace("\\", "/")).parts for file in files}
    differing = [n for n, parts in enumerate(zip(*paths.values(), strict=False)) if len(set(parts)) > 1]
    if not differing or any(len(parts) <= differing[0] + 1 for parts in paths.values()):
        return {}
    folder = {file: parts[differing[0]].removesuffix(".zip") for file, parts in paths.items()}
    groups: dict[str, list[_Claim]] = {}
    for claim in claims:
        groups.setdefault(f"{folder[claim.point.file]} {claim.point.tag}", []).append(claim)
    return groups


@lru_cache(maxsize=65536)
def _alike(file: str, other: str) -> bool:
    """Tell files of one name."""
    return file.replace("\\", "/").rsplit("/", 1)[-1] == other.replace("\\", "/").rsplit("/", 1)[-1]


def _are_two(claims: list[_Claim], others: list[_Claim]) -> bool:
    """Tell whether two groups of points belong to two terminals: most of what both measure disagrees somewhere."""
    of_quantity = {claim.point.quantity: claim for claim in others}
    shared = [(claim, of_quantity[claim.point.quantity]) for claim in claims if claim.point.quantity in of_quantity]
    few = min(len({claim.point.quantity for claim in group}) for group in (claims, others))
    if len(shared) < min(2, few):
        return False
    return any(_disagree(claim, other) for claim, other in shared if not claim.point.meaning.state)


def _disagree(claim: _Claim, other: _Claim) -> bool:
    """Tell whether two logs hold other values at the moments that both have, or jump where they take turns."""
    if claim.span[1] < other.span[0] or other.span[1] < claim.span[0]:
        return False
    (time, value), (other_time, other_value) = (cells_of(each.opened, each.log) for each in (claim, other))
    _, here, there = np.intersect1d(time, other_time, return_indices=True)
    if len(here) < max(1, _MEET * min(len(time), len(other_time))):
        return alternate((time, value), (other_time, other_value))
    return bool((value[here] == other_value[there]).mean() <= _EQUAL)
