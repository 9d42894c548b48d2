"""Propose a building's description from its exports: point list, schedule, site file, and the page for them."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from analyzer.draft.checks import what_to_check
from analyzer.draft.documents import Documents, matched_documents, source_rows, with_documents, with_led_tags
from analyzer.draft.drafted import Drafted
from analyzer.draft.kinds import infer_terminals
from analyzer.draft.names import names_of
from analyzer.draft.page import page
from analyzer.draft.point_rows import HEADER, point_rows
from analyzer.draft.schedule import drafted_schedule
from analyzer.draft.site_file import site_file
from analyzer.errors import CallError
from analyzer.formulas import as_text
from analyzer.intake.points.looks import Looks
from analyzer.intake.reading import Survey, survey
from analyzer.intake.tables.date_order import UndecidedDates
from analyzer.schedule import read_schedules
from analyzer.site import Site
from analyzer.staging import check_place, files_placed, finish_placing, folder_replaced
from analyzer.trends import Trends

FILES = ("site.toml", "terminals.csv", "points.csv", "sources.csv", "index.html")
_REMEDY = "Name another folder with --out."


def draft(
    exports: Sequence[str | Path],
    site: Site | None,
    folder: str | Path,
    say: Callable[[str], None],
    schedules: Sequence[Path] = (),
) -> list[str]:
    """Write ``points.csv``, ``terminals.csv``, ``site.toml`` and a page to correct them on.

    Parameters
    ----------
    exports : list of str or path
        As for a review.
    site : Site or None
        What is known already; None where nothing is.
    folder : path
        Where to write; none of the files may be there yet.
    say : callable
        Told what is being read.
    schedules : sequence of path
        Schedules of the drawings and balancing reports; what they say goes into ``terminals.csv``, and where it
        stands into ``sources.csv``.

    Returns
    -------
    list of str
        What to check first, most important first.

    Raises
    ------
    CallError
        One of the files is there already, or the folder cannot be written.
    ExportError
        The exports cannot be read.
    ScheduleError
        A schedule cannot be read.
    """
    folder = Path(folder)
    check_place(folder / FILES[0], remedy=_REMEDY)
    finish_placing(folder, remedy=_REMEDY)
    there = [name for name in FILES if (folder / name).exists()]
    if there:
        raise CallError(
            folder, f"{', '.join(there)} is there already", "Move it away, or name another folder with --out."
        )
    known = site or Site()
    known = replace(known, documents=(*known.documents, *(Path(file) for file in schedules)))
    reading = read_schedules([Path(file) for file in schedules], say) if schedules else None
    found, looks, undecided = _surveyed(exports, with_led_tags(known, reading) if reading else known, say)
    tags = [str(tag) for tag in found.trends.terminals["terminal"].cat.categories]
    documents = matched_documents(reading, tags) if reading else None
    drafted = _drafted(found, looks, known, folder, undecided, documents)
    to_check = what_to_check(found, drafted, given=site is not None)
    texts = {
        "points.csv": _table([HEADER, *drafted.point_rows]),
        "terminals.csv": _table([list(drafted.schedule.columns), *drafted.schedule.to_numpy().tolist()]),
        "site.toml": drafted.site_text,
    }
    if documents is not None:
        texts["sources.csv"] = _table(source_rows(documents, known, drafted.units))
    _write(folder, {**texts, "index.html": page(drafted, [str(path) for path in exports], to_check)})
    return [str(check) for check in to_check]


def _surveyed(
    exports: Sequence[str | Path], known: Site, say: Callable[[str], None]
) -> tuple[Survey, Looks, UndecidedDates | None]:
    """Read the exports; where nothing tells the order of day and month, as if the month came first."""
    looks = Looks()
    try:
        return survey(exports, known, say, looks), looks, None
    except UndecidedDates as error:
        looks = Looks()
        return survey(exports, replace(known, date_order="month-first"), say, looks), looks, error


def _drafted(
    found: Survey,
    looks: Looks,
    known: Site,
    folder: Path,
    undecided: UndecidedDates | None,
    documents: Documents | None,
) -> Drafted:
    terminals = infer_terminals(found)
    trends = found.trends
    names = names_of(found.points, looks, _used(trends))
    scheduled = with_documents(known, documents) if documents else known
    return Drafted(
        site=known,
        documents=documents,
        folder=folder,
        names=names,
        point_rows=point_rows(names, found.listed.spoken()),
        terminals=terminals,
        schedule=drafted_schedule(trends.terminals, terminals, scheduled, found.units),
        site_text=site_file(known, folder, found.units, trends.time_zone, undecided=undecided is not None),
        units=known.units if known.units_told else found.units,
        time_zone=trends.time_zone,
        undecided=undecided,
    )


def _used(trends: Trends) -> set[tuple[bool, str, str]]:
    """Tell of what a value came into the tables: air handler or not, tag, quantity."""
    used: set[tuple[bool, str, str]] = set()
    for air_handler, table, owner in (
        (False, trends.terminals, "terminal"),
        (True, trends.air_handlers, "air_handler"),
    ):
        counts = table.drop(columns="time").groupby(owner, observed=True).count().stack()
        used |= {(air_handler, str(tag), str(quantity)) for tag, quantity in counts[counts > 0].index}
    return used


def _write(folder: Path, texts: dict[str, str]) -> None:
    """Write the files into a folder that is made with them, or, where it is there already, beside what it holds."""
    if folder.is_dir():
        placing = files_placed(folder, texts, remedy=_REMEDY)
    else:
        placing = folder_replaced(folder, remedy=_REMEDY)
    with placing as staging:
        for name, text in texts.items():
            (staging / name).write_text(text, encoding="utf-8", newline="")


def _table(rows: Iterable[Sequence[Any]]) -> str:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows([as_text(str(cell)) for cell in row] for row in rows)
    return stream.getvalue()
