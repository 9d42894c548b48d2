"""The rows of a table as values of terminals, each cell used or set aside for a named reason."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from analyzer.schedule import kinds
from analyzer.schedule.cells import Place
from analyzer.schedule.columns import (
    Column, Part, units_for, with_coils_figures, with_coils_water, with_words_of_control,
)  # fmt: skip
from analyzer.schedule.facts import Aside, Fact, Kind, Reading, Source
from analyzer.schedule.figures import is_ditto, is_missing, number_of, read_figure, read_size, split_pair
from analyzer.schedule.layout import Table
from analyzer.schedule.meaning import DESIGN, DIMENSIONS, FINAL, FOUND, SKIPPED, meaning_of
from analyzer.schedule.row_words import RowWords
from analyzer.schedule.tags import Tags, looks_like_tag, numbered_from, read_tags
from analyzer.schedule.types import is_key, key_of
from analyzer.schedule.units import Units
from analyzer.schedule.words import Heading, joined, read_heading

_REPORT = re.compile(
    r"\bBALANC|\bT\.?A\.?B\.?\b.*REPORT|\bTEST(?:ING)? (?:AND|&) |\bTEST REPORT|\bAIR BALANCE", re.IGNORECASE
)
# A column for which there is a better one in its table is not clear.
NOT_CLEAR = "not clear which flow it is: its table has another column for it"
_OF_TYPES = re.compile(r"\bTYPES\b|\bTYPE (?:SCHEDULE|LIST|MARK)\b|\bTYPICAL\b|\bTYP\.|\bSEE PLANS?\b", re.IGNORECASE)
NO_TAG = "its row names no terminal"
FOUND_BEFORE = "as found, before balancing"
UNKNOWN = "a column that was not recognized"
NOT_NEEDED = SKIPPED
STRUCK = "struck through"
_TEXTS = ("zone", "floor", "air_handler", "open_zone", "remarks", "tested_on", "instrument", "outlet")


@dataclass
class _Row:
    """A row under way: its terminals, and what its cells said."""

    tags: list[str]
    note: str
    facts: list[Fact] = field(default_factory=list)
    by_type: bool = False  # its tag is the key of a type, and no terminal's


class TableReader:
    """Reads one table.

    Attributes
    ----------
    reading : Reading
    used : set of Place
        Cells that gave a value or a tag, as in the file.
    asides : dict of Place to Aside
    """

    def __init__(self, table: Table, known: set[str]):
        self.table, self.grid = table, table.grid
        self.known = known
        table.columns = with_coils_figures(table.grid, table.columns, table.rows)
        table.columns = with_words_of_control(table.grid, table.columns, table.rows)
        self.units = Units(table)
        table.columns = with_coils_water(table.columns, self.units.stated)
        self.reading = Reading()
        self.used: set[Place] = set()
        self.asides: dict[Place, Aside] = {}
        parts = [part for column in table.columns for part in column.parts]
        self.names = {part.name for part in parts}
        self.stages = {part.stage for part in parts if part.stage}
        titled = any(_REPORT.search(text) for text in table.titles)
        self.report = FINAL in self.stages or "flow_coefficient" in self.names or titled
        self.unstaged = FINAL if self.report and not self.stages and titled else DESIGN
        self.by_outlet = "outlet" in self.names
        self.labels = self._column_of_labels()
        self._words = RowWords(table, self.units, self.names, report=self.report)
        self._above: dict[int, tuple[str, Place]] = {}

    def read(self) -> Reading:
        """Read all rows."""
        if kinds.is_other_equipment(self.table.titles):
            for row in self.table.rows:
                self._all_aside(row, "a table of other equipment")
            return self.reading
        for column in self.table.columns:
            self._tell_column(column)
        sections = dict(self.table.sections)
        carried: list[str] = []
        for row in sorted([*self.table.rows, *sections]):
            if row in sections:
                self._words.enter(sections[row])
                continue
            tags = self._tags(row, carried)
            if tags is not None:
                carried = tags.tags
                self._read_row(row, tags)
        self._sum_outlets()
        return self.reading

    def _source(self, row: int, column: int) -> Source:
        at = self.grid.origin(row, column)
        return Source(self.grid.file, self.grid.sheet, self.grid.place(*at))

    def _tell_column(self, column: Column) -> None:
        top = self.table.header[-1] if self.table.header else 0
        place = f"{self.grid.file}{', ' if self.grid.sheet else ''}{self.grid.sheet}"
        for part in column.parts:
            units, assumed = self.units.of(part)
            name = part.name if part.name not in ("", "skip") else ""
            if part.weak and part.name in self._strong():
                name = ""
            stage = f" ({part.stage})" if part.stage else ""
            self.reading.columns.append((f"{place}, {self.grid.place(top, column.at)}", column.heading,
                                         f"{name}{stage}" if name else "", units[0] if units else ""))  # fmt: skip
            if assumed and name:
                self.reading.assumptions.append(f"{place}: {column.heading or part.name} was {assumed}")

    def _strong(self) -> set[str]:
        """Return the flows for which a column says so in so many words."""
        return {part.name for column in self.table.columns for part in column.parts
                if part.dimension == "flow" and not part.weak}  # fmt: skip

    def _tags(self, row: int, carried: list[str]) -> _Row | None:
        at = self.table.tag_at
        if self.table.by_type:
            return self._type(row)
        text = self.grid.text(row, at)
        if (not text or is_ditto(text)) and (self.by_outlet or self.labels is not None) and carried:
            self._use(row, at)
            return _Row(carried, "")
        if self._is_struck(row, at):
            self._all_aside(row, STRUCK)
            return None
        if not text or not looks_like_tag(text) or (kinds.is_other_tag(text)):
            self._all_aside(row, NO_TAG if not text or not looks_like_tag(text) else "a row of other equipment")
            return None
        found = read_tags(text, self._quantity(row))
        if self._stands_for_several(found):
            return self._as_type(row, found.tags[0])
        tags, note = list(found.tags), ""
        if found.typical > 1:
            tags, note = self._typical(found)
        if len(tags) > 1:
            note = f"one row for {len(tags)} terminals"
        if found.problem:
            self._aside(row, at, found.problem, tags[0] if tags else "")
        else:
            self._use(row, at)
        if not tags:
            self._all_aside(row, NO_TAG)
            return None
        for tag in tags:
            self.reading.tags.setdefault(tag, self._source(row, at))
        return _Row(tags, note)

    def _type(self, row: int) -> _Row | None:
        """Take up a row that gives a type and no terminal."""
        text = self.grid.text(row, self.table.tag_at)
        if self._is_struck(row, self.table.tag_at) or not is_key(text):
            self._all_aside(row, NO_TAG)
            return None
        return self._as_type(row, " ".join(text.split()))

    def _as_type(self, row: int, key: str) -> _Row:
        self._use(row, self.table.tag_at)
        self.reading.types.setdefault(key_of(key), Kind(key, self._source(row, self.table.tag_at)))
        return _Row([key], "", by_type=True)

    def _stands_for_several(self, found: Tags) -> bool:
        """Tell whether a tag without a number is that of a type: its table or its row says that there are several."""
        if len(found.tags) != 1 or re.search(r"\d", found.tags[0]):
            return False
        return found.typical > 1 or any(_OF_TYPES.search(text) for text in (*self.table.titles, *self.table.notes))

    def _quantity(self, row: int) -> int | None:
        for column in self.table.columns:
            if (
                column.name == "quantity"
                and column.at != self.labels
                and (number := number_of(self.grid.text(row, column.at)))
            ):
                self._use(row, column.at)
                return max(1, int(number))
        return None

    def _typical(self, found: Tags) -> tuple[list[str], str]:
        """Take TYPICAL OF 6 for the six numbers from its tag on, unless some of them stand in rows of their own."""
        tag = found.tags[0]
        run = numbered_from(tag, found.typical)
        others = {self.grid.text(r, self.table.tag_at).upper() for r in self.table.rows}
        if run and not any(other.upper() in others for other in run[1:]):
            self.reading.assumptions.append(
                f"{self.grid.file}: {tag}, typical of {found.typical}, was taken for {run[0]} to {run[-1]}"
            )
            return run, ""
        self.reading.assumptions.append(
            f"{self.grid.file}: {tag} is said to be typical of {found.typical}; which the others are is not said, "
            "and its values were taken for itself alone"
        )
        return [tag], ""

    def _is_struck(self, row: int, column: int) -> bool:
        return self.grid.origin(row, column) in self.grid.struck

    def _use(self, row: int, column: int) -> None:
        self.used.add(self.grid.plain(*self.grid.origin(row, column)))

    def _aside(self, row: int, column: int, why: str, tag: str = "", heading: str = "") -> None:
        at = self.grid.origin(row, column)
        text = self.grid.text(*at)
        if text:
            self.asides.setdefault(self.grid.plain(*at), Aside(self._source(row, column), text, why, tag, heading))

    def _all_aside(self, row: int, why: str) -> None:
        for cell in self.grid.filled(row, self.table.left, self.table.right):
            self._aside(*cell, why)

    def _read_row(self, row: int, under_way: _Row) -> None:
        tag = under_way.tags[0]
        label = Heading() if self.labels is None else read_heading(self.grid.text(row, self.labels))
        for column in self.table.columns:
            if column.at == self.labels:
                self._use(row, column.at)
                continue
            if self.labels is not None:
                column = self._labelled(column, label)
            text, at, copied = self._cell(row, column.at)
            if not text:
                continue
            if self._is_struck(row, column.at):
                self._aside(row, column.at, STRUCK, tag, column.heading)
                continue
            if len(column.parts) == 2:
                pair = split_pair(text)
                if pair is None and not is_missing(text):
                    self._aside(row, column.at, "one figure where its heading names two", tag, column.heading)
                    continue
                texts = list(pair or (text, text))
            else:
                texts = [text]
            for part, piece in zip(column.parts, texts, strict=True):
                self._read_cell(row, column, part, piece, under_way, copied)
        source = self._source(row, self.table.tag_at)
        typed = [fact for fact in under_way.facts if fact.column == "type"]
        self.reading.of_type += [(of, str(fact.value), fact.source) for fact in typed for of in under_way.tags]
        under_way.facts = self._words.added(row, tag, under_way.facts, source)
        self._emit(under_way)

    def _column_of_labels(self) -> int | None:
        """Return the column whose cells say what the row's figures are, as "Cooling CFM"; None where there is none."""
        if not self.stages:
            return None
        for column in self.table.columns:
            if column.name not in ("", "type", "zone", "quantity"):
                continue
            texts = [text for row in self.table.rows if (text := self.grid.text(row, column.at))]
            named = [text for text in texts if DIMENSIONS.get(meaning_of(read_heading(text)).name, "text") != "text"]
            if len(named) > 1 and len(named) * 10 >= len(texts) * 7 and len(set(named)) > 1:
                return column.at
        return None

    def _labelled(self, column: Column, label: Heading) -> Column:
        """Return a column as what a row's label makes of it."""
        whole = joined([label, read_heading(column.heading.replace(" / ", "\n"))])
        meaning = meaning_of(whole)
        if not any(part.stage for part in column.parts):
            return column
        part = Part(meaning.name, column.parts[0].stage, units_for(meaning.name, whole.units))
        return replace(column, parts=(part,))

    def _cell(self, row: int, at: int) -> tuple[str, Place, bool]:
        """Return a cell's text; that of the last one above where it holds a ditto mark."""
        text = self.grid.text(row, at)
        if text and is_ditto(text) and at in self._above:
            return (*self._above[at], True)
        if text:
            self._above[at] = (text, (row, at))
        return text, (row, at), False

    def _read_cell(self, row: int, column: Column, part: Part, text: str, under_way: _Row, copied: bool) -> None:
        tag, heading, at = under_way.tags[0], column.heading, column.at
        name = part.name
        if name in ("", "skip"):
            self._aside(row, at, NOT_NEEDED if name else UNKNOWN, tag, heading)
            return
        if name == "quantity":
            self._use(row, at)
            return
        if part.weak and part.dimension == "flow" and name in self._strong() and not self._same_as_strong(row, part):
            self._aside(row, at, NOT_CLEAR, tag, heading)
            return
        if name == "coil_flow":  # through the coil of a fan-powered terminal goes the fan's air as well
            if "fan_flow" in self.names:
                self._aside(row, at, NOT_CLEAR, tag, heading)
                return
            name = "heating_primary"
        if part.stage == FOUND:
            self._aside(row, at, FOUND_BEFORE, tag, heading)
            return
        if is_missing(text):
            self._use(row, at)
            if name == "reheat":
                under_way.facts.append(Fact(tag, name, "none", text, self._source(row, at), DESIGN, self.report))
            return
        stage = part.stage or self.unstaged
        if name == "static":
            if not self.report:
                self._aside(row, at, NOT_NEEDED, tag, heading)
                return
            if part.stage == DESIGN:
                self._aside(row, at, NOT_NEEDED, tag, heading)
                return
            stage = FINAL
        if name == "flow_coefficient":
            stage = FINAL
        if self.by_outlet and name == "primary_max":
            name = "outlets_flow"
        value, problem, note = self._value(name, part, text)
        if problem:
            self._aside(row, at, problem, tag, heading)
            return
        self._use(row, at)
        notes = [note, "as above" if copied else "", under_way.note]
        under_way.facts.append(
            Fact(tag, name, value, text, self._source(row, at), stage, self.report, "; ".join(n for n in notes if n))
        )

    def _same_as_strong(self, row: int, part: Part) -> bool:
        """Tell whether a figure that is not clear is the same as that of the column that is."""
        mine = None
        values = []
        for column in self.table.columns:
            for other in column.parts:
                if other.name != part.name or len(column.parts) > 1:
                    continue
                figure = read_figure(self.grid.text(row, column.at), "flow", self.units.of(other)[0])
                if other == part:
                    mine = figure.value
                elif not other.weak and other.stage == part.stage:
                    values.append(figure.value)
        return mine is not None and any(abs(mine - value) < 0.5 for value in values)

    def _value(self, name: str, part: Part, text: str) -> tuple[float | str, str, str]:
        """Return a cell's value in SI or as a word, why it has none, and what was made of it."""
        if name in _TEXTS:
            return " ".join(text.split()), "", ""
        if name == "type":
            return " ".join(text.split()), "", ""
        if name == "reheat":
            said = kinds.reheat_in(text)
            return said, "" if said else "no sort of reheat was recognized in it", ""
        if name == "fan_control":
            said = kinds.control_in(text)
            return said, "" if said else "neither constant nor variable", ""
        if name == "distribution":
            said = kinds.distribution_in(text)
            return said, "" if said else "neither overhead nor underfloor", ""
        units, _ = self.units.of(part)
        if name == "inlet_diameter":
            figure = read_size(text, units)
        elif name == "heater_volts":
            figure = read_figure(re.split(r"[/\-]", text)[0].upper().replace("V", " "), "number", ())
        elif name == "heater_stages":
            figure = read_figure(re.sub(r"(?i)\bst(?:a)?ges?\b|\bsteps?\b|\bstg\b", " ", text), "number", ())
        else:
            figure = read_figure(text, part.dimension if name != "outlets_flow" else "flow", units)
        return figure.value, figure.problem, figure.note

    def _emit(self, under_way: _Row) -> None:
        seen: dict[tuple[str, str], Fact] = {}
        for fact in under_way.facts:
            key = fact.column, fact.stage
            first = seen.get(key)
            if first is None:
                seen[key] = fact
            elif fact.column in ("zone", "remarks") and isinstance(first.value, str) and fact.value != first.value:
                seen[key] = Fact(first.tag, first.column, f"{first.value} {fact.value}", first.text, first.source,
                                 first.stage, first.report, first.note)  # fmt: skip
            elif not _same(first.value, fact.value):
                self.reading.asides.append(
                    Aside(fact.source, fact.text, f"another cell of its row gives {first.text} as well", fact.tag)
                )
        for tag in under_way.tags:
            facts = [Fact(tag, *list(vars(fact).values())[1:]) for fact in seen.values()]
            if under_way.by_type:
                self.reading.types[key_of(tag)].facts += facts
            else:
                self.reading.facts += facts

    def _sum_outlets(self) -> None:
        """Add the outlets of each terminal up, where each has a row."""
        if not self.by_outlet:
            return
        kept: list[Fact] = []
        sums: dict[tuple[str, str], Fact] = {}
        for fact in self.reading.facts:
            if fact.column == "outlets_flow":
                first = sums.get((fact.tag, fact.stage))
                if first is not None:
                    text, value = f"{first.text} + {fact.text}", float(first.value) + float(fact.value)
                    fact = replace(first, value=value, text=text, note="sum of its outlets")
                sums[fact.tag, fact.stage] = fact
            elif fact.column != "outlet":
                kept.append(fact)
        self.reading.facts = [*kept, *sums.values()]

    def settle(self) -> Iterator[Aside]:
        """Return what was set aside of cells that gave no value at all."""
        for place, aside in self.asides.items():
            if place not in self.used:
                yield aside


def _same(one: float | str, other: float | str) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return abs(one - other) <= 1e-6 + 0.005 * max(abs(one), abs(other))
