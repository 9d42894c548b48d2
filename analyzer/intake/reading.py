"""The whole of intake: files to tables, tables to logs, logs to samples, samples to the normalized table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from analyzer.errors import ExportError, ScheduleError
from analyzer.intake.files.find import Source
from analyzer.intake.grid.alternating import part_alternating
from analyzer.intake.grid.clock_told import suspect_utc, without_offset, zone_of_offsets
from analyzer.intake.grid.moments import Series, as_series, take_out_messy, without_duplicates
from analyzer.intake.grid.normalize import normalize
from analyzer.intake.grid.overlaps import part_kinds, refuse_contradiction, tell_conflicts
from analyzer.intake.opened import Opened, open_logs
from analyzer.intake.points.building_air import give_building_air
from analyzer.intake.points.conflicts import settle_conflicts
from analyzer.intake.points.contradictions import contradiction, tell_contradictions
from analyzer.intake.points.evidence import Evidence
from analyzer.intake.points.looks import Looks
from analyzer.intake.points.namesakes import part_namesakes
from analyzer.intake.points.passed_over import tell_passed_over
from analyzer.intake.points.point import Point
from analyzer.intake.points.point_list import PointList, read_point_list
from analyzer.intake.points.same_heading import SAME_HEADING, leave_out_same_headings
from analyzer.intake.points.shared_air import share_supply_air
from analyzer.intake.points.thin import leave_out_thin
from analyzer.intake.points.told import Told
from analyzer.intake.tables.stamps import (
    GOOD,
    NONEXISTENT,
    UNREADABLE,
    Stamps,
    resolve_repeats,
)
from analyzer.intake.values.account import Account
from analyzer.intake.values.convert import to_si
from analyzer.intake.values.plausibility import occupancy_stands_still
from analyzer.intake.values.reasons import REASON
from analyzer.intake.values.settled_units import settle_units
from analyzer.intake.values.unit_choice import ROOM_TEMPERATURES, as_exports_speak, assumed_units
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.wording import Remark, some, together
from analyzer.ledger import Ledger
from analyzer.site import Site
from analyzer.trends import Trends

_AUTUMN = (
    "{detail} stamps in the autumn hour that the clock shows twice, but the log only once or out of order, were taken "
    "as its first pass."
)

Progress = Callable[[str], None]


@dataclass
class Survey:
    """What a reading found: the trends, every point with what it was taken for, and what was known before.

    ``units`` are those that were assumed where nothing told any: 'ip' or 'si'.
    """

    trends: Trends
    points: list[Point]
    tags: TagFinder
    listed: PointList
    units: str


def read(exports: Sequence[str | Path], site: Site, progress: Progress) -> Trends:
    """Read exports; see :func:`analyzer.intake.read_exports`."""
    found = survey(exports, site, progress)
    if not any(point.mapped or point.ignored for point in found.points):
        raise _nothing_recognized(found)
    return found.trends


def survey(
    exports: Sequence[str | Path | Source], site: Site, progress: Progress, looks: Looks | None = None
) -> Survey:
    """Read exports and tell of every point what it was taken for, even where none was recognized.

    Parameters
    ----------
    looks : Looks, optional
        Gathers what the cells of every name look like.
    """
    ledger = Ledger()
    tags, listed = known_names(site)
    logs = open_logs(exports, site, tags, listed, ledger, progress, looks)
    stamps = [opened.log.stamps for opened in logs]
    site = _with_zone(site, stamps, ledger)
    points = [point for opened in logs for point in opened.points]
    for sentence in (
        give_building_air(points)
        + leave_out_same_headings(logs)
        + leave_out_thin(points, tags)
        + part_namesakes(logs, tags)
        + share_supply_air(logs)
        + settle_conflicts(points, Evidence(logs))
        + listed.differing.sentences()
        + tell_contradictions(points)
        + tell_passed_over(points)
    ):
        ledger.assume(sentence)
    if not site.units_told:
        site = as_exports_speak(site, [each for opened in logs for each in _temperatures(opened)])
    series, account = take_series(logs, site, ledger)
    progress("putting the values on each terminal's grid")
    series = settle(series, account, ledger)
    trends = normalize(series, account, site, ledger)
    for sentence in suspect_utc(trends, stamps, site):
        ledger.assume(sentence)
    ledger.files = account.files()
    return Survey(trends, account.points, tags, listed, site.units)


def _with_zone(site: Site, stamps: list[Stamps], ledger: Ledger) -> Site:
    """Return the site with the zone that the stamps' offsets show, where no site file tells it; say what was taken."""
    if site.file is not None or site.time_zone != "UTC":
        return site
    if without_offset(stamps):
        ledger.assume("Without a site file, time stamps without an offset are read as UTC.")
        return site
    zone = zone_of_offsets(stamps)
    if zone is None:
        return site
    told = "UTC" + zone.removeprefix("Etc/GMT").translate(str.maketrans("+-", "-+")) if "Etc/" in zone else zone
    ledger.assume(f"Without a site file, local time follows the offsets of the time stamps: {told}.")
    return replace(site, time_zone=zone)


def _nothing_recognized(found: Survey) -> ExportError:
    files = list(dict.fromkeys(point.file for point in found.points))
    names = some([repr(point.column) for point in found.points])
    if contradicted := contradiction(found.points):
        return contradicted
    rivals = [point for point in found.points if point.why == SAME_HEADING]
    if rivals:
        return ExportError(
            rivals[0].file,
            f"has several columns of one heading, whose readings differ, and no others that are known ({names})",
            "Export them under names of their own, or leave out those that are not meant.",
            place="header",
        )
    return ExportError(
        files[0] if len(files) == 1 else f"{len(files)} tables",
        f"not one of {len(found.points)} points was recognized ({names})",
        "Run 'trendwright draft' on the exports and correct the points.csv that it writes.",
    )


def known_names(site: Site) -> tuple[TagFinder, PointList]:
    """Return the tags that the schedule knows and the point list."""
    handlers = [str(name) for name in site.schedule["air_handler"].dropna().unique()] if len(site.schedule) else []
    listed = read_point_list(site.points_file, handlers)
    tags = TagFinder([str(tag) for tag in site.schedule.index], handlers)
    if alike := tags.too_alike():
        raise ScheduleError(
            site.terminals_file, f"no name of a point can tell the terminals {alike[0]!r} and {alike[1]!r} apart",
            "Give one of them another number or word: the signs between them are not compared.",
        )  # fmt: skip
    return tags, listed


def take_series(logs: list[Opened], site: Site, ledger: Ledger) -> tuple[list[Series], Account]:
    """Read the values of every table, in SI and at their moments, and open the account of every point."""
    account = Account()
    still: dict[str, list[str]] = {}
    every, told, autumn = [], Told(), []
    settle_units(logs, site)
    for opened in logs:
        log, points, block = opened.log, opened.points, opened.block
        block.drop(np.array([point.mapped for point in points], bool))  # of names that rival one is left
        reason = to_si(block, points, site, told)
        first = account.open(log, points, opened.counts)
        code = block.stamp
        good = _check_stamps(log.stamps, code, reason)
        account.count(block, reason, first)
        time, single = resolve_repeats(log.stamps, code, block.begin)
        if single:
            autumn.append(Remark(log.table.label, _AUTUMN, single))
        source = np.where(block.entry >= 0, block.entry + first, -1)
        target = np.where(source >= 0, account.target_of[np.maximum(source, 0)], -1)
        series = Series(target, source, block.begin, time, block.number, log.layout.common_stamps)
        if good is not None:
            series.keep_rows(good)
        modes = [first + n for n, point in enumerate(points) if point.mapped and point.quantity == "occupied"]
        _set_still_occupancy_aside(series, modes, account, still)
        every.append(series)
    for sentence in together(autumn) + told.sentences() + _still_told(still) + assumed_units(account.points):
        ledger.assume(sentence)
    return every, account


def _temperatures(opened: Opened) -> list[tuple[Point, float]]:
    """List a table's temperatures that tell their unit, by their file or as rooms do, each with its greatest number."""
    entry, high = opened.block.entry.ravel().tolist(), opened.block.high.ravel().tolist()
    there = [(opened.points[n], most) for n, most in zip(entry, high, strict=True) if n >= 0]
    there = [(point, most) for point, most in there if point.mapped and point.meaning.dimension == "temperature"]
    return [(point, most) for point, most in there if point.unit or point.quantity in ROOM_TEMPERATURES]


def _set_still_occupancy_aside(series: Series, modes: list[int], account: Account, still: dict[str, list[str]]) -> None:
    """Set occupancy modes (by their sources) aside that never change: the site's hours stand in for them."""
    logs = np.argwhere(np.isin(series.source, modes)).tolist()
    whole = int(np.ptp(series.time)) if logs and len(series.time) else 0
    for column, run in logs:
        point = account.points[series.source[column, run]]
        part = slice(series.begin[run], series.begin[run + 1])
        there = ~np.isnan(series.value[column, part])
        value, time = series.value[column, part][there], series.time[part][there]
        if occupancy_stands_still(point, time, value, whole):
            account.move(np.full(len(value), series.source[column, run]), "outside physical range")
            series.set_aside(column, run)
            state = "occupied" if value[0] else "unoccupied"
            still.setdefault(state, []).append(point.tag)


def _still_told(still: dict[str, list[str]]) -> list[str]:
    """Say whose occupancy modes were rejected, by what they read."""
    return [
        f"The occupancy mode of {some(list(dict.fromkeys(tags)))} reads {state} throughout and was rejected; the "
        "site's occupied hours were taken in its place."
        for state, tags in still.items()
    ]


def _check_stamps(stamps: Stamps, code: np.ndarray, reason: np.ndarray) -> np.ndarray | None:
    """Set the rows without a moment aside; return the good ones, None where all are."""
    if not stamps.reason.any():
        return None
    stamp = stamps.reason[code]
    reason[:, stamp == UNREADABLE] = REASON["unreadable timestamp"]
    reason[:, stamp == NONEXISTENT] = REASON["nonexistent local time"]
    return stamp == GOOD


def settle(every: list[Series], account: Account, ledger: Ledger) -> list[Series]:
    """Bring every log into the order of time, one log per target, duplicates rejected."""
    if not account.targets:
        return []
    samples = take_out_messy(every, len(account.targets))
    if not len(samples.time):
        return every
    samples = part_kinds(samples, account, ledger)
    whole = int((~np.isnan(samples.value)).sum())
    samples, alternating, aside = part_alternating(samples, account)
    for sentence in alternating:
        ledger.assume(sentence)
    samples, twice, conflicting = without_duplicates(samples, account.units)
    account.move(twice, "duplicate timestamp")
    refuse_contradiction(np.concatenate([aside, twice[conflicting]]), whole, account)
    for sentence in tell_conflicts(twice[conflicting], account):
        ledger.assume(sentence)
    in_table = np.zeros(len(account.targets), bool)
    in_table[samples.target] |= np.array(account.tabled)[samples.source]
    parts = [(common, samples.take(in_table[samples.target] == common)) for common in (False, True)]
    return every + [as_series(part, tabled=common) for common, part in parts if len(part.time)]
