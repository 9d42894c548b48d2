"""What the notes under a table say of its coils: of all of them, or of the rows that bear the note's number."""

from __future__ import annotations

import re
from dataclasses import dataclass

from analyzer.quantities import find_unit
from analyzer.schedule import kinds
from analyzer.schedule.layout import Table
from analyzer.schedule.words import fold

_NUMBER = re.compile(r"^\s*(?:NOTE\s*)?\(?(\d{1,2})[.):]", re.IGNORECASE)
# "SDV-E = single duct with electric heat"
_MEANS = re.compile(
    r"^\W*(?:(?:NOTES?|LEGEND|TYPES?|ABBREVIATIONS)\s*:\s*)?(?:TYPE\s+)?"
    r"[\"'“]?([\w/-]{1,10})[\"'”]?(?:\s*(?:=|:|\s[-–—]\s)\s*|\s{2,})(\S.*)$",
    re.IGNORECASE | re.DOTALL,
)
_KEYS = re.compile(r"^[\d\s,;&]+$")
_COILS = r"(?:COILS?|HEATERS?|REHEATS?|HEATING)"
# "HEATING COILS ARE HOT WATER": what they are stands behind the verb. "ALL TERMINALS HAVE ELECTRIC HEATERS": of all.
_ARE = re.compile(rf"\b{_COILS}\b(?: \w+){{0,3}} (?:ARE|IS|SHALL BE|TO BE|WILL BE)\b(.*)$")
_OF_ALL = re.compile(rf"\b(?:ALL|EACH|EVERY)\b.*\b(?:HAVE|HAS|WITH)\b(?=.*\b{_COILS}\b)(.*)$")
_NEGATED = re.compile(r"\bNOT?\b|\bUNLESS\b|\bEXCEPT\b|\bWHERE\b|\bIF\b")

# Entering and leaving water and air, in the words of notes.
_ENDS = {
    "entering_water_temp": r"EWT|ENT(?:ERING|\.)?\s+(?:HOT\s+)?WATER(?:\s+TEMP(?:ERATURE|\.)?)?|HWS",
    "leaving_water_temp": r"LWT|(?:LEAVING|LVG\.?)\s+(?:HOT\s+)?WATER(?:\s+TEMP(?:ERATURE|\.)?)?|HWR",
    "entering_air_temp": r"EAT|ENT(?:ERING|\.)?\s+AIR(?:\s+TEMP(?:ERATURE|\.)?)?",
    "leaving_air_temp": r"LAT|(?:LEAVING|LVG\.?)\s+AIR(?:\s+TEMP(?:ERATURE|\.)?)?",
}
# "180°F EWT", "EWT 180 DEG F", "EWT = 180°F", "ENTERING WATER TEMPERATURE OF 82 °C".
_FIGURE = (
    r"(?:(?<![\d./-])(?P<before>\d+(?:\.\d+)?)\s*(?:°|DEG\.?)?\s*(?P<unit>[FC])?\s+(?:{words})\b"
    r"(?!\s*(?:[=:]|OF\b|IS\b|AT\b)?\s*\d)"
    r"|\b(?:{words})\s*(?:[=:]|OF\b|IS\b|AT\b|SHALL BE\b)?\s*(?P<after>\d+(?:\.\d+)?)\s*(?:°|DEG\.?)?\s*"
    r"(?P<unit_after>[FC])?(?![\d\w]))"
)


def legend(table: Table) -> dict[str, str]:
    """Return what notes say that abbreviations mean: "SDV-E = SINGLE DUCT WITH ELECTRIC HEAT; ..."."""
    found: dict[str, str] = {}
    for text in (*table.notes, *table.titles):
        for piece in re.split(r"[;\n]|,\s+(?=[\w/-]{1,10}(?:\s*[=:]|\s{2}))|\.\s+", text):
            match = _MEANS.match(piece)
            if match and not match[2].strip().isdigit():
                found.setdefault(fold(match[1]), match[2].strip(" .;"))
    return found


@dataclass(frozen=True)
class CoilNote:
    """A note that names the sort of reheat.

    Attributes
    ----------
    reheat : str
        "electric" or "hot-water".
    text : str
    number : int or None
        The note's own, where rows of the table bear it: it then holds for these alone.
    """

    reheat: str
    text: str
    number: int | None


def coil_notes(table: Table) -> list[CoilNote]:
    """Return the notes of a table that say what its coils are; those of a condition or an exception say nothing."""
    borne = {number for row in table.rows for number in keys_of(table, row)}
    found = []
    for text in table.notes:
        folded = fold(text)
        if _NEGATED.search(folded):
            continue
        told = _ARE.search(folded) or _OF_ALL.search(folded)
        said = kinds.reheat_in(told[1] if told else "")
        if said in ("electric", "hot-water"):
            match = _NUMBER.match(text)
            number = int(match[1]) if match and int(match[1]) in borne else None
            found.append(CoilNote(said, text, number))
    return found


@dataclass(frozen=True)
class CoilFigure:
    """A figure of water or air at the coils that a note gives once: for all, or for the rows that bear its number."""

    column: str
    value: float
    text: str
    number: int | None


def coil_figures(table: Table) -> list[CoilFigure]:
    """Return the temperatures that notes give for the coils of a table."""
    borne = {number for row in table.rows for number in keys_of(table, row)}
    found = []
    headings = [column.heading for column in table.columns if re.search(r"@|\bAT\b", column.heading, re.IGNORECASE)]
    for text in (*table.notes, *headings):
        if _NEGATED.search(fold(text)):
            continue
        match = _NUMBER.match(text)
        number = int(match[1]) if match and int(match[1]) in borne else None
        for column, words in _ENDS.items():
            said = {
                (float(each["before"] or each["after"]), (each["unit"] or each["unit_after"] or "")[:1].upper())
                for each in re.finditer(_FIGURE.format(words=words), text, re.IGNORECASE)
            }
            if len(said) != 1:
                continue
            value, letter = said.pop()
            letter = letter or next(iter(set(re.findall(r"(?:°|DEG\.?\s*)([FC])\b", text.upper()))), "")
            if letter and (unit := find_unit(f"deg{letter}", "temperature")) is not None:
                found.append(CoilFigure(column, float(unit.to_si(value)), text, number))
    return found


def figures_noted(figures: list[CoilFigure], table: Table, row: int) -> list[CoilFigure]:
    """Return the figures that hold for a row's coil; its own note's go before what is said of all."""
    keys = keys_of(table, row)
    found: dict[str, CoilFigure] = {}
    for fits in ([each for each in figures if each.number in keys], [each for each in figures if each.number is None]):
        for column in dict.fromkeys(each.column for each in fits):
            values = {each.value for each in fits if each.column == column}
            if len(values) == 1:
                found.setdefault(column, next(each for each in fits if each.column == column))
    return list(found.values())


def keys_of(table: Table, row: int) -> set[int]:
    """Return the numbers of the notes that a row bears."""
    texts = [table.grid.text(row, column.at) for column in table.columns if column.name == "remarks"]
    return {int(number) for text in texts if _KEYS.match(text) for number in re.findall(r"\d+", text)}


def reheat_noted(notes: list[CoilNote], table: Table, row: int) -> CoilNote | None:
    """Return the note that tells a row's sort of reheat; its own number goes before what is said of all."""
    if not notes:
        return None
    keys = keys_of(table, row)
    for fits in ([note for note in notes if note.number in keys], [note for note in notes if note.number is None]):
        if len({note.reheat for note in fits}) == 1:
            return fits[0]
    return None
