"""Files of schedules and balancing reports read into facts, every cell accounted for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from analyzer.errors import ScheduleError
from analyzer.inputs import LARGEST_TABLE, read_bytes
from analyzer.schedule.cells import Grid, Place, continued
from analyzer.schedule.facts import Account, Aside, Reading, Source
from analyzer.schedule.forms import FormReader
from analyzer.schedule.layout import Table, find_tables, notes_of_sheet
from analyzer.schedule.pages import pdf_grids
from analyzer.schedule.rows import TableReader
from analyzer.schedule.types import lists_beside, lists_in, spread
from analyzer.schedule.workbook import text_grid, workbook_grids

_WORKBOOKS = {".xlsx", ".xlsm"}
_TEXTS = {".csv", ".tsv", ".txt"}
OUTSIDE = "in no table of terminals"


def read_schedules(files: Sequence[str | Path], say: Callable[[str], None] = lambda _: None) -> Reading:
    """Read schedules and balancing reports as they come.

    Parameters
    ----------
    files : list of path
        Workbooks (.xlsx), text (.csv, .tsv) and PDF with text.
    say : callable
        Told what is being read.

    Returns
    -------
    Reading
        Values in SI with their sources, what was set aside and why, and an account that adds up for every file.

    Raises
    ------
    ScheduleError
        A file cannot be read, or names no terminal.
    """
    reading = Reading()
    for file in files:
        say(f"reading {file}")
        reading.add(_read_file(Path(file)))
    spread(reading)
    if not reading.tags:
        types = ", ".join(kind.key for kind in reading.types.values())
        raise ScheduleError(
            files[0], f"gives types of terminal ({types}), and nothing says which terminals are of each",
            "Name a list of the terminals beside it, with a column of their types.",
        )  # fmt: skip
    return reading


def _read_file(path: Path) -> Reading:
    grids = file_grids(path)
    reading = Reading()
    account = Account(path.name)
    before: tuple[Grid, Table] | None = None
    notes = [line for grid in grids if grid.lettered for line in notes_of_sheet(grid)]
    for grid in grids:
        if grid.unread:
            reading.assumptions.append(f"{path.name}: {grid.sheet} {grid.unread}")
        tables = find_tables(grid)
        if before and not tables and not grid.lettered and grid.width == before[0].width:
            grid = continued(grid, before[0], before[1].header)
            tables = find_tables(grid)
        if before and tables and not grid.lettered and _heads(tables[0]) == _heads(before[1]):
            titles = before[1].titles if not tables[0].titles else []
            tables[0].carried = [*titles, *before[1].carried, *(text for _, text in before[1].sections)]
        for table in tables:
            table.notes += [line for line in notes if line not in table.notes]
        reading.add(_read_grid(grid, tables, account, set(reading.types)))
        upright = [table for table in tables if not table.grid.turned]
        before = (grid, upright[-1]) if upright else None
    if not reading.tags and not reading.types:
        raise ScheduleError(
            path, "no table or form of terminals was found in it",
            "Name a schedule whose columns have headings, the terminals' tags among them.",
        )  # fmt: skip
    reading.accounts = [account]
    return reading


def _heads(table: Table) -> list[str]:
    return [column.heading for column in table.columns]


def file_grids(path: Path) -> list[Grid]:
    """Return the sheets or pages of a file as grids.

    Raises
    ------
    ScheduleError
        It cannot be read.
    """
    try:
        data = read_bytes(path, LARGEST_TABLE)
    except FileNotFoundError:
        raise ScheduleError(path, "there is no such file", "Correct the path after --schedule.") from None
    except OSError as error:
        raise ScheduleError(path, f"cannot be read ({error.strerror})", "Name the schedule's file.") from None
    suffix = path.suffix.lower()
    if suffix == ".pdf" or data.startswith(b"%PDF-"):
        return pdf_grids(data, path.name)
    if suffix in _WORKBOOKS or data.startswith(b"PK\x03\x04"):
        return workbook_grids(data, path.name)
    if suffix in _TEXTS or suffix == "":
        return [text_grid(data, path.name)]
    raise ScheduleError(
        path, f"{suffix or 'a file without an ending'} is no kind of schedule that is read",
        "Save it as .xlsx, .csv or .tsv, or name a PDF with text.",
    )  # fmt: skip


def _read_grid(grid: Grid, tables: list[Table], account: Account, types: set[str]) -> Reading:
    """Read a grid's tables, or else its forms, and the lists of terminals of a type."""
    reading = Reading()
    used: set[Place] = set()
    not_data: set[Place] = set()
    asides: dict[Place, Aside] = {}
    forms = FormReader(grid)
    by_forms = forms.read()
    readers = [TableReader(table) for table in tables]
    by_tables = [reader.read() for reader in readers]
    if _worth(by_forms) > sum(_worth(each) for each in by_tables):
        reading.add(by_forms)
        used, not_data, asides = forms.used, forms.not_data, forms.asides
    else:
        for reader, each in zip(readers, by_tables, strict=True):
            reading.add(each)
            used |= reader.marks.used
            not_data |= reader.table.not_data
            asides |= reader.marks.asides
    used |= _read_lists(grid, types | set(reading.types), reading)
    asides = {place: aside for place, aside in asides.items() if place not in used}
    for place in grid.all_filled():
        account.cells += 1
        if place in used:
            account.used += 1
        elif place in asides:
            account.set_aside[asides[place].why] += 1
        elif place in not_data or not tables and not by_forms.tags:
            account.not_data += 1
        else:
            account.set_aside[OUTSIDE] += 1
            source = Source(grid.file, grid.sheet, grid.place(*place) if not grid.turned else "")
            asides[place] = Aside(source, grid.rows[place[0]][place[1]], OUTSIDE)
    reading.asides += asides.values()
    return reading


def _read_lists(grid: Grid, types: set[str], reading: Reading) -> set[Place]:
    """Take up which terminals are of a type where a line says it; return the cells of the lines."""
    if not types:
        return set()
    cells: set[Place] = set()
    for cell, key, tags in lists_in(grid, types):
        cells.add(grid.plain(*cell))
        source = Source(grid.file, grid.sheet, grid.place(*cell))
        _name_of_type(reading, key, tags, source)
    for key, tags in lists_beside(grid.loose, types):
        _name_of_type(reading, key, tags, Source(grid.file, grid.sheet, "beside the table"))
    return cells


def _name_of_type(reading: Reading, key: str, tags: tuple[str, ...], source: Source) -> None:
    for tag in tags:
        reading.tags.setdefault(tag, source)
        reading.of_type.append((tag, key, source))


def _worth(reading: Reading) -> int:
    return sum(
        fact.column not in ("remarks", "kind", "reheat", "floor", "air_handler", "distribution")
        for fact in [*reading.facts, *(fact for kind in reading.types.values() for fact in kind.facts)]
    )
