"""The cells of some points, found again in the files that they stand in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.evidence.raw_rows import Row, place_of, rows_of
from analyzer.evidence.watch import Cells
from analyzer.intake.files.find import Source
from analyzer.intake.words.units import unit_of


@dataclass(frozen=True)
class RawCell:
    """A cell as it stands in a file; ``place`` and ``text`` are empty where it was not found again."""

    place: str
    text: str


def find_again(sources: Sequence[Source], cells: Sequence[Cells]) -> list[list[RawCell]]:
    """Return for each point the raw cell of each of its values: by heading, stamp and the name beside it."""
    found: list[list[RawCell]] = [[] for _ in cells]
    tables: dict[str, list[int]] = {}
    for number, one in enumerate(cells):
        tables.setdefault(one.label, []).append(number)
    for label, numbers in tables.items():
        source, sheet = _source_of(sources, label)
        together = _File(source, [cells[number] for number in numbers])
        for row in rows_of(source, sheet):
            together.take(row)
        for number, raw in zip(numbers, together.found(), strict=True):
            found[number] = raw
    return found


def _source_of(sources: Sequence[Source], label: str) -> tuple[Source, str | None]:
    for source in sources:
        if label == source.label:
            return source, None
        if label.startswith(f"{source.label}: sheet "):
            return source, label.removeprefix(f"{source.label}: sheet ")
    raise AssertionError(label)


class _File:
    """Walks through one file and notes, for every wanted cell, the rows that may hold it."""

    def __init__(self, source: Source, cells: Sequence[Cells]):
        self._source, self._cells = source, cells
        self._wanted: dict[str, dict[int, list[int]]] = {}  # the first text of a stamp to points and their cells
        for number, one in enumerate(cells):
            for at, stamp in enumerate(one.stamp):
                self._wanted.setdefault(stamp[0], {}).setdefault(number, []).append(at)
        self._headers = {one.header.strip() for one in cells}
        self._columns: dict[str, list[int]] = {
            name: [int(name.removeprefix("column ")) - 1]
            for name in self._headers
            if name.startswith("column ") and name.removeprefix("column ").isdigit()
        }
        self._candidates: list[dict[int, list[tuple[int, int, str]]]] = [{} for _ in cells]

    def take(self, row: Row) -> None:
        """Take a row: a line of headings, or one that may hold a wanted cell."""
        cells = row.cells
        if self._headers & set(cells):
            for name in self._headers:
                if at := [n for n, cell in enumerate(cells) if cell == name]:
                    self._columns[name] = at
        for stamp in [n for n, cell in enumerate(cells) if cell in self._wanted]:
            for number, places in self._wanted[cells[stamp]].items():
                one = self._cells[number]
                if all(_stands(name, cells) for name in one.names):
                    self._note(row, stamp, number, [at for at in places if _rest(one.stamp[at], cells)])

    def _note(self, row: Row, stamp: int, number: int, places: list[int]) -> None:
        after = [n for n in self._columns.get(self._cells[number].header.strip(), []) if n != stamp]
        column = next((n for n in after if n > stamp), after[0] if after else None)
        if column is None:
            return
        text = row.cells[column] if column < len(row.cells) else ""
        for at in places:
            self._candidates[number].setdefault(at, []).append((row.number, column, text))

    def found(self) -> list[list[RawCell]]:
        """Return the raw cells of each point; of several rows with one stamp, the one that holds the value used."""
        return [
            [self._raw(one, at, candidates.get(at, [])) for at in range(len(one.stamp))]
            for one, candidates in zip(self._cells, self._candidates, strict=True)
        ]

    def _raw(self, one: Cells, at: int, candidates: list[tuple[int, int, str]]) -> RawCell:
        if not candidates:
            return RawCell("", "")
        used = float(one.value[at])
        line, column, text = next((found for found in candidates if _reads_as(found[2], one, used)), candidates[0])
        return RawCell(place_of(self._source, line, column), text)


def _stands(name: str, cells: list[str]) -> bool:
    """Tell whether a name stands in a row, by itself or behind the place that was put before it."""
    return name in cells or any(name.endswith(f" {cell}") and name[: -len(cell) - 1] in cells for cell in cells if cell)


def _rest(stamp: tuple[str, ...], cells: list[str]) -> bool:
    return all(part in cells for part in stamp[1:])


def _reads_as(text: str, one: Cells, used: float) -> bool:
    """Tell whether a text is the number that was used."""
    try:
        number = float(text.replace(",", ".").split()[0])
    except (ValueError, IndexError):
        return False
    unit = unit_of(one.point.unit, one.point.meaning.dimension) if one.point.unit else None
    return bool(np.isclose(unit.to_si(number) if unit else number, used, rtol=1e-6, atol=1e-6))
