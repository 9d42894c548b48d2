"""JSON documents in which tables lie nested: lists side by side, or lists of samples, with names around them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from analyzer.errors import ExportError
from analyzer.intake.words.stamps import is_stamp_number, looks_like_stamp
from analyzer.intake.words.vocabulary import (
    NAME_WORDS,
    PLACE_WORDS,
    TAG_WORDS,
    TIME_WORDS,
    UNIT_WORDS,
    VALUE_WORDS,
    fold,
)

_LOOKED_AT = 20  # entries of a list; judgement
_DEEPEST = 12  # objects within each other
_COLUMNS = frozenset({"columns", "fields", "header", "headers", "names"})  # of a list that names those of the rows
_VALUES = VALUE_WORDS | {"values", "readings", "samples", "v"}
_GENERIC = frozenset({"name", "id", "description"})  # of anything at all
_POINTS = NAME_WORDS - _GENERIC
_SAYS = TAG_WORDS | NAME_WORDS | PLACE_WORDS | UNIT_WORDS


@dataclass
class Part:
    """A table within a document.

    Attributes
    ----------
    columns : dict
        The cells by name; the first are stamps.
    units : dict
        The unit of each column that has one.
    around : dict
        What stands around it: names and their texts, the same for all of its rows.
    """

    columns: dict[str, list[Any]]
    units: dict[str, str] = field(default_factory=dict)
    around: dict[str, str] = field(default_factory=dict)

    @property
    def rows(self) -> int:
        return len(next(iter(self.columns.values())))


@dataclass(frozen=True)
class _Around:
    """The scalars of the objects around a node, and the names under which it lies.

    ``kind`` is what the list holds in which it lies, where the list's name tells: ``terminal`` in ``terminals``.
    """

    scalars: tuple[tuple[str, str], ...] = ()
    names: tuple[str, ...] = ()
    depth: int = 0
    kind: str = ""


def lines_of(document: Any) -> list[str]:
    """Return what a document says of itself, as lines above a header would."""
    there = document.items() if isinstance(document, dict) else ()
    return [f"{name}: {cell}" for name, cell in there if isinstance(cell, str | int | float)]


def find_parts(document: Any, label: str) -> list[Part]:
    """Find the tables of a document, each with what the objects around it say of it.

    Raises
    ------
    ExportError
        A list beside one of stamps has another length.
    """
    return list(_parts(document, _Around(), label))


def _parts(node: Any, around: _Around, label: str) -> Iterator[Part]:
    if around.depth > _DEEPEST:
        return
    if isinstance(node, list):
        yield from _of_list(node, around, label)
    elif isinstance(node, dict):
        yield from _of_object(node, around, label)


def _of_list(node: list[Any], around: _Around, label: str) -> Iterator[Part]:
    if node and all(isinstance(row, list) and len(row) == 2 for row in node) and _are_stamps([row[0] for row in node]):
        yield _part({"time": [row[0] for row in node], "value": [row[1] for row in node]}, {}, around)
        return
    rows = [row for row in node if isinstance(row, dict)]
    if not rows or len(rows) < len(node):
        return
    if all(_is_scalar(cell) for row in rows for cell in row.values()):
        names = dict.fromkeys(name for row in rows for name in row)
        cells = {name: [row.get(name) for row in rows] for name in names}
        time = _stamps_in(cells)
        if time is not None:
            yield _part({time: cells.pop(time)} | cells, {}, around)
        return
    for row in rows:
        yield from _parts(row, _Around(around.scalars, around.names, around.depth + 1, around.kind), label)


def _of_object(node: dict[str, Any], around: _Around, label: str) -> Iterator[Part]:
    said = [(name, str(cell)) for name, cell in node.items() if isinstance(cell, str | int) and fold(name) in _SAYS]
    own = _Around((*around.scalars, *_of_kind(said, around.kind)), around.names, around.depth + 1)
    lists = {name: cells for name, cells in node.items() if _is_list_of_scalars(cells)}
    time = _stamps_in(lists)
    if time is not None:
        found = _beside(node, time, label)
        yield _part({"time" if fold(time) not in TIME_WORDS else time: lists[time]} | found[0], found[1], own)
        return
    if (rows := _named_rows(node)) is not None:
        yield _part(rows, {}, own)
        return
    within = {name: cell for name, cell in node.items() if isinstance(cell, dict | list)}
    for name, cell in within.items():
        named = len(within) > 1 or any(map(str.isdigit, name))
        names = (*own.names, name) if named and fold(name) not in _VALUES else own.names
        kind = _one_of(name) if isinstance(cell, list) else ""
        yield from _parts(cell, _Around(own.scalars, names, own.depth, kind), label)


def _one_of(name: str) -> str:
    """Return what a list holds whose name is a plural, ``terminals``; nothing where that says nothing."""
    plain = name.strip()
    singulars = (plain[:-1] if plain.endswith("s") else "", plain[:-2] if plain.endswith("es") else "", plain)
    return next((word for word in singulars if fold(word) in TAG_WORDS | PLACE_WORDS | _POINTS), "")


def _of_kind(said: list[tuple[str, str]], kind: str) -> list[tuple[str, str]]:
    """Call the name of an object by what it is: the ``name`` of one of the ``terminals`` is a terminal's."""
    generic = [name for name, _ in said if fold(name) in _GENERIC]
    named = next((name for name in generic if fold(name) == "name"), generic[0] if len(generic) == 1 else None)
    if not kind or named is None or any(fold(name) == fold(kind) for name, _ in said):
        return said
    return [(kind if name == named else name, text) for name, text in said]


def _beside(node: dict[str, Any], time: str, label: str) -> tuple[dict[str, list[Any]], dict[str, str]]:
    """Return the lists beside one of stamps, in the same object or in those within it, and their units."""
    columns: dict[str, list[Any]] = {}
    units: dict[str, str] = {}
    length = len(node[time])
    for path, cells, unit in _lists_within(node, (), 0):
        if path == (time,):
            continue
        name = " ".join(path[:-1] if len(path) > 1 and fold(path[-1]) in _VALUES else path)
        if len(cells) != length:
            raise ExportError(
                label,
                f"the list {name!r} has {len(cells):,} entries, the stamps beside it are {length:,}",
                "Export it with one value for every stamp, null where there is none.",
            )
        columns[name] = cells
        if unit:
            units[name] = unit
    return columns, units


def _lists_within(
    node: dict[str, Any], path: tuple[str, ...], depth: int
) -> Iterator[tuple[tuple[str, ...], list[Any], str]]:
    """Yield the lists of scalars of an object and of those within it: their path, entries and unit."""
    if depth > _DEEPEST:
        return
    unit = next((cell for name, cell in node.items() if fold(name) in UNIT_WORDS and isinstance(cell, str)), "")
    for name, cell in node.items():
        if _is_list_of_scalars(cell):
            yield (*path, name), cell, unit
        elif isinstance(cell, dict):
            yield from _lists_within(cell, (*path, name), depth + 1)
        elif isinstance(cell, list) and all(isinstance(item, dict) for item in cell):
            for item in cell:
                own = next(
                    (text for key, text in item.items() if fold(key) in NAME_WORDS and isinstance(text, str)), ""
                )
                yield from _lists_within(item, (*path, own) if own else (*path, name), depth + 1)


def _named_rows(node: dict[str, Any]) -> dict[str, list[Any]] | None:
    """Return the columns of rows that are lists, whose names stand in a list beside them."""
    names = next((cells for name, cells in node.items() if fold(name) in _COLUMNS and isinstance(cells, list)), None)
    if names is None or not all(isinstance(name, str) for name in names):
        return None
    for rows in node.values():
        if isinstance(rows, list) and rows and all(isinstance(row, list) and len(row) == len(names) for row in rows):
            return dict(zip(names, map(list, zip(*rows, strict=True)), strict=True))
    return None


def _part(columns: dict[str, list[Any]], units: dict[str, str], around: _Around) -> Part:
    """Put what stands around a table to it; names under which it lies are its point's, or its terminal's."""
    said: dict[str, str] = {}
    outer: list[str] = []
    for name, text in around.scalars:
        if fold(name) not in map(fold, columns):
            if name in said and fold(name) in _GENERIC:
                outer.append(said[name])
            said[name] = text
    if outer and not any(fold(name) in TAG_WORDS for name in said):
        said["terminal"] = outer.pop()  # the object around that of the point
    if outer and not any(fold(name) in PLACE_WORDS for name in said):
        said["building"] = " ".join(outer)
    if around.names:
        long = any(fold(name) in _VALUES for name in columns)
        said["point" if long else "terminal"] = " ".join(around.names)
    cells = {
        name: [_stamp(cell) for cell in column] if n == 0 else column
        for n, (name, column) in enumerate(columns.items())
    }
    return Part(cells, units, said)


def _is_scalar(cell: Any) -> bool:
    return not isinstance(cell, dict | list)


def _is_list_of_scalars(cell: Any) -> bool:
    return isinstance(cell, list) and len(cell) > 1 and all(map(_is_scalar, cell))


def _stamps_in(lists: dict[str, list[Any]]) -> str | None:
    """Return the name of the list that holds the stamps: one with a word for time before any other."""
    stamps = [name for name, cells in lists.items() if _are_stamps(cells)]
    return next((name for name in stamps if fold(name) in TIME_WORDS), next(iter(stamps), None))


def _are_stamps(cells: list[Any]) -> bool:
    seen = [cell for cell in cells[:_LOOKED_AT] if cell is not None]
    return bool(seen) and all(_is_stamp(cell) for cell in seen)


def _is_stamp(cell: Any) -> bool:
    if isinstance(cell, bool) or not isinstance(cell, str | int | float):
        return False
    if isinstance(cell, str):
        return looks_like_stamp(cell)
    return is_stamp_number(cell) or looks_like_stamp(str(cell))


def _stamp(cell: Any) -> Any:
    """Return a stamp as text where it is a date's figures, and no count of seconds."""
    number = isinstance(cell, int | float) and not isinstance(cell, bool)
    return str(cell) if number and not is_stamp_number(cell) else cell
