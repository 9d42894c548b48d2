"""The point list (``points.csv``): the user's word on what each point is."""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from pathlib import Path

from analyzer.errors import PointListError, nearest
from analyzer.formulas import as_meant
from analyzer.inputs import LARGEST_TABLE, read_bytes
from analyzer.intake.files.encoding import to_utf8
from analyzer.intake.points.point import Point
from analyzer.intake.points.told import Told
from analyzer.intake.words.units import unit_of
from analyzer.intake.words.vocabulary import NO, YES
from analyzer.quantities import AIR_HANDLER, TERMINAL, spellings

COLUMNS = ["file", "column", "terminal", "quantity", "unit", "states", "ignore"]
# Columns that ``draft`` adds for the reader's eye; they are not read.
SHOWN = ["certainty", "why"]
_YES = {"yes", "y", "true", "1", "x", "ignore"}
_NO = {"", "no", "n", "false", "0"}


@dataclass(frozen=True)
class Row:
    """One line of the point list; empty fields say nothing."""

    line: int
    file: str
    column: str
    terminal: str
    quantity: str
    unit: str
    states: dict[str, float]
    ignore: bool


@dataclass
class PointList:
    """The point list's lines, by column; and which of them met a point."""

    path: Path | None = None
    rows: dict[str, list[Row]] = field(default_factory=dict)
    air_handlers: frozenset[str] = frozenset()
    met: set[int] = field(default_factory=set)
    differing: Told = field(default_factory=Told)

    def apply(self, point: Point, owner: str | None) -> Point:
        """Put the user's word over a proposal.

        A unit that the file itself states stands before the point list's; where they differ it is said.
        """
        row = self._row(point, owner)
        if row is None:
            return point
        self.met.add(row.line)
        if row.ignore:
            point.ignore()
            return point
        air_handler = row.terminal in self.air_handlers if row.terminal else None
        point.correct(
            row.terminal, row.quantity in AIR_HANDLER if row.quantity else air_handler, row.quantity, row.states
        )
        if row.unit and point.quantity is not None:
            self._unit(point, row)
        return point

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

    def _row(self, point: Point, owner: str | None) -> Row | None:
        rows = [row for row in self.rows.get(point.column, ()) if _same_file(row.file, point.file)]
        # Lines that name the point's own file speak for it; owners tell apart what one file holds of many terminals.
        fits = [row for row in rows if _same_owner(row, point, owner, len({row.terminal for row in rows}) > 1)]
        return max(fits, key=lambda row: len(row.file)) if fits else None


def _same_file(listed: str, label: str) -> bool:
    """Tell whether the list's file is the point's: empty for any, or the end of its path."""
    listed, label = listed.replace("\\", "/"), label.replace("\\", "/")
    return not listed or label == listed or label.endswith("/" + listed)


def _same_owner(row: Row, point: Point, owner: str | None, several: bool) -> bool:
    """Where one column holds many terminals (a tidy table), a line speaks for its own terminal."""
    if not several or not owner or not row.terminal:
        return True
    return row.terminal in (owner, point.tag)


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
    unknown = [name for name in header if name and name not in COLUMNS + SHOWN and not name.startswith("observed")]
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
                listed.rows.setdefault(row.column, []).append(row)
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
        return Row(
            number, fields.get("file", ""), fields["column"], fields.get("terminal", ""), quantity,
            fields.get("unit", ""), states, ignore in _YES,
        )  # fmt: skip
    return None


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
