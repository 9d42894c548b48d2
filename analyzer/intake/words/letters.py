"""Letters without what languages put on them, so that a word is one however it is spelled."""

from __future__ import annotations

import unicodedata

_WHOLE = str.maketrans({"ß": "ss", "œ": "oe", "æ": "ae", "ø": "o"})
_TWO = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})


def plain(text: str) -> str:
    """Return a text in lower case, its letters without accents.

    Examples
    --------
    >>> plain("Débit"), plain("Rückmeldung")
    ('debit', 'ruckmeldung')
    """
    text = text.lower()
    if text.isascii():
        return text
    parts = unicodedata.normalize("NFKD", text.translate(_WHOLE))
    return "".join(letter for letter in parts if not unicodedata.combining(letter))


def spellings(word: str) -> set[str]:
    """Return how a word of the vocabulary may be spelled without accents: German has two ways.

    Examples
    --------
    >>> sorted(spellings("kühl"))
    ['kuehl', 'kuhl']
    """
    return {plain(word), plain(word.lower().translate(_TWO))}
