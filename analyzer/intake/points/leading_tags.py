"""Tags of a word that nobody knows, or that looks like a quantity's: what its points measure shows a terminal."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import replace

from analyzer.intake.points.entries import Entry
from analyzer.intake.points.paths import LEAST_QUANTITIES, SHOWS_TERMINAL
from analyzer.intake.words.names import is_plain_word, read_quantity, tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import take_unit

# A word of two to five letters and its number before a sign or a blank, at the beginning of a name: "SFT-01 zone temp".
_LEADING = re.compile(r"(?P<tag>(?P<word>[^\W\d_]{2,5})[-_ ]?\d[\w.-]*?)(?=[\s/\\:|>]|[_.](?=[^\W\d]))")


def name_leading_owners(entries: list[Entry], tags: TagFinder) -> list[Entry]:
    """Give points the tag with which their names begin, where they would be their file's air handler's or nobody's.

    It is a terminal's where several of its points are quantities of a terminal, one of them surely no other
    equipment's. A word that by itself names a quantity is none: ``SF-1 status`` is a supply fan's.
    """
    cut = {n: tag for n, entry in enumerate(entries) if not entry.given and (tag := _cut(entry, tags))}
    quantities: dict[str, set[str]] = defaultdict(set)
    for n, tag in cut.items():
        rest = take_unit(entries[n].column)[0].removeprefix(tag)
        reading = read_quantity(tuple(token.low for token in tokens_of(rest)), air_handler=False)
        if reading is not None and reading.certainty != "guess":
            quantities[tag].add(reading.quantity)
    shown = {tag for tag, found in quantities.items() if len(found) >= LEAST_QUANTITIES and found & SHOWS_TERMINAL}
    return [
        replace(entry, owner=cut[n], given=True) if cut.get(n) in shown else entry for n, entry in enumerate(entries)
    ]


def _cut(entry: Entry, tags: TagFinder) -> str:
    """Return the tag with which a name begins, where nothing else tells whose it is, or an air handler's file does."""
    name = take_unit(entry.column)[0]
    match = _LEADING.match(name)
    if match is None or is_plain_word(match["word"]) or tags.named(name) is not None:
        return ""
    of_file = tags.named(entry.owner) if entry.owner else None
    if of_file is not None:
        return match["tag"] if of_file.air_handler else ""
    return match["tag"] if tags.find(name, entry.owner).tag != match["tag"] else ""
