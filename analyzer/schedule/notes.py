"""What the notes under a table say of its coils: of all of them, or of the rows that bear the note's number."""

from __future__ import annotations

import re
from dataclasses import dataclass

from analyzer.schedule import kinds
from analyzer.schedule.layout import Table
from analyzer.schedule.words import fold

_NUMBER = re.compile(r"^\s*(?:NOTE\s*)?\(?(\d{1,2})[.):]", re.IGNORECASE)
_KEYS = re.compile(r"^[\d\s,;&]+$")
_COILS = r"(?:COILS?|HEATERS?|REHEATS?|HEATING)"
# "HEATING COILS ARE HOT WATER": what they are stands behind the verb. "ALL TERMINALS HAVE ELECTRIC HEATERS": of all.
_ARE = re.compile(rf"\b{_COILS}\b(?: \w+){{0,3}} (?:ARE|IS|SHALL BE|TO BE|WILL BE)\b(.*)$")
_OF_ALL = re.compile(rf"\b(?:ALL|EACH|EVERY)\b.*\b(?:HAVE|HAS|WITH)\b(?=.*\b{_COILS}\b)(.*)$")
_NEGATED = re.compile(r"\bNOT?\b|\bUNLESS\b|\bEXCEPT\b|\bWHERE\b|\bIF\b")


@dataclass(frozen=True)
class CoilNote:
    """A note that names the sort of reheat.

    Attributes
    ----------
    reheat : str
        "electric" or "hot-water".
    text : str
    number : int or None
        The note's own, where rows of the table bear it: it then holds for these alone.
    """

    reheat: str
    text: str
    number: int | None


def coil_notes(table: Table) -> list[CoilNote]:
    """Return the notes of a table that say what its coils are; those of a condition or an exception say nothing."""
    borne = {number for row in table.rows for number in keys_of(table, row)}
    found = []
    for text in table.notes:
        folded = fold(text)
        if _NEGATED.search(folded):
            continue
        told = _ARE.search(folded) or _OF_ALL.search(folded)
        said = kinds.reheat_in(told[1] if told else "")
        if said in ("electric", "hot-water"):
            match = _NUMBER.match(text)
            number = int(match[1]) if match and int(match[1]) in borne else None
            found.append(CoilNote(said, text, number))
    return found


def keys_of(table: Table, row: int) -> set[int]:
    """Return the numbers of the notes that a row bears."""
    texts = [table.grid.text(row, column.at) for column in table.columns if column.name == "remarks"]
    return {int(number) for text in texts if _KEYS.match(text) for number in re.findall(r"\d+", text)}


def reheat_noted(notes: list[CoilNote], table: Table, row: int) -> CoilNote | None:
    """Return the note that tells a row's sort of reheat; its own number goes before what is said of all."""
    if not notes:
        return None
    keys = keys_of(table, row)
    for fits in ([note for note in notes if note.number in keys], [note for note in notes if note.number is None]):
        if len({note.reheat for note in fits}) == 1:
            return fits[0]
    return None
