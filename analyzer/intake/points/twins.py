"""Tags without a number: what stands before the same words in several columns names terminals (``Lobby Zone Temp``)."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

from analyzer.intake.points.entries import Entry
from analyzer.intake.words.names import is_quantity_word, read_quantity, tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import bare, take_unit, unit_of, without_sign

MOST_WORDS = 4  # of such a tag; judgement


def name_owners(entries: list[Entry], tags: TagFinder, hint: str, twin: str = "") -> list[Entry]:
    """Give points the owner that stands before, or behind, what they measure, where the table shows that it is one.

    It is one where two or more stand at the same words ("Lobby Zone Temp", "Cafe Zone Temp"). One of the vocabulary's
    own words is a name beside such twins ("RA-ZAT" beside "RB-ZAT"); by itself it never is.

    Parameters
    ----------
    hint : str
        What the file's name tells: where it names a terminal for sure, its columns belong to that.
    twin : str
        The word by which the file's name differs from another's: the owner of columns that begin with it.
    """
    if tags.named(hint) is not None:
        return entries
    if twin and all(tokens_of(entry.column)[:1] and tokens_of(entry.column)[0].text == twin for entry in entries):
        return [replace(entry, owner=twin, given=True) for entry in entries]
    entries = _parts_of_one(entries, tags, hint)
    cut = {n: parts for n, entry in enumerate(entries) if not entry.given and (parts := _cut(entry, tags))}
    owners: dict[tuple[str, ...], dict[str, bool]] = defaultdict(dict)
    for owner, rest, unknown in cut.values():
        owners[rest][owner] = unknown
    twins = {
        rest for rest, found in owners.items() if len({owner.lower() for owner in found}) > 1 and any(found.values())
    }
    told = {owner.lower() for owner, rest, _ in cut.values() if rest in twins}
    named = {n: owner for n, (owner, _, _) in cut.items() if owner.lower() in told}
    return [replace(entry, owner=named[n], given=True) if n in named else entry for n, entry in enumerate(entries)]


def _parts_of_one(entries: list[Entry], tags: TagFinder, hint: str) -> list[Entry]:
    """Give points that a letter or a small number tells apart to the file's terminal, where others are its own.

    ``Damper A`` and ``Damper B`` beside ``Zone Temp`` are two of the terminal that the file is named after.
    """
    if not any(token.is_number for token in tokens_of(hint)) or not any(
        not entry.given and _says_all(entry, tags) for entry in entries
    ):
        return entries
    return [
        replace(entry, owner=hint, given=True) if not entry.given and _is_part(entry, tags) else entry
        for entry in entries
    ]


def _says_all(entry: Entry, tags: TagFinder) -> bool:
    """Tell a name that says what is measured and nothing else."""
    owner = tags.find(take_unit(entry.column)[0])
    return (
        owner.tag is None
        and all(map(is_quantity_word, owner.words))
        and read_quantity(owner.words, air_handler=False) is not None
    )


def _is_part(entry: Entry, tags: TagFinder) -> bool:
    """Tell a name that says what is measured but for a letter, or a number of one figure."""
    name = take_unit(entry.column)[0]
    words = tuple(token.low for token in tokens_of(name))
    rest = tuple(word for word in words if len(word) > 1 or is_quantity_word(word))
    if len(words) - len(rest) != 1 or not all(map(is_quantity_word, rest)) or tags.named(name) is not None:
        return False
    return read_quantity(rest, air_handler=False) is not None


def _cut(entry: Entry, tags: TagFinder) -> tuple[str, tuple[str, ...], bool] | None:
    """Cut a name without a tag into an owner and what is measured; say whether the owner is no word of ours."""
    name = without_sign(take_unit(entry.column)[0])
    found = tokens_of(name)
    if len(found) < 2 or tags.find(name).tag is not None:
        return None
    words = tuple(token.low for token in found)
    for size in range(1, min(MOST_WORDS, len(words) - 1) + 1):
        for begin, end, rest in ((0, size, words[size:]), (len(words) - size, len(words), words[:-size])):
            unknown = not any(map(is_quantity_word, words[begin:end]))
            if not unknown and (size > 1 or begin):
                continue
            if any(not is_quantity_word(word) for word in rest):
                continue  # the owner has more words
            said = (rest, (*rest, "temp")) if _is_air_in_degrees(rest, entry) else (rest,)
            if any(read_quantity(named, air_handler=kind) is not None for named in said for kind in (False, True)):
                return name[found[begin].begin : found[end - 1].end], rest, unknown
    return None


def _is_air_in_degrees(rest: tuple[str, ...], entry: Entry) -> bool:
    """Tell a name that says whose air it is and not what of it, beside a temperature's unit: ``Discharge air (°C)``."""
    unit = take_unit(entry.column)[1] or entry.unit
    return "air" in rest and unit is not None and unit_of(bare(unit), "temperature") is not None
