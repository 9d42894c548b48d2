"""What a cell of a form is: the name of a terminal, of a figure, or a value."""

from __future__ import annotations

import re

from analyzer.schedule import kinds
from analyzer.schedule.meaning import DIMENSIONS, meaning_of
from analyzer.schedule.tags import looks_like_tag
from analyzer.schedule.words import read_heading

STOPS = re.compile(r"[:=]\s*$")
# "FAN BOX FB-12" over a form: what it is, and its tag.
_TITLE_WITH_TAG = re.compile(
    r"^(\D{2,30}?)\s+(?:NO\.?\s*|#\s*)?((?:[A-Z]{1,6}[-_.]?|\d+[-_.])\d[\w.-]*)$", re.IGNORECASE
)


def tag_in_title(text: str) -> str:
    """Return the tag of a terminal that a form's title ends in; "" where it is no such title."""
    match = _TITLE_WITH_TAG.match(text)
    return match[2] if match and names_tag(match[1]) and is_terminal(match[2]) else ""


def names_tag(text: str) -> bool:
    """Tell whether a text is the name under which a form gives its terminal: UNIT, BOX NO."""
    told = read_heading(text)
    return 0 < len(text) <= 40 and not told.unknown and meaning_of(told).name == "tag"


def is_terminal(text: str) -> bool:
    """Tell whether a text is the tag of a terminal."""
    return looks_like_tag(text) and bool(re.search(r"\d", text)) and not kinds.is_other_tag(text)


def names_figure(text: str) -> bool:
    """Tell whether a text names a figure."""
    told = read_heading(text)
    return not told.unknown and not told.only_units and DIMENSIONS.get(meaning_of(told).name, "text") != "text"


def is_name(text: str, *, labelled: bool) -> bool:
    """Tell whether a cell is a name rather than the value of one that ``labelled`` says has a colon."""
    if re.match(r"\s*[-+~]?[\d.]", text):
        return False
    if labelled or re.search(r"\d", text):
        return bool(STOPS.search(text))
    told = read_heading(text)
    return bool(STOPS.search(text)) or (bool(meaning_of(told).name) and not told.unknown)
