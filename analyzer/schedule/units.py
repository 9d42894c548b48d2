"""In which units a table's figures are where their headings do not say: by its notes, its cells, its other columns."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace

from analyzer.quantities import find_unit
from analyzer.schedule.columns import Column, Part
from analyzer.schedule.layout import Table
from analyzer.schedule.words import read_heading

_CUSTOMARY = {"cfm", "kBtu/h", "Btu/h", "gpm", "in.w.c.", "in", "degF", "ft2"}
_METRIC = {"L/s", "m3/h", "m3/s", "L/min", "L/h", "Pa", "kPa", "mm", "degC", "m2"}
# What goes without saying in a table whose other units are of one system; m3/h beside L/s leaves a metric flow open.
_BY_SYSTEM = {
    "ip": {"flow": "cfm", "length": "in", "temperature": "degF", "temperature_difference": "delta degF",
           "pressure": "in.w.c.", "water_flow": "gpm", "area": "ft2", "flow_coefficient": "cfm/sqrt(in.w.c.)"},
    "si": {"length": "mm", "temperature": "degC", "temperature_difference": "K", "pressure": "Pa", "area": "m2"},
}  # fmt: skip
_STATES = re.compile(r"\b(?:IN|ARE|IS|=|UNITS?)\b|[=:(\[]", re.IGNORECASE)
_OF_UNITS = re.compile(
    r"\s*(?:NOTES?\s*:\s*)?(?:\d+[.)]\s*)?(?:ALL\s+)?UNITS(?: OF MEASURE)?\s*(?::|ARE\b|-)", re.IGNORECASE
)
# Under which condition a figure holds, and no unit of a column: "AT 55 °F ENTERING AIR".
_CONDITION = re.compile(r"(?:\b(?:AT|FOR|WITH|BASED ON)\b|@)\s*[\d.].*$", re.IGNORECASE | re.DOTALL)


def stated_units(texts: list[str]) -> dict[str, str]:
    """Return what titles and notes say of units: "ALL AIRFLOWS IN L/S" is {"flow": "L/s"}; water is told apart."""
    found: dict[str, set[str]] = {}
    for text in texts:
        of_units = bool(_OF_UNITS.match(text))
        for whole in re.split(r"[.;]\s+|\n" + (r"|,\s+" if of_units else ""), text):
            sentence = _CONDITION.sub("", whole)
            if not (of_units or _STATES.search(sentence)) or re.search(
                r"\d[\d,.]*\s*(?:CFM|L/S|GPM|IN\b|MM|KW|MBH|°|DEG)", sentence, re.IGNORECASE
            ):
                continue
            told = read_heading(sentence)
            water = "WATER" in told.concepts and "AIRFLOW" not in told.concepts
            for unit in told.units:
                for dimension in _dimensions(unit, water):
                    found.setdefault(dimension, set()).add(unit)
    return {dimension: next(iter(units)) for dimension, units in found.items() if len(units) == 1}


def _dimensions(unit: str, water: bool) -> list[str]:
    if unit in ("gpm", "L/min", "L/h"):
        return ["water_flow"]
    if find_unit(unit, "flow") is not None:
        return ["water_flow" if water else "flow"]
    if unit in ("degF", "degC"):
        return ["temperature"]
    return [name for name in ("power", "pressure", "length", "area", "volume") if find_unit(unit, name) is not None]


def with_units_of_coils(columns: list[Column], texts: list[str]) -> list[Column]:
    """Return the columns, capacities of water or electric coils in the unit that a note gives for this sort."""
    said: dict[str, set[str]] = {}
    for piece in (piece for text in texts for piece in re.split(r"[,;.]\s+|\n", text)):
        told = read_heading(piece.rstrip("."))
        power = [unit for unit in told.units if find_unit(unit, "power") is not None]
        medium = {"WATER", "ELECTRIC"} & set(told.concepts)
        if len(power) == 1 and len(medium) == 1 and not re.search(r"\d", piece):
            said.setdefault(medium.pop(), set()).add(power[0])
    one = {sort: units.pop() for sort, units in said.items() if len(units) == 1}

    def given(column: Column) -> Column:
        sorts = one.keys() & set(read_heading(column.heading.replace(" / ", "\n")).concepts)
        if len(sorts) != 1:
            return column
        units = (one[sorts.pop()],)
        return replace(column, parts=tuple(
            replace(part, units=units) if part.name == "reheat_capacity" and not part.units else part
            for part in column.parts
        ))  # fmt: skip

    return [given(column) for column in columns]


class Units:
    """The units of a table's figures.

    Attributes
    ----------
    system : str
        "ip" or "si", by what its headings and notes name; "" where they name neither or both.
    """

    def __init__(self, table: Table):
        self.stated = stated_units([*table.titles, *table.notes])
        told: Counter[str] = Counter()
        heads: dict[str, Counter[str]] = {}
        for column in table.columns:
            for part in column.parts:
                for unit in part.units[:1]:
                    told[unit] += 1
                    heads.setdefault(part.dimension, Counter())[unit] += 1
        for unit in self.stated.values():
            told[unit] += 1
        self.by_heading = {
            dimension: counts.most_common(1)[0][0] for dimension, counts in heads.items() if len(counts) == 1
        }
        customary = sum(told[unit] for unit in _CUSTOMARY)
        metric = sum(told[unit] for unit in _METRIC)
        self.system = "ip" if customary and not metric else "si" if metric and not customary else ""

    def of(self, part: Part) -> tuple[tuple[str, ...], str]:
        """Return the units of a figure, and what was assumed: "" where its heading or a note names them."""
        if part.units or part.dimension in ("text", "number"):
            return part.units, ""
        dimension = part.dimension
        if dimension in self.stated:
            return (self.stated[dimension],), ""
        if dimension == "flow_coefficient":
            flow = self.stated.get("flow") or self.by_heading.get("flow") or ("cfm" if self.system == "ip" else "")
            unit = {"cfm": "cfm/sqrt(in.w.c.)", "L/s": "L/s/sqrt(Pa)"}.get(flow, "")
            return ((unit,), f"taken as {unit}, as flows are in {flow}") if unit else ((), "")
        if dimension in self.by_heading:
            unit = self.by_heading[dimension]
            return (unit,), f"taken as {unit}, as other columns of the table are"
        unit = _BY_SYSTEM.get(self.system, {}).get(dimension, "")
        return ((unit,), f"taken as {unit}, by the table's other units") if unit else ((), "")
