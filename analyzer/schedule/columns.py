"""The headings over a column put together: what it holds, in which unit, design or final."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field, replace

from analyzer.quantities import find_unit
from analyzer.schedule.cells import Grid
from analyzer.schedule.figures import is_ditto, is_missing, number_of
from analyzer.schedule.kinds import control_in, kind_by_fan, kind_in
from analyzer.schedule.meaning import DESIGN, DIMENSIONS, FINAL, FOUND, Meaning, meaning_of, says_found_alone, stage_of
from analyzer.schedule.words import Heading, fold, joined, read_heading

# Figures that share a cell, as their heading says: "MAX / MIN", "EAT / LAT".
_PAIRS = (
    ("MAX", "MIN"), ("EAT", "LAT"), ("EWT", "LWT"), ("ENTERING", "LEAVING"), ("COOLING", "HEATING"),
    ("DESIGN", "FINAL"), ("FOUND", "FINAL"), ("CAPACITY", "STAGES"),
)  # fmt: skip


_SAYS_WHICH = frozenset(["MAX", "COOLING", "PRIMARY", "TOTAL_AIR", "DESIGN", "FINAL"])
_UNIT_SLASH = re.compile(
    r"(?<=\bL)/(?=S\b)|(?<=\bM3)/(?=H)|(?<=\bM³)/(?=H)|(?<=\bFT)/(?=MIN)|(?<=BTU)/(?=H)", re.IGNORECASE
)


@dataclass(frozen=True)
class Part:
    """One figure of a column's cells.

    Attributes
    ----------
    name : str
        A column of the schedule, or of ``meaning.BESIDE``; "skip", or "" where it is not known.
    stage : str or None
        "design", "final" or "found", where the headings say.
    units : tuple of str
        What the headings say, of the right dimension; several where figures come in two units, or none.
    weak : bool
        It rests on a common word alone.
    """

    name: str
    stage: str | None = None
    units: tuple[str, ...] = ()
    weak: bool = False

    @property
    def dimension(self) -> str:
        """What it measures."""
        return DIMENSIONS.get(self.name, "text")


@dataclass(frozen=True)
class Column:
    """A column of a table: where it stands, what its heading says, and what each figure of a cell is.

    ``parts`` has one entry, or two where a cell holds a pair.
    """

    at: int
    heading: str
    parts: tuple[Part, ...]
    unknown: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The name of its first figure."""
        return self.parts[0].name


@dataclass(frozen=True)
class _Level:
    heading: Heading
    text: str
    sure: bool  # it stands over this column, not merely to the left of it
    own: bool = field(default=False)


def read_columns(grid: Grid, header: list[int], left: int, right: int, first: int) -> list[Column]:
    """Read the columns of a table from its rows of headings, the uppermost first, and the units of its first values."""
    return [read_column(grid, header, left, at, units_beneath(grid, first, at)) for at in range(left, right)]


def with_plain_flows(columns: list[Column]) -> list[Column]:
    """Return the columns; of several for one flow, those whose heading says more than is understood as not known."""
    plain = {
        (part.name, part.stage)
        for column in columns for part in column.parts if not column.unknown and part.dimension == "flow"
    }  # fmt: skip
    return [
        replace(column, parts=(Part("", part.stage),))
        if len(column.parts) == 1 and column.unknown and part.weak and (part.name, part.stage) in plain
        else column
        for column in columns for part in column.parts[:1]
    ]  # fmt: skip


def with_found_as_final(columns: list[Column]) -> list[Column]:
    """Return the columns, those headed FOUND as final where nothing else is, and a share of the design stands by."""
    stages = {part.stage for column in columns for part in column.parts}
    told = [read_heading(column.heading.replace(" / ", "\n")).concepts for column in columns]
    if FINAL in stages or DESIGN not in stages or not any("PERCENT" in concepts for concepts in told):
        return columns
    return [
        replace(column, parts=tuple(
            replace(part, stage=FINAL) if part.stage == FOUND and says_found_alone(column.heading) else part
            for part in column.parts
        ))
        for column in columns
    ]  # fmt: skip


def with_coils_figures(grid: Grid, columns: list[Column], rows: list[int]) -> list[Column]:
    """Return the columns, those headed by a coil alone as its capacity where numbers stand beneath and no words."""
    return [
        replace(column, parts=(replace(column.parts[0], name="reheat_capacity"),))
        if len(column.parts) == 1 and column.parts[0] == Part("reheat", column.parts[0].stage, weak=True)
        and _mostly_numbers(grid, column.at, rows)
        else column
        for column in columns
    ]  # fmt: skip


def with_coils_water(columns: list[Column], stated: dict[str, str]) -> list[Column]:
    """Return the columns, the flow of a coil without a unit of its own as its water where a note says that unit."""
    if "water_flow" not in stated:
        return columns
    return [
        replace(column, parts=tuple(
            replace(part, name="water_flow", weak=False) if part.name == "coil_flow" and not part.units else part
            for part in column.parts
        ))
        for column in columns
    ]  # fmt: skip


def with_words_of_control(grid: Grid, columns: list[Column], rows: list[int]) -> list[Column]:
    """Return the columns, one headed CONTROL or by a fan alone whose cells say constant or variable as its control."""
    return [
        replace(column, parts=(Part("fan_control", weak=True),))
        if len(column.parts) == 1 and not column.unknown and (not column.name or column.parts[0].dimension == "flow")
        and (texts := _said(grid, column.at, rows))
        and all(control_in(text) for text in texts)
        else column
        for column in columns
    ]  # fmt: skip


def with_kinds_by_fan(grid: Grid, columns: list[Column], rows: list[int]) -> list[Column]:
    """Return the columns, one on the fans whose cells say constant and intermittent as the kind of the terminals."""
    return [
        replace(column, parts=(Part("kind"),))
        if (column.name == "fan_control" or column.name == "type" and "FAN" in fold(column.heading).split())
        and {kind_by_fan(text) for text in _said(grid, column.at, rows)} >= {"parallel"}
        and all(kind_by_fan(text) for text in _said(grid, column.at, rows))
        else column
        for column in columns
    ]  # fmt: skip


def with_types(grid: Grid, columns: list[Column], rows: list[int], legend: dict[str, str]) -> list[Column]:
    """Return the columns, one headed like the tags, as UNIT may be, whose cells are types as what they are."""
    return [
        replace(column, parts=(Part("type"),)) if column.name == "tag"
        and (texts := _said(grid, column.at, rows))
        and sum(bool(kind_in(legend.get(fold(text), text))) for text in texts) * 10 >= len(texts) * 7
        else column
        for column in columns
    ]  # fmt: skip


def _said(grid: Grid, at: int, rows: list[int]) -> list[str]:
    return [text for row in rows if not is_missing(text := grid.text(row, at)) and not is_ditto(text)]


def _mostly_numbers(grid: Grid, at: int, rows: list[int]) -> bool:
    texts = _said(grid, at, rows)
    return 2 * sum(number_of(text) is not None for text in texts) > len(texts)


def units_beneath(grid: Grid, first: int, at: int) -> tuple[str, ...]:
    """Return the unit that most of the first values of a column carry themselves."""
    texts = [text for row in range(first, min(first + 20, grid.height)) if (text := grid.text(row, at))]
    behind = Counter(
        units[0] for text in texts if re.match(r"\s*[\d.,]+\D", text) and (units := read_heading(text).units)
    )
    unit, often = max(behind.items(), key=lambda item: item[1], default=("", 0))
    return (unit,) if unit and often * 2 >= len(texts) else ()


def read_column(grid: Grid, header: list[int], left: int, at: int, carried: tuple[str, ...] = ()) -> Column:
    """Read one column's headings: its own, and the groups that they stand under."""
    levels = _levels(grid, header, left, at)
    if carried and not any(level.heading.units for level in levels):
        levels = [_Level(Heading(units=carried), "", True), *levels]
    told = " / ".join(dict.fromkeys(" ".join(level.text.split()) for level in levels if level.sure and level.text))
    sure = joined([level.heading for level in levels if level.sure])
    whole = joined([level.heading for level in levels])
    own = joined([level.heading for level in levels if level.own])
    stage = next((found for level in reversed(levels) if (found := stage_of(level.heading))), None)
    if several := _at_pressure(levels, whole, stage) or _several(levels, whole, stage):
        return Column(at, told, several, sure.unknown)
    pair = _pair(sure) or (_pair(whole) if not meaning_of(sure).name else None)
    if pair:
        source = sure if _pair(sure) else whole
        parts = tuple(_part(_without(source, other), whole, _own_stage(one, stage)) for one, other in pair)
        if all(part.name not in ("", "skip") for part in parts) and len({(p.name, p.stage) for p in parts}) > 1:
            return Column(at, told, parts, sure.unknown)
    part = _best(own, sure, whole, stage)
    if part.name == "primary_max" and part.weak and sure.unknown and not _SAYS_WHICH & set(whole.concepts):
        part = Part("", stage)  # a flow by its unit alone, of which a word that is not known says which
    return Column(at, told, (part,), sure.unknown)


def _several(levels: list[_Level], whole: Heading, stage: str | None) -> tuple[Part, ...]:
    """Return the three figures or more that a heading names between slashes: "kW / STEPS / V-PH", "MAX/MIN/HTG"."""
    own = [level.text for level in levels if level.own]
    groups = [level.heading for level in levels if level.sure and not level.own and level.text]
    for pieces in (re.split(r"\s+/\s+|\n", text) if text.count(" / ") > 1 else _slashed(text) for text in own):
        if len(pieces) < 3:
            continue
        told = [joined([*groups, read_heading(piece)]) for piece in pieces]
        parts = tuple(
            _made(meaning_of(replace(each, units=each.units or _flow_units(whole))), whole, stage) for each in told
        )
        names = [part.name for part in parts]
        real = [name for name in names if name not in ("", "skip")]
        if "" not in names and len(real) > 1 and len(set(real)) == len(real):
            return parts
    return ()


def _at_pressure(levels: list[_Level], whole: Heading, stage: str | None) -> tuple[Part, ...]:
    """Return the flow and the pressure of a heading that names both: "CFM @ IN. WG"."""
    naming = next((level for level in levels if level.sure and "@" in level.text), None)
    pieces = naming.text.split("@") if naming else []
    if len(pieces) != 2 or not (behind := read_heading(pieces[1])).units or behind.unknown:
        return ()
    others = [level.heading for level in levels if level.sure and level is not naming and level.text]
    told = joined([*others, read_heading(pieces[0])])
    flow = _made(meaning_of(replace(told, units=told.units or _flow_units(whole))), whole, stage)
    if flow.dimension != "flow" or not units_for("external_static", behind.units):
        return ()
    return flow, Part("external_static" if flow.name == "fan_flow" else "skip", stage, behind.units)


def _slashed(text: str) -> list[str]:
    """Part a heading at its slashes, those of units left alone."""
    return [piece.replace("\0", "/") for piece in re.sub(_UNIT_SLASH, "\0", text).split("/")]


def _flow_units(whole: Heading) -> tuple[str, ...]:
    return tuple(unit for unit in whole.units if find_unit(unit, "flow") is not None)


def _own_stage(word: str, stage: str | None) -> str | None:
    return {"DESIGN": DESIGN, "FINAL": FINAL, "FOUND": FOUND}.get(word, stage)


def _best(own: Heading, sure: Heading, whole: Heading, stage: str | None) -> Part:
    """Take the nearest heading that says enough; a weak one only where its group adds nothing."""
    mine = meaning_of(own)
    if mine.name and not mine.weak and not (own.concepts == () and own.units):
        # Its group may still say more: "CFM" under "FAN", "MAX CFM" under "HEATING".
        wider = meaning_of(sure)
        chosen = wider if wider.name not in ("", "skip") and not wider.weak and _same_kind(mine, wider) else mine
        if "BARE_AREA" in own.concepts and wider.name == "area":  # a unit of area in another row than AREA
            chosen = wider
        return _made(chosen, whole, stage)
    for heading in (sure, whole):
        found = meaning_of(heading)
        if found.name and not found.weak:
            return _made(found, whole, stage)
    for heading in (sure, whole, own):
        found = meaning_of(heading)
        if found.name:
            return _made(found, whole, stage)
    return Part("", stage)


def _same_kind(mine: Meaning, wider: Meaning) -> bool:
    return DIMENSIONS.get(mine.name) == DIMENSIONS.get(wider.name)


def _made(meaning: Meaning, whole: Heading, stage: str | None) -> Part:
    return Part(meaning.name, stage, units_for(meaning.name, whole.units), meaning.weak)


def _part(heading: Heading, whole: Heading, stage: str | None) -> Part:
    return _made(meaning_of(heading), whole, stage)


def units_for(name: str, units: tuple[str, ...]) -> tuple[str, ...]:
    """Return those units that a column can have."""
    dimension = DIMENSIONS.get(name, "text")
    return tuple(unit for unit in units if find_unit(unit, dimension) is not None)


def _pair(heading: Heading) -> tuple[tuple[str, str], ...] | None:
    """Return the two words of a pair in their order, each with the other one that it leaves out."""
    words = list(heading.concepts)
    if "CAPACITY" not in words and set(heading.units) & {"kW", "kBtu/h"} and "STAGES" in words:
        return (("CAPACITY", "STAGES"), ("STAGES", "kW"))
    for first, second in _PAIRS:
        if first in words and second in words:
            order = (first, second) if words.index(first) < words.index(second) else (second, first)
            return ((order[0], order[1]), (order[1], order[0]))
    return None


def _without(heading: Heading, word: str) -> Heading:
    """Leave a word out of a heading; without a power's unit its stages are left."""
    units = tuple(unit for unit in heading.units if word != "kW" or unit not in ("kW", "kBtu/h"))
    return replace(heading, concepts=tuple(c for c in heading.concepts if c != word), units=units)


def _levels(grid: Grid, header: list[int], left: int, at: int) -> list[_Level]:
    """Return what stands over a column, the uppermost first.

    A blank cell in an upper row belongs to the group on its left, unless the column says all by itself; that is not
    sure.
    """
    levels: list[_Level] = []
    seen = set()
    for row in header:
        origin = grid.origin(row, at)
        text = grid.text(row, at)
        if origin in seen:
            continue
        seen.add(origin)
        if text:
            levels.append(_Level(read_heading(text), text, True))
            continue
        below = any(grid.text(lower, at) and grid.origin(lower, at)[0] > row for lower in header if lower > row)
        if below and (group := _group_left(grid, header, row, left, at)):
            levels.append(_Level(read_heading(group), group, False))
    own = [n for n, level in enumerate(levels) if level.sure]
    last = [n for n in own if not levels[n].heading.only_units] or own
    return [replace(level, own=n in last[-1:]) for n, level in enumerate(levels)]


def _group_left(grid: Grid, header: list[int], row: int, left: int, at: int) -> str:
    """Return the nearest text to the left in a row of headings, if it stands over a group: others beneath it."""
    for column in range(at - 1, left - 1, -1):
        text = grid.text(row, column)
        if not text:
            if not any(grid.text(lower, column) for lower in header if lower > row):
                return ""
            continue
        beneath = any(grid.text(lower, column) and grid.origin(lower, column) != grid.origin(row, column)
                      for lower in header if lower > row)  # fmt: skip
        merged = grid.origin(row, column) in grid.spans.values()
        return text if beneath and not merged else ""
    return ""
