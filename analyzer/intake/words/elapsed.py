"""Words of loggers that count the time since a start: headings such as ``t_s``, and lines that tell the start."""

from __future__ import annotations

import re
from collections.abc import Sequence

from analyzer.intake.words.letters import plain
from analyzer.intake.words.stamps import SERIAL_SINCE, looks_like_clock, looks_like_stamp, stamp_at_end

_SECONDS = {
    **dict.fromkeys(("ms", "msec", "millisecond", "milliseconds"), 0.001),
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds", "sekunden", "secondes", "segundos"), 1.0),
    **dict.fromkeys(("min", "mins", "minute", "minutes", "minuten", "minutos"), 60.0),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours", "stunden", "heures", "horas"), 3600.0),
    **dict.fromkeys(("day", "days"), 86_400.0),
}
# Those that mean nothing else where they stand alone: "min" may be a minimum, "h" a height.
_ALONE = frozenset({"sec", "secs", "seconds", "mins", "minutes", "hours", "sekunden", "minuten", "s"})
_COUNTS = frozenset(
    ("t", "time", "elapsed", "since", "start", "test", "rel", "relative", "from", "of", "zeit", "temps")
)
_BEGINS = re.compile(
    r"\b(?:start(?:s|ed|ing)?|begin(?:s|ning)?|began|begun|beginn|gestartet|d[eé]but|inicio|t0|t_0|zero)\b",
    re.IGNORECASE,
)
_LEAST = 3  # rows that count upwards


def elapsed_unit(heading: str, below: str | None = None) -> float:
    """Return the seconds of one count of a heading that says that its column counts time; 0 for any other.

    Parameters
    ----------
    below : str or None
        The cell of a row of units under it.

    Examples
    --------
    >>> elapsed_unit("t_s"), elapsed_unit("Elapsed Time [min]"), elapsed_unit("time", "s"), elapsed_unit("runtime h")
    (1.0, 60.0, 1.0, 0.0)
    """
    words = re.findall(r"[^\W_]+", plain(heading))
    if below and (more := re.findall(r"[^\W_]+", plain(below))):
        words += more
    units = [word for word in words if word in _SECONDS]
    rest = [word for word in words if word not in _SECONDS]
    if len(units) != 1 or not set(rest) <= _COUNTS or (not rest and units[0] not in _ALONE):
        return 0.0
    return _SECONDS[units[0]]


def start_told(lines: Sequence[str]) -> str | None:
    """Return the stamp of the start that lines tell, in one of them or as a date and a time of day in two.

    None where none does, or several do otherwise.
    """
    texts = [line[match.end() :] for line in lines if (match := _BEGINS.search(line))]
    stamps = {stamp for text in texts if (stamp := stamp_at_end(text))}
    whole = {stamp for stamp in stamps if re.search(r"\d[:hH]\d\d", stamp)}
    clocks = {clock for text in texts if (clock := _clock_in(text))}
    if not whole and len(stamps) == 1 and len(clocks) == 1:
        whole = {f"{stamps.pop()} {clocks.pop()}"}
    return whole.pop() if len(whole) == 1 else None


def _clock_in(text: str) -> str | None:
    ends = [match.start() for match in re.finditer(r"(?<![\w.:/-])(?=\d)", text.strip())]
    return next((text.strip()[n:] for n in ends if looks_like_clock(text.strip()[n:])), None)


def first_row_that_counts(rows: list[list[str]]) -> int | None:
    """Find the first row of a table whose rows count the time since a start that a line above its header tells."""
    for n, header in enumerate(rows):
        for at, cell in enumerate(header[:3]):
            for units in (False, True):
                below = next((m for m in range(n + 1, len(rows)) if any(rows[m])), None) if units else n
                if below is None or (units and at >= len(rows[below])):
                    continue
                if not elapsed_unit(cell, rows[below][at] if units else None):
                    continue
                first = next((m for m in range(below + 1, len(rows)) if any(rows[m])), None)
                lines = [" ".join(filter(None, row)) for row in rows[:n]]
                if first is not None and start_told(lines) and _count_up(rows[first:], at, len(header)):
                    return first
    return None


def _count_up(rows: list[list[str]], at: int, width: int) -> bool:
    """Tell rows that count upwards from nought or little, and hold no stamps."""
    rows = [row for row in rows if any(row)]
    whole = [row for row in rows if len(row) == width]
    try:
        counts = [float(row[at].replace(",", ".")) for row in whole]
    except ValueError:
        return False
    rising = all(a <= b for a, b in zip(counts[:-1], counts[1:], strict=True))
    stamped = any(looks_like_stamp(cell) for row in whole for cell in row[:12])
    enough = len(whole) >= _LEAST and 2 * len(whole) > len(rows)
    return enough and rising and counts[0] < counts[-1] and 0 <= counts[0] < SERIAL_SINCE and not stamped
