"""A small building whose trends are made by hand, and what a store holds of it."""

import numpy as np
import pandas as pd

from analyzer.quantities import TERMINAL
from analyzer.trends import AIR_HANDLER_COLUMNS, TERMINAL_COLUMNS, Trends, in_form

ZONE = "America/Chicago"
MONDAY = "2026-01-26"  # by the site's clock


def trends(
    first: str = MONDAY,
    hours: float = 48.0,
    tags: tuple[str, ...] = ("VAV-1", "VAV-2"),
    *,
    minutes: int = 30,
    without: tuple[str, ...] = (),
    **changed: float,
) -> Trends:
    """Zone temperature, airflow and a fan, each 30 min from a moment by the site's clock; values tell their moment.

    Parameters
    ----------
    without : tuple of str
        Quantities that are not logged.
    changed : float
        A quantity and what is added to all of its values.
    """
    start = pd.Timestamp(first, tz=ZONE).tz_convert("UTC")
    times = start + pd.to_timedelta(np.arange(0, hours * 60, minutes), unit="min")
    number = times.as_unit("us").asi8 / 60e6 % 1000
    parts = []
    for place, tag in enumerate(tags):
        rows = pd.DataFrame(np.nan, index=range(len(times)), columns=TERMINAL_COLUMNS).astype({"terminal": object})
        rows = rows.assign(terminal=tag, time=times, zone_temp=20 + number / 500 + place, primary_flow=100 + number)
        rows["fan_starts"] = np.where(number // minutes % 4 == 2, 1.0, 0.0)
        for name, by in changed.items():
            rows[name] += by
        parts.append(rows.assign(**dict.fromkeys(without, np.nan)))
    handlers = pd.DataFrame(np.nan, index=range(len(times)), columns=AIR_HANDLER_COLUMNS).astype(
        {"air_handler": object}
    )
    handlers = handlers.assign(air_handler="AHU-1", time=times, supply_temp=13 + number / 1000)
    logging = pd.DataFrame(np.nan, index=sorted(tags), columns=list(TERMINAL))
    there = [name for name in ("zone_temp", "primary_flow", "fan_starts") if name not in without]
    logging[there] = minutes * 60.0
    return Trends(in_form(pd.concat(parts)), in_form(handlers), logging, ZONE)
