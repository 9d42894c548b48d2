"""The point list (``points.csv``): the user's word on what each point is."""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from pathlib import Path

from analyzer.errors import PointListError, nearest
from analyzer.formulas import as_meant
from analyzer.inputs import LARGEST_TABLE, read_bytes
from analyzer.intake.files.encoding import to_utf8
from analyzer.intake.points.patterns import ANY, fits, is_pattern, literal, tail
from analyzer.intake.points.point import Point
from analyzer.intake.points.told import Told
from analyzer.intake.words.units import unit_of
from analyzer.intake.words.vocabulary import NO, YES
from analyzer.quantities import AIR_HANDLER, TERMINAL, spellings

COLUMNS = ["file", "column", "terminal", "quantity", "unit", "states", "ignore"]
# What ``draft`` proposed for a line, in words: a line that still says that is no word of the user's.
PROPOSED = "proposed"
# Columns that ``draft`` adds for the reader's eye; they are not read.
SHOWN = ["certainty", "why", "files", "example", "range", "changes"]
_YES = {"yes", "y", "true", "1", "x", "ignore"}
_NO = {"", "no", "n", "false", "0"}


@dataclass(frozen=True)
class Row:
    """One line of the point list; empty fields say nothing, and ``*`` in the first three stands for any text.

    ``drafted`` tells that the line still says what the draft proposed: it is no word of the user's.
    """

    line: int
    file: str
    column: str
    terminal: str
    quantity: str
    unit: str
    states: dict[str, float]
    ignore: bool
    drafted: bool = False

    @property
    def says(self) -> tuple[bool, bool, int, int, int]:
        """How much it says of which points it means: of lines that fit a point, those that say more go first."""
        return (
            literal(self.file) > 0, literal(self.terminal) > 0, literal(self.column) + (not is_pattern(self.column)),
            literal(self.file), literal(self.terminal),
        )  # fmt: skip

    @property
    def is_for_one(self) -> bool:
        """Whether it is for some terminals or files alone."""
        return bool(self.terminal or self.file)


@dataclass
class PointList:
    """The point list's lines: those that name a column as it is, by column, and those with ``*``, by what ends them."""

    path: Path | None = None
    rows: dict[str, list[Row]] = field(default_factory=dict)
    patterns: dict[str, list[Row]] = field(default_factory=dict)
    air_handlers: frozenset[str] = frozenset()
    differing: Told = field(default_factory=Told)

    def add(self, row: Row) -> None:
        """Add a line."""
        if is_pattern(row.column):
            self.patterns.setdefault(tail(row.column), []).append(row)
        else:
            self.rows.setdefault(row.column, []).append(row)

    def spoken(self) -> list[Row]:
        """Return the lines that are the user's word, in their order."""
        rows = [row for of_column in (*self.rows.values(), *self.patterns.values()) for row in of_column]
        return sorted((row for row in rows if not row.drafted), key=lambda row: row.line)

    def apply(self, point: Point, owner: str | None) -> Point:
        """Put the user's word over a proposal: of each thing, that of the line that says most of which points it means.

        A unit that the file itself states stands before the point list's; where they differ it is said.
        """
        if not self.rows and not self.patterns:
            return point
        rows = self._rows(point, owner)
        drafted = next((row for row in rows if row.drafted), None)
        if rows and rows[0].drafted and rows[0].is_for_one:
            rows = rows[:1]  # what was drafted for one terminal keeps what is said of all away
        said = [row for row in rows if not row.drafted]
        meant = next((row for row in said if row.ignore or row.quantity or row.unit or row.states), None)
        if meant is not None and meant.ignore:
            point.ignore()
            return point
        terminal = next((row.terminal for row in said if row.terminal and not is_pattern(row.terminal)), "")
        if meant is None and not terminal:
            if drafted is not None:
                self._take_drafted_unit(point, drafted)
            return point
        quantity, states = (meant.quantity, meant.states) if meant is not None else ("", {})
        air_handler = terminal in self.air_handlers if terminal else None
        # A quantity that both have, such as a cooling signal, does not tell whose it is.
        if quantity and not (quantity in AIR_HANDLER and quantity in TERMINAL):
            air_handler = quantity in AIR_HANDLER
        point.correct(terminal, air_handler, quantity, states)
        if meant is not None and meant.unit and point.quantity is not None:
            self._unit(point, meant)
        return point

    def _take_drafted_unit(self, point: Point, row: Row) -> None:
        """Take a unit that the draft proposed and nobody corrected, so that the draft reads as the exports did."""
        if point.unit is None and row.unit and point.quantity and unit_of(row.unit, point.meaning.dimension):
            point.take_unit(row.unit, "assumption", "as it was drafted")

    def _unit(self, point: Point, row: Row) -> None:
        dimension = point.meaning.dimension
        if unit_of(row.unit, dimension) is None:
            raise PointListError(
                self.path,
                f"{row.unit!r} is no unit of {dimension.replace('_', ' ')}{nearest(row.unit, spellings(dimension))}",
                f"Use one of {', '.join(spellings(dimension)) or 'none'}.",
                place=f"line {row.line}, unit",
            )
        if point.unit is None:
            point.take_unit(row.unit, "point list")
        elif unit_of(point.unit, dimension) != unit_of(row.unit, dimension):
            self.differing.of(
                point,
                f"{{points}}: in {point.unit} by its {point.unit_from}, and {row.unit} in the point list; the "
                f"{point.unit_from} was followed.",
            )

    def _rows(self, point: Point, owner: str | None) -> list[Row]:
        """Find the lines that fit a point, those that say most of which points they mean first."""
        rows = [row for row in self._of_column(point.column) if _same_file(row.file, point.file)]
        if not rows:
            return rows
        # Owners tell apart what one name holds of many terminals.
        terminals: dict[str, set[str]] = {}
        for row in rows:
            terminals.setdefault(row.column, set()).add(row.terminal)
        spoken = [row for row in rows if _same_owner(row, point, owner, len(terminals[row.column]) > 1)]
        return sorted(spoken, key=lambda row: row.says, reverse=True)

    def _of_column(self, column: str) -> list[Row]:
        rows = list(self.rows.get(column, ()))
        for size in {len(end) for end in self.patterns}:
            ends = self.patterns.get(column[len(column) - size :], ()) if size <= len(column) else ()
            rows += [row for row in ends if fits(row.column, column)]
        return rows


def _same_file(listed: str, label: str) -> bool:
    """Tell whether the list's file is the point's: empty for any, or the end of its path."""
    listed, label = listed.replace("\\", "/"), label.replace("\\", "/")
    return (
        not listed
        or fits(listed, label)
        or label.endswith("/" + listed)
        or (ANY in listed and fits(ANY + "/" + listed, label))
    )


def _same_owner(row: Row, point: Point, owner: str | None, several: bool) -> bool:
    """Tell whether a line is for the owner of a point.

    A tag names the points that are its own already. Where it is the only one, it names also what the line singles out
    otherwise (a file, a whole name, a name with the tag in it): then it is the user's word on whose they are.
    """
    names = [name for name in (owner, point.tag, point.spelled) if name]
    if not row.terminal or any(fits(row.terminal, name) for name in names):
        return True
    if is_pattern(row.terminal):
        return False
    if several:
        return not owner and not point.tag
    singled_out = not is_pattern(row.column) or row.file or not point.tag
    return bool(singled_out or (point.spelled and point.spelled.lower() in row.column.lower()))


def read_point_list(path: Path | None, air_handlers) -> PointList:
    """Read the point list.

    Raises
    ------
    PointListError
        All its mistakes in one sentence.
    """
    if path is None:
        return PointList()
    try:
        text = to_utf8(read_bytes(path, LARGEST_TABLE), str(path))[0].decode("utf-8", "replace")
    except OSError as error:
        raise PointListError(path, f"cannot be opened ({error.strerror})", "Check the path in the site file.") from None
    head = text.split("\n", 1)[0]
    lines = list(csv.reader(text.splitlines(), delimiter=max(",;\t", key=head.count)))
    if not lines:
        raise PointListError(path, "is empty", f"Give it the columns {', '.join(COLUMNS)}.")
    header = [cell.strip().lower() for cell in lines[0]]
    unknown = [
        name for name in header if name and name not in [*COLUMNS, PROPOSED, *SHOWN] and not name.startswith("observed")
    ]
    if unknown:
        raise PointListError(
            path,
            f"unknown column {unknown[0]!r}{nearest(unknown[0], COLUMNS)}; allowed are {', '.join(COLUMNS)}",
            "Rename or remove it.",
            place="line 1",
        )
    if "column" not in header:
        raise PointListError(
            path, "has no column named 'column'", "Name each point's column as its file spells it.", place="line 1"
        )
    listed = PointList(Path(path), air_handlers=frozenset(air_handlers))
    mistakes: list[str] = []
    for number, cells in enumerate(lines[1:], 2):
        fields = {name: as_meant(cell.strip()) for name, cell in zip(header, cells, strict=False)}
        if any(fields.values()):
            row = _row(number, fields, mistakes)
            if row:
                listed.add(row)
    if mistakes:
        raise PointListError(
            path, "; ".join(mistakes), "Correct these lines, or run 'trendwright draft' for a fresh list."
        )
    return listed


def _row(number: int, fields: dict[str, str], mistakes: list[str]) -> Row | None:
    quantity = fields.get("quantity", "")
    ignore = fields.get("ignore", "").lower()
    known = [*TERMINAL, *AIR_HANDLER]
    if not fields.get("column"):
        mistakes.append(f"line {number}: the column is empty")
    elif quantity and quantity not in known:
        mistakes.append(f"line {number}: unknown quantity {quantity!r}{nearest(quantity, known)}")
    elif ignore not in _YES | _NO:
        mistakes.append(f"line {number}: ignore is {ignore!r}; allowed are yes and no")
    else:
        states = _states(number, fields.get("states", ""), mistakes)
        file, terminal, unit = (fields.get(name, "") for name in ("file", "terminal", "unit"))
        said = proposal(terminal, quantity, unit, fields.get("states", ""), ignore in _YES)
        drafted = fields.get(PROPOSED, "") == said
        return Row(number, file, fields["column"], terminal, quantity, unit, states, ignore in _YES, drafted)
    return None


def proposal(terminal: str, quantity: str, unit: str, states: str = "", ignore: bool = False) -> str:
    """Say what a line says, in words: ``draft`` writes it down beside the line, by which a correction is known.

    Examples
    --------
    >>> proposal("", "zone_temp", "degF"), proposal("VAV-1", "", "")
    ('zone_temp, degF', 'nothing, of VAV-1')
    """
    words = [
        quantity or "nothing",
        unit,
        states,
        f"of {terminal}" if terminal.strip(ANY) else "",
        "ignored" if ignore else "",
    ]
    return ", ".join(filter(None, words))


def _states(number: int, text: str, mistakes: list[str]) -> dict[str, float]:
    """Read ``1=occupied;2=unoccupied``: each code's word is one of the usual words for on and off."""
    states: dict[str, float] = {}
    for part in filter(None, (piece.strip() for piece in text.replace(",", ";").split(";"))):
        code, sign, word = (piece.strip().lower() for piece in part.partition("="))
        if sign and code and (word in YES or word in NO or word in ("0", "1")):
            states[code] = 1.0 if word in YES or word == "1" else 0.0
        else:
            mistakes.append(f"line {number}: states {part!r} should read like 1=occupied or 2=off")
    return states
