"""The trade's words in point names and headers, read from ``vocabulary.toml``."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

_TABLE = tomllib.loads(Path(__file__).with_name("vocabulary.toml").read_text(encoding="utf-8"))
_BETWEEN_WORDS = re.compile(r"[\W_]+")
# Concepts that say nothing against any quantity, but for those that name them among what they are without.
_ALWAYS = frozenset({"ACTUAL", "ACTIVE", "AIR", "BUILDING", "ENABLE", "MEASURED", "OUTPUT", "SP"})


@dataclass(frozen=True)
class Meaning:
    """One way of naming a quantity.

    ``needs`` are the concepts that must be there, ``may`` those that may be there too. ``sure`` is False where the
    name is usual but could mean another thing. ``strength`` is how much the name says, and ``stages`` that it counts
    stages.
    """

    quantity: str
    needs: frozenset[str]
    may: frozenset[str]
    sure: bool
    strength: int
    stages: bool


def _meanings(table: str) -> tuple[Meaning, ...]:
    return tuple(
        Meaning(
            row["quantity"],
            frozenset(row["needs"].split()),
            (frozenset(row.get("may", "").split()) | _ALWAYS) - frozenset(row.get("without", "").split()),
            row.get("sure", True),
            row.get("strength", len(row["needs"].split())),
            row.get("stages", False),
        )
        for row in _TABLE["meanings"][table]
    )


def _by_word() -> dict[str, frozenset[str]]:
    known: dict[str, set[str]] = {}
    for concept, words in _TABLE["words"].items():
        for word in words.split():
            known.setdefault(word, set()).add(concept)
    for word, concepts in _TABLE["compounds"].items():
        known.setdefault(word, set()).update(concepts.split())
    return {word: frozenset(concepts) for word, concepts in known.items()}


BY_WORD = _by_word()
PHRASES = {tuple(words.split()): word for words, word in _TABLE["phrases"].items()}
TERMINAL_MEANINGS = _meanings("terminal")
AIR_HANDLER_MEANINGS = _meanings("air_handler")
TERMINAL_EQUIPMENT, AIR_HANDLER_EQUIPMENT, WEAK_EQUIPMENT, ROOM_WORDS, WITH_FAN, FAN_POWERED = (
    frozenset(_TABLE["equipment"][kind].split())
    for kind in ("terminal", "air_handler", "weak", "room", "with_fan", "fan_powered")
)
EQUIPMENT = TERMINAL_EQUIPMENT | AIR_HANDLER_EQUIPMENT
TIME_WORDS, NAME_WORDS, TAG_WORDS, VALUE_WORDS, UNIT_WORDS, FLAG_WORDS, ROW_WORDS, PLACE_WORDS, BESIDE_WORDS = (
    frozenset(_TABLE["headers"][kind].split())
    for kind in ("time", "name", "tag", "value", "unit", "flag", "row", "place", "beside")
)
HEADER_WORDS = TIME_WORDS | NAME_WORDS | TAG_WORDS | VALUE_WORDS | UNIT_WORDS | FLAG_WORDS | ROW_WORDS | PLACE_WORDS
# Headers of columns that say which instrument a reading is of.
KEY_WORDS = frozenset(_TABLE["headers"]["key"].split())
# Words of names of files that say nothing of what is in them; those that number the parts of one.
FILE_WORDS, PART_WORDS = (frozenset(_TABLE["files"][kind].split()) for kind in ("plain", "parts"))
LEGEND_WORDS = frozenset(_TABLE["files"]["legend"].split())  # of a file that lists names
# Those headers of flags that name nothing else.
QUALITY_WORDS = tuple(_TABLE["headers"]["quality"].split())
# Cells that are no numbers.
NO_VALUE, FLAGGED, GOOD, GOOD_FIRST, YES, NO = (
    frozenset(_TABLE["cells"][kind]) for kind in ("nothing", "flagged", "good", "good_first", "yes", "no")
)
NO_UNIT, OVER_STAMPS, VOLTS = (frozenset(_TABLE["units"][kind]) for kind in ("none", "time", "volts"))
SUMMARY_WORDS = tuple(_TABLE["lines"]["summary"].split())


@lru_cache(maxsize=65536)
def fold(header: str) -> str:
    """Fold a header to lower-case letters and digits; where it is no point, to the word that says so.

    Examples
    --------
    >>> fold("Logged Value"), fold("VAV-101 ZN-T")
    ('value', 'vav101znt')
    """
    folded = _BETWEEN_WORDS.sub("", header.lower())
    if folded in HEADER_WORDS:
        return folded
    words = _BETWEEN_WORDS.split(header.lower())
    plain = "".join(word for word in words if word not in BESIDE_WORDS)
    return plain if plain in HEADER_WORDS else folded
