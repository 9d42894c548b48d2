"""One form a terminal, as balancers write them: names with their figures beside them, design and final."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from itertools import pairwise

from analyzer.schedule import kinds
from analyzer.schedule.cells import Grid, Place
from analyzer.schedule.facts import Aside, Fact, Reading, Source
from analyzer.schedule.figures import capacity_in, is_missing, split_pair
from analyzer.schedule.form_names import STOPS, is_name, is_terminal, names_figure, names_tag, tag_in_title
from analyzer.schedule.form_values import FormValues
from analyzer.schedule.meaning import DESIGN, FINAL, FOUND, meaning_of, says_found_alone, stage_of, stages_in
from analyzer.schedule.revisions import SUPERSEDED
from analyzer.schedule.row_words import COILS, coil_by_names
from analyzer.schedule.rows import FOUND_BEFORE, NOT_NEEDED, UNKNOWN
from analyzer.schedule.tags import read_tags
from analyzer.schedule.words import Heading, joined, read_heading

_FURTHEST = 6  # columns between a name and its value
_INLINE = re.compile(r"^([^:=\n]{2,50}?)\s*[:=]\s*(\S.*)$", re.DOTALL)
_GROUPS = frozenset(
    ["COOLING", "HEATING", "FAN", "PRIMARY", "MAX", "MIN", "COIL", "ELECTRIC", "WATER", "OUTDOOR", "DESIGN", "FINAL"]
)
_STAGES = frozenset(["DESIGN", "FINAL", "FOUND"])
_TITLE = re.compile(r"\b(?:SHEET|REPORT|FORM|SCHEDULE|RECORD|CERTIFICATE)\b", re.IGNORECASE)


@dataclass
class _Form:
    """One form: the rows and columns that it takes, and whose it is."""

    tags: tuple[str, ...]
    at: Place
    top: int
    label: int
    begin: int = 0
    end: int = 0
    left: int = 0
    right: int = 0


@dataclass
class _Pen:
    """What is known while a form is read from top to bottom."""

    left: int = 0  # where its form begins
    stages: dict[int, str] = field(default_factory=dict)  # column -> stage
    sections: list[tuple[int, int, Heading]] = field(default_factory=list)  # from a column to before another
    columns: dict[int, Heading] = field(default_factory=dict)  # column -> what it measures, where stages are rows
    outlets: bool = False
    named: tuple[int, Heading] = (-1, Heading())  # the last name of a figure, and the row that it stands in
    coil: set[str] = field(default_factory=set)  # what the names of a coil's figures and their section say of it


class FormReader:
    """Reads the forms of a grid.

    Attributes
    ----------
    reading : Reading
    used, not_data : set of Place
    asides : dict of Place to Aside
    """

    def __init__(self, grid: Grid):
        self.grid = grid
        self.reading = Reading()
        self.used: set[Place] = set()
        self.not_data: set[Place] = set()
        self.asides: dict[Place, Aside] = {}
        self.has_fan = any("FAN" in read_heading(text).concepts for row in grid.rows for text in row if text)
        self.values = FormValues(grid)

    def read(self) -> Reading:
        """Read all forms of the grid."""
        for form in self._forms():
            self._read_form(form)
        return self.reading

    def _forms(self) -> list[_Form]:
        """Find the forms by the names of terminals, each beside a word such as UNIT or BOX NO."""
        grid, found = self.grid, []
        for row in range(grid.height):
            for column in range(grid.width):
                if grid.origin(row, column) == (row, column) and (form := self._tagged(row, column)):
                    found.append(form)
        rows = {form.top for form in found}
        for form in found:
            beside = [other for other in found if abs(other.top - form.top) <= 1 and other.label > form.label]
            below = [other for other in found if other.top > form.top + 1]
            before = any(abs(other.top - form.top) <= 1 and other.label < form.label for other in found)
            form.left = form.label if before else 0
            form.right = min((other.label for other in beside), default=grid.width)
            form.end = min((other.top for other in below), default=grid.height)
            form.begin = 0 if len(rows) == 1 else form.top
        return found

    def _tagged(self, row: int, column: int) -> _Form | None:
        text = self.grid.text(row, column)
        inline = _INLINE.match(text)
        if inline and names_tag(inline[1]) and is_terminal(inline[2]):
            return _Form(read_tags(inline[2]).tags, (row, column), row, column)
        if (titled := tag_in_title(text)) and self._stands_over(row, column):
            return _Form((titled,), (row, column), row, column)
        if not names_tag(STOPS.sub("", text)):
            return None
        value = self._value_right(row, column, self.grid.width)
        if value is None or not is_terminal(self.grid.text(*value)):
            return None
        return _Form(read_tags(self.grid.text(*value)).tags, value, row, column)

    def _value_right(self, row: int, column: int, right: int) -> Place | None:
        """Return the next cell to the right that holds something."""
        own = self.grid.origin(row, column)
        for at in range(column + 1, min(column + _FURTHEST + 1, right)):
            origin = self.grid.origin(row, at)
            if origin != own and self.grid.text(row, at):
                return origin
        return None

    def _stands_over(self, row: int, column: int) -> bool:
        """Tell whether a title has nothing beside it but another form's, and a form beneath it."""
        beside = self._value_right(row, column, self.grid.width)
        alone = beside is None or bool(tag_in_title(self.grid.text(*beside)))
        return alone and row + 1 < self.grid.height and self._value_right(row + 1, column, self.grid.width) is not None

    def _source(self, cell: Place) -> Source:
        return Source(self.grid.file, self.grid.sheet, self.grid.place(*cell))

    def _read_form(self, form: _Form) -> None:
        if not form.tags:
            return
        for tag in form.tags:
            self.reading.tags.setdefault(tag, self._source(form.at))
        self.used.add(self.grid.plain(*form.at))
        pen, facts = _Pen(form.left), []
        sums: dict[str, list[Fact]] = {}
        for row in range(form.begin, form.end):
            cells = [
                cell for cell in self.grid.filled(row, form.left, form.right) if cell[0] == row or cell[1] == form.left
            ]
            if cells and not self._headings(row, cells, pen):
                facts += self._row(row, cells, form, pen, sums)
        for stage, outlets in sums.items():
            total = sum(float(fact.value) for fact in outlets)
            text = " + ".join(fact.text for fact in outlets)
            facts.append(
                Fact(form.tags[0], "outlets_flow", total, text, outlets[0].source, stage, True, "sum of its outlets")
            )
        facts += coil_by_names(facts, pen.coil)
        kept: dict[tuple[str, str], Fact] = {}
        for fact in facts:
            first = kept.setdefault((fact.column, fact.stage), fact)
            if first is not fact and first.value != fact.value and fact.column not in ("remarks", "zone"):
                self.reading.asides.append(
                    Aside(fact.source, fact.text, f"the form gives {first.text} as well", fact.tag)
                )
        for tag in form.tags:
            self.reading.facts += [Fact(tag, *list(vars(fact).values())[1:]) for fact in kept.values()]

    def _headings(self, row: int, cells: list[Place], pen: _Pen) -> bool:
        """Take up a row of headings: stages over columns, or what is measured over stages."""
        told = {cell: read_heading(self.grid.text(*cell)) for cell in cells}
        figures = any(re.match(r"\s*[-+]?\d", self.grid.text(*cell)) for cell in cells)
        stages = {cell: stage for cell in cells if (stage := stage_of(told[cell]))}
        if figures or any(_INLINE.match(self.grid.text(*cell)) for cell in cells):
            return False
        if FINAL not in stages.values() and any("PERCENT" in each.concepts for each in told.values()):
            stages |= {cell: FINAL for cell in stages if says_found_alone(self.grid.text(*cell))}
        if len(stages) >= 2 and len(set(stages.values())) >= 2:
            pen.stages, pen.columns = {}, {}
            for cell, stage in stages.items():
                width = [c for c in range(cell[1], self.grid.width) if self.grid.origin(row, c) == cell]
                pen.stages |= dict.fromkeys(width or [cell[1]], stage)
                extra = told[cell]
                pen.columns |= dict.fromkeys(width or [cell[1]], extra) if meaning_of(extra).name else {}
            heading = told[cells[0]] if cells[0] not in stages else Heading()
            over = [(cell, told[cell]) for cell in cells if cell not in stages and told[cell].concepts]
            pen.outlets = (
                "OUTLETS" in heading.concepts
                and meaning_of(heading).name == "outlet"
                or "OUTLETS" in {concept for cell in cells for concept in told[cell].concepts}
            )
            pen.sections = [(cell[1], self.grid.width, each) for cell, each in over[:1]] or pen.sections
            self.not_data |= {self.grid.plain(*cell) for cell in cells}
            return True
        known = [
            cell
            for cell in cells
            if meaning_of(told[cell]).name not in ("", "skip", "remarks") and not told[cell].unknown
        ]
        if len(known) >= 2 and self._stage_rows_below(row, cells, pen.left):
            pen.stages, pen.outlets = {}, False
            pen.columns = {cell[1]: told[cell] for cell in cells}
            self.not_data |= {self.grid.plain(*cell) for cell in cells}
            return True
        if all(not each.unknown and each.concepts for each in told.values()) and self._are_sections(cells, told):
            pen.stages, pen.columns, pen.outlets = {}, {}, False
            merged = [sum(self.grid.origin(row, c) == cell for c in range(self.grid.width)) for cell in cells]
            ends = [*(cell[1] for cell in cells[1:]), self.grid.width]
            pen.sections = [
                (cell[1], cell[1] + width if width > 1 else end, told[cell])
                for cell, width, end in zip(cells, merged, ends, strict=True)
            ]
            self.not_data |= {self.grid.plain(*cell) for cell in cells}
            return True
        return False

    def _are_sections(self, cells: list[Place], told: dict[Place, Heading]) -> bool:
        """Tell whether cells stand over what is beneath them: one alone, or several groups of figures."""
        if any(STOPS.search(self.grid.text(*cell)) or _TITLE.search(self.grid.text(*cell)) for cell in cells):
            return False
        if any(
            told[one].concepts == ("COIL",) and kinds.reheat_in(self.grid.text(*other))
            for one, other in pairwise(cells)
        ):
            return False  # "Coil", and what it is beside it
        return len(cells) == 1 or all(_GROUPS.intersection(each.concepts) for each in told.values())

    def _stage_rows_below(self, row: int, cells: list[Place], left: int) -> bool:
        if row + 1 >= self.grid.height:
            return False
        below = self.grid.filled(row + 1, left)
        first = [cell for cell in below if stage_of(read_heading(self.grid.text(*cell))) is not None][:1]
        return bool(first) and first[0][1] < min(cell[1] for cell in cells)

    def _row(self, row: int, cells: list[Place], form: _Form, pen: _Pen, sums: dict[str, list[Fact]]) -> list[Fact]:
        found: list[Fact] = []
        first = self.grid.text(*cells[0])
        told = read_heading(STOPS.sub("", first))
        stage = stage_of(told)
        if pen.columns and not pen.stages and stage and meaning_of(told).name in ("", "primary_max"):
            self.not_data.add(self.grid.plain(*cells[0]))
            for cell in cells[1:]:
                if heading := pen.columns.get(cell[1]):
                    found += self._fact(cell, heading, stage, form, self.grid.text(*cell))
            return found
        if pen.outlets and pen.stages and re.match(r"\s*(SUB)?TOTAL", first, re.IGNORECASE):
            self.not_data |= {self.grid.plain(*cell) for cell in cells}
            return []
        if pen.outlets and pen.stages and not meaning_of(told).name:
            self.not_data |= {self.grid.plain(*cell) for cell in cells if cell[1] not in pen.stages}
            for cell in cells:
                if (stage := pen.stages.get(cell[1])) and cell != cells[0]:
                    for fact in self._fact(
                        cell, Heading(("OUTLETS", "TOTAL_AIR", "AIRFLOW")), stage, form, self.grid.text(*cell)
                    ):
                        if fact.column == "outlets_flow":
                            sums.setdefault(stage, []).append(fact)
            return []
        at = 0
        while at < len(cells):
            at = self._pair(cells, at, form, pen, found)
        return found

    def _pair(self, cells: list[Place], at: int, form: _Form, pen: _Pen, found: list[Fact]) -> int:
        """Read one name of a row with its value or, under stages, its values; return where the next one begins."""
        cell = cells[at]
        text = self.grid.text(*cell)
        inline = _INLINE.match(text)
        name, value = (inline[1], inline[2]) if inline else (STOPS.sub("", text), "")
        told = read_heading(name)
        heading = self._in_section(told, pen, cell[1])
        if not meaning_of(told).name and not told.unknown and stage_of(told) and pen.named[0] == cell[0]:
            heading = joined([told, _without_stages(pen.named[1])])  # "ACTUAL" behind "MAXIMUM CFM" and its figure
        meaning = meaning_of(heading)
        pen.named = (cell[0], heading) if meaning.name else pen.named
        if cell == form.at:
            return at + 1
        if meaning.name in COILS:
            pen.coil |= {*told.concepts, *_section_at(pen, cell[1]).concepts}
        if not meaning.name and not inline:
            return at + 1
        if inline:
            found += self._fact(cell, heading, stage_of(heading) or self._usual(pen, heading), form, value)
            return at + 1
        self.not_data.add(self.grid.plain(*cell))
        rest = at + 1
        if len(stages := stages_in(told)) > 1:
            return self._in_order(cells, at, heading, stages, form, found)
        if pen.stages and any(other[1] in pen.stages for other in cells[at + 1 :]):
            for n, other in enumerate(cells[at + 1 :], at + 1):
                text = self.grid.text(*other)
                if (unit := read_heading(text)).only_units and other[1] not in pen.stages:
                    heading = joined([heading, unit])
                    self.not_data.add(self.grid.plain(*other))
                elif stage := pen.stages.get(other[1]):
                    found += self._fact(other, heading, stage, form, text)
                elif names_figure(text):  # another name, beside the columns of stages
                    return n
            return len(cells)
        if rest < len(cells) and cells[rest] != form.at:
            value_cell = cells[rest]
            said = self.grid.text(*value_cell)
            word = meaning.name == "reheat" and kinds.reheat_in(said)  # "Coil", and "Hot water" beside it
            if word or not is_name(said, labelled=bool(STOPS.search(text))):
                unit = read_heading(self.grid.text(*cells[rest + 1])) if rest + 1 < len(cells) else Heading()
                if unit.only_units:
                    heading = joined([heading, unit])
                    self.not_data.add(self.grid.plain(*cells[rest + 1]))
                    rest += 1
                found += self._fact(value_cell, heading, stage_of(heading) or self._usual(pen, heading), form, said)
                return rest + 1
        return at + 1

    def _in_order(
        self, cells: list[Place], at: int, heading: Heading, stages: list[str], form: _Form, found: list[Fact]
    ) -> int:
        """Read the figures behind a name that says their order itself: "before / after"."""
        end = at + 1
        while end < len(cells) and re.match(r"\s*[-–—]|.*\d", self.grid.text(*cells[end])) and end - at <= len(stages):
            end += 1
        values = [(cell, self.grid.text(*cell)) for cell in cells[at + 1 : end]]
        if len(values) == 1 and (pair := split_pair(values[0][1])):
            values = [(values[0][0], text) for text in pair]
        for n, (cell, text) in enumerate(values):
            if len(values) == len(stages):
                found += self._fact(cell, heading, stages[n], form, text)
            else:
                self._aside(cell, text, "its name says several figures, and not so many stand behind it", form.tags[0])
        return end

    def _in_section(self, told: Heading, pen: _Pen, column: int) -> Heading:
        """Let a section's words speak for a name that is weak by itself: MAX under PRIMARY AIR."""
        mine = meaning_of(told)
        if mine.name and not mine.weak:
            return told
        wider = joined([_section_at(pen, column), told])
        return wider if meaning_of(wider).name else told

    def _usual(self, pen: _Pen, heading: Heading) -> str:
        over = {stage for _, _, section in pen.sections if (stage := stage_of(section))}
        return (
            over.pop() if len(over) == 1 else (FINAL if set(heading.concepts) & {"COEFFICIENT", "STATIC"} else DESIGN)
        )

    def _fact(self, cell: Place, heading: Heading, stage: str, form: _Form, text: str) -> list[Fact]:
        name = meaning_of(heading).name
        tag, place = form.tags[0], self.grid.plain(*cell)
        if name in ("", "skip", "tag", "quantity", "outlet"):
            self._aside(cell, text, NOT_NEEDED if name else UNKNOWN, tag)
            return []
        if name == "coil_flow" and not self.has_fan:
            name = "heating_primary"
        if "PREVIOUS" in heading.concepts:
            self._aside(cell, text, SUPERSEDED, tag)
            return []
        if stage == FOUND:
            self._aside(cell, text, FOUND_BEFORE, tag)
            return []
        if name == "static" and stage == DESIGN:
            self._aside(cell, text, NOT_NEEDED, tag)
            return []
        if is_missing(text):
            self.used.add(place)
            none = [Fact(tag, "reheat", "none", text, self._source(cell), DESIGN, True)]
            return none if name in ("reheat", "reheat_capacity") else []
        if name == "flow_coefficient":
            stage = FINAL
        value, problem, note = self.values.value(name, heading, text)
        if problem:
            self._aside(cell, text, problem, tag)
            return []
        self.used.add(place)
        if name == "type":
            kind, reheat = kinds.kind_in(text), kinds.reheat_in(text)
            pairs = [("kind", kind if kind in ("series", "parallel", "single-duct") else ""), ("reheat", reheat)]
            return [Fact(tag, column, word, text, self._source(cell), DESIGN, True) for column, word in pairs if word]
        found = [Fact(tag, name, value, text, self._source(cell), stage, True, note)]
        if name == "reheat_capacity" and (said := kinds.reheat_in(text)) not in ("", "none"):
            found.append(replace(found[0], column="reheat", value=said, stage=DESIGN))
        if name == "reheat" and (figure := capacity_in(text)) is not None:
            found.append(replace(found[0], column="reheat_capacity", value=figure.value, stage=DESIGN))
        return found

    def _aside(self, cell: Place, text: str, why: str, tag: str) -> None:
        self.asides.setdefault(self.grid.plain(*cell), Aside(self._source(cell), text, why, tag))


def _section_at(pen: _Pen, column: int) -> Heading:
    return next((section for begin, end, section in pen.sections if begin <= column < end), Heading())


def _without_stages(heading: Heading) -> Heading:
    return Heading(tuple(word for word in heading.concepts if word not in _STAGES), heading.units, heading.unknown)
