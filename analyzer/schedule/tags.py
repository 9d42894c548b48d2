"""Which terminals a cell of tags names: one, a list, a run (THRU), a number of alike ones (TYPICAL OF 6)."""

from __future__ import annotations

import re
from dataclasses import dataclass

_MOST = 500
_TYPICAL = re.compile(r"[(\[]?\s*\bTYP(?:ICAL|\.)?\s*(?:OF|FOR|X)?\s*\(?(\d+)\)?\s*[)\]]?", re.IGNORECASE)
_TIMES = re.compile(r"[(\[]\s*(?:QTY\.?\s*:?\s*)?[xX]?\s*(\d+)\s*(?:UNITS|EA\.?|REQ'?D|[xX])\s*[)\]]", re.IGNORECASE)
_COUNT = re.compile(
    r"^[\s(\[]*(?:(?:TYP(?:ICAL|\.)?|QTY\.?|QUANTITY)\s*(?:OF|FOR|X|:)?)?\s*\(?(\d{1,3})(?:\.0)?\s*(?:UNITS|EA\.?|REQ'?D)?[\s)\]]*$",
    re.IGNORECASE,
)
_TYPICAL_BARE = re.compile(r"[(\[]?\s*\bTYP(?:ICAL|\.)?(?![A-Za-z])\s*[)\]]?", re.IGNORECASE)
# Marks of revisions and of notes before or after a tag.
_MARKS = re.compile(
    r"^\s*[△▲Δ∆]\s*\d*\s+|[△▲Δ∆]\s*\d*|/\d{1,2}\\|[*†‡¹²³⁴⁵]+|"
    r"[(\[<{]\s*(?:[A-Z]|\d{1,2}|R\d|REV\.?\s*\w|NOTES?\s*[\d, ]+|NEW|EXIST\w*)\s*[)\]>}]",
    re.IGNORECASE,
)
_THRU = re.compile(
    r"\s+(?:THRU|THROUGH|TO|THROUGHOUT)\s+|\s*\.\.+\s*|\s+[-–—]\s+|\s*[–—]\s*|\s*(?:~|→)\s*", re.IGNORECASE
)
_LIST = re.compile(r"\s*[,;&\n+]\s*|\s+AND\s+", re.IGNORECASE)
_LIKE_A_TAG = re.compile(r"^(?=.*\d)[A-Za-z0-9][A-Za-z0-9 ._/#:-]*$")
_SIZE = re.compile(r"^\d+\s*[\"']?\s*[xX×]\s*\d+")
_LETTERED = re.compile(r"^[A-Z]{1,5}[-_ .][A-Z]{1,2}$")


@dataclass(frozen=True)
class Tags:
    """The terminals that a cell names.

    ``typical`` is how many it is said to stand for where it names just one; ``problem`` is why a part was not read.
    """

    tags: tuple[str, ...]
    typical: int = 1
    problem: str = ""


def typical_in(text: str) -> int | None:
    """Return how many terminals a cell of a column of quantities says: ``6``, ``TYPICAL OF 6``, ``QTY 6``."""
    match = _COUNT.match(text)
    return max(1, int(match[1])) if match else None


def looks_like_tag(text: str) -> bool:
    """Tell whether a cell may hold the tags of terminals."""
    plain = _clean(text)
    if not plain or len(plain) > 200 or _SIZE.match(plain):
        return False
    first = _LIST.split(_THRU.split(plain)[0])[0]
    return bool((_LIKE_A_TAG.match(first) and len(first) <= 30) or _LETTERED.match(first.upper()))


def _clean(text: str) -> str:
    plain = _TIMES.sub(" ", _TYPICAL.sub(" ", text))
    plain = _TYPICAL_BARE.sub(" ", plain)
    return " ".join(_MARKS.sub(" ", plain).split()).strip(" ,;:") if "\n" not in plain.strip() else _lines(plain)


def _lines(text: str) -> str:
    """Put the lines of a cell together: each a tag of its own, or one tag that was broken."""
    lines = [" ".join(_MARKS.sub(" ", line).split()) for line in text.strip().split("\n")]
    lines = [line for line in lines if line]
    each = all(re.search(r"\d", line) and re.match(r"[A-Za-z]", line) for line in lines)
    return (", " if each else " ").join(lines).strip(" ,;:") if each else _rejoined(lines)


def _rejoined(lines: list[str]) -> str:
    """Put the lines of one tag together; where one ends in a sign the next one follows without a space."""
    text = ""
    for line in lines:
        text += ("" if not text or text.endswith(("-", "_", ".", "/")) else " ") + line
    return text.strip(" ,;:")


def read_tags(text: str, quantity: int | None = None) -> Tags:
    """Read a cell of tags.

    Parameters
    ----------
    text : str
    quantity : int, optional
        How many the row is said to stand for elsewhere.
    """
    said = _TYPICAL.search(text) or _TIMES.search(text)
    typical = int(said[1]) if said else quantity or 1
    plain = _clean(text)
    found: list[str] = []
    problem = ""
    for piece in _LIST.split(plain):
        if not piece:
            continue
        ends = [end for end in _THRU.split(piece) if end]
        first = _whole(ends[0], found[-1] if found else "")
        if len(ends) == 1:
            found.append(first)
        elif len(ends) == 2 and (run := _run(first, _whole(ends[1], first))):
            found += run
        else:
            problem = f"{piece!r} is no run of tags"
    if len(found) != 1:
        return Tags(tuple(dict.fromkeys(found)), 1, problem or _counted(found, said and typical))
    return Tags(tuple(found), max(1, min(typical, _MOST)), problem)


def _counted(found: list[str], typical: int | None) -> str:
    if typical and found and typical != len(found):
        return f"it names {len(found)} terminals and says {typical}"
    return ""


def _whole(tail: str, before: str) -> str:
    """Fill a tag up that is written by its end alone: ``2-06`` or ``06`` after ``VAV-2-01``, ``B5`` after ``VV-B2``."""
    if re.match(r"[A-Za-z]+\d", tail):
        count = len(re.findall(r"[-_ ./]", tail))
        parts = re.findall(r"[-_ ./]?[^-_ ./]+", before)
        head, alike = "".join(parts[: -count - 1]), "".join(parts[-count - 1 :])
        if head and re.sub(r"\d+", "0", alike[1:]).upper() == re.sub(r"\d+", "0", tail).upper():
            return head + alike[0] + tail
    if not before or re.match(r"[A-Za-z]{2}", tail) or not re.match(r"[\d-]", tail):
        return tail
    tail = tail.lstrip("-")
    numbers, own = list(re.finditer(r"\d+", before)), re.findall(r"\d+", tail)
    if not own or len(own) > len(numbers):
        return tail
    return before[: numbers[-len(own)].start()] + tail


def numbered_from(tag: str, count: int) -> list[str]:
    """Return so many tags in a row, the first one given; none where it does not end in a number."""
    match = re.match(r"(.*?)(\d+)$", tag)
    if not match:
        return []
    first = int(match[2])
    return [f"{match[1]}{first + n:0{len(match[2])}d}" for n in range(count)]


def _run(first: str, last: str) -> list[str]:
    lettered = re.match(r".*\d[A-Z]$", first.upper()) and last[-1:].isupper() == first[-1:].isupper()
    if lettered and len(first) == len(last) and first[:-1].upper() == last[:-1].upper() and first[-1] < last[-1]:
        return [first[:-1] + chr(n) for n in range(ord(first[-1]), ord(last[-1]) + 1)]
    begin, end = re.match(r"(.*?)(\d+)$", first), re.match(r"(.*?)(\d+)$", last)
    if not begin or not end or begin[1].upper() != end[1].upper():
        return []
    count = int(end[2]) - int(begin[2]) + 1
    return numbered_from(first, count) if 1 < count <= _MOST else []
