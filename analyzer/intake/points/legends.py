"""Legends: a file beside the trends that says what their coded names stand for, or in which unit their points are."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass, replace

from analyzer.errors import ExportError
from analyzer.intake.files.encoding import to_utf8
from analyzer.intake.files.find import TEXT, WORKBOOK, Source
from analyzer.intake.limits import LONGEST_NAME, MEBIBYTE
from analyzer.intake.points.entries import Entry
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.words.names import read_quantity, tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import bare, is_measure, no_unit, take_unit, unit_of
from analyzer.intake.words.vocabulary import LEGEND_WORDS, TAG_WORDS, UNIT_WORDS, fold
from analyzer.intake.words.wording import some
from analyzer.quantities import Unit, unit_dimensions

LARGEST_LEGEND = 4 * MEBIBYTE  # bytes; a list of names is no larger
# Judgement. A column of a legend says what points are where this share of its distinct cells names a quantity, or a tag
# and no code; one that says units where this share are units.
NAMES, UNITS = 0.3, 0.5


_BEHIND_NAME = re.compile(r"(?:\s*(?:[:=,;|\t]|->|\s-\s)\s*|\s+)(?=\S)")
_PLACE = re.compile(r"^(.*\w)[./\\|:][^./\\|:]+$")
_PARTED = re.compile(r"\s*[,;|\t]\s*")
_BEFORE_LAST = re.compile(r"^(.*\w)([\W_]+)([^\W\d_][^\W_]*)$")


@dataclass(frozen=True)
class _Said:
    text: str
    unit: str | None
    owner: str | None = None


class Legend:
    """What coded names stand for; empty where an export has no legend."""

    def __init__(self, tags: TagFinder):
        self._tags = tags.apart()
        self._said: dict[str, _Said] = {}
        self._met: set[str] = set()
        self._others: dict[str, _Said] = {}  # what another list says of the same code, where it differs
        self._differing: set[str] = set()  # of them those that the exports hold
        self._lists: list[tuple[tuple[str, ...], dict[str, _Said]]] = []  # each with the place where it lies
        self.labels: list[str] = []

    def __bool__(self) -> bool:
        return bool(self._said)

    def learn(self, source: Source) -> bool:
        """Take a file for a legend, if it is one; tell whether it is."""
        return self.learn_rows(_rows(source), source.label, source.folders)

    def learn_rows(self, rows: list[list[str]], label: str, place: tuple[str, ...] = ()) -> bool:
        """Take rows without stamps for a legend, if they are one; tell whether they are.

        ``place`` are the folders in which they lie, and the workbook.
        """
        found = self._read(rows) if len(rows) > 1 else {}
        if found:
            self._take(found)
            self._lists.append((place, found))
            self.labels.append(label)
        return bool(found)

    def _take(self, found: dict[str, _Said]) -> None:
        for code, said in found.items():
            if self._differ(self._said.setdefault(code, said), said):
                self._others.setdefault(code, said)

    def within(self, place: tuple[str, ...]) -> Legend:
        """Return what the lists say of a table: those of its folder, or around it, before those that lie elsewhere."""
        if len(self._lists) < 2:
            return self
        here = copy(self)
        here._said, here._others = {}, {}
        near = [place[: len(lies_in)] == lies_in for lies_in, _ in self._lists]
        for is_near in (True, False):
            known = frozenset(here._said) if not is_near else frozenset()
            for (_, found), this_near in zip(self._lists, near, strict=True):
                if this_near == is_near:
                    here._take({code: said for code, said in found.items() if code not in known})
        return here

    def learn_head(self, table: RawTable) -> int:
        """Take the lines above a table's header that say what its columns are; return of how many they do."""
        names = frozenset(table.names)
        rows = [row for line in table.preamble if (row := _of_column(line, names))]
        found = self._read([self._heading(rows), *rows]) if len(rows) > 1 else {}
        self._said |= {code: self._with_place(code, said) for code, said in found.items()}
        return len(found)

    def _heading(self, rows: list[list[str]]) -> list[str]:
        """Return a heading for such lines: equipment is the column without which two of them would say the same."""
        heading = ["column"] * max(map(len, rows))
        cells = [[row[n] if n < len(row) else "" for row in rows] for n in range(len(heading))]
        what = next((n for n in range(1, len(cells)) if self._describes(cells[n], quantities=True)), None)
        for n in _equipment_beside(cells, what, range(1, len(cells)))[:1]:
            heading[n] = "equipment"
        return heading

    def _with_place(self, code: str, said: _Said) -> _Said:
        """Put what stands before the last point or stroke of a name before what the name stands for."""
        place = _PLACE.match(code)
        if place is None or self._tags.find(said.text).tag is not None:
            return said
        return replace(said, text=f"{place[1]} {said.text}")

    def explain_all(self, entries: list[Entry]) -> list[Entry]:
        """Return points with what the legend says of those of which it says what they measure."""
        if not self._said:
            return entries
        told = [self.explain(entry) for entry in entries]
        return [
            new if new is not old and self._names_quantity(new.column) else old
            for new, old in zip(told, entries, strict=True)
        ]

    def told(self) -> list[str]:
        """Say which files were taken for legends, and what they say, by an example."""
        if not self.labels:
            return []
        if not self._met:
            return (
                []
                if self._differing
                else [f"{some(self.labels)}: a list of names of which the exports hold none; it was passed over."]
            )
        code = min(self._met)
        said = self._said[code]
        example = f"{code!r} for {said.text!r}" if said.text != code else f"{code!r} in {said.unit!r}"
        what = "what names stand for" if said.text != code else "points and their units"
        return [
            f"{some(self.labels)}: taken for a list of {what}, {len(self._met)} of them in the exports, such as "
            f"{example}."
        ]

    def explain(self, entry: Entry) -> Entry:
        """Return a point with what the legend says in place of its coded name; as it is where that says nothing."""
        code, before = entry.column, ""
        if code not in self._said and entry.owner and code.startswith(f"{entry.owner} "):
            code, before = code.removeprefix(f"{entry.owner} "), entry.owner
        elif code not in self._said:
            before, sign, code = _last_word(code)
            before += sign
        said = self._said.get(code)
        if said is None:
            return entry
        self._met.add(code)
        owner = said.owner or (entry.owner if before or self._tags.named(code) is None else code)
        return replace(
            entry,
            column=f"{before} {said.text}".strip(),
            owner=owner,
            given=entry.given or said.owner is not None,
            unit=entry.unit or said.unit,
            unit_from=entry.unit_from if entry.unit else "legend",
            spelled=entry.column,
            told_unit=said.unit if entry.unit else entry.told_unit,
            told_from="legend" if entry.unit and said.unit else entry.told_from,
        )

    def contradiction(self, entry: Entry) -> str:
        """Return which two things lists of names say of a point; empty where they do not differ."""
        code = entry.spelled or entry.column
        if code not in self._said and entry.owner:
            code = code.removeprefix(f"{entry.owner} ")
        if code not in self._said:
            code = _last_word(code)[2]
        said = self._said.get(code)
        if said is None:
            return ""
        head = _Said(entry.column, entry.unit, entry.owner if entry.given else None) if entry.spelled else None
        other = head if head is not None and self._differ(said, head) else self._others.get(code)
        if other is None:
            return ""
        self._differing.add(code)
        return f"lists of names say {_worded(said)!r} and {_worded(other)!r}"

    def _differ(self, said: _Said, other: _Said) -> bool:
        """Tell whether two things said of a code cannot both be so: another owner, another quantity, another unit."""
        if said == other:
            return False
        return any(a and b and a != b for a, b in zip(self._meant(said), self._meant(other), strict=True))

    def _meant(self, said: _Said) -> tuple[str, str, Unit | str]:
        owner = self._tags.find(take_unit(said.text)[0], said.owner, given=said.owner is not None)
        reading = read_quantity(owner.words, air_handler=owner.air_handler)
        spelled = take_unit(said.text)[1] or said.unit or ""
        unit = next(filter(None, (unit_of(bare(spelled), kind) for kind in unit_dimensions(bare(spelled)))), "")
        return owner.tag or "", reading.quantity if reading else "", unit

    def _read(self, rows: list[list[str]]) -> dict[str, _Said]:
        """Read rows with a column of codes, each standing once, and one or more that say what they are."""
        rows = [row for row in rows if any(cell.strip() for cell in row)]
        header, body = rows[0], rows[1:]
        if any(self._tags.named(cell) for cell in header):
            header, body = [""] * len(header), rows  # it begins with its first point
        width = len(header)
        columns = [[row[n].strip() if n < len(row) else "" for row in body] for n in range(width)]
        unit = next((n for n in range(width) if _are_units(columns[n], header[n])), None)
        equipment = next((n for n in range(width) if n != unit and _heads_equipment(columns[n], header[n])), None)
        if equipment is None:
            what = next((n for n in range(width) if n != unit and self._describes(columns[n], quantities=True)), None)
            beside = _equipment_beside(columns, what, [n for n in range(width) if n != unit])
            headed = [n for n in beside if any(token.low in TAG_WORDS for token in tokens_of(header[n]))]
            equipment = next((found[0] for found in (headed, beside) if len(found) == 1), None)
        told = [n for n in range(width) if n != unit and (n == equipment or self._describes(columns[n]))]
        codes = [n for n in range(width) if n not in (unit, *told) and _stand_once(columns[n])]
        if not codes and len(told) > 1 and _stand_once(columns[told[0]]):
            codes, told = told[:1], told[1:]  # codes with words in them
        if not codes and told and unit is not None and _stand_once(columns[told[0]]):
            codes = told  # names that say what they are, and their units
        if not codes or not any(self._describes(columns[n], quantities=True) for n in told):
            return {}
        found = {}
        for row in range(len(body)):
            text = " ".join(filter(None, (columns[n][row] for n in told)))
            if (code := columns[codes[0]][row]) and text and len(text) <= LONGEST_NAME:
                given = columns[unit][row] if unit is not None else None
                owner = columns[equipment][row] if equipment is not None else None
                found[code] = _Said(text, None if no_unit(given) else given, owner or None)
        return found

    def _describes(self, cells: list[str], *, quantities: bool = False) -> bool:
        """Tell a column whose cells name quantities or, where that will do, tags."""
        texts = {text for text in cells if text and len(text) <= LONGEST_NAME}
        named = sum(self._names_quantity(text) or (not quantities and self._names_tag(text)) for text in texts)
        return bool(texts) and named >= NAMES * len(texts)

    def _names_quantity(self, text: str) -> bool:
        owner = self._tags.find(text)
        return read_quantity(owner.words, air_handler=owner.air_handler) is not None

    def _names_tag(self, text: str) -> bool:
        owner = self._tags.named(text)
        return owner is not None and not owner.words


def _of_column(line: str, names: frozenset[str]) -> list[str]:
    """Part a line that begins with a column's name, ``ch01 = TERM-1, zone temperature, degC``; none for any other."""
    plain = line.strip().lstrip("#;*/% ")
    if len(plain) > LONGEST_NAME:
        return []
    ends = [match for match in _BEHIND_NAME.finditer(plain) if plain[: match.start()] in names]
    return [plain[: ends[-1].start()], *_PARTED.split(plain[ends[-1].end() :])] if ends else []


def _last_word(name: str) -> tuple[str, str, str]:
    """Part the word that says what is measured from what stands before it: ``B1F3V12-RMT``, ``VAV-2/DMP``."""
    match = _BEFORE_LAST.match(name)
    return (match[1], match[2], match[3]) if match else ("", "", name)


def _worded(said: _Said) -> str:
    return said.text if not said.owner or said.owner in said.text else f"{said.owner} {said.text}"


def names_a_legend(stem: str) -> bool:
    """Tell a file's name that says that it lists names."""
    return any(token.low in LEGEND_WORDS for token in tokens_of(stem))


def _stand_once(cells: list[str]) -> bool:
    filled = [cell for cell in cells if cell]
    return len(filled) > 1 and len(set(filled)) == len(filled)


def _equipment_beside(cells: list[list[str]], what: int | None, among: Iterable[int]) -> list[int]:
    """Return the columns without which two lines would say the same of what is measured."""
    if what is None or _stand_once(cells[what]):
        return []
    found = []
    for n in among:
        pairs = list(zip(cells[n], cells[what], strict=True))
        if n != what and all(cells[n]) and len(set(pairs)) == len(pairs) and not _stand_once(cells[n]):
            found.append(n)
    return found


def _heads_equipment(cells: list[str], header: str) -> bool:
    """Tell a column of equipment by its heading; each has several points, and codes stand once."""
    return fold(header) in TAG_WORDS and any(cells) and not _stand_once(cells)


def _are_units(cells: list[str], header: str) -> bool:
    filled = [cell for cell in cells if not no_unit(cell)]
    if fold(header) in UNIT_WORDS:
        return True
    units = [cell for cell in filled if is_measure(cell) and not cell.isdigit()]  # "1" numbers something
    return bool(filled) and len(units) >= UNITS * len(filled)


def _rows(source: Source) -> list[list[str]]:
    """Return the rows of a small file of text, or of a workbook's first sheet; none where it is no such file."""
    if source.suffix in WORKBOOK:
        from analyzer.intake.tables.workbooks import first_rows

        try:
            return first_rows(source) if source.path.stat().st_size <= LARGEST_LEGEND else []
        except (ExportError, OSError):
            return []
    lines = lines_of(source)
    head = next((line for line in lines if line.strip()), "")
    rows = list(csv.reader(lines, delimiter=max(",;\t|", key=head.count)))
    rows = [row for row in rows if any(cell.strip() for cell in row)]
    return rows if rows and len(rows[0]) > 1 else [row for row in map(_pair, lines) if row]


def lines_of(source: Source) -> list[str]:
    """Return the lines of a small file of text; none where it is no such file."""
    try:
        if source.suffix not in TEXT or source.path.stat().st_size > LARGEST_LEGEND:
            return []
        return to_utf8(source.read(), source.label)[0].decode("utf-8", "replace").splitlines()
    except (ExportError, OSError):
        return []


def _pair(line: str) -> list[str]:
    """Split a line such as ``P0001 = VAV-1 Zone Temp``."""
    match = re.match(r"^\s*(\S+)\s*(?:=|:|->|\s-\s)\s*(\S.*)$", line)
    return [match[1], match[2]] if match else []
