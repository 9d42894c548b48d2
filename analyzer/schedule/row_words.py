"""What the words of a row, of the line over it and of its table's title say of its terminal."""

from __future__ import annotations

import re
from dataclasses import replace

from analyzer.schedule import kinds
from analyzer.schedule.columns import Column
from analyzer.schedule.facts import Fact, Source
from analyzer.schedule.figures import is_missing, is_undecided
from analyzer.schedule.layout import Table
from analyzer.schedule.meaning import DESIGN
from analyzer.schedule.notes import coil_figures, coil_notes, figures_noted, legend, reheat_noted
from analyzer.schedule.units import Units
from analyzer.schedule.words import fold, read_heading

COILS = ("reheat_capacity", "water_flow", "heater_stages", "entering_water_temp")
# A table with one of these gives terminals' air, and would give their fans' too.
_OF_TERMINALS = {"primary_max", "primary_min", "heating_primary", "min_share"}


class RowWords:
    """Concludes kind, reheat, air handler and floor; a section's line holds for the rows under it."""

    def __init__(self, table: Table, units: Units, names: set[str], *, report: bool):
        self.table, self.grid, self.units, self.names, self.report = table, table.grid, units, names, report
        self._without_fans = not report and bool(names & _OF_TERMINALS) and "fan_flow" not in names
        self._context = self._of_titles()
        self._notes = coil_notes(table)
        self._legend = legend(table)
        self._noted_figures = coil_figures(table)

    def _of_titles(self) -> dict[str, str]:
        found: dict[str, str] = {}
        for look, name in ((_kind_of_title, "kind"), (kinds.reheat_in, "reheat"), (kinds.air_handler_in, "air_handler"),
                           (kinds.floor_in, "floor"), (kinds.distribution_in, "distribution"),
                           (kinds.control_of_fan, "fan_control")):  # fmt: skip
            said = {look(text) for text in self.table.titles} - {""}
            if len(said) == 1:
                found[name] = said.pop()
        return found

    def enter(self, text: str) -> None:
        """Take up what a line between the rows says of those under it."""
        for look, name in ((_kind_of_title, "kind"), (kinds.reheat_in, "reheat"), (kinds.air_handler_in, "air_handler"),
                           (kinds.floor_in, "floor")):  # fmt: skip
            if said := look(text):
                self._context[name] = said
                if name == "kind" and not kinds.reheat_in(text):
                    self._context.pop("reheat", None)

    @property
    def kind_over_rows(self) -> str:
        """The kind that the title or the line over the rows says of them; "" where none does."""
        return self._context.get("kind", "")

    def carry(self, texts: list[str]) -> None:
        """Take up what the lines of the page before say, where this page's own titles do not."""
        own = dict(self._context)
        for text in texts:
            self.enter(text)
        self._context |= own

    def added(self, row: int, tag: str, facts: list[Fact], source: Source) -> list[Fact]:
        """Return a row's facts with what the words of its row, its section and its table say besides."""
        said = {fact.column: fact for fact in facts}
        found = list(facts)

        def add(column: str, value: str, text: str, note: str, at: Source = source) -> None:
            if value and column not in said:
                fact = Fact(tag, column, value, text, at, DESIGN, self.report, note)
                found.append(fact)
                said[column] = fact

        typed = said.get("type")
        if typed is not None:
            words = self._legend.get(fold(str(typed.value)), str(typed.value))
            word = kinds.kind_in(words)
            if word in ("series", "parallel", "single-duct"):
                add("kind", word, typed.text, "", typed.source)
            if len(fold(words)) > 1:  # a lone letter is the key of a type
                add("reheat", kinds.reheat_in(words), typed.text, "", typed.source)
            add(
                "fan_control",
                "" if "fan_flow" not in self.names else _fan_control(words),
                typed.text,
                "",
                typed.source,
            )
        spelled_out = kinds.kind_in(self._legend.get(_letters_of(tag), ""))
        word = spelled_out if spelled_out in ("series", "parallel") else kinds.kind_in(tag)
        if word in ("series", "parallel"):
            add("kind", word, tag, "by its tag")
        context = self._context
        if context.get("kind") in ("series", "parallel", "single-duct"):
            add("kind", context["kind"], context["kind"], "by its title")
        if "fan_flow" in self.names and "fan_flow" not in said and self._blank_in(row, "fan_flow"):
            add("kind", "single-duct", "", "no fan in its row")
        fan = word == "fan" or context.get("kind") == "fan" or typed is not None and kinds.kind_in(words) != ""
        if self._without_fans and not fan:
            add("kind", "single-duct", "", "no fan in its table")
        coil, by_unit = self._coil(row, said)
        noted = reheat_noted(self._notes, self.table, row) if coil != "none" and self._has_coil(row) else None
        if by_unit and noted is not None:
            add("reheat", noted.reheat, noted.text, "by a note")
        if by_unit and self._has_coil(row) and "remarks" in said:
            add("reheat", self._remarked(said["remarks"].text), said["remarks"].text, "", said["remarks"].source)
        add("reheat", coil, "", "by its coil's columns")
        if self._has_coil(row):
            found += self._of_notes(row, tag, said, source)
        if context.get("reheat"):
            add("reheat", context["reheat"], "", "by its title")
        if "fan_flow" in said:
            add("fan_control", context.get("fan_control", ""), context.get("fan_control", ""), "by its title")
        for name in ("air_handler", "floor", "distribution"):
            add(name, context.get(name, ""), context.get(name, ""), "by its title")
        return [fact for fact in found if fact.column != "type"]

    def _remarked(self, text: str) -> str:
        """Return the sort of reheat that a remark names and nothing else: "HHW", or what the notes spell out."""
        said = set()
        for piece in re.split(r"[,;]\s*", text):
            if piece.strip().isdigit():
                continue  # the number of a note, which may speak of anything
            told = read_heading(piece)
            plain = bool(told.concepts) and not told.unknown and set(told.concepts) <= {"WATER", "ELECTRIC", "COIL"}
            said.add(kinds.reheat_in(self._legend.get(fold(piece), piece if plain else "")))
        said -= {"", "none"}
        return said.pop() if len(said) == 1 else ""

    def _of_notes(self, row: int, tag: str, said: dict[str, Fact], source: Source) -> list[Fact]:
        """Return the temperatures that a note gives for a row's coil; no water's for an electric one."""
        electric = "reheat" in said and said["reheat"].value == "electric"
        return [
            Fact(tag, each.column, each.value, each.text, source, DESIGN, self.report, "by a note")
            for each in figures_noted(self._noted_figures, self.table, row)
            if each.column not in said and not (electric and "water" in each.column)
        ]

    def _blank_in(self, row: int, name: str) -> bool:
        return all(is_missing(self.grid.text(row, column.at)) for column in self.table.columns if column.name == name)

    def _coil_columns(self) -> list[Column]:
        return [column for column in self.table.columns for part in column.parts if part.name in COILS]

    def _has_coil(self, row: int) -> bool:
        return any(not is_missing(self.grid.text(row, column.at)) for column in self._coil_columns())

    def _coil(self, row: int, said: dict[str, Fact]) -> tuple[str, bool]:
        """Return the sort of reheat that the columns of a coil say, and whether it rests on a unit, or on nothing.

        It is "none" where all of them are blank in this row.
        """
        columns = self._coil_columns()
        if not columns:
            return "", True
        filled = [column for column in columns if not is_missing(self.grid.text(row, column.at))]
        if not filled:
            texts = [self.grid.text(row, column.at) for column in columns]
            open_yet = any(is_undecided(text) for text in texts)
            return "none" if any(c.name == "reheat_capacity" for c in columns) and not open_yet else "", False
        if {"water_flow", "entering_water_temp"} & said.keys():
            return "hot-water", False
        told = {word for column in filled for word in read_heading(column.heading.replace(" / ", "\n")).concepts}
        units = {unit for column in filled for part in column.parts for unit in part.units}
        if "WATER" in told and "ELECTRIC" not in told:
            return "hot-water", False
        if "ELECTRIC" in told or {"heater_stages", "heater_volts"} & said.keys():
            return "electric", False
        if "kW" in units and "kBtu/h" not in units and self.units.system == "ip":
            return "electric", True
        return "hot-water" if "kBtu/h" in units and self._context.get("reheat") != "electric" else "", True


def without_false_none(facts: list[Fact]) -> list[Fact]:
    """Return facts, no coil concluded from a row of a terminal whose coil stands in another one: cooling, heating."""
    coils = {fact.tag for fact in facts if fact.column in COILS}
    return [
        fact for fact in facts
        if not (fact.column == "reheat" and fact.value == "none" and fact.concluded and fact.tag in coils)
    ]  # fmt: skip


def coil_by_names(facts: list[Fact], told: set[str]) -> list[Fact]:
    """Conclude the sort of reheat from the names of the coil's figures, where the form does not say it itself."""
    of = [fact for fact in facts if fact.column in COILS]
    if not of or any(fact.column == "reheat" for fact in facts):
        return []
    names = {fact.column for fact in of}
    water = "WATER" in told or bool(names & {"water_flow", "entering_water_temp"})
    electric = "ELECTRIC" in told or "heater_stages" in names
    if water == electric:
        return []
    word = "hot-water" if water else "electric"
    return [replace(of[0], column="reheat", value=word, text="", stage=DESIGN, note="by its coil's names")]


def _letters_of(tag: str) -> str:
    match = re.match(r"[A-Za-z]{2,6}(?=[-_ .]?\d)", tag)
    return match[0].upper() if match else ""


def _kind_of_title(text: str) -> str:
    return kinds.kind_in(text, of_title=True)


def _fan_control(text: str) -> str:
    """Return a fan's control where a type says it of the fan, and not of the air volume of the terminal."""
    return kinds.control_in(
        re.sub(r"(?i)variable[\s-]*air[\s-]*volume|variable[\s-]*volume|constant[\s-]*volume", " ", text)
    )
