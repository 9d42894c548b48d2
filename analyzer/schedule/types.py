"""Types of terminal that a schedule gives once, spread over the terminals that the documents say are of each."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from analyzer.intake.words.wording import some
from analyzer.schedule.cells import Grid, Place
from analyzer.schedule.facts import Aside, Kind, Reading
from analyzer.schedule.tags import looks_like_tag, read_tags
from analyzer.schedule.words import fold

UNSPREAD = "a type, and nothing says which terminals are of it"
_LONGEST_KEY = 12
_TYPE = re.compile(r"^(?:(?:UNIT|BOX|TERMINAL|VAV|TU) )?TYPE ")
# "TYPE A: VAV-1-01 THRU 1-06", "TYPE A UNITS ARE VAV-1-01 AND 1-02".
_LINE = re.compile(
    r"^\W*(?:\d+[.)]\s+)?((?:(?:UNIT|BOX|TERMINAL)\s+)?TYPE\s+[\"'“]?[\w-]+[\"'”]?|[\w-]+)\s*"
    r"(?:UNITS?|TERMINALS?|BOXES|TAGS?)?\s*(?:[:=–—]|\s-\s|\bARE\b|\bIS\b|\bAPPLIES TO\b|\bFOR\b)\s*(\S.*)$",
    re.IGNORECASE | re.DOTALL,
)


def is_key(text: str) -> bool:
    """Tell whether a cell may name a type: a letter, a short code."""
    folded = key_of(text)
    return bool(folded) and len(folded) <= _LONGEST_KEY and " " not in folded.strip()


def key_of(text: str) -> str:
    """Return a type's key as it is compared: "Type A" is "A"."""
    folded = fold(text)
    return re.sub(r"\W+", "", _TYPE.sub("", f"{folded} ").strip()) if folded else ""


def lists_in(grid: Grid, keys: set[str]) -> Iterator[tuple[Place, str, tuple[str, ...]]]:
    """Yield the lines of a grid that say which terminals are of a type: (cell, key, tags)."""
    for row in range(grid.height):
        filled = grid.filled(row)
        for cell in filled:
            match = _LINE.match(grid.text(*cell))
            if match and key_of(match[1]) in keys and (tags := _all_tags(match[2])):
                yield cell, key_of(match[1]), tags
        tags = _all_tags(grid.text(*filled[1])) if len(filled) == 2 else ()
        if tags and (key := key_of(grid.text(*filled[0]))) in keys:
            yield filled[0], key, ()
            yield filled[1], key, tags


def lists_beside(lines: tuple[str, ...], keys: set[str]) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield the same of lines that stand in no cell."""
    for line in lines:
        match = _LINE.match(line)
        if match and key_of(match[1]) in keys and (tags := _all_tags(match[2])):
            yield key_of(match[1]), tags


def _all_tags(text: str) -> tuple[str, ...]:
    """Return the tags of a text that holds nothing else."""
    text = text.strip().rstrip(".;")
    if not looks_like_tag(text):
        return ()
    found = read_tags(text)
    alike = all(re.search(r"\d", tag) and looks_like_tag(tag) and len(tag) <= 20 for tag in found.tags)
    return found.tags if alike and not found.problem and not re.fullmatch(r"[\d.\s]+", text) else ()


def spread(reading: Reading) -> None:
    """Give every terminal the values of its type that it has not itself; set aside the types that no terminal is of."""
    _take_types_among_tags(reading)
    by_type: dict[str, list[str]] = {}
    typed = {tag: source for tag, text, source in reading.of_type if key_of(text) in reading.types}
    # What was concluded without the type's own words, or of its key as if that were words, gives way to these.
    reading.facts = [
        fact for fact in reading.facts
        if fact.tag not in typed or not fact.concluded and fact.source != typed[fact.tag]
    ]  # fmt: skip
    own = {(fact.tag, fact.column, fact.stage) for fact in reading.facts}
    for tag, text, _ in reading.of_type:
        kind = reading.types.get(key_of(text))
        if kind is None or tag in by_type.get(key_of(text), ()):
            continue
        by_type.setdefault(key_of(text), []).append(tag)
        for fact in kind.facts:
            if (tag, fact.column, fact.stage) not in own:
                note = "; ".join(part for part in (fact.note, f"of type {kind.key}") if part)
                reading.facts.append(replace(fact, tag=tag, note=note))
    for key, kind in reading.types.items():
        if tags := by_type.get(key):
            reading.assumptions.append(f"{kind.source.file}: of type {kind.key} are {some(tags, len(tags))}")
        else:
            _set_aside(reading, kind)


def _take_types_among_tags(reading: Reading) -> None:
    """Take a row whose tag other rows name as their type for that type, and no terminal."""
    named = {key_of(text) for tag, text, _ in reading.of_type if key_of(text) != key_of(tag)}
    for tag in [tag for tag in reading.tags if key_of(tag) in named]:
        mine = [fact for fact in reading.facts if fact.tag == tag]
        if not any(fact.column not in ("zone", "remarks", "floor", "air_handler", "kind") for fact in mine):
            continue
        reading.types[key_of(tag)] = Kind(tag, reading.tags.pop(tag), mine)
        reading.facts = [fact for fact in reading.facts if fact.tag != tag]


def _set_aside(reading: Reading, kind: Kind) -> None:
    """Set a type's cells aside; the account of their file says so too."""
    cells = {(fact.source, fact.text) for fact in kind.facts if fact.text} | {(kind.source, kind.key)}
    reading.asides += [Aside(source, text, UNSPREAD, kind.key) for source, text in sorted(cells, key=str)]
    places = {(source.sheet, source.place) for source, _ in cells if source.file == kind.source.file}
    for account in reading.accounts:
        if account.file == kind.source.file:
            account.used -= len(places)
            account.set_aside[UNSPREAD] += len(places)
