"""What a point name says it measures."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from analyzer.intake.words.letters import plain
from analyzer.intake.words.vocabulary import (
    AIR_HANDLER_MEANINGS,
    BY_WORD,
    IDLE,
    PARTS,
    PHRASES,
    PLACES,
    TERMINAL_MEANINGS,
)
from analyzer.quantities import AIR_HANDLER, TERMINAL

# Words, numbers, and the humps of camel case; accents may stand behind their letters.
_LARGE, _SMALL = "A-ZÀ-ÖØ-Þ", "a-zß-öø-ž\u0300-\u036f\ufffd"
_TOKEN = re.compile(rf"[Cc][Oo]2(?!\d)|[{_LARGE}\u0300-\u036f]+(?![{_SMALL}])|[{_LARGE}]?[{_SMALL}]+|\d+|%")

# A letter that a wrong encoding lost, and those that it may have been.
_LOST = re.compile(r"(?<=[^\W\d_])\?(?=[^\W\d_])")
_ACCENTED = "eaoui"
_LOWERED = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")

_HANDLER, _BUILDING = frozenset({"HANDLER"}), frozenset({"BUILDING"})
# What a temperature is of, where a "t" stands before its word.
_OF_A_TEMPERATURE = frozenset(
    {"ZONE", "SETPOINT", "SUPPLY", "DISCHARGE", "RETURN", "MIXED", "PLENUM", "PRIMARY", "OUTDOOR", "INLET"}
)
_LONGEST_NO_PLURAL = 3  # letters: "gas" is one. Judgement
_IN_PHRASES = frozenset(word for phrase in PHRASES for word in phrase)
_T_AND_WORD = 3  # letters of which such a word has more: "tsa" is none. Judgement
# Words behind that of an air handler that make the point the air handler's own.
_AIR_OF_HANDLER = frozenset({"SUPPLY", "DISCHARGE", "RETURN", "MIXED", "OUTDOOR", "FAN", "STATIC"})


class Token(NamedTuple):
    """A word or a number of a name, and where it stands."""

    text: str
    begin: int
    end: int
    low: str
    is_number: bool


@dataclass(frozen=True)
class Reading:
    """What a name was read as: the quantity, and how sure that is: 'sure', 'likely' or 'guess'.

    ``stages`` says that the name counts stages; ``measured`` that the point is measured, or in force.
    """

    quantity: str
    certainty: str
    strength: int
    stages: bool = False
    measured: bool = False


@lru_cache(maxsize=65536)
def tokens_of(name: str) -> tuple[Token, ...]:
    """Cut a name into words and numbers, whatever separates them."""
    return tuple(
        Token(text := match[0], *match.span(), plain(text), text.isdigit())
        for match in _TOKEN.finditer(_LOST.sub("\ufffd", name.translate(_LOWERED)))
    )


@lru_cache(maxsize=65536)
def read_quantity(words: tuple[str, ...], *, air_handler: bool) -> Reading | None:
    """Read the words of a name, without its tag, as a quantity.

    Parameters
    ----------
    words : tuple of str
        Lower-case words in their order.
    air_handler : bool
        Whether the point belongs to an air handler.

    Returns
    -------
    Reading or None
        None where the words name none of the quantities, or say that it is another thing (a minimum, an alarm limit).

    Examples
    --------
    >>> read_quantity(("zn", "t"), air_handler=False).quantity
    'zone_temp'
    """
    glossary = AIR_HANDLER if air_handler else TERMINAL
    exact = "_".join(words)
    for quantity in glossary:
        if exact == quantity or exact.replace("_", "") == quantity.replace("_", ""):
            return Reading(quantity, "sure", len(words))
    concepts, unknown = _concepts(words)
    best = None
    # A word that the vocabulary does not know may turn the meaning of a short name: such names need all words known.
    for meaning in AIR_HANDLER_MEANINGS if air_handler else TERMINAL_MEANINGS:
        if meaning.needs <= concepts <= meaning.needs | meaning.may and (meaning.sure or not unknown):
            certainty = "likely" if unknown else "sure" if meaning.sure else "guess"
            stages = meaning.stages or "STAGE" in concepts
            reading = Reading(meaning.quantity, certainty, meaning.strength, stages, _measured(concepts))
            if best is None or reading.strength > best.strength:
                best = reading
    return best


def _measured(concepts: frozenset[str]) -> bool:
    """Tell what is measured or in force from what is commanded, or does not say."""
    return not concepts.isdisjoint({"MEASURED", "ACTIVE"}) and concepts.isdisjoint({"COMMAND", "OUTPUT"})


def names_air(tokens: Sequence[Token]) -> bool:
    """Tell whether words begin with one of an air handler's own air or fan."""
    return bool(tokens) and not _of_word(tokens[0].low).isdisjoint(_AIR_OF_HANDLER)


def is_plain_word(word: str) -> bool:
    """Tell whether a word is one of the vocabulary's as it is, and no chain of them: ``sf``, but not ``sft``."""
    return plain(word) in BY_WORD


def is_quantity_word(word: str) -> bool:
    """Tell whether a word is one of the vocabulary's, or a chain of them."""
    return bool(_of_word(word))


@lru_cache(maxsize=65536)
def unknown_among(words: tuple[str, ...]) -> tuple[str, ...]:
    """Return the words of a name that the vocabulary does not know; numbers and single letters are none."""
    return tuple(word for word, concepts in _of_words(words) if not concepts and not word.isdigit() and len(word) > 1)


def phrased(words: Sequence[str]) -> set[int]:
    """Return the places of words that mean something together, though each by itself may not: ``hot water``."""
    found: set[int] = set()
    for size in (3, 2):
        for at in range(len(words) - size + 1):
            if tuple(words[at : at + size]) in PHRASES:
                found.update(range(at, at + size))
    return found


def concepts_of(name: str) -> frozenset[str]:
    """Return every concept that the words of a name stand for."""
    return _concepts(tuple(token.low for token in tokens_of(name)))[0]


@lru_cache(maxsize=65536)
def _concepts(words: tuple[str, ...]) -> tuple[frozenset[str], int]:
    """Return the concepts of the words, and how many words say nothing."""
    read = _of_words(words)
    found: set[str] = set()
    unknown = 0
    for (word, concepts), (after, next_concepts) in zip(read, [*read[1:], ("", frozenset())], strict=False):
        if concepts == _HANDLER and not next_concepts & _AIR_OF_HANDLER:
            concepts = frozenset()  # it says where the terminal is
        elif concepts == _BUILDING and after.isdigit():
            continue  # the number of a building: a place, too
        found |= concepts
        unknown += not concepts and not word.isdigit() and len(word) > 1
    return frozenset(found), unknown


def _of_words(words: tuple[str, ...]) -> list[tuple[str, frozenset[str]]]:
    """Return each word of a name, or a phrase of two or three, with its concepts."""
    read, at = [], 0
    words = tuple(word for word in words if word not in IDLE) if not IDLE.isdisjoint(words) else words
    words = tuple(map(_singular, words))
    while at < len(words):
        if words[at : at + 2] in PLACES:
            at += 2
            continue
        size = next((n for n in (3, 2) if words[at : at + n] in PHRASES), 1)
        word = PHRASES.get(words[at : at + size], words[at])
        read.append((word, _of_word(word)))
        at += size
    return read


@lru_cache(maxsize=65536)
def _singular(word: str) -> str:
    """Return one of what a word names several of: files and columns of many terminals' points are headed so."""
    if not word.endswith("s") or len(word) <= _LONGEST_NO_PLURAL or word in BY_WORD or _read_word(word):
        return word
    one = word[:-1]
    return one if one in BY_WORD or one in _IN_PHRASES or _read_word(one) else word


@lru_cache(maxsize=65536)
def _of_word(word: str) -> frozenset[str]:
    """Return the concepts of a word, or of one of those that it names several of: ``temps``."""
    return _read_word(_singular(word))


def _read_word(word: str) -> frozenset[str]:
    """Return the concepts of a word, taking apart words that are written together (``clgsp``, ``zonetemp``)."""
    if word in BY_WORD:
        return BY_WORD[word]
    if "\ufffd" in word:
        return next(filter(None, (_read_word(word.replace("\ufffd", letter)) for letter in _ACCENTED)), frozenset())
    pieces = _pieces(word)
    if pieces is None and word.startswith("t") and len(word) > _T_AND_WORD:
        of = _pieces(word[1:]) or []  # as formulas write it: T_zone, Tset
        pieces = [*of, "t"] if any(BY_WORD[piece] & _OF_A_TEMPERATURE for piece in of) else None
    return frozenset().union(*(BY_WORD[piece] for piece in pieces)) if pieces else frozenset()


def _pieces(word: str) -> list[str] | None:
    """Cut a word into the fewest known words of two letters or more; a single ``t`` may end it."""
    if len(word) > 40:
        return None
    best: list[list[str] | None] = [[]] + [None] * len(word)
    for end in range(2, len(word) + 1):
        for begin in range(max(0, end - 16), end - 1):
            before, shortest = best[begin], best[end]
            if before is None or word[begin:end] not in PARTS:
                continue
            if shortest is None or len(before) + 1 < len(shortest):
                best[end] = [*before, word[begin:end]]
    if best[-1] is None and word.endswith("t") and best[-2]:
        return [*best[-2], "t"]
    return best[-1]
