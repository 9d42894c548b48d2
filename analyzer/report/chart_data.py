"""One terminal's trends as the small JSON that its page carries: whole numbers in the site's units."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analyzer.quantities import to_shown
from analyzer.report.sequence import pack
from analyzer.report.series import SERIES, Series
from analyzer.report.thinning import kept_samples, kept_steps, run_size
from analyzer.site import Site

HOLD_INTERVALS = 3.0  # a line is drawn across this many intervals and no further


@dataclass(frozen=True)
class TerminalRows:
    """One terminal's stretch of the table.

    Attributes
    ----------
    seconds : int64 array, shape (n,)
        Time of each row [s], UTC since the epoch.
    columns : dict of float arrays, shape (n,)
        SI, NaN where missing: the trended quantities, and ``occupied`` and the setpoints as they were judged.
    intervals : dict of float
        The interval at which each point was logged [s]; 0 or NaN where the grid's own counts.
    """

    seconds: np.ndarray
    columns: dict[str, np.ndarray]
    intervals: dict[str, float]

    @property
    def grid(self) -> float:
        """The usual spacing of the rows [s]."""
        return float(np.median(np.diff(self.seconds))) if len(self.seconds) > 1 else 0.0


def chart_series(rows: TerminalRows, units: str, origin: int) -> dict[str, dict]:
    """Pack every series that holds a value.

    Parameters
    ----------
    rows : TerminalRows
    units : str
        'ip' or 'si'.
    origin : int
        The moment from which times count [s], UTC since the epoch.

    Returns
    -------
    dict
        Series name to ``{"scale", "ends", "values", "times", "breaks", "interval", "runs"}``: values times ``scale``
        and times [s] after ``origin`` as packed sequences, the lowest and highest value, the positions before which
        the line breaks, how long a sample counts where none follows it [s], and, of a series that is drawn by the
        extremes of runs of samples, when each run begins (else null).
    """
    packed = {}
    for name, series in SERIES.items():
        values = rows.columns.get(name)
        if values is not None and not np.isnan(values).all():
            packed[name] = _pack_series(rows, series, values, units, origin)
    return packed


def _pack_series(rows: TerminalRows, series: Series, values: np.ndarray, units: str, origin: int) -> dict:
    there = np.flatnonzero(~np.isnan(values))
    seconds = rows.seconds[there]
    scale = 10 ** series.decimals(units)
    numbers = np.rint(to_shown(values[there], series.dimension, units) * scale).astype(np.int64)
    interval = rows.intervals.get(series.name, 0.0)
    interval = max(rows.grid, 0.0 if np.isnan(interval) else interval)
    gaps = np.diff(seconds, prepend=seconds[0]) > HOLD_INTERVALS * interval + 1
    keep = kept_steps(numbers, gaps) if series.held else kept_samples(numbers, gaps)
    size = 1 if series.held else run_size(len(numbers))
    passed = np.cumsum(gaps)[keep]
    return {
        "scale": scale,
        "ends": [float(numbers.min() / scale), float(numbers.max() / scale)],
        "values": pack(numbers[keep]),
        "times": pack(seconds[keep] - origin),
        "breaks": np.flatnonzero(np.diff(passed, prepend=passed[0])).tolist(),
        "interval": int(interval),
        "runs": pack(seconds[::size] - origin) if size > 1 else None,
    }


def fan_starts(rows: TerminalRows, origin: int) -> list[list[int]]:
    """Return every row in which the fan started: [seconds after origin, starts]; none is ever thinned away."""
    starts = rows.columns.get("fan_starts")
    if starts is None:
        return []
    at = np.flatnonzero(np.nan_to_num(starts) > 0)
    return np.stack([rows.seconds[at] - origin, starts[at].astype(np.int64)], axis=1).tolist()


def occupied_stretches(rows: TerminalRows, origin: int) -> list[list[int]]:
    """Return the occupied stretches: [from, to] in seconds after origin; a row counts until the next."""
    occupied = np.nan_to_num(rows.columns["occupied"]) > 0
    edges = np.flatnonzero(np.diff(occupied.astype(np.int8), prepend=0, append=0))
    ends = np.append(rows.seconds, rows.seconds[-1:] + int(rows.grid)) - origin
    return np.stack([ends[edges[::2]], ends[edges[1::2]]], axis=1).tolist()


# A log has ended where it stops this much before the period does: this long [s], and this share of the period.
ENDED_BEFORE, ENDED_SHARE = 86400.0, 0.02


def log_ended(end: float, length: float) -> bool:
    """Tell whether a log that ends so many seconds into a period of some length has ended before its time."""
    return length - end > max(ENDED_BEFORE, ENDED_SHARE * length)


def excluded_stretches(site: Site, terminal: str, origin: int, length: int) -> list[list]:
    """Return the windows that are left out of judging at a terminal: [from, to, why], in seconds after origin."""
    found = []
    for window in site.excluded:
        if not window.terminals or terminal in window.terminals:
            start, end = (round(edge.timestamp()) - origin for edge in (window.start, window.end))
            if start < length and end > 0:
                found.append([max(start, 0), min(end, length), f"left out: {window.why}"])
    return found


def clock_changes(start: pd.Timestamp, end: pd.Timestamp, zone: str) -> list[list[int]]:
    """Return the offsets of the wall clock: [from when (s, UTC), offset (s)], the first in force at the start."""
    moments = pd.date_range(start.floor("15min"), end, freq="15min", tz="UTC")
    local = moments.tz_convert(zone).tz_localize(None)
    offsets = (local - moments.tz_localize(None)).total_seconds().to_numpy().astype(np.int64)
    changed = np.flatnonzero(np.diff(offsets, prepend=offsets[0] - 1))
    seconds = moments.tz_localize(None).astype("datetime64[s]").astype(np.int64).to_numpy()
    return np.stack([seconds[changed], offsets[changed]], axis=1).tolist()
