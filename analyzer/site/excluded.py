"""Windows that are left out of judging, ``[[exclude]]`` of the site file: a functional test, a balancing day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated

import pandas as pd
from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from analyzer.errors import SiteError, nearest
from analyzer.site.model import Exclusion, FunctionalTest, Site

REMEDY = "Correct the site file and run again."
# So many tags are told one by one; of more, their number.
MOST_TAGS = 8


def _moment(told: object) -> pd.Timestamp:
    """Read a date, or a date and time; a number is none."""
    if isinstance(told, bool | int | float):
        raise ValueError(f'{told!r} is no date and time, such as "2026-01-28 09:00"')
    try:
        moment = pd.Timestamp(told)
    except (ValueError, TypeError, OverflowError):
        moment = pd.NaT
    if pd.isna(moment):
        raise ValueError(f'{str(told)[:40]!r} is no date and time, such as "2026-01-28 09:00"')
    return moment


def _said(text: str) -> str:
    if not text.strip():
        raise ValueError("is blank: say why, such as functional test")
    return text.strip()


Moment = Annotated[pd.Timestamp, BeforeValidator(_moment)]


class ExcludeSection(BaseModel):
    """``[[exclude]]``: a window of time that is left out of judging; the section may stand several times."""

    model_config = ConfigDict(extra="forbid", arbitrary_types_allowed=True)

    start: Moment = Field(alias="from", description="its first moment, in the site's time")
    end: Moment = Field(alias="to", description="the moment at which it ends; that moment is judged again")
    why: Annotated[str, AfterValidator(_said)] = Field(description="the reason, as the report shows it")
    terminals: list[str] = Field(default_factory=list, description="the terminals it is for; all where not given")


def exclusions(
    file: Path, told: Sequence[ExcludeSection], time_zone: str, scheduled: Iterable[str]
) -> tuple[Exclusion, ...]:
    """Turn the sections into windows in the site's zone.

    Parameters
    ----------
    file : Path
        The site file, for what is wrong with it.
    told : sequence of ExcludeSection
    time_zone : str
    scheduled : iterable of str
        The tags of the schedule; without one, tags are held against the trends later (``check_tags``).

    Raises
    ------
    SiteError
        A window ends before it begins, a moment does not exist in the zone, or no terminal has the tag.
    """
    found = tuple(_exclusion(file, section, f"exclude.{at}", time_zone) for at, section in enumerate(told))
    tags = set(scheduled)
    if tags:
        check_tags(file, found, tags)
    return found


def _exclusion(file: Path, section: ExcludeSection, place: str, time_zone: str) -> Exclusion:
    start, end = window_in_zone(file, section.start, section.end, place, time_zone)
    return Exclusion(start, end, section.why, tuple(section.terminals))


def window_in_zone(
    file: Path, start: pd.Timestamp, end: pd.Timestamp, place: str, time_zone: str
) -> tuple[pd.Timestamp, pd.Timestamp]:
    """Return the edges of a window in the site's zone; ``place`` is where it stands in the site file.

    Raises
    ------
    SiteError
        It ends before it begins, or a moment does not exist in the zone.
    """
    start, end = (
        _in_zone(file, moment, f"{place}.{edge}", time_zone) for edge, moment in (("from", start), ("to", end))
    )
    if end <= start:
        raise SiteError(file, f"'to' ({_written(end)}) is not after 'from' ({_written(start)})", REMEDY, place=place)
    return start, end


def _in_zone(file: Path, moment: pd.Timestamp, place: str, time_zone: str) -> pd.Timestamp:
    if moment.tz is not None:
        return moment.tz_convert(time_zone)
    localized = moment.tz_localize(time_zone, ambiguous="NaT", nonexistent="NaT")
    if pd.isna(localized):  # the hour that the clock skips or shows twice
        raise SiteError(
            file, f"{_written(moment)} is skipped, or shown twice, by the clock of {time_zone}",
            'Add the offset from UTC, such as "2026-11-01 01:30-05:00".', place=place,
        )  # fmt: skip
    return localized


def check_tags(
    file: Path | None, windows: Iterable[Exclusion | FunctionalTest], tags: Iterable[str], *, table: str = "exclude"
) -> None:
    """Refuse a window of a table of the site file that is for a terminal that does not exist.

    Raises
    ------
    SiteError
    """
    tags = set(tags)
    for at, window in enumerate(windows):
        for tag in window.terminals:
            if tag not in tags:
                place = f"{table}.{at}.terminals"
                raise SiteError(
                    file, f"there is no terminal {tag!r}{nearest(tag, tags)}", "Correct its tag.", place=place
                )


def left_out(site: Site) -> list[str]:
    """Say which windows are left out of judging, a sentence each."""
    return [
        f"Left out of judging: {_written(own.start)} to {_written(own.end)}, {_whose(own.terminals)}: {own.why}."
        for own in site.excluded
    ]


def _whose(terminals: Sequence[str]) -> str:
    if not terminals:
        return "all terminals"
    return ", ".join(terminals) if len(terminals) <= MOST_TAGS else f"{len(terminals)} terminals"


def _written(moment: pd.Timestamp) -> str:
    return f"{moment:%Y-%m-%d %H:%M}"
