"""Dates with the names of months in any language, and other ways of words in dates, brought to plain English ones."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

ENGLISH = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_TABLE = Path(__file__).with_name("months.tsv")
_LETTERS = re.compile(r"[^\W\d_]+")
_LONGEST = 80  # letters of a date
# What stands between the parts of a date in some languages and says nothing; from memory.
_IDLE = frozenset(
    {"de", "del", "di", "da", "do", "d", "of", "the", "den", "der", "af", "i", "el", "m", "g", "gada", "mes",
     "klo", "kl", "uhr", "um", "kell", "ora", "ore", "om", "à", "às", "alle", "at", "a", "las", "los", "le",
     "la", "года", "г", "р"}
)  # fmt: skip
_EAST_ASIAN = re.compile(r"(\d{4})\s*[年년]\s*(\d{1,2})\s*[月월]\s*(\d{1,2})\s*[日일]?")
_VIETNAMESE = re.compile(r"(\d{1,2})\s*(?:tháng|thg)\s*(\d{1,2})(?:,|\s*năm)?\s*(\d{4})", re.IGNORECASE)
_CLOCK_OF_MARKS = re.compile(
    r"(\d{1,2})\s*(?:h|[時时시])\s*(\d{2})(?:\s*(?:m|min|[分분])\s*(?:(\d{2})\s*(?:s|[秒초]))?)?(?!\d)"
)
_HALF_BEFORE = re.compile(r"(?P<am>上午|午前|오전)|(?P<pm>下午|午後|오후)")
_HALF_AFTER = re.compile(
    r"(?<=[\d\s])(?:(?P<am>a\.?\s?m\.?|π\.?\s?μ\.?)|(?P<pm>p\.?\s?m\.?|μ\.?\s?μ\.?))(?=\s|$)", re.IGNORECASE
)
_POINTED_CLOCK = re.compile(r"(?<=\d{4})(,?\s+)(\d{1,2})\.(\d{2})(?:\.(\d{2}))?(?=\s*(?:[AP]M)?\s*$)")

_YEAR_THEN_DAY = re.compile(rf"^(\d{{4}}) (\d{{1,2}}) ({'|'.join(ENGLISH)})")


class UnclearMonth(Exception):
    """A name is of one month in one language and of another in the next, and nothing tells which is meant."""


@lru_cache(maxsize=1)
def _languages() -> dict[str, dict[str, int]]:
    """Return the months of each language by their names; a star stands at those that are not to be guessed between."""
    found: dict[str, dict[str, int]] = {}
    for line in _TABLE.read_text(encoding="utf-8").splitlines():
        language, *months = line.split("\t")
        if not language.startswith("#"):
            found[language] = {name: number for number, names in enumerate(months, 1) for name in names.split("|")}
    return found


@lru_cache(maxsize=1)
def _first_words() -> frozenset[str]:
    return frozenset(_LETTERS.findall(name)[0] for names in _languages().values() for name in names if name)


@lru_cache(maxsize=65536)
def month_of(word: str) -> int | None:
    """Return the month that a word names in some language; None where it names none."""
    folded = _folded(word).strip(".")
    return next((months[folded] for months in _languages().values() if folded in months), None)


@lru_cache(maxsize=65536)
def is_known_month(word: str) -> bool:
    """Tell a word that names a month in a language whose names are widely used: "lab" is one in Teso alone."""
    folded = _folded(word).strip(".")
    return any(folded in months for language, months in _languages().items() if language.endswith("*"))


def in_english(texts: Iterable[str]) -> list[str]:
    """Bring dates to plain ones: months in English, the marks of other scripts and what says nothing left out.

    Parameters
    ----------
    texts : iterable of str
        Of one column, whose language is one: two of its months are told apart by the others.

    Raises
    ------
    UnclearMonth
        A name is of several months, and the column's other names do not tell.

    Examples
    --------
    >>> in_english(["26. tammikuuta 2026 klo 7.05", "2026年1月26日 下午 3:05"])
    ['26 Jan 2026 7:05', '2026-1-26 3:05 PM']
    """
    texts = list(texts)
    folded = [_folded(text[:_LONGEST]) for text in texts]
    words = {word for text in folded for word in _LETTERS.findall(text)}
    months = _months_among(frozenset(words & _first_words()), frozenset(re.sub(r"\d+", "0", text) for text in folded))
    names = sorted((name for name in months), key=len, reverse=True)
    find = re.compile(rf"(?<![^\W\d_])(?:{'|'.join(map(re.escape, names))})(?![^\W\d_])\.?") if names else None
    return [_plain(text, find, months) for text in folded]


def may_name_month(text: str) -> bool:
    """Tell a text that may be a date with a name of a month, or with marks of another script."""
    if len(text) > _LONGEST or not any(letter.isdigit() for letter in text):
        return False
    words = set(_LETTERS.findall(_folded(text)))
    return bool(words & _first_words()) or not words.isdisjoint({"thg", "tháng", "年", "년"}) or "年" in text


def _folded(text: str) -> str:
    text = unicodedata.normalize("NFKC", text) if not text.isascii() else text
    if not text.isascii():
        text = "".join(str(unicodedata.digit(letter, letter)) for letter in text).replace("\u2019", "'")
    return text.casefold()


@lru_cache(maxsize=4096)
def _months_among(words: frozenset[str], texts: frozenset[str]) -> dict[str, int]:
    """Return the month of each name in a column: by the language that has most of its words.

    Parameters
    ----------
    texts : frozenset of str
        The column's texts, their digits made alike: so they are few.
    """
    if not words:
        return {}
    whole = "\n".join(texts)
    found = {}
    for language, months in _languages().items():
        held = {name: number for name, number in months.items() if name in whole and _stands_in(name, whole)}
        if held:
            found[language] = held
    most = max(map(len, found.values()), default=0)
    best = {language: held for language, held in found.items() if len(held) == most}
    known = {language: held for language, held in best.items() if language.endswith("*")} or best
    told: dict[str, int] = {}
    for held in known.values():
        for name, number in held.items():
            if told.setdefault(name, number) != number:
                raise UnclearMonth(name)
    return told


@lru_cache(maxsize=4096)
def _boundaries(name: str) -> re.Pattern[str]:
    return re.compile(rf"(?<![^\W\d_]){re.escape(name)}(?![^\W\d_])")


def _stands_in(name: str, text: str) -> bool:
    return bool(_boundaries(name).search(text))


def _plain(text: str, find: re.Pattern[str] | None, months: dict[str, int]) -> str:
    text = _EAST_ASIAN.sub(r"\1-\2-\3 ", text)
    text = _VIETNAMESE.sub(r"\3-\2-\1", text)
    half = _HALF_BEFORE.search(text) or _HALF_AFTER.search(text)
    text = _HALF_AFTER.sub(" ", _HALF_BEFORE.sub(" ", text))
    text = _with_month(text, find, months)
    text = _CLOCK_OF_MARKS.sub(lambda m: ":".join(filter(None, m.groups())), text)
    text = _LETTERS.sub(_kept, text)
    text = re.sub(r"(?<=\d)\.(?=\s|$)|'(?=\s)|(?<=\s)[.,']+(?=\s)|^[\s.,']+", "", text)
    text = _POINTED_CLOCK.sub(lambda m: f" {':'.join(filter(None, m.groups()[1:]))}", text)
    text = _YEAR_THEN_DAY.sub(r"\1 \3 \2", " ".join(text.split()))
    return f"{text} {'AM' if half['am'] else 'PM'}" if half else text


def _with_month(text: str, find: re.Pattern[str] | None, months: dict[str, int]) -> str:
    """Put the month into English; before it a day of the week may be spelled as another (``mar. 27 janv.``)."""
    found = list(find.finditer(text)) if find else []
    if not found:
        return text
    month = found[-1]
    before = text[: month.start()]
    if len(found) > 1:
        before = text[: found[0].start()] + text[found[0].end() : month.start()]
    glued = " " if before[-1:].isdigit() else ""
    after = text[month.end() :]
    return f"{before}{glued}{ENGLISH[months[month[0].rstrip('.')] - 1]}{' ' if after[:1].isdigit() else ''}{after}"


def _kept(word: re.Match[str]) -> str:
    """Leave out a word that says nothing: one that joins, or a day of the week before the date."""
    if word[0] in ENGLISH:
        return word[0]
    before = word.string[: word.start()]
    leads = not any(sign.isdigit() for sign in before) and not any(name in before for name in ENGLISH)
    return "" if leads or word[0] in _IDLE else word[0].upper()
