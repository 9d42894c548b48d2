"""Names that are paths: of whom ``Hall/AHU-1/FPS-1-01/Zone/Temperature`` is, though it names an air handler."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import replace
from itertools import pairwise

from analyzer.intake.points.entries import Entry
from analyzer.intake.words.names import is_quantity_word, read_quantity, tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.vocabulary import PLACE_WORDS

# What parts the steps: the sign that stands behind the air handler's. A point between numbers belongs to a tag: 1.04.
_SIGNS = {"/": r"/", "\\": r"\\", "|": r"\|", ">": r">", ":": r":", "-": r"\s-\s", ".": r"(?<!\d)\.|\.(?!\d)"}
_SIGN = re.compile(r"\s+(-)\s|\s*([/\\|>:.])")
# One of these is a terminal's and no pump's, fan's or coil's; with another quantity beside it. Judgement.
SHOWS_TERMINAL = frozenset({"zone_temp", "damper_position", "primary_flow", "primary_flow_setpoint"})
LEAST_QUANTITIES = 2


def name_path_owners(entries: list[Entry], tags: TagFinder) -> list[Entry]:
    """Give points the owner that stands in a step of its own behind their air handler's.

    A word that the vocabulary does not know, with a number, is a terminal there where several of its points are
    quantities of a terminal, one of them surely no other equipment's.
    """
    cut = {n: parts for n, entry in enumerate(entries) if not entry.given and (parts := _cut(entry, tags))}
    quantities: dict[str, set[str]] = defaultdict(set)
    for step, rest in cut.values():
        reading = read_quantity(_words(rest), air_handler=False)
        if reading is not None and reading.certainty != "guess":
            quantities[step].add(reading.quantity)
    shown = {step for step, found in quantities.items() if len(found) >= LEAST_QUANTITIES and found & SHOWS_TERMINAL}
    return [_of_step(entry, *cut[n]) if n in cut and cut[n][0] in shown else entry for n, entry in enumerate(entries)]


def _of_step(entry: Entry, step: str, rest: str) -> Entry:
    return replace(entry, column=f"{step} {rest}", owner=step, given=True, spelled=entry.spelled or entry.column)


def _cut(entry: Entry, tags: TagFinder) -> tuple[str, str] | None:
    """Cut a path behind the step of its air handler into the step that may name a terminal and what is left."""
    name = take_unit(entry.column)[0]
    owner = tags.named(name)
    if owner is None or not owner.air_handler or owner.spelled not in name:
        return None
    sign = _SIGN.match(name, name.index(owner.spelled) + len(owner.spelled))
    if sign is None:
        return None
    begin = sign.start()
    steps = _steps(entry.column, _SIGNS[sign[1] or sign[2]])
    behind = [(at, step) for at, step in steps if at > begin]
    for (_, step), (rest, _) in pairwise(behind):
        words = tokens_of(step)
        if any(token.low in PLACE_WORDS for token in words):
            continue  # "Floor 3" says where it is
        if not any(token.is_number for token in words) or any(is_quantity_word(token.low) for token in words):
            return None
        return step.strip(), entry.column[rest:]
    return None


def _steps(path: str, sign: str) -> list[tuple[int, str]]:
    """Return where each step of a path begins, and the step."""
    ends = [(match.start(), match.end()) for match in re.finditer(sign, path)]
    begins = [0, *(end for _, end in ends)]
    return [(a, path[a:b]) for a, b in zip(begins, [*(begin for begin, _ in ends), len(path)], strict=True)]


def _words(name: str) -> tuple[str, ...]:
    return tuple(token.low for token in tokens_of(take_unit(name)[0]))
