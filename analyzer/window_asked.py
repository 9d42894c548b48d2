"""The window of a table that a call asks for: its last weeks, or from one day to another, by the site's clock."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from analyzer.dataset import Dataset, open_dataset, reach_of
from analyzer.errors import CallError
from analyzer.site import Site
from analyzer.stores import Location
from analyzer.trends import Trends, Window

_UNITS = {"h": 1, "d": 24, "w": 7 * 24}  # hours
_LENGTH = re.compile(r"\s*(\d{1,4})\s*([hdw])\s*")
_LAST = "Give it in hours, days or weeks: 36h, 10d, 2w."
_MOMENT = "Give a day, or a day with a time of day: 2026-01-26, '2026-01-26 07:00'."


def check_window(last: str | None, since: str | None, until: str | None) -> None:
    """Refuse a window that cannot be, before anything is read.

    Raises
    ------
    CallError
        A length or a moment cannot be read, they contradict each other, or both ways of asking are used.
    """
    if last is not None and (since is not None or until is not None):
        raise CallError("--last", "is given beside --from or --to", "Give one of the two ways.")
    window_of(last, since, until, "UTC", np.datetime64("2026-01-01", "us"))


def window_of(last: str | None, since: str | None, until: str | None, zone: str, newest: np.datetime64) -> Window:
    """Return the window that was asked for; one without ends where nothing was.

    Parameters
    ----------
    last : str or None
        How long before the newest moment it begins: ``2w``, ``10d``, ``36h``.
    since, until : str or None
        Its first and its last day, both within it, or moments; by the clock of ``zone``.
    newest : datetime64
        The last moment of the table, UTC.

    Examples
    --------
    >>> window_of("2d", None, None, "UTC", np.datetime64("2026-02-02T00:00", "us")).begin
    np.datetime64('2026-01-31T00:00:00.000001')
    >>> window_of(None, None, "2026-02-01", "America/Chicago", np.datetime64("2026-03-01", "us")).end
    np.datetime64('2026-02-02T06:00:00.000000')
    """
    if last is not None:
        match = _LENGTH.fullmatch(last)
        if match is None or int(match[1]) == 0:
            raise CallError("--last", f"{last!r} is no length of time", _LAST)
        hours = int(match[1]) * _UNITS[match[2]]
        # The moment itself that long ago is of the time before.
        return Window(newest.astype("M8[us]") - np.timedelta64(hours, "h") + np.timedelta64(1, "us"))
    begin = None if since is None else _moment("--from", since, zone, whole_day=False)
    end = None if until is None else _moment("--to", until, zone, whole_day=True)
    if begin is not None and end is not None and begin >= end:
        raise CallError("--from", f"{since!r} is not before --to {until!r}", "Give the earlier day with --from.")
    return Window(begin, end)


def _moment(option: str, text: str, zone: str, *, whole_day: bool) -> np.datetime64:
    """Return a moment of the clock as UTC; of a day alone its begin, or the next one's where all of it is within."""
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        raise CallError(option, f"{text!r} is no day or moment", _MOMENT) from None
    if re.fullmatch(r"[\d-]+", text.strip()) and whole_day:
        moment += timedelta(days=1)
    local = moment if moment.tzinfo else moment.replace(tzinfo=ZoneInfo(zone))
    return np.datetime64(local.astimezone(UTC).replace(tzinfo=None), "us")


def within(trends: Trends, last: str | None, since: str | None, until: str | None) -> Trends:
    """Return the trends of a window that was asked for.

    Raises
    ------
    CallError
        They hold nothing in it.
    """
    if trends.terminals.empty or (last, since, until) == (None, None, None):
        return trends
    first, newest = (np.datetime64(at.tz_localize(None), "us") for at in trends.period)
    window = window_of(last, since, until, trends.time_zone, newest)
    found = trends.within(window)
    if not found.tags:
        raise _nothing_within((first, newest), trends.time_zone)
    found.ledger.assume(window_told(window, trends.time_zone))
    found.ledger.assume("The account of cells is of all that was read, and not of that time alone.")
    return found


def stored_within(location: Location, last: str | None, since: str | None, until: str | None, site: Site) -> Dataset:
    """Look into a stored table, of which a window was asked for.

    Raises
    ------
    CallError
        It holds nothing in it.
    """
    if (last, since, until) == (None, None, None):
        return open_dataset(location)
    reach = reach_of(location)
    if reach is None:
        raise CallError(location, "does not say of which time its rows are", "Normalize its exports again.")
    window = window_of(last, since, until, site.time_zone, reach[1])
    found = open_dataset(location, window)
    if not found.tags:
        raise _nothing_within(reach, site.time_zone)
    found.ledger.assume(window_told(window, site.time_zone))
    return found


def window_told(window: Window, zone: str) -> str:
    """Say of which time alone the trends were looked at."""
    begin, end = (None if at is None else _local(at, zone) for at in (window.begin, window.end))
    told = " ".join(filter(None, (f"from {begin}" if begin else "", f"up to {end}" if end else "")))
    return f"Only the trends {told} were looked at, as the call asked."


def _local(at: np.datetime64, zone: str) -> str:
    moment: datetime = at.astype("M8[us]").item()
    return moment.replace(tzinfo=UTC).astimezone(ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M")


def _nothing_within(held: tuple[np.datetime64, np.datetime64], zone: str) -> CallError:
    """Return the error that says of which time a table holds anything, where it holds nothing of a window."""
    first, last = (_local(at, zone) for at in held)
    return CallError(
        "--from, --to", f"no row lies between them; the trends reach from {first} to {last}", "Name a time within that."
    )
