"""The trade's words in point names and headers, read from ``vocabulary.toml`` and ``languages.toml``."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from analyzer.intake.words.letters import plain, spellings

_TABLE, _OTHERS = (
    tomllib.loads(Path(__file__).with_name(name).read_text(encoding="utf-8"))
    for name in ("vocabulary.toml", "languages.toml")
)
_SHORTEST_PART = 4  # letters of a word of another language that may be part of a longer one
_BETWEEN_WORDS = re.compile(r"[\W_]+")
_HUMP = re.compile(r"(?<=[a-z])(?=[A-Z])")  # "unitId"
# Concepts that say nothing against any quantity, but for those that name them among what they are without.
_ALWAYS = frozenset({"ACTUAL", "ACTIVE", "AIR", "BUILDING", "ENABLE", "FEEDBACK", "MEASURED", "OUTPUT", "SP"})


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


def _spelled(words: str) -> set[str]:
    return {spelling for word in words.split() for spelling in spellings(word)}


def _both(table: str, kind: str) -> frozenset[str]:
    """Return the words of a list in every language."""
    return frozenset(_TABLE[table][kind].split()) | _spelled(_OTHERS[table].get(kind, ""))


def _cells(kind: str) -> frozenset[str]:
    """Return the whole cells of a list in every language."""
    return frozenset(_TABLE["cells"][kind]) | {
        spelling for cell in _OTHERS["cells"].get(kind, ()) for spelling in spellings(cell)
    }


def _by_word(table: dict[str, Any]) -> dict[str, frozenset[str]]:
    known: dict[str, set[str]] = {}
    for concept, words in table["words"].items():
        for word in _spelled(words):
            known.setdefault(word, set()).add(concept)
    for word, concepts in table["compounds"].items():
        known.setdefault(word, set()).update(concepts.split())
    return {word: frozenset(concepts) for word, concepts in known.items()}


def _together(first: dict[str, frozenset[str]], second: dict[str, frozenset[str]]) -> dict[str, frozenset[str]]:
    """Put the languages together; a word that English has means what it means there."""
    return second | first


BY_WORD = _together(_by_word(_TABLE), _by_word(_OTHERS))
# Words that may be parts of longer ones.
PARTS = frozenset(_by_word(_TABLE)) | {word for word in _by_word(_OTHERS) if len(word) >= _SHORTEST_PART}
IDLE = frozenset(_OTHERS["idle"].split())
PHRASES = {tuple(words.split()): word for words, word in (_OTHERS["phrases"] | _TABLE["phrases"]).items()}
PLACES = frozenset(tuple(name.split()) for name in _TABLE["places"]["names"].split(","))
TERMINAL_MEANINGS = _meanings("terminal")
AIR_HANDLER_MEANINGS = _meanings("air_handler")
TERMINAL_EQUIPMENT, AIR_HANDLER_EQUIPMENT, WEAK_EQUIPMENT, ROOM_WORDS, WITH_FAN, FAN_POWERED = (
    _both("equipment", kind) for kind in ("terminal", "air_handler", "weak", "room", "with_fan", "fan_powered")
)
TERMINAL_NOUNS = _both("equipment", "noun")
EQUIPMENT = TERMINAL_EQUIPMENT | AIR_HANDLER_EQUIPMENT
TIME_WORDS, NAME_WORDS, TAG_WORDS, VALUE_WORDS, UNIT_WORDS, FLAG_WORDS, ROW_WORDS, PLACE_WORDS, BESIDE_WORDS = (
    _both("headers", kind) for kind in ("time", "name", "tag", "value", "unit", "flag", "row", "place", "beside")
)
DAY_WORDS = _both("headers", "day")  # of columns of days, where the cells say so
START_WORDS, END_WORDS = (_both("headers", kind) for kind in ("start", "end"))
HEADER_WORDS = TIME_WORDS | NAME_WORDS | TAG_WORDS | VALUE_WORDS | UNIT_WORDS | FLAG_WORDS | ROW_WORDS | PLACE_WORDS
# Headers of columns that hold a part of a stamp each: the part by its word.
STAMP_PARTS = {
    word: part for part in _TABLE["stamp_parts"] if part != "year_and_ordinal" for word in _both("stamp_parts", part)
}
YEAR_AND_DAY_WORDS = _both("stamp_parts", "year_and_ordinal")  # of a column of 2026-056
# Headers of columns that say which instrument a reading is of.
KEY_WORDS = _both("headers", "key")
# Words of names of files that say nothing of what is in them; those that number the parts of one.
FILE_WORDS, PART_WORDS = (_both("files", kind) for kind in ("plain", "parts"))
LEGEND_WORDS = _both("files", "legend")  # of a file that lists names
# Those headers of flags that name nothing else.
QUALITY_WORDS = tuple(_both("headers", "quality"))
# Cells that are no numbers.
NO_VALUE, FLAGGED, GOOD, GOOD_FIRST, YES, NO = (
    _cells(kind) for kind in ("nothing", "flagged", "good", "good_first", "yes", "no")
)
NO_NUMBER = frozenset(_TABLE["cells"]["nothing"])  # those that are looked for in columns of numbers
NO_UNIT, OVER_STAMPS, VOLTS, OTHER_UNITS = (
    frozenset(_TABLE["units"][kind]) for kind in ("none", "time", "volts", "other")
)
MOMENT_WORDS = _both("lines", "moment")
SUMMARY_WORDS = tuple(sorted(_both("lines", "summary")))


@lru_cache(maxsize=65536)
def fold(header: str) -> str:
    """Fold a header to lower-case letters and digits; where it is no point, to the word that says so.

    Examples
    --------
    >>> fold("Logged Value"), fold("unitId"), fold("VAV-101 ZN-T")
    ('value', 'unit', 'vav101znt')
    """
    folded = _BETWEEN_WORDS.sub("", plain(header))
    if folded in HEADER_WORDS:
        return folded
    words = _BETWEEN_WORDS.split(plain(_HUMP.sub(" ", header)))
    left = "".join(word for word in words if word not in BESIDE_WORDS)
    return left if left in HEADER_WORDS else folded
