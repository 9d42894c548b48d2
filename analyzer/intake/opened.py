"""Files opened one after another, each to a table whose points are mapped and whose cells are gathered."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from threading import Event

import numpy as np

from analyzer.errors import ExportError
from analyzer.intake.ahead import ahead
from analyzer.intake.files.find import WORKBOOK, Source, find
from analyzer.intake.limits import LONGEST_NAME
from analyzer.intake.points.blocks import Block, gather
from analyzer.intake.points.entries import Log, list_entries, names_by_file
from analyzer.intake.points.file_names import FileNames, Told
from analyzer.intake.points.layout import Layout, recognise
from analyzer.intake.points.leading_tags import name_leading_owners
from analyzer.intake.points.legends import Legend, lines_of, names_a_legend
from analyzer.intake.points.looks import Looks
from analyzer.intake.points.modes import tell_modes
from analyzer.intake.points.notes import notes_of, says_units, take_notes
from analyzer.intake.points.one_table import check_one_table
from analyzer.intake.points.paths import name_path_owners
from analyzer.intake.points.point import Point
from analyzer.intake.points.point_list import PointList
from analyzer.intake.points.propose import map_points
from analyzer.intake.points.room_names import room_names
from analyzer.intake.points.row_keys import second_key
from analyzer.intake.points.twins import name_owners
from analyzer.intake.tables.crossed import lay_out_crossed
from analyzer.intake.tables.date_and_time import date_and_time
from analyzer.intake.tables.date_order import DateOrder, UndecidedDates
from analyzer.intake.tables.day_numbers import spell_day_numbers
from analyzer.intake.tables.day_rows import lay_out_days
from analyzer.intake.tables.elapsed import count_from_start
from analyzer.intake.tables.figure_dates import spell_figures
from analyzer.intake.tables.named_day import give_days
from analyzer.intake.tables.opening import open_tables
from analyzer.intake.tables.paired import take_apart
from analyzer.intake.tables.raw_table import RawTable
from analyzer.intake.tables.sniff import NoTable
from analyzer.intake.tables.stacked import name_by_line_above, unstack
from analyzer.intake.tables.stamp_columns import NoStamps, check_moments
from analyzer.intake.tables.stamp_parts import join_parts
from analyzer.intake.tables.stamps import Stamps, lines_say_utc, read_stamps
from analyzer.intake.tables.unit_columns import put_units
from analyzer.intake.tables.week_columns import join_weeks
from analyzer.intake.words.countries import writes_month_first
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.units import take_unit
from analyzer.intake.words.vocabulary import fold
from analyzer.intake.words.wording import Remark, some, together
from analyzer.ledger import ExportFile, Ledger
from analyzer.site import Site

Progress = Callable[[str], None]
_DATE_ABOVE = "{detail} rows with a time of day and no date were taken for the day whose date stands above them."


@dataclass
class Opened:
    """A table whose points are mapped: the cells of those that are, and how many each has, mapped or not."""

    log: Log
    points: list[Point]
    block: Block
    counts: np.ndarray


def open_logs(
    exports, site: Site, tags: TagFinder, listed: PointList, ledger: Ledger, progress: Progress,
    looks: Looks | None = None,
) -> list[Opened]:  # fmt: skip
    """Open every file, each while the next is read; those whose dates or names the others have to settle come last.

    Raises
    ------
    ExportError
        A file cannot be read; or none of those that were found holds a table.
    """
    sources, passed_over = find(exports, site)
    sources.sort(key=lambda source: not names_a_legend(source.stem))
    ledger.exports = [
        ExportFile(own.label, own.name, str(own.path.resolve()), own.member, own.named, own.folders) for own in sources
    ]
    names = FileNames(tags, [(source.folders, source.stem) for source in sources])
    opener = _Opener(site, tags, listed, names, looks)
    no_tables: list[NoTable] = []
    lists: list[NoTable | NoStamps] = []
    with ahead(_open_parts, sources, apart=lambda source: source.suffix in WORKBOOK) as opened:
        for source, tables_of_it in zip(sources, opened, strict=True):
            progress(f"reading {source.label}")
            try:
                tables = tables_of_it()
            except NoTable as error:
                if opener.legend.learn(source) or opener.note(source):
                    lists.append(error)
                elif source.named:
                    raise
                else:
                    no_tables.append(error)
                continue
            try:
                for table in tables:
                    opener.open(table)
            except NoStamps as error:
                if len(tables) > 1 or not opener.legend.learn(source):
                    raise
                lists.append(error)
    logs = opener.finish()
    if not logs:
        raise (no_tables + lists)[0]
    remarks = [remark for opened in logs for remark in opened.log.table.assumptions] + opener.order.assumptions
    remarks += [Remark(str(error.where), f"{error.found}; the file was passed over.") for error in no_tables]
    for sentence in together(remarks) + opener.legend.told() + _told_noted(opener.noted) + _passed_over(passed_over):
        ledger.assume(sentence)
    return logs


def _told_noted(labels: list[str]) -> list[str]:
    """Name the files of text of which nothing but what they say of units was read."""
    return [f"Read for the units that they tell of points, and nothing else: {some(labels)}."] if labels else []


def _passed_over(names: list[str]) -> list[str]:
    """Name the files that are of a type that is not read."""
    if not names:
        return []
    return [
        f"Passed over, since files of their type are not read: {some(names)}. Save what holds trends as .csv, .xlsx or "
        ".parquet."
    ]


def _open_parts(source: Source, off: Event) -> list[RawTable]:
    tables = [join_parts(join_weeks(spell_figures(table))) for table in open_tables(source, off)]
    blocks = give_days([spell_day_numbers(unstack(table)) for table in tables], source.label)
    blocks = [lay_out_crossed(lay_out_days(block)) for block in blocks]
    parts = [put_units(part) for block in blocks for part in take_apart(block)]
    notes = notes_of(rows for table in tables for rows in table.lists)
    for part in parts:
        part.keep_notes(notes)
    return parts


class _Opener:
    """Opens tables; what one of them cannot tell may stand in the others.

    Attributes
    ----------
    order : DateOrder
        What the tables tell of the order of day and month.
    legend : Legend
        What their coded names stand for.
    """

    def __init__(self, site: Site, tags: TagFinder, listed: PointList, names: FileNames, looks: Looks | None):
        self._site, self._tags, self._listed, self._names, self._looks = site, tags, listed, names, looks
        self._apart = tags.apart()  # what is only looked at settles no spelling
        self.order = DateOrder(site.date_order, month_first_here=writes_month_first(site.time_zone))
        self.legend = Legend(tags)
        self._notes: list[tuple[tuple[str, ...], list[str]]] = []  # of files of text, with their folders
        self.noted: list[str] = []
        self._logs: list[Opened] = []
        self._undecided: list[RawTable] = []
        self._coded: list[RawTable] = []

    def note(self, source: Source) -> bool:
        """Keep a file of text that says in which units points are, for the tables of its folder; tell if it is one."""
        lines = [sentence for line in lines_of(source) for sentence in re.split(r"(?<=\.)\s+", line)]
        if not says_units(lines):
            return False
        self._notes.append((source.folders, lines))
        self.noted.append(source.label)
        return True

    def open(self, table: RawTable) -> None:
        """Open a table, or put it off until the others are known."""
        for rows in table.lists:
            self.legend.learn_rows(rows, table.label, _place_of(table))
        try:
            self._open(table, last=False)
        except UndecidedDates:
            self._undecided.append(table)

    def finish(self) -> list[Opened]:
        """Open what was put off, and return all.

        Raises
        ------
        UndecidedDates
            Nothing tells the order of day and month.
        """
        self.order.know_all()
        for table in self._coded + self._undecided:
            self._open(table, last=True)
        self.order.check()
        for opened in self._logs if self.legend else ():
            legend = self.legend.within(_place_of(opened.log.table))
            for entry, point in zip(opened.log.entries, opened.points, strict=True):
                if point.certainty != "point list" and (why := legend.contradiction(entry)):
                    point.contradict(why)
        return self._logs

    def _open(self, table: RawTable, *, last: bool) -> None:
        _check_names(table, table.names)
        utc = not self._site.stamps and lines_say_utc(table.preamble)
        count_from_start(table, "UTC" if utc else self._site.stamps or self._site.time_zone, self.order)
        layout = recognise(table, self._tags)
        if table.preamble and names_by_file(table, layout):
            name_by_line_above(table, self._tags)
        stamps = self._stamps(table, layout)
        layout = layout.keyed(second_key(table, layout, [fold(take_unit(name)[0]) for name in table.names], stamps))
        told = self._names.tell(table)
        check_one_table(table, layout, stamps, told.owner, self._tags)
        log = list_entries(table, layout, stamps, told.owner, told.about)
        told_of = self._settle_names(log, told)
        _check_names(table, [entry.shown for entry in log.entries])
        if layout.kind == "wide":
            self._tags.learn_rooms(room_names(log.entries, self._apart))
        legend = self.legend.within(_place_of(table))
        points = map_points(table.label, log.entries, self._tags, self._listed, legend)
        if not last and not any(point.mapped or point.ignored for point in points):
            self._coded.append(table)  # a legend may come yet
            return
        if told_of:
            table.assume("lines above its header say what {detail} of its columns are, and they were read so.", told_of)
        opened = Opened(log, points, *gather(log, points))
        opened.block.tell_bounds(points)
        if self._looks is not None:
            self._looks.see(log, points, opened.block)
        table.let_go()
        self._logs.append(opened)

    def _settle_names(self, log: Log, told: Told) -> int:
        """Take whose the points are, and what else is told of them beside their names.

        Returns
        -------
        int
            Of how many columns lines above the header say what they are.
        """
        table = log.table
        log.name_owners(tell_modes(log, self._apart))
        head = Legend(self._tags)
        told_of = head.learn_head(table)
        log.name_owners(head.explain_all(log.entries))
        beside = [line for folders, lines in self._notes if table.folders[: len(folders)] == folders for line in lines]
        table.keep_notes([*table.notes, *(line for line in beside if line not in table.notes)])
        log.name_owners(take_notes(table, log.entries, self._apart))
        log.name_owners(name_path_owners(log.entries, self._apart))
        log.name_owners(name_leading_owners(log.entries, self._apart))
        log.name_owners(name_owners(log.entries, self._apart, told.file or told.owner, told.twin))
        return told_of

    def _stamps(self, table: RawTable, layout: Layout) -> Stamps:
        if layout.kind == "wide":
            check_moments(table, layout.time)
        column = table.columns[layout.time[0]]
        name = table.names[layout.time[0]]
        if len(layout.time) == 2:
            column, below = date_and_time(column, table.columns[layout.time[1]])
            if below:
                table.assume(_DATE_ABOVE, below)
            name = f"{name} and {table.names[layout.time[1]]}"
        beside = [table.stem, *reversed(table.folders), *table.preamble, table.units[layout.time[0]] or ""]
        self.order.reads(table.decimal if table.proven else "")
        zone = self._site.stamps or self._site.time_zone
        if not self._site.stamps and zone != "UTC" and lines_say_utc(table.preamble):
            zone = "UTC"
            table.assume("a line above the header says that the stamps are UTC, and they were read so.")
        return read_stamps(column, table.label, name, zone, self.order, beside)


def _place_of(table: RawTable) -> tuple[str, ...]:
    """Return the folders in which a table lies, and its file."""
    return (*table.folders, table.label.partition(": sheet ")[0])


def _check_names(table: RawTable, names: list[str]) -> None:
    """Refuse names of a length that no point has: every word of them would be looked up."""
    longest = max(names, key=len, default="")
    if len(longest) > LONGEST_NAME:
        raise ExportError(
            table.label,
            f"a point's name is {len(longest):,} letters long ({longest[:40]!r} ...); allowed are {LONGEST_NAME:,}",
            "Export it again with the points' names as headings.",
        )
