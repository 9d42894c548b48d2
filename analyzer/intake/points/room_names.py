"""Names that follow a room's number and belong to it: ``RM 110 CONF ROOM TEMP`` is a point of ``RM 110 CONF``."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from analyzer.intake.points.entries import Entry
from analyzer.intake.words.names import is_quantity_word, read_quantity, tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.vocabulary import ROOM_WORDS

_SHORTEST = 3  # letters of such a name; with fewer it may be an abbreviation. Judgement


def room_names(entries: Iterable[Entry], tags: TagFinder) -> set[str]:
    """Return rooms with the name behind their number, where every point of the room in a table has one.

    The name is a word that the vocabulary does not know, before at least two quantities that it does: a word before one
    alone may say more of that quantity.
    """
    named: dict[str, dict[str, set[tuple[str, ...]]]] = defaultdict(lambda: defaultdict(set))
    for entry in entries:
        name = take_unit(entry.column)[0]
        owner = tags.find(name)
        first = tokens_of(owner.spelled)[:1] if owner.spelled and not owner.known and not owner.air_handler else ()
        at = name.find(owner.spelled) if first and first[0].low in ROOM_WORDS else -1
        if at >= 0:
            end = at + len(owner.spelled)
            behind = tokens_of(name[end:])
            room = name[at : end + behind[0].end] if behind and len(behind[0].text) >= _SHORTEST else ""
            named[owner.spelled][room].add(tuple(token.low for token in behind[1:]) if _is_name(behind) else ())
    return {
        room
        for rooms in named.values()
        if all(room and len(rests) > 1 and all(map(_says, rests)) for room, rests in rooms.items())
        for room in rooms
    }


def _is_name(behind: tuple) -> bool:
    return len(behind) > 1 and not behind[0].is_number and not is_quantity_word(behind[0].low)


def _says(words: tuple[str, ...]) -> bool:
    return all(map(is_quantity_word, words)) and read_quantity(words, air_handler=False) is not None
