"""How complete the trends are: per terminal and point, the share of the samples that should be there."""

from __future__ import annotations

import numpy as np

from analyzer.findings import plain_name
from analyzer.quantities import TERMINAL
from analyzer.report.building import Building
from analyzer.report.words import capitalized

_POINTS = [name for name in TERMINAL if name != "fan_starts"]  # counted from the fan's status, not trended by itself


def coverage_grid(building: Building) -> tuple[dict, np.ndarray]:
    """Return the coverage, compact for the page and as shares.

    Returns
    -------
    grid : dict
        ``columns`` [[point, meaning]] of the points that any terminal has, ``handlers``, ``rows`` [[terminal, page,
        handler's number, floor, kind, [percent or None]]]; None is a point that the terminal does not have.
    shares : float array, shape (terminals, points)
        The same between 0 and 1, NaN for None.
    """
    shares = _shares(building)
    used = np.isfinite(shares).any(axis=0)
    handlers = {handler: i for i, handler in enumerate(building.air_handlers)}
    percent = np.floor(shares[:, used] * 100 + 1e-9)
    rows = [
        [p.terminal, p.page, handlers[p.air_handler], p.floor, p.kind, [None if np.isnan(v) else int(v) for v in own]]
        for p, own in zip(building.places.values(), percent, strict=True)
    ]
    columns = [
        [capitalized(plain_name(name)), TERMINAL[name].meaning]
        for name, there in zip(_POINTS, used, strict=True)
        if there
    ]
    return {"columns": columns, "handlers": building.air_handlers, "rows": rows}, shares


def _shares(building: Building) -> np.ndarray:
    """Samples present over samples due in the review's whole period, at each point's own interval."""
    complete = building.results.completeness
    counts, logging = complete.counts[_POINTS], complete.logging
    start, end = building.results.period
    length = (end - start).total_seconds()
    grid = complete.interval.fillna(1.0).to_numpy()
    every = logging[_POINTS].to_numpy(dtype=float, copy=True)
    every = np.where(np.isnan(every) | (every == 0), grid[:, None], every)
    due = np.floor(length / np.maximum(every, 1.0)) + 1
    shares = np.minimum(counts.to_numpy() / due, 1.0)
    shares[counts.to_numpy() == 0] = np.nan
    rows = logging.index.get_indexer(list(building.places))
    return np.where((rows >= 0)[:, None], shares[rows], np.nan)
