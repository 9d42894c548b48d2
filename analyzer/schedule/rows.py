"""The rows of a table as values of terminals, each cell used or set aside for a named reason."""

from __future__ import annotations

import re
from dataclasses import replace

from analyzer.schedule import kinds, outlets
from analyzer.schedule.cells import Place
from analyzer.schedule.columns import (
    Column,
    Part,
    units_for,
    with_coils_figures,
    with_coils_water,
    with_found_as_final,
    with_kinds_by_fan,
    with_plain_flows,
    with_types,
    with_words_of_control,
)  # fmt: skip
from analyzer.schedule.derived import copied_facts, same_as, with_shares
from analyzer.schedule.facts import RETESTED, Aside, Fact, Reading
from analyzer.schedule.figures import (
    capacity_in,
    is_ditto,
    is_missing,
    no_multiplier,
    read_figure,
    read_size,
    split_figures,
)
from analyzer.schedule.layout import Table
from analyzer.schedule.marks import STRUCK, Marks
from analyzer.schedule.meaning import DESIGN, DIMENSIONS, FINAL, FOUND, SKIPPED, meaning_of, stage_of
from analyzer.schedule.notes import legend
from analyzer.schedule.remarks import of_remarks
from analyzer.schedule.revisions import SUPERSEDED, Revisions, with_earlier_readings, with_old_and_new
from analyzer.schedule.row_labels import column_of_modes, column_of_stages
from analyzer.schedule.row_tags import Row, RowTags
from analyzer.schedule.row_words import RowWords, without_false_none
from analyzer.schedule.tags import typical_in
from analyzer.schedule.types import key_of
from analyzer.schedule.units import Units, with_units_of_coils
from analyzer.schedule.words import Heading, joined, read_heading

_REPORT = re.compile(
    r"\bBALANC|\bT\.?A\.?B\.?\b.*REPORT|\bTEST(?:ING)? (?:AND|&) |\bTEST REPORT|\bAIR BALANCE", re.IGNORECASE
)
# Rows under such a line are readings that replace earlier ones.
_AGAIN = re.compile(r"\bRE-?TEST(?:S|ED|ING)?\b|\bRE-?BALANCE", re.IGNORECASE)
_TO_COME = re.compile(r"\bREQ|\bNEEDED\b|\bPENDING\b|\bTO BE\b|\bLATER\b", re.IGNORECASE)
# A column for which there is a better one in its table is not clear.
NOT_CLEAR = "not clear which flow it is: its table has another column for it"
_COUNTS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}
FOUND_BEFORE = "as found, before balancing"
UNKNOWN = "a column that was not recognized"
NOT_NEEDED = SKIPPED
_TEXTS = ("zone", "floor", "air_handler", "open_zone", "remarks", "tested_on", "instrument", "outlet")
_WORDS = {
    "reheat": (kinds.reheat_in, "no reheat type was recognized in it"),
    "fan_control": (kinds.control_in, "neither constant nor variable"),
    "distribution": (kinds.distribution_in, "neither overhead nor underfloor"),
    "kind": (kinds.kind_by_fan, "neither a constant nor an intermittent fan"),
}


class TableReader:
    """Reads one table.

    Attributes
    ----------
    reading : Reading
    marks : Marks
        What became of its cells.
    """

    def __init__(self, table: Table):
        self.table, self.grid = table, table.grid
        self.marks = Marks(table.grid)
        titled = any(_REPORT.search(text) for text in table.titles)
        table.columns = with_earlier_readings(with_plain_flows(table.columns))
        table.columns = with_found_as_final(table.columns if titled else with_old_and_new(table.columns))
        table.columns = with_types(table.grid, table.columns, table.rows, legend(table))
        table.columns = with_kinds_by_fan(table.grid, table.columns, table.rows)
        table.columns = with_coils_figures(table.grid, table.columns, table.rows)
        table.columns = with_words_of_control(table.grid, table.columns, table.rows)
        table.columns = with_units_of_coils(table.columns, [*table.titles, *table.notes])
        self.units = Units(table)
        table.columns = with_coils_water(table.columns, self.units.stated)
        self._revisions = Revisions(table.grid, table.columns)
        self.reading = Reading()
        parts = [part for column in table.columns for part in column.parts]
        self.names = {part.name for part in parts}
        self.stages = {part.stage for part in parts if part.stage}
        self.stage_at = column_of_stages(table)
        self.stages |= {FINAL} if self.stage_at is not None else set()
        self.report = FINAL in self.stages or "flow_coefficient" in self.names or titled
        self.unstaged = FINAL if self.report and not self.stages and titled else DESIGN
        self.by_outlet = "outlet" in self.names
        self.outlets_beneath = outlets.are_under_terminals(table)
        self.labels = self._column_of_labels()
        several_rows = self.by_outlet or self.labels is not None or self.stage_at is not None
        self._tags = RowTags(table, self.reading, self.marks, several_rows=several_rows, labels=self.labels)
        self._words = RowWords(table, self.units, self.names, report=self.report)
        self._alike: list[tuple[str, str]] = []  # terminals whose row says SAME AS another's
        self._above: dict[int, tuple[str, Place]] = {}

    def read(self) -> Reading:
        """Read all rows."""
        if kinds.is_other_equipment(self.table.titles) and not self.table.of_boxes:
            for row in self.table.rows:
                self.marks.all_aside(row, self.table.left, self.table.right, "a table of other equipment")
            return self.reading
        for column in self.table.columns:
            self._tell_column(column)
        sections = dict(self.table.sections)
        self._words.carry(self.table.carried)
        carried: list[str] = []
        again = False
        for row in sorted([*self.table.rows, *sections, *(self.table.totals if self.outlets_beneath else [])]):
            if row in sections:
                self._words.enter(sections[row])
                again = bool(_AGAIN.search(sections[row]))
                continue
            tags = self._of(row, carried)
            if tags is not None:
                carried = tags.tags
                again_here = RETESTED if again or self._is_retest(row) else ""
                tags.note = "; ".join(part for part in (tags.note, again_here) if part)
                self._read_row(row, tags)
        self.reading.facts = without_false_none(self.reading.facts)
        self.reading.facts += copied_facts(self.reading.facts, self._alike)
        if self.by_outlet or self.outlets_beneath:
            self.reading.facts = outlets.with_outlets_summed(self.reading.facts)
        return self.reading

    def _is_retest(self, row: int) -> bool:
        texts = [self.grid.text(row, column.at) for column in self.table.columns if column.name == "remarks"]
        return any(_AGAIN.match(text.strip()) and not _TO_COME.search(text) for text in texts)

    def _of(self, row: int, carried: list[str]) -> Row | None:
        """Return whose a row is; where outlets stand under terminals, an outlet's and a total's too."""
        text = self.grid.text(row, self.table.tag_at)
        if self.outlets_beneath and carried:
            of_total = outlets.totalled(text)
            if of_total is not None or outlets.is_outlet(text):
                tags = [of_total] if of_total in self.reading.tags else carried
                self.marks.use(row, self.table.tag_at)
                return Row(list(tags), "", outlet=of_total is None)
        found = self._tags.of(row, carried)
        return replace(found, outlet=self.by_outlet) if found is not None else None

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

    def _read_row(self, row: int, under_way: Row) -> None:
        tag = under_way.tags[0]
        stage = "" if self.stage_at is None else self.grid.text(row, self.stage_at)
        under_way.stage, under_way.percent = stage_of(read_heading(stage)), "PERCENT" in read_heading(stage).concepts
        label = Heading() if self.labels is None else read_heading(self.grid.text(row, self.labels))
        for column in self.table.columns:
            if column.at in (self.labels, self.stage_at):
                self.marks.use(row, column.at)
                continue
            if self.labels is not None:
                column = self._labelled(column, label)
            text, at, copied = self._cell(row, column.at)
            if not text:
                continue
            if other := same_as(text):
                self.marks.use(row, column.at)
                self._alike += [(tag, other) for tag in under_way.tags]
                continue
            if self._revisions.supersede(row, column.at):
                self.marks.aside(row, column.at, SUPERSEDED, tag, column.heading)
                continue
            if self.marks.is_struck(row, column.at):
                self.marks.aside(row, column.at, STRUCK, tag, column.heading)
                continue
            count = len(column.parts)
            texts = split_figures(text, count)
            if texts is None:
                why = f"{'one figure' if count == 2 else 'other figures'} where its heading names {_COUNTS[count]}"
                self.marks.aside(row, column.at, why, tag, column.heading)
                continue
            for part, piece in zip(column.parts, texts, strict=True):
                self._read_cell(row, column, part, piece, under_way, copied)
        source = self.marks.source(row, self.table.tag_at)
        under_way.facts = with_shares(under_way.facts)
        under_way.facts += of_remarks(under_way.facts) if self.report else []
        typed = [fact for fact in under_way.facts if fact.column == "type"]
        self.reading.of_type += [(of, str(fact.value), fact.source) for fact in typed for of in under_way.tags]
        under_way.facts = self._words.added(row, tag, under_way.facts, source)
        self._emit(under_way)

    def _column_of_labels(self) -> int | None:
        """Return the column whose cells say what the row's figures are, as "Cooling CFM"; None where there is none."""
        if not self.stages:
            return column_of_modes(self.table)
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
        if not any(part.stage or not self.stages and part.dimension == "flow" for part in column.parts):
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

    def _read_cell(self, row: int, column: Column, part: Part, text: str, under_way: Row, copied: bool) -> None:
        tag, heading, at = under_way.tags[0], column.heading, column.at
        name = part.name
        if self._is_of_series_fan(part, heading):
            name, part = "fan_flow", Part("fan_flow", part.stage, part.units or self.units.of(Part("fan_flow"))[0])
        if name in ("", "skip"):
            self.marks.aside(row, at, NOT_NEEDED if name else UNKNOWN, tag, heading)
            return
        if name == "quantity":
            if "ROOM" not in read_heading(heading).concepts or typical_in(text):
                self.marks.use(row, at)
                return
            name, part = "zone", Part("zone")
        if under_way.percent and part.dimension != "text":
            self.marks.aside(row, at, NOT_NEEDED, tag, heading)
            return
        stage = part.stage or under_way.stage
        if part.weak and part.dimension == "flow" and name in self._strong() and not self._same_as_strong(row, part):
            self.marks.aside(row, at, NOT_CLEAR, tag, heading)
            return
        if name == "coil_flow":  # through the coil of a fan-powered terminal goes the fan's air as well
            if "fan_flow" in self.names:
                self.marks.aside(row, at, NOT_CLEAR, tag, heading)
                return
            name = "heating_primary"
        if stage == FOUND:
            self.marks.aside(row, at, FOUND_BEFORE, tag, heading)
            return
        if is_missing(text):
            self.marks.use(row, at)
            if name == "reheat":
                under_way.facts.append(Fact(tag, name, "none", text, self.marks.source(row, at), DESIGN, self.report))
            return
        stage = stage or self.unstaged
        if name == "static":
            if not self.report:
                self.marks.aside(row, at, NOT_NEEDED, tag, heading)
                return
            if part.stage == DESIGN or under_way.stage == DESIGN:
                self.marks.aside(row, at, NOT_NEEDED, tag, heading)
                return
            stage = FINAL
        if name == "flow_coefficient":
            stage = FINAL
        if under_way.outlet and name == "primary_max":
            name = "outlets_flow"
        value, problem, note = self._value(name, part, text)
        if problem:
            self.marks.aside(row, at, problem, tag, heading)
            return
        self.marks.use(row, at)
        if name == "reheat_capacity" and (said := kinds.reheat_in(text)) not in ("", "none"):
            source = self.marks.source(row, at)
            under_way.facts.append(Fact(tag, "reheat", said, text, source, DESIGN, self.report))
        if name == "reheat" and (figure := capacity_in(text)) is not None:
            source = self.marks.source(row, at)
            under_way.facts.append(Fact(tag, "reheat_capacity", figure.value, text, source, DESIGN, self.report))
        notes = [note, "as above" if copied else "", under_way.note]
        under_way.facts.append(
            Fact(
                tag, name, value, text, self.marks.source(row, at), stage, self.report, "; ".join(n for n in notes if n)
            )
        )

    def _is_of_series_fan(self, part: Part, heading: str) -> bool:
        """Tell whether a flow is the total of a series terminal: all of it goes through its fan."""
        if part.name not in ("", "primary_max") or "fan_flow" in self.names or self._words.kind_over_rows != "series":
            return False
        told = read_heading(heading.replace(" / ", "\n"))
        return "TOTAL_AIR" in told.concepts and not told.unknown and not {"MIN", "HEATING"} & set(told.concepts)

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
        if name in _WORDS:
            look, problem = _WORDS[name]
            said = look(text)
            return said, "" if said else problem, ""
        units, _ = self.units.of(part)
        if name == "inlet_diameter":
            figure = read_size(text, units)
        elif name == "heater_volts":
            figure = read_figure(re.split(r"[/\-]", text)[0].upper().replace("V", " "), "number", ())
        elif name == "heater_stages":
            figure = read_figure(re.sub(r"(?i)\bst(?:a)?ges?\b|\bsteps?\b|\bstg\b", " ", text), "number", ())
        else:
            figure = read_figure(text, part.dimension if name != "outlets_flow" else "flow", units)
            if name == "flow_coefficient":
                figure = no_multiplier(figure)
        return figure.value, figure.problem, figure.note

    def _emit(self, under_way: Row) -> None:
        seen: dict[tuple[str, str], Fact] = {}
        unclear: set[tuple[str, str]] = set()
        for fact in under_way.facts:
            key = fact.column, fact.stage
            first = seen.get(key)
            if first is None:
                seen[key] = fact
            elif fact.column in ("zone", "remarks") and isinstance(first.value, str) and fact.value != first.value:
                seen[key] = Fact(first.tag, first.column, f"{first.value} {fact.value}", first.text, first.source,
                                 first.stage, first.report, first.note)  # fmt: skip
            elif not _same(first.value, fact.value):
                unclear |= {key} if isinstance(fact.value, float) and not (first.concluded or fact.concluded) else set()
                self.reading.asides += [
                    Aside(one.source, one.text, f"another cell of its row gives {other.text} as well", one.tag)
                    for one, other in ((fact, first), (first, fact)) if one is fact or key in unclear
                ]  # fmt: skip
        seen = {key: fact for key, fact in seen.items() if key not in unclear}
        for tag in under_way.tags:
            facts = [Fact(tag, *list(vars(fact).values())[1:]) for fact in seen.values()]
            if under_way.by_type:
                self.reading.types[key_of(tag)].facts += facts
            else:
                self.reading.facts += facts


def _same(one: float | str, other: float | str) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return abs(one - other) <= 1e-6 + 0.005 * max(abs(one), abs(other))
