"""Values as exports spell them: what means missing, what means on and off, and numbers with something around them."""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.intake.limits import LONGEST_NAME
from analyzer.intake.words.letters import plain
from analyzer.intake.words.vocabulary import FLAGGED, GOOD, NO, NO_NUMBER, NO_VALUE, YES

MISSING = sorted(
    {form for word in NO_NUMBER for form in (word, word.upper(), word.capitalize(), word.title())}
    | {"NaN", "N/a", "No data"}
)


def is_missing(text: str) -> bool:
    """Tell whether a cell of a column of numbers says that there is no value."""
    return text.strip().lower() in NO_NUMBER


# Kinds of cells; those up to WORD hold a value.
NUMBER, WORD, NOTHING, UNREADABLE, FLAG = 0, 1, 2, 3, 4
_FEW = 8  # distinct spellings
# What stands between the thousands beside comma and point: spaces, broken or not, and apostrophes.
BETWEEN_GROUPS = "'\u2019 \u00a0\u2009\u202f"
_PLAIN = r"^\s*[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?\s*$"
_DRESSED = re.compile(
    rf"^\s*(?P<number>[-+\u2212]?(?:\d[\d.,{BETWEEN_GROUPS}]*|[.,]\d+)(?:[eE][-+]?\d+)?)\s*"
    r"""(?P<rest>[^\W\d_].*?|[%°º"(\[{].*?)?\s*$"""
)


# A status word with its code: "1 On", "0 (Off)", "Off (0)", "On (2)"; and one with a note: "On {ok}".
_CODED = re.compile(
    r"(?P<code>\d{1,3})[ :=-]*\(?(?P<word>[a-z][a-z ]+)\)?|(?P<first>[a-z][a-z ]+?) ?[(\[{](?P<after>\d{1,3})[)\]}]"
)
_NOTED = re.compile(r"(?P<word>[a-z][a-z ]*?) ?[({\[] ?(?P<note>[a-z ]*?) ?[)}\]]")

_MAY_BE_STATE = re.compile(r"[a-z]|\d{1,3}[ :=(-]*[a-z]").match


def read_values(texts: pa.Array, decimal: str) -> ValueTexts:
    """Read the distinct spellings of a column; a building's many statuses share a handful of words."""
    if len(texts) > _FEW:
        return ValueTexts(texts, decimal)
    return _read_few(tuple(texts.to_pylist()), decimal)


@lru_cache(maxsize=1024)
def _read_few(texts: tuple[str, ...], decimal: str) -> ValueTexts:
    return ValueTexts(pa.array(texts, pa.string()), decimal)


class ValueTexts:
    """Distinct spellings of a value column, read.

    Attributes
    ----------
    number : ndarray of float
        The number; 1 or 0 for a status word; NaN otherwise.
    kind : ndarray of int8
        ``NUMBER``, ``WORD``, ``NOTHING``, ``UNREADABLE`` or ``FLAG``.
    text : list of str
        The spellings.
    unit : dict
        Unit in the cell by place, where one stood there.
    """

    def __init__(self, texts: pa.Array, decimal: str):
        self.text = texts
        self.kind = np.full(len(texts), UNREADABLE, np.int8)
        self.number = np.full(len(texts), np.nan)
        self.unit: dict[int, str] = {}
        left = self._plain(texts) if decimal == "." else np.arange(len(texts))
        others = texts.take(pa.array(left)).to_pylist()
        multi = _is_multi_state(others)
        for at, text in zip(left.tolist(), others, strict=True):
            self._one(at, text, decimal, multi)
        odd = np.isinf(self.number)
        self.number[odd], self.kind[odd] = np.nan, UNREADABLE

    def _plain(self, texts: pa.Array) -> np.ndarray:
        """Read bare numbers in one go; return the places of everything else."""
        bare = pc.fill_null(pc.match_substring_regex(texts, _PLAIN), False)
        numbers = pc.if_else(bare, pc.utf8_trim_whitespace(texts), None).cast(pa.float64())
        good = bare.to_numpy(zero_copy_only=False)
        self.number[good] = numbers.to_numpy(zero_copy_only=False)[good]
        self.kind[good] = NUMBER
        return np.flatnonzero(~good)

    def _one(self, at: int, text: str | None, decimal: str, multi: bool) -> None:
        if text and len(text) > LONGEST_NAME:
            return
        word = _folded(text or "")
        if word in NO_VALUE:
            self.kind[at] = NOTHING
        elif word.strip("{}()[] ") in FLAGGED:
            self.kind[at] = FLAG
        elif not _MAY_BE_STATE(word):
            self._dressed(at, text or "", decimal)
        elif (state := _state(word, multi)) is not None:
            self.kind[at], self.number[at] = WORD, state
        elif (
            (noted := _NOTED.fullmatch(word)) and _state(noted["word"], multi) is not None and noted["note"] in FLAGGED
        ):
            self.kind[at] = FLAG
        elif not _contradicts_itself(word):
            self._dressed(at, text or "", decimal)

    def _dressed(self, at: int, text: str, decimal: str) -> None:
        match = _DRESSED.match(text)
        if match is None or (number := plain_number(match["number"], decimal)) is None:
            return
        self.number[at], self.kind[at] = number, NUMBER
        rest = (match["rest"] or "").strip()
        if rest:
            self._after_number(at, rest)

    def _after_number(self, at: int, rest: str) -> None:
        """Read what follows a number in its cell: a unit, a flag, or a note that spoils it."""
        note = re.search(r"[({\[]\s*(.*?)\s*[)}\]]\s*$", rest)
        if note and note[1].lower() in FLAGGED or rest.lower() in FLAGGED:
            self.kind[at] = FLAG
        elif note and note[1].lower() in GOOD and note.start() == 0:
            return
        else:
            self.unit[at] = rest.strip("()[] ")


def _is_multi_state(texts: list[str | None]) -> bool:
    """Tell spellings whose codes are numbers of states, which begin where they like: ``Off (1)`` beside ``On (2)``."""
    coded = filter(None, (_CODED.fullmatch(_folded(text)) for text in texts if text and len(text) <= LONGEST_NAME))
    return any(int(each["code"] or each["after"]) > 1 and _word_of(each) in YES | NO for each in coded)


def _folded(text: str) -> str:
    return " ".join(plain(text).split())


def _word_of(coded: re.Match[str]) -> str:
    return (coded["word"] or coded["first"]).strip()


def _state(word: str, multi: bool) -> float | None:
    """Read a status word, with its code or a good note beside it; None where it is none, or its code says another.

    Parameters
    ----------
    multi : bool
        Codes are numbers of states, and say nothing themselves.
    """
    if word in YES or word in NO:
        return float(word in YES)
    coded, noted = _CODED.fullmatch(word), _NOTED.fullmatch(word)
    if coded:
        state = _state(_word_of(coded), multi)
        return state if multi or state == float(coded["code"] or coded["after"]) else None
    return _state(noted["word"], multi) if noted and noted["note"] in GOOD else None


def _contradicts_itself(word: str) -> bool:
    """Tell a status word beside the code of the other state: ``1 Off``."""
    coded = _CODED.fullmatch(word)
    return coded is not None and _state(_word_of(coded), True) is not None


def plain_number(text: str, decimal: str) -> float | None:
    """Read a number with thousands separators; None where its signs do not fit.

    Examples
    --------
    >>> plain_number("1,234.5", ".")
    1234.5
    >>> plain_number("1.234,5", ",")
    1234.5
    """
    text = text.strip().replace("\u2212", "-")
    for sign in BETWEEN_GROUPS:
        text = text.replace(sign, "")
    grouping = "." if decimal == "," else ","
    if grouping in text:
        whole, mark, rest = text.partition(decimal)
        groups = whole.lstrip("+-").split(grouping)
        if grouping in rest or not 1 <= len(groups[0]) <= 3 or any(len(group) != 3 for group in groups[1:]):
            return None
        if groups[0] == "0":
            return None  # nought thousand is not how anybody writes 0,125
        text = whole.replace(grouping, "") + mark + rest
    try:
        return float(text.replace(decimal, "."))
    except ValueError:
        return None
