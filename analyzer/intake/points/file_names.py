"""Whose points a file holds, and what they measure, where its columns do not say: by its name and its folders'."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from analyzer.intake.limits import LONGEST_NAME
from analyzer.intake.tables.partitions import partition
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.words.letters import plain
from analyzer.intake.words.months import is_known_month
from analyzer.intake.words.names import is_quantity_word, read_quantity, tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import bare, is_measure, take_unit
from analyzer.intake.words.vocabulary import (
    FILE_WORDS,
    PART_WORDS,
    ROOM_WORDS,
    TERMINAL_EQUIPMENT,
    TIME_WORDS,
    UNIT_WORDS,
    WEAK_EQUIPMENT,
    fold,
)

# A date (and time) in a file's name is no part of a tag.
_DATE = re.compile(
    r"(?<!\d)(?:(?:19|20)\d{2}[-_.]?\d{2}[-_.]?\d{2}|\d{1,2}[-_.]\d{1,2}[-_.](?:19|20)?\d{2})(?:[T _-]?\d{4,6})?(?!\d)"
)
# "Jan 12-16", "12 to 16 January 2026".
_DAYS_OF_MONTH = re.compile(
    r"[\s_-]+(?:(?P<before>[^\W\d_]{3,})[\s_.]+\d{1,2}(?:st|nd|rd|th)?(?:\s*(?:-|–|to)\s*\d{1,2})?"
    r"|\d{1,2}(?:\s*(?:-|–|to)\s*\d{1,2})?[\s_.]+(?P<behind>[^\W\d_]{3,}))(?:[\s,_]+(?:19|20)\d{2})?$"
)
_MONTH = re.compile(
    r"(?<!\d)(?:19|20)\d{2}(?:[-_.]?(?:0[1-9]|1[0-2]|Q[1-4]|W\d{2}))?(?!\d)"
)  # where nothing else stands
# How often it was logged: "every 15 min"; without "every" a number is left that may be the tag's.
_EVERY = re.compile(
    r"[\s_-]+(?:every|each)[\s_-]*\d*[\s_-]*(?:s|sec|seconds?|mins?|minutes?|h|hr|hrs|hours?)$", re.IGNORECASE
)
_STEP = re.compile(r"(?<=\d)(?P<step>[\s_-]+\d+[\s_-]?(?:sec|seconds?|mins?|minutes?))$", re.IGNORECASE)
_DIGITS = 3  # of a tag that is a number; with fewer it numbers the file: "trend 2". Judgement
_TAGGED = 0.5  # share of a table's columns that hold a tag of their own, from which on no folder names it. Judgement
_ITS_AGE = frozenset({"new", "old"})  # "new lobby" may be a room
_LABELLED = re.compile(r"^\W*[A-Za-z][A-Za-z .]{0,30}?\s*[:=]\s*(?P<text>\S.*)$")


# A terminal's tag whose word names no room, and no quantity either: "VAV-214".
_STRONG = re.compile(
    rf"(?<![^\W_])(?:{'|'.join(sorted(TERMINAL_EQUIPMENT - WEAK_EQUIPMENT - ROOM_WORDS - {'terminal'}))})"
    r"[-_ .#]*\d[\w.-]*",
    re.IGNORECASE,
)


_UNIT_LINE = re.compile(r"^\W*?(?:(?P<label>[^\W\d_][^:=]{0,30}?)\s*[:=]\s*)?(?P<unit>\S.*)$")
_FIGURES = re.compile(r"\d+")


@dataclass(frozen=True)
class Told:
    """What a file's name and its folders' tell of all its points.

    Attributes
    ----------
    owner : str
        What holds the tag.
    about : str
        What names the quantity, where the points' own names do not; empty where nothing does.
    twin : str
        The first word of its name, where another file is named alike but for that word: the owner's name, whatever
        else it may mean.
    file : str
        What the file's own name says of its owner, where ``owner`` is the outermost folder's name, in which somebody
        keeps the export: columns that hold tags are not its.
    """

    owner: str
    about: str
    twin: str = ""
    file: str = ""


class FileNames:
    """Tells owners and quantities by the names of files and folders.

    Parameters
    ----------
    tags : TagFinder
    places : iterable of tuple
        Of each file of the export its folders, outermost first, and its stem: files alike in one folder are parts.
    """

    def __init__(self, tags: TagFinder, places: Iterable[tuple[tuple[str, ...], str]]):
        self._tags = tags.apart()
        places = list(places)
        self._parts = Counter(folders for folders, stem in places if _says_nothing(_undated(stem)))
        stems: dict[str, set[str]] = {}
        for folders, stem in places:
            if folders and not (_says_nothing(_undated(stem)) or _says_quantity(_undated(stem))):
                stems.setdefault(folders[0], set()).add(_undated(stem))
        self._kept_apart = Counter({root: len(several) > 1 for root, several in stems.items()})
        self._firsts: dict[str, set[str]] = {}
        for _, stem in places:
            first, rest = _first_word(stem)
            self._firsts.setdefault(rest, set()).add(first)

    def tell(self, table: RawTable) -> Told:
        """Tell whose points a table holds, and what they measure, as far as names do."""
        stem = _undated(table.stem)
        about = next((text for text in (stem, *reversed(table.folders)) if _quantity_of(text, self._tags)), "")
        about = _with_unit_line(self._with_title(table, about), table.preamble)
        first, rest = _first_word(table.stem)
        others = self._firsts.get(rest, set()) - {first}
        twin = first if any(not is_quantity_word(plain(other)) for other in others) else ""
        owner = self._owner(table, stem)
        at_root = bool(table.folders) and owner == _without_file_words(_undated(_meant(table.folders[0])))
        own = _without_file_words(stem or table.stem) if at_root else ""
        return Told(owner, about, twin, own)

    def _with_title(self, table: RawTable, about: str) -> str:
        """Return the title above the header that says what is measured, with its unit, in place of a name that does.

        Where the two say different things nothing is taken; that is said where the columns say nothing themselves.
        """
        lines = [line for line in table.preamble if len(line) <= LONGEST_NAME and not _tells_unit(line)]
        title = next((line for line in lines if _says_quantity(line)), "")
        if not title or (not about and any(map(_measures, table.names))):
            return about
        if not about:
            return title
        if self._quantity(title) == self._quantity(about):
            return title if take_unit(title)[1] else about
        if not any(_quantity_of(name, self._tags) for name in table.names):
            table.assume(
                "its title and its name, or its folder's, name different quantities ({detail}), and neither was taken.",
                f"{title!r} and {about!r}",
            )
        return ""

    def _quantity(self, text: str) -> str:
        owner = self._tags.find(take_unit(text)[0])
        reading = read_quantity(owner.words, air_handler=owner.air_handler)
        return reading.quantity if reading else ""

    def _owner(self, table: RawTable, stem: str) -> str:
        for text in (table.stem, *table.preamble):
            if len(text) <= LONGEST_NAME and self._tags.known_terminal(text):
                return text
        if not _STRONG.search(stem) and (titled := _titled(table.preamble, stem)):
            return titled
        if len(stem) <= LONGEST_NAME and self._tags.named(stem):
            return stem
        above = next((line for line in map(_labelled, table.preamble) if self._is_terminal(line)), None)
        if above:
            return above
        bare = _without_file_words(stem or table.stem)
        folders = [_without_file_words(_undated(_meant(folder))) for folder in table.folders]
        if folders and self._tags.named(folders[0]) and not self._is_of_one_terminal(table, stem, folders[1:]):
            folders[0] = ""
        strong = next((folder for folder in reversed(folders) if folder and self._tags.named(folder)), None)
        useful = [folder for folder in folders if not _says_nothing(folder) and not _says_quantity(folder)]
        if _says_quantity(stem):
            whose = next((folder for folder in reversed(folders) if not _says_quantity(folder)), bare)
            return strong or next(reversed(useful), whose)
        if _says_nothing(stem):
            below = useful[-1] if useful and useful[-1] in folders[1:] else None
            root = folders[0] if self._parts[table.folders] > 1 and useful else None
            return strong or below or root or bare
        if strong and (_numbered_words(stem) <= FILE_WORDS or not _numbered(stem)) and self._is_terminal(strong):
            return strong
        return bare

    def _is_of_one_terminal(self, table: RawTable, stem: str, inner: list[str]) -> bool:
        """Tell whether the outermost folder may name whose a table is: nothing within it names terminals.

        That folder is where somebody keeps the export: ``trends_unit_2`` says nothing of the files in it.
        """
        if self._kept_apart[table.folders[0]] or any(map(self._tags.named, inner)):
            return False
        if _numbered(stem) and not _says_nothing(stem) and not _numbered_words(stem) <= FILE_WORDS:
            return False
        names = [take_unit(name)[0] for name in table.names if fold(name) not in TIME_WORDS]
        tagged = sum(self._tags.find(name).tag is not None for name in names if len(name) <= LONGEST_NAME)
        return tagged <= _TAGGED * len(names)

    def _is_terminal(self, text: str) -> bool:
        owner = self._tags.named(text) if text and len(text) <= LONGEST_NAME else None
        return owner is not None and not owner.air_handler


def _first_word(stem: str) -> tuple[str, str]:
    """Return the first word of a file's name, and the rest of it."""
    tokens = tokens_of(stem)
    return (tokens[0].text, stem[tokens[0].end :]) if tokens else ("", stem)


def _titled(lines: list[str], stem: str) -> str:
    """Return the one terminal that titles name, ``Cold complaint, room 214, terminal VAV-214``; nothing with several.

    The file's name has to bear its number too, or to say nothing: a title may name a controller's model as well.
    """
    found = {match[0].rstrip(".-_") for line in lines if len(line) <= LONGEST_NAME for match in _STRONG.finditer(line)}
    tag = found.pop() if len(found) == 1 else ""
    return tag if _says_nothing(stem) or _FIGURES.findall(tag) == _FIGURES.findall(stem) else ""


def _undated(name: str) -> str:
    return _DAYS_OF_MONTH.sub(_unless_no_month, _DATE.sub("", name)).strip(" _-.")


def _unless_no_month(found: re.Match[str]) -> str:
    """Take out days with the name of a month; leave what has another word: ``Lab 12-16``."""
    return "" if is_known_month(found["before"] or found["behind"]) else found[0]


def _without_file_words(stem: str) -> str:
    """Take words that only say that it is a file off the ends of a name, where a name is left: ``3-01 trend``.

    So do its step and, behind a tag with a number, what is measured: ``W-5 damper changes every 15 min``.
    """
    stem = _STEP.sub("", _EVERY.sub("", stem))
    tokens = tokens_of(stem)
    said = [n for n, token in enumerate(tokens) if token.low not in FILE_WORDS - _ITS_AGE]
    if not said:
        return stem
    begin, end = tokens[said[0]].begin, tokens[said[-1]].end
    left = stem[begin if said[0] else 0 : end if said[-1] + 1 < len(tokens) else None]
    left = _without_quantity(left)
    return left if not left.isdigit() or len(left) >= _DIGITS else stem


def _without_quantity(name: str) -> str:
    """Take the words that say what is measured off the end of a name that has a number before them."""
    tokens = tokens_of(name)
    last = next((n for n in reversed(range(len(tokens))) if not is_quantity_word(tokens[n].low)), -1)
    begins = tokens[: last + 1]
    if not begins or begins[-1] is tokens[-1] or not begins[-1].is_number or is_quantity_word(begins[0].low):
        return name
    words = tuple(token.low for token in tokens[last + 1 :])
    if all(read_quantity(words, air_handler=kind) is None for kind in (False, True)):
        return name
    return name[: begins[-1].end]


def _meant(folder: str) -> str:
    """Return what a folder's name says: the cell, where it is a partition of a data set."""
    parted = partition(folder)
    return parted[1] if parted else folder


def _labelled(line: str) -> str:
    match = _LABELLED.match(line)
    return match["text"] if match else ""


def _words(name: str) -> set[str]:
    return {token.low for token in tokens_of(name) if not token.is_number}


def _numbered(name: str) -> bool:
    return any(token.is_number for token in tokens_of(name))


def _numbered_words(name: str) -> set[str]:
    """Return the words of a name that holds a number, months left out; what no set holds where it has none."""
    return {word for word in _words(name) if not is_known_month(word)} if _numbered(name) else {""}


def _says_nothing(stem: str) -> bool:
    """Tell a name that only says that it is a file, or which part of one: ``trend``, ``part-0``, ``January``."""
    stem = _MONTH.sub("", stem)
    words = {word for word in _words(stem) if not is_known_month(word)}
    if _numbered(stem) and not words & PART_WORDS:
        return False
    return words <= FILE_WORDS | PART_WORDS


def _with_unit_line(about: str, lines: list[str]) -> str:
    """Put the unit that a line above the header tells alone, ``Unit: m³/h``, behind what says what is measured."""
    if not about or take_unit(about)[1]:
        return about
    units = {unit for line in lines if len(line) <= LONGEST_NAME and (unit := _tells_unit(line))}
    return f"{about} ({units.pop()})" if len(units) == 1 else about


def _tells_unit(line: str) -> str:
    """Return the unit that a line tells and nothing else; empty where it says something else."""
    match = _UNIT_LINE.match(line)
    unit = bare(match["unit"]) if match and fold(match["label"] or "unit") in UNIT_WORDS else ""
    return unit if unit and is_measure(unit) and not unit.isdigit() else ""


def _measures(header: str) -> bool:
    """Tell a heading with a word that may say what is measured, whatever else it says."""
    if fold(header) in TIME_WORDS:
        return False
    return any(is_quantity_word(token.low) and token.low not in TERMINAL_EQUIPMENT for token in tokens_of(header))


def _says_quantity(name: str) -> bool:
    """Tell a name all of whose words say what is measured, without a tag's number."""
    words = tuple(token.low for token in tokens_of(take_unit(name)[0]))
    if not words or any(word.isdigit() for word in words):
        return False
    return any(read_quantity(words, air_handler=kind) is not None for kind in (False, True))


def _quantity_of(name: str, tags: TagFinder) -> bool:
    """Tell a name that says what is measured, whosever it is."""
    if len(name) > LONGEST_NAME:
        return False
    owner = tags.find(take_unit(name)[0])
    return bool(owner.words) and read_quantity(owner.words, air_handler=owner.air_handler) is not None
