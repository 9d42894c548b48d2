"""A small picture of a week of a name's values, as a line of a drawing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import pandas as pd

from analyzer.draft.point_rows import span
from analyzer.intake.points.looks import BUCKETS, Look

WIDTH, HEIGHT = BUCKETS, 36
_DAY = 86_400_000_000  # us
_EDGE = 2  # kept free above and below the line
# Where this share of the parts have a value, one without is a gap; a log of changes has few, and holds.
_REGULAR = 0.5


@dataclass(frozen=True)
class Picture:
    """A drawing: its line, its midnights, and what it shows in words."""

    line: str
    days: str
    told: str


def picture(look: Look, zone: str) -> Picture | None:
    """Draw the week that a look holds; None where there is no number.

    Parameters
    ----------
    zone : str
        The site's, by whose midnights the days are parted.
    """
    there = np.flatnonzero(~np.isnan(look.lows))
    if not len(there):
        return None
    low, high = float(np.nanmin(look.lows)), float(np.nanmax(look.highs))
    scale = (HEIGHT - 2 * _EDGE) / (high - low) if high > low else 0.0
    holds = len(there) < _REGULAR * (there[-1] + 1)
    parts: list[str] = []
    for n, hour in enumerate(there.tolist()):
        bottom, top = (HEIGHT - _EDGE - (value - low) * scale for value in (look.lows[hour], look.highs[hour]))
        if high == low:
            bottom = top = HEIGHT / 2
        joined = n and (holds or hour - there[n - 1] <= 1)
        if joined and holds:
            parts.append(f"H{hour}")
        parts.append(f"{'L' if joined else 'M'}{hour} {bottom:.0f}")
        if round(top) != round(bottom):
            parts.append(f"V{top:.0f}")
    if holds or len(there) == 1:
        parts.append(f"H{BUCKETS if holds else there[0] + 1}")
    first = pd.Timestamp(look.start, unit="us", tz="UTC").tz_convert(zone)
    midnight = first.normalize() + timedelta(days=1)
    days = [(midnight + timedelta(days=n)).value // 1000 - look.start for n in range(7)]
    marks = "".join(f"M{day * BUCKETS / look.length:.0f} 0V{HEIGHT}" for day in days if day < look.length)
    shown = f"{look.length / _DAY:.1f}".rstrip("0").rstrip(".")
    told = f"{shown} {'day' if shown == '1' else 'days'} from {first:%-d %b %Y}: {span(Look(low=low, high=high))}"
    return Picture("".join(parts), marks, told)
