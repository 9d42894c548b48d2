"""What stamps tell of the local clock: the zone that their offsets show, and stamps that cannot be of it."""

from __future__ import annotations

from collections.abc import Sequence
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from analyzer.intake.tables.stamps import GOOD, NONEXISTENT, UNREADABLE, Stamps
from analyzer.intake.words.stamps import NOT_A_TIME
from analyzer.site import Site
from analyzer.trends import Trends

_HOUR = 3_600_000_000  # us
_LOOKED_AT = 500  # moments at which a zone is held against the offsets
# Zones that are tried before all others where offsets change: those of most buildings. Judgement.
_USUAL = (
    "America/New_York", "America/Chicago", "America/Denver", "America/Los_Angeles", "America/Anchorage",
    "America/Halifax", "Europe/London", "Europe/Berlin", "Europe/Helsinki", "Australia/Sydney", "Australia/Adelaide",
    "Pacific/Auckland", "America/Santiago", "Asia/Jerusalem",
)  # fmt: skip
# Judgement, all that follows. Days in a building begin at these hours; fans that start at later ones, as they would by
# UTC, on so many days at the least and at one hour on this share of them, are on another clock.
MORNING = range(4, 10)
DAYS, SHARE = 3, 0.6
FAR_FROM_UTC = 3  # hours from UTC, from which on a shift is told from a late start


def zone_of_offsets(every: Sequence[Stamps]) -> str | None:
    """Return a zone whose clock has the offsets of all stamps that carry one; None where none does, or all are UTC."""
    moments = np.concatenate([stamps.first[_told(stamps)] for stamps in every] or [np.zeros(0, np.int64)])
    offsets = np.concatenate([stamps.offset[_told(stamps)] for stamps in every] or [np.zeros(0, np.int64)])
    distinct = np.unique(offsets)
    if not len(distinct) or (distinct == 0).all():
        return None
    if len(distinct) == 1 and distinct[0] % _HOUR == 0 and abs(distinct[0]) <= 12 * _HOUR:
        return f"Etc/GMT{-int(distinct[0] // _HOUR):+d}"
    at = np.linspace(0, len(moments) - 1, min(len(moments), _LOOKED_AT)).astype(int)
    utc = pd.DatetimeIndex(moments[at].astype("datetime64[us]"), tz="UTC")
    return next((zone for zone in _zones() if (_offsets(utc, zone) == offsets[at]).all()), None)


def _zones() -> list[str]:
    from zoneinfo import available_timezones

    return [*_USUAL, *sorted(zone for zone in available_timezones() if "/" in zone and not zone.startswith("Etc/"))]


def _offsets(utc: pd.DatetimeIndex, zone: str) -> np.ndarray:
    local = utc.tz_convert(ZoneInfo(zone)).tz_localize(None)
    return local.as_unit("us").asi8 - utc.tz_localize(None).as_unit("us").asi8


def _told(stamps: Stamps) -> np.ndarray:
    return (stamps.offset != NOT_A_TIME) & (stamps.reason == GOOD)


def without_offset(every: Sequence[Stamps]) -> bool:
    """Tell whether some stamps say no offset."""
    return any(bool(((stamps.offset == NOT_A_TIME) & (stamps.reason != UNREADABLE)).any()) for stamps in every)


def suspect_utc(trends: Trends, every: Sequence[Stamps], site: Site) -> list[str]:
    """Say where stamps without an offset cannot be of the site's clock, as those of UTC cannot.

    Returns
    -------
    list of str
        One sentence, with all that speaks for it; none where nothing does.
    """
    if site.stamps is not None or site.time_zone == "UTC" or not without_offset(every):
        return []
    skipped = sum(int((stamps.reason == NONEXISTENT).sum()) for stamps in every)
    why = [f"{skipped} stand in the hour that its clock skips in spring"] if skipped else []
    start = _late_start(trends, site.time_zone)
    if start is not None:
        why.append(f"fans and occupancy begin at {start:02d}:00 by it")
    if not why:
        return []
    return [
        f"Stamps that were read as the clock of {site.time_zone} may be UTC: {' and '.join(why)}. If they are, set "
        'stamps = "UTC" under [site] in the site file.'
    ]


def _late_start(trends: Trends, zone: str) -> int | None:
    """Return the hour at which fans or occupancy usually start, where by UTC that would be a morning's."""
    for table, name in ((trends.air_handlers, "supply_fan_status"), (trends.terminals, "occupied")):
        known = table[["time", name]].assign(owner=table.iloc[:, 0].astype(str)).dropna()
        begun = known[(known[name] == 1) & (known.groupby("owner")[name].shift() == 0)]
        local = begun["time"].dt.tz_convert(zone)
        days = local.dt.strftime("%Y-%m-%d")
        if days.nunique() < DAYS:
            continue
        first = local.groupby(days).min()
        hour = first.dt.hour.mode().iloc[0]
        apart = first.iloc[0].utcoffset().total_seconds() / 3600
        if (first.dt.hour == hour).mean() < SHARE or abs(apart) < FAR_FROM_UTC:
            return None
        meant = (hour + apart) % 24
        return int(hour) if int(hour) not in MORNING and int(meant) in MORNING else None
    return None
