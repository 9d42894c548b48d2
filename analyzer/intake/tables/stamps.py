"""A column of time stamps, of whatever type, as moments: UTC, with what the column itself cannot tell resolved."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from analyzer.errors import ExportError
from analyzer.intake.tables.coded import as_coded, codes, spread
from analyzer.intake.tables.date_order import DateOrder, month_first
from analyzer.intake.tables.offset_told import keeps_offset, offset_told
from analyzer.intake.tables.years import give_years
from analyzer.intake.words.months import UnclearMonth
from analyzer.intake.words.stamps import (
    DAY,
    EARLIEST,
    LATEST,
    NOT_A_TIME,
    SECOND,
    SERIAL_SINCE,
    SERIAL_UNTIL,
    UNIX_SCALES,
    UNIX_SINCE,
    UNIX_UNTIL,
    split_fields,
    to_micros,
)
from analyzer.intake.words.wording import some

GOOD, UNREADABLE, NONEXISTENT = 0, 1, 2
_BOUNDS = tuple(int(np.datetime64(f"{year}-01-01", "us").astype(np.int64)) for year in (EARLIEST, LATEST))
_SERIAL_ORIGIN = -25_569 * DAY
_UTC = re.compile(r"(?:(?<![A-Za-z])(?:utc|gmt)|UTC|Utc|GMT)(?![A-Za-z]|\s*[+-]?\s*\d)")
# Judgement.
SPELLED = 0.5  # share of a column's texts that are spelled as stamps; with fewer, its numbers are tried as stamps
_OF_STAMPS = re.compile(
    r"\b(?:times?|time ?stamps?|stamps?|time ?zone|clock|zeit\w*|uhrzeit\w*|heures?|horas?|horodat\w*)\b", re.IGNORECASE
)
_FIGURE = re.compile(r"\d")
_ENDS_IN_UTC = re.compile(r"(?:time|date|stamp|ts)utc$")


@dataclass
class Stamps:
    """The stamps of a file.

    Attributes
    ----------
    code : ndarray of int
        Row by row, which distinct stamp it is.
    first, second : ndarray of int64
        The moment [us, UTC] of each distinct stamp; they differ in the autumn hour that the clock shows twice.
    reason : ndarray of int8
        ``GOOD``, ``UNREADABLE`` or ``NONEXISTENT`` for each distinct stamp.
    offset : ndarray of int64
        The offset [us] that each distinct stamp carries; ``NOT_A_TIME`` where it carries none.
    """

    code: np.ndarray
    first: np.ndarray
    second: np.ndarray
    reason: np.ndarray
    offset: np.ndarray


@dataclass
class Wall:
    """Distinct stamps before the zone is applied: ``micros`` of the wall clock, or of UTC where ``absolute``.

    ``zones`` are the abbreviations that stamps without an offset carry, ``offset`` what the others do.
    """

    code: np.ndarray
    micros: np.ndarray
    absolute: np.ndarray
    summer: np.ndarray
    zones: frozenset[str] = frozenset()
    offset: np.ndarray | None = None

    @property
    def offsets(self) -> np.ndarray:
        """The offset [us] of each stamp, 0 where all that is known is its moment; ``NOT_A_TIME`` for those without."""
        told = self.offset if self.offset is not None else np.zeros(len(self.micros), np.int64)
        return np.where(self.absolute, told, NOT_A_TIME)


def read_stamps(
    column: pa.ChunkedArray, label: str, name: str, zone: str, order: DateOrder, beside: Sequence[str] = ()
) -> Stamps:
    """Read a column of stamps.

    Parameters
    ----------
    column : ChunkedArray
        Text (plain or dictionary), numbers, dates or timestamps.
    label, name : str
        File and column, for messages.
    zone : str
        The site's IANA zone, for stamps without an offset.
    order : DateOrder
        What settles ``03/04/2026``.
    beside : sequence of str
        What may hold the year of stamps without one: the names of the file and its folders, lines above the header.

    Raises
    ------
    UndecidedDates
        Month and day cannot be told apart.
    """
    kind = column.type.value_type if pa.types.is_dictionary(column.type) else column.type
    if pa.types.is_timestamp(kind) or pa.types.is_date(kind):
        wall = _from_timestamps(column, kind)
    elif pa.types.is_integer(kind) or pa.types.is_floating(kind):
        wall = _from_numbers(column)
    else:
        wall = _from_text(column, label, name, order, beside)
    zone = "UTC" if says_utc(name) else zone
    if (offset := offset_told(name)) is not None:
        _take_offset(wall, offset, label, name, zone, order)
    _say_foreign_zones(wall, label, zone, order)
    return _in_zone(wall, zone)


def says_utc(name: str) -> bool:
    """Tell whether a header says that its stamps are UTC: ``Time (UTC)``, ``timestamp_utc``, not ``Time (UTC-6)``."""
    return bool(_UTC.search(name)) or bool(_ENDS_IN_UTC.search(name))


def lines_say_utc(lines: Sequence[str]) -> bool:
    """Tell whether a line above the header says that the stamps are UTC: ``all times in UTC``, ``Time zone: UTC``.

    One that holds figures tells when the report was made, or an offset.
    """
    return any(_UTC.search(line) and _OF_STAMPS.search(line) and not _FIGURE.search(line) for line in lines)


def _take_offset(wall: Wall, offset: int, label: str, name: str, zone: str, order: DateOrder) -> None:
    """Put the offset that a heading tells to stamps without one, where the clock that they show keeps it all year."""
    open_ = ~wall.absolute & (wall.micros != NOT_A_TIME)
    if not open_.any():
        return
    if not keeps_offset(wall.micros[open_], zone):
        order.assume(
            label,
            f"stamps under {{detail}} leave out the hour that the clock of {zone} skips in spring and were read as "
            "that clock.",
            repr(name),
        )
        return
    told = np.where(wall.absolute, wall.offsets, offset)
    site_clock = _in_zone(replace(wall, micros=np.where(open_, wall.micros, NOT_A_TIME)), zone).first
    wall.micros[open_] -= offset
    if (site_clock[open_] != wall.micros[open_]).any():
        order.assume(
            label,
            f"stamps were read at the offset that their heading {{detail}} tells, all year, and not as the clock of "
            f"{zone}.",
            repr(name),
        )
    wall.offset = told
    wall.absolute = wall.absolute | open_


def _say_foreign_zones(wall: Wall, label: str, zone: str, order: DateOrder) -> None:
    """Say where stamps name a zone that is not the site's: they are read as the site's clock all the same."""
    read = wall.micros[wall.micros != NOT_A_TIME]
    if not wall.zones or not len(read):
        return
    year = int(1970 + np.median(read) // (365.2425 * DAY))
    own = {datetime(year, month, 1, tzinfo=ZoneInfo(zone)).tzname() for month in range(1, 13)}
    foreign = sorted(wall.zones - own)
    if foreign and all(name and name.isalpha() for name in own):
        order.assume(label, f"stamps that say {{detail}} were read as the wall clock of {zone}.", some(foreign))


def _from_timestamps(column: pa.ChunkedArray, kind: pa.DataType) -> Wall:
    plain = column.cast(kind) if pa.types.is_dictionary(column.type) else column
    zoned = pa.types.is_timestamp(kind) and kind.tz is not None
    local = pc.local_timestamp(plain) if zoned and kind.tz != "UTC" else None
    plain = plain.cast(pa.timestamp("us", tz="UTC" if zoned else None), safe=False)
    micros = pc.fill_null(plain.cast(pa.int64()), NOT_A_TIME).to_numpy()
    wall = _each(micros, absolute=zoned)
    if local is not None:
        clock = pc.fill_null(local.cast(pa.timestamp("us"), safe=False).cast(pa.int64()), NOT_A_TIME).to_numpy()
        wall.offset = clock - micros
    return wall


def _each(micros: np.ndarray, *, absolute: bool) -> Wall:
    micros = np.where((micros >= _BOUNDS[0]) & (micros < _BOUNDS[1]), micros, NOT_A_TIME)
    return Wall(np.arange(len(micros)), micros, np.full(len(micros), absolute), np.full(len(micros), -1, np.int8))


def _from_numbers(column: pa.ChunkedArray) -> Wall:
    number = pc.fill_null(column.cast(pa.float64(), safe=False), np.nan).to_numpy()
    usual = np.nanmedian(number) if np.isfinite(number).any() else np.nan
    for scale in UNIX_SCALES:
        if UNIX_SINCE * scale <= usual <= UNIX_UNTIL * scale:
            good = (number >= UNIX_SINCE * scale) & (number <= UNIX_UNTIL * scale)
            return _each(_rounded(number / scale * SECOND, good), absolute=True)
    if SERIAL_SINCE <= usual <= SERIAL_UNTIL:
        good = (number >= SERIAL_SINCE) & (number <= SERIAL_UNTIL)
        # A day number carries about half a millisecond of rounding: the moment is a whole second.
        return _each(_rounded(np.round(number * 86_400) * SECOND + _SERIAL_ORIGIN, good), absolute=False)
    return _each(np.full(len(number), NOT_A_TIME), absolute=False)


def _rounded(micros: np.ndarray, good: np.ndarray) -> np.ndarray:
    whole = np.round(np.where(good, micros, 0)).astype(np.int64)
    return np.where(good, whole, NOT_A_TIME)


def _from_text(column: pa.ChunkedArray, label: str, name: str, order: DateOrder, beside: Sequence[str]) -> Wall:
    coded = as_coded(column)
    texts = coded.dictionary
    code = codes(coded)
    size = len(texts) + (coded.null_count > 0)  # one more, unreadable, for empty cells
    micros = np.full(size, NOT_A_TIME)
    absolute, summer, offset = np.zeros(size, bool), np.full(size, -1, np.int8), np.zeros(size, np.int64)
    try:
        parts = split_fields(texts)
    except UnclearMonth as error:
        raise ExportError(
            label,
            f"the month {str(error)!r} is another one in another language, and no other name in the column tells which",
            "Export the file again with months as numbers.",
            place=f"column {name!r}",
        ) from None
    for part in parts:
        part.lead_with_year()
    give_years(parts, texts, label, name, beside, order)
    months_lead = month_first(parts, texts, label, name, order, beside)
    for part in parts:
        micros[part.at] = to_micros(part, months_lead)
        absolute[part.at], summer[part.at] = part.absolute, part.summer
        offset[part.at] = part.numbers.get("offset", 0)
    if sum(len(part.at) for part in parts) < SPELLED * len(texts):
        numbers = _number_texts(texts)
        if numbers is not None:
            wall = _from_numbers(numbers)
            micros[: len(texts)], absolute[: len(texts)] = wall.micros, wall.absolute
    return Wall(code, micros, absolute, summer, frozenset().union(*(part.zones for part in parts)), offset)


def _number_texts(texts: pa.Array) -> pa.ChunkedArray | None:
    """Read stamps that are numbers in a text column; what is no number becomes null."""
    digits = pc.match_substring_regex(texts, r"^\s*\d+([.,]\d+)?\s*$")
    if not pc.any(digits).as_py():
        return None
    plain = pc.replace_substring(pc.utf8_trim_whitespace(texts), ",", ".")
    return pa.chunked_array([pc.if_else(digits, plain, None).cast(pa.float64())])


def _in_zone(wall: Wall, zone: str) -> Stamps:
    """Turn wall-clock moments into UTC, both ways where the clock shows an hour twice."""
    good = wall.micros != NOT_A_TIME
    reason = np.where(good, GOOD, UNREADABLE).astype(np.int8)
    first = np.where(good, wall.micros, 0)
    second = first.copy()
    local = good & ~wall.absolute
    if local.any() and zone != "UTC":
        clock = pd.DatetimeIndex(first[local].astype("datetime64[us]"))
        passes = [
            clock.tz_localize(zone, ambiguous=np.full(len(clock), summer), nonexistent="NaT")
            for summer in (True, False)
        ]
        missing = passes[0].isna()
        moments = [index.tz_convert("UTC").tz_localize(None).as_unit("us").asi8 for index in passes]
        at = np.flatnonzero(local)
        reason[at[missing]] = NONEXISTENT
        first[at], second[at] = (np.where(missing, 0, moment) for moment in moments)
        named = wall.summer
        second = np.where(named == 1, first, second)
        first = np.where(named == 0, second, first)
    return Stamps(wall.code, first, second, reason, wall.offsets)


def resolve_repeats(stamps: Stamps, code: np.ndarray, begin: np.ndarray) -> tuple[np.ndarray, int]:
    """Give every sample its moment, the repeated autumn hour resolved by the order in which the samples stand.

    Parameters
    ----------
    code : ndarray of int
        Which distinct stamp each row has, in the file's order within each run.
    begin : ndarray of int
        Where each run of rows begins, and the end.

    Returns
    -------
    ndarray of int64, int
        Moments [us, UTC], and how many rows fell into a repeated hour that the clock showed only once.
    """
    moment = spread(stamps.first, code)
    twice = stamps.first != stamps.second
    if not twice.any():
        return moment, 0
    at = np.flatnonzero(twice[code])
    if not len(at):
        return moment, 0
    wall = moment[at]
    place = np.cumsum(stamps.reason[code] == GOOD)[at]
    owner = np.searchsorted(begin, at, side="right") - 1
    longest = int(np.argmax(np.diff(begin)))
    whole = moment[begin[longest] : begin[longest + 1]]
    if (np.diff(whole) < 0).sum() > (np.diff(whole) > 0).sum():  # the newest row stands first
        at, wall, owner, place = at[::-1], wall[::-1], owner[::-1], -place[::-1]
    second, single = _second_pass(wall, owner, place)
    moment[at[second]] = stamps.second[code[at[second]]]
    return moment, single


def _second_pass(wall: np.ndarray, owner: np.ndarray, place: np.ndarray) -> tuple[np.ndarray, int]:
    """Tell which samples of a repeated hour belong to its second pass; ``place`` is where they stand among all.

    The second pass begins where a log's clock goes back. Where it never does, the log was sorted by the clock: then
    the second sample with the same stamp is the second pass. Where it goes back more than once, or with other hours
    in between, the rows are out of order and tell nothing.
    """
    distinct = np.unique(wall)
    season = np.cumsum(np.r_[0, np.diff(distinct) > DAY])[np.searchsorted(distinct, wall)]
    run = owner.astype(np.int64) * 100_000 + season
    order = np.argsort(run, kind="stable")
    run, wall, place = run[order], wall[order], place[order]
    same = np.r_[False, run[1:] == run[:-1]]
    step = np.r_[0, np.diff(wall)]
    back = same & (step < 0)
    started = pd.Series(back).groupby(run).cumsum().to_numpy() > 0
    has_back = pd.Series(back).groupby(run).transform("any").to_numpy()
    turns = pd.Series(back * (1 + (np.r_[1, np.diff(place)] != 1))).groupby(run).transform("sum").to_numpy()
    repeat = pd.DataFrame({"run": run, "wall": wall}).groupby(["run", "wall"]).cumcount().to_numpy() > 0
    late = np.where(has_back, started & (turns == 1), repeat)
    twice = pd.Series(late).groupby(run).transform("any").to_numpy()
    second = np.zeros(len(late), bool)
    second[order] = late
    return second, int((~twice).sum())
