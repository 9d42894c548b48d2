"""Notes that say in which units points are: ``Zone temps in °F, air in cfm, damper and heat in % of full``."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from analyzer.intake.limits import LONGEST_NAME
from analyzer.intake.points.entries import Entry
from analyzer.intake.points.point import Point
from analyzer.intake.points.propose import propose
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.words.names import concepts_of, is_quantity_word, tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import is_measure
from analyzer.intake.words.wording import some

_CLAUSES = re.compile(r"[;,]\s+|\.\s+|\.$")
_SAID = re.compile(
    r"^\W*(?:units?\s*[:=]\s*)?(?P<what>[^\W\d][^:=]*?)(?:\s+(?:(?:are|is)\s+)?(?:in|en)\s+|\s*(?P<sign>[:=])\s*)"
    r"(?P<unit>\S.*)$",
    re.IGNORECASE,
)
_UNITS_LISTED = re.compile(r"^\W*units?\s*[:=]\s*", re.IGNORECASE)
_AND = re.compile(r"\s*(?:/|&|\b(?:and|und|et|y)\b)\s*", re.IGNORECASE)
_OF_FULL = re.compile(r"^(?:open|of\s+(?:full|span|range|opening|maximum))\b\s*", re.IGNORECASE)
_MOST_WORDS = 3  # of a unit
_SAYS_NO_MORE = frozenset({"all", "its", "their", "values", "readings", "points"})


# "0 V = open", "100 % = closed": such a signal is the other way round.
_OPEN, _CLOSED = r"open|offen|ouvert|abiert[ao]", r"closed|shut|zu|geschlossen|fermé|cerrad[ao]"
_TURNED_ROUND = re.compile(
    rf"(?<![\d.-])(?:0(?:[.,]0+)?\s*(?:V|VDC|%)?\s*(?:=|:|is|means)\s*(?:fully\s+)?(?:{_OPEN})"
    rf"|100?(?:[.,]0+)?\s*(?:V|VDC|%)?\s*(?:=|:|is|means)\s*(?:fully\s+)?(?:{_CLOSED}))\b",
    re.IGNORECASE,
)


def take_notes(table: RawTable, entries: list[Entry], tags: TagFinder) -> list[Entry]:
    """Give points the units that the notes of a table and of its workbook tell; say what they say."""
    notes = _UnitNotes(tags)
    notes.learn([*table.preamble, *table.notes])
    given, lines = notes.give(table.label, entries)
    if lines:
        table.assume("notes say in which units points are ({detail}), and they were read so.", some(lines, most=3))
    if turned := _turned_round([*table.preamble, *table.notes]):
        table.assume(
            "a note says that a signal's least value is open ({detail}), and signals are read with 100 % as open all "
            "the same: turn those of the note round in the export, or leave them out in the point list.",
            some(turned, most=3),
        )
    return given


def _turned_round(lines: Iterable[str]) -> list[str]:
    """Return the lines that say of a signal that its least value is open."""
    return [repr(line.strip()) for line in lines if len(line) <= LONGEST_NAME and _TURNED_ROUND.search(line)]


class _UnitNotes:
    """What notes say of the units of points whose names tell none."""

    def __init__(self, tags: TagFinder):
        self._tags = tags
        self._units: dict[frozenset[str], set[str]] = {}
        self._lines: dict[str, None] = {}

    def learn(self, lines: Iterable[str]) -> None:
        """Take in the lines that say in which units something is."""
        for line in lines:
            if len(line) > LONGEST_NAME:
                continue
            for what, unit in _read(line):
                self._units.setdefault(what, set()).add(unit)
                self._lines[line.strip()] = None

    def give(self, file: str, entries: list[Entry]) -> tuple[list[Entry], list[str]]:
        """Give points without a unit that which the notes tell; return those points, and what the notes say.

        A unit that cannot belong to a point, or of which the notes tell two, is not given.
        """
        if not self._units:
            return entries, []
        given = [self._of(file, entry) for entry in entries]
        met = any(new is not old for new, old in zip(given, entries, strict=True))
        return given, [repr(line) for line in self._lines] if met else []

    def _of(self, file: str, entry: Entry) -> Entry:
        point = propose(file, entry, self._tags)
        unit = self._unit_for(point)
        if unit is None:
            return entry
        if entry.unit or point.unit is not None:
            told = replace(entry, told_unit=unit, told_from="notes")
            return told if propose(file, told, self._tags).contradicted else entry
        told = replace(entry, unit=unit, unit_from="notes")
        return told if propose(file, told, self._tags).unit == unit else entry

    def _unit_for(self, point: Point) -> str | None:
        """Return the unit of what says most of the point; none where two say as much and differ."""
        concepts = concepts_of(" ".join(point.words))
        fitting = [what for what in self._units if what <= concepts]
        most = max(map(len, fitting), default=0)
        units = {unit for what in fitting if len(what) == most for unit in self._units[what]}
        return units.pop() if len(units) == 1 else None


def says_units(lines: Iterable[str]) -> bool:
    """Tell whether any line says in which unit something is."""
    return any(_read(line) for line in lines if len(line) <= LONGEST_NAME)


def _read(line: str) -> list[tuple[frozenset[str], str]]:
    """Read the clauses of a line that say that something is in a unit."""
    found, listed = [], _UNITS_LISTED.match(line)
    for clause in map(str.strip, _CLAUSES.split(line)):
        told = _read_clause(clause)
        found += told or (_read_listed(_UNITS_LISTED.sub("", clause)) if listed else [])
    return found


def _read_listed(clause: str) -> list[tuple[frozenset[str], str]]:
    """Read a clause behind ``Units:`` that ends with a unit: ``air flow and its setpoint m3/h``, ``damper % open``."""
    words = clause.split()
    for begin in range(1, len(words)):
        subjects = [_concepts(part) for part in _AND.split(" ".join(words[:begin]))]
        for size in range(min(_MOST_WORDS, len(words) - begin), 0, -1):
            unit = " ".join(words[begin : begin + size]).rstrip(".")
            rest = _OF_FULL.sub("", " ".join(words[begin + size :]))
            if all(subjects) and not rest and not unit.isdigit() and is_measure(unit):
                return [(concepts, unit) for concepts in subjects]
    return []


def _read_clause(clause: str) -> list[tuple[frozenset[str], str]]:
    """Read a clause, or several whose commas were taken for a table's; nothing where a word is left over."""
    match = _SAID.match(clause)
    subjects = [_concepts(part) for part in _AND.split(match["what"])] if match else []
    if match is None or not all(subjects):
        return []
    words = match["unit"].split()
    for size in range(min(_MOST_WORDS, len(words)), 0, -1):
        unit = " ".join(words[:size]).rstrip(".")
        letter = match["sign"] and len(unit) == 1 and unit != "%"  # "Zone: C" is a zone
        if unit.isdigit() or letter or not is_measure(unit):
            continue
        rest = _OF_FULL.sub("", " ".join(words[size:]))
        more = _read_clause(rest) if rest else []
        if more or not rest:
            return [(concepts, unit) for concepts in subjects] + more
    return []


def _concepts(what: str) -> frozenset[str]:
    """Return what words of the vocabulary say, in the singular; nothing where there is another word."""
    words = [token.low for token in tokens_of(what) if token.low not in _SAYS_NO_MORE]
    words = [word if is_quantity_word(word) else word.removesuffix("s") for word in words]
    return concepts_of(" ".join(words)) if all(map(is_quantity_word, words)) else frozenset()


def notes_of(lists: Iterable[list[list[str]]]) -> list[str]:
    """Return the cells of sheets without stamps that may be notes: sentences, not the cells of a table."""
    return [cell for rows in lists for row in rows for cell in row if " " in cell.strip()]
