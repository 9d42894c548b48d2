"""The offset that a heading tells of its stamps: ``Time (UTC+01:00)``. The stamps say whether their clock kept it."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

from analyzer.intake.words.stamps import NOT_A_TIME, SECOND

# At the end: in "(UTC+01:00) Paris" it is but the name of a zone, which may have summer time.
_OFFSET = re.compile(
    r"(?:(?:utc|gmt)\s*(?P<sign>[+\-\u2212\u2013])\s*(?P<hours>\d{1,2})(?::?(?P<minutes>[0-5]\d))?"
    r"|[\[({]\s*(?P<bare>[+\-\u2212])(?P<h>\d{2}):(?P<m>[0-5]\d))\s*[\])}]*\s*$",
    re.IGNORECASE,
)
_LARGEST = 14  # hours from UTC, of any zone
_HOUR = 3600 * SECOND


def offset_told(name: str) -> int | None:
    """Return the offset [us] with which a heading ends; None where it tells none."""
    match = _OFFSET.search(name)
    if match is None:
        return None
    hours, minutes = int(match["hours"] or match["h"]), int(match["minutes"] or match["m"] or 0)
    if hours > _LARGEST:
        return None
    size = hours * _HOUR + minutes * 60 * SECOND
    return size if (match["sign"] or match["bare"]) == "+" else -size


def without_told(name: str) -> str:
    """Return a heading without the offset that it tells."""
    return _OFFSET.sub("", name).rstrip(" [({") if offset_told(name) is not None else name


def keeps_offset(micros: np.ndarray, zone: str) -> bool:
    """Tell whether a clock keeps an offset all year: no log of a clock that does leaves out the hour the zone skips.

    Parameters
    ----------
    micros : ndarray of int64
        The distinct stamps [us] as their clock shows them.
    zone : str
        The site's.
    """
    wall = np.unique(micros[micros != NOT_A_TIME])
    clock = pd.DatetimeIndex(wall.astype("datetime64[us]"))
    local = clock.tz_localize(zone, ambiguous=np.ones(len(clock), bool), nonexistent="NaT")
    if local.isna().any() or len(wall) < 2:
        return True
    skipped = np.diff(wall - local.tz_convert("UTC").tz_localize(None).as_unit("us").asi8)
    step = np.diff(wall)
    usual = np.median(step)
    return not bool(((skipped > 0) & (usual <= skipped) & (usual < step) & (step <= usual + skipped)).any())
