"""The words of headings: a text as concepts and units, by the vocabulary beside this file."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

_SIGNS = {
    "°": " DEG ", "º": " DEG ", "℃": " DEG C ", "℉": " DEG F ", "Ø": " DIA ", "⌀": " DIA ", "∅": " DIA ", "²": "2",
    "³": "3", "″": '"', "“": '"', "”": '"', "’": "'", "‘": "'", "Δ": " DELTA ", "∆": " DELTA ", "–": "-", "—": "-",
    "−": "-", "÷": "/", "№": "NO", "\u00a0": " ", "√": "SQRT",
}  # fmt: skip
_INITIALS = re.compile(r"(?<![A-Z])(?:[A-Z]\.){2,}(?:[A-Z](?![A-Z]))?")
# Under which condition the figures hold: "MBH @ 55°F EAT", "GPM AT 20 °F ΔT".
_CONDITION = re.compile(r"(?<=\S)\s*(?:@|\bAT\b)\s*\d[^()\[\]\n]*", re.IGNORECASE)
_NOTED = re.compile(r"[(\[]\s*(?:SEE\s+)?(?:KEYED\s+|KEY\s+)?NOTES?\s*\d[\d,&\s-]*[)\]]", re.IGNORECASE)
_LONGEST_PHRASE = 6


@dataclass(frozen=True)
class Heading:
    """What a heading's words say.

    Attributes
    ----------
    concepts : tuple of str
        In their order.
    units : tuple of str
        As trendwright spells them, in their order.
    unknown : tuple of str
        Words that the vocabulary does not have.
    """

    concepts: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def only_units(self) -> bool:
        """Whether it is a unit and nothing else."""
        return bool(self.units) and not self.concepts and not self.unknown


def fold(text: str) -> str:
    """Fold a heading: capitals, abbreviations without points, slashes as words of their own."""
    lines = [line.strip() for line in text.split("\n") if line.strip()]
    if len(lines) > 2 and all(len(line) == 1 for line in lines):
        text = "".join(lines)  # a word written downwards
    text = re.sub(r"(?<=[A-Za-z])-\s*\n\s*(?=[a-z])", "", text)
    for sign, plain in _SIGNS.items():
        text = text.replace(sign, plain)
    text = text.upper().replace("Ø", " DIA ")
    text = _INITIALS.sub(lambda match: match[0].replace(".", ""), text)
    text = re.sub(r'"', " IN ", text)
    text = re.sub(r"[(\[]\s*W\s*[)\]]|^\s*W\s*$", " WATT ", text)
    text = re.sub(r"\bIN\.?\s*W\.?\s*([CG])\b\.?", r"IN W\1", text)
    text = text.replace("%", " % ").replace("#", " # ").replace("/", " / ")
    text = re.sub(r"[^A-Z0-9%#/&Δ]+", " ", text)
    return " ".join(text.split())


@cache
def _phrases() -> dict[tuple[str, ...], tuple[str, str]]:
    told = tomllib.loads((Path(__file__).with_name("vocabulary.toml")).read_text(encoding="utf-8"))
    found: dict[tuple[str, ...], tuple[str, str]] = {}
    for word in told["filler"]["words"]:
        found[tuple(word.split())] = ("filler", word)
    for concept, phrases in told["concepts"].items():
        for phrase in phrases:
            found[tuple(phrase.split())] = ("concept", concept)
    for unit, phrases in told["units"].items():
        for phrase in phrases:
            found[tuple(phrase.split())] = ("unit", unit)
    return found


@cache
def read_heading(text: str) -> Heading:
    """Read a heading; bare numbers in it are marks of notes and say nothing, nor does "(NOTE 2)"."""
    text = _CONDITION.sub(" ", _NOTED.sub(" ", text))
    words, phrases = fold(text).split(), _phrases()
    concepts: list[str] = []
    units: list[str] = []
    unknown: list[str] = []
    at = 0
    while at < len(words):
        for size in range(min(_LONGEST_PHRASE, len(words) - at), 0, -1):
            kind, meaning = phrases.get(tuple(words[at : at + size]), ("", ""))
            if kind:
                break
        if not kind:
            if not words[at].isdigit():
                unknown.append(words[at])
            at += 1
            continue
        if kind != "filler":
            (concepts if kind == "concept" else units).append(meaning)
        at += size
    return Heading(tuple(concepts), tuple(units), tuple(unknown))


def joined(headings: list[Heading]) -> Heading:
    """Return several headings as one, in their order."""
    return Heading(
        tuple(dict.fromkeys(word for heading in headings for word in heading.concepts)),
        tuple(dict.fromkeys(word for heading in headings for word in heading.units)),
        tuple(dict.fromkeys(word for heading in headings for word in heading.unknown)),
    )
