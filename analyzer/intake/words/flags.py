"""Quality columns: which of their words and codes say that the value beside them is not to be trusted."""

from __future__ import annotations

import re

from analyzer.intake.words.letters import plain
from analyzer.intake.words.vocabulary import FLAGGED, GOOD, GOOD_FIRST, NO, YES

# Quality codes of the usual data-access interface: from 192 on a value is good, below it is uncertain or bad. From
# memory; a column in which no code of that size stands uses other codes.
_GOOD_CODES = range(192, 256)
_CODE = re.compile(r"\d{1,3}(?:\.0+)?$")
_BAD_LETTERS = ("B", "U", "F", "X")  # bad, uncertain, fault, and crossed out; common practice, no source
_BETWEEN = re.compile(r"[,;|/:]|\s[-\u2013]\s")
_BAD_FIRST = {word for word in FLAGGED if word.isalpha()}


def read_flags(texts: list[str]) -> tuple[list[bool], list[str]]:
    """Read the distinct flags of a column.

    Returns
    -------
    list of bool, list of str
        Of each flag whether it is bad, and those that say neither good nor bad.
    """
    letters = _letters(texts)
    if letters is not None:
        return letters
    codes = {text: int(float(text)) for text in texts if _CODE.match(text.strip())}
    coded = any(code in _GOOD_CODES for code in codes.values())
    bad, neither = [], []
    for text in texts:
        if text in codes:
            bad.append(coded and codes[text] < _GOOD_CODES.start)
            open_to_doubt = not coded and len(codes) > 1
        else:
            said = _of_words(text)
            bad.append(said is True)
            open_to_doubt = said is None
        if open_to_doubt:
            neither.append(text)
    return bad, neither


def _letters(texts: list[str]) -> tuple[list[bool], list[str]] | None:
    """Read flags that are single letters, of which one is the G of good; None for any other flags."""
    signs = [text.strip().upper() for text in texts]
    if "G" not in signs or any(len(sign) > 1 or (sign and not sign.isalpha()) for sign in signs):
        return None
    bad = [sign in _BAD_LETTERS for sign in signs]
    return bad, [
        text for text, sign in zip(texts, signs, strict=True) if sign not in ("G", "") and sign not in _BAD_LETTERS
    ]


def says_quality(texts: list[str], *, whole: bool = True) -> bool:
    """Tell whether all texts of a column are words for good or bad.

    Parameters
    ----------
    whole : bool
        Or, where this is False, whether some are and the others are no states: notes of whatever kind.
    """
    said = [text for text in texts if _of_words(text) is not None]
    if whole:
        return bool(texts) and (len(said) == len(texts) or _letters(texts) is not None)
    others = {" ".join(plain(text).split()) for text in texts} - {" ".join(plain(text).split()) for text in said}
    return any(text.strip() for text in said) and others.isdisjoint(YES | NO)


def _of_words(text: str) -> bool | None:
    """Tell whether a flag's words say bad (True) or good (False); None where they say neither."""
    parts = [" ".join(part.replace("-", " ").split()).strip(" {}()[]") for part in _BETWEEN.split(plain(text))]
    whole = " ".join(plain(text).split()).strip(" {}()[]")
    if whole in GOOD or parts[0].startswith("no fault"):
        return False
    words = [part.split(" ")[0] for part in parts]
    if whole in FLAGGED or any(part in FLAGGED or word in _BAD_FIRST for part, word in zip(parts, words, strict=True)):
        return True
    return False if words[0] in GOOD_FIRST else None
