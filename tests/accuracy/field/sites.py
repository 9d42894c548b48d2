"""A logged period as a review takes it: the trends in the normalized form, and the site as its people know it."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.site import Site
from analyzer.site.hours import parse_week
from analyzer.site.model import SCHEDULE, Exclusion, empty_schedule
from analyzer.trends import Trends, in_form, observed_logging
from sample_trends.field import Logged, Period

HOURS = {"mon-fri": "07:00-18:00", "sat": "09:00-13:00"}
OUTDOOR_AIR_FRACTION = 0.35


def trends_of(logged: Logged) -> Trends:
    """Return what the intake has to come to where it reads this period's exports rightly."""
    building = logged.recording.building
    terminals = _tidy("terminal", building.terminals.index, logged.time, logged.terminals, TERMINAL)
    air_handlers = _tidy("air_handler", building.air_handlers.index, logged.time, logged.air_handlers, AIR_HANDLER)
    status = terminals["fan_status"].to_numpy()
    starts = np.diff(status, prepend=status[:1]) > 0
    starts &= ~(terminals["terminal"] != terminals["terminal"].shift()).to_numpy()
    terminals["fan_starts"] = np.where(np.isnan(status), np.nan, starts)
    terminals, air_handlers = in_form(terminals), in_form(air_handlers)
    return Trends(terminals, air_handlers, observed_logging(terminals), building.time_zone)


def _tidy(key: str, names, time: pd.DatetimeIndex, values: dict[str, np.ndarray], glossary) -> pd.DataFrame:
    columns = {
        key: np.repeat(np.asarray(names, dtype=object), len(time)),
        "time": np.tile(time.tz_convert("UTC"), len(names)),
    }
    for name in glossary:
        columns[name] = values[name].T.ravel() if name in values else np.full(len(columns[key]), np.nan)
    return pd.DataFrame(columns)


def site_of(period: Period) -> Site:
    """Return the site file and the schedule of a period's building."""
    building, logging = period.building, period.logging
    heating = float(building.terminals["occupied_heating"].iloc[0])
    cooling = float(building.terminals["occupied_cooling"].iloc[0])
    policy = {"heating": (heating - 1.2, heating + 1.2), "cooling": (cooling - 1.2, cooling + 1.8)}
    return Site(
        time_zone=building.time_zone,
        units="ip",
        altitude=building.altitude,
        schedule=schedule_of(period) if logging.schedule else empty_schedule(),
        outdoor_air_fraction=OUTDOOR_AIR_FRACTION if logging.schedule else None,
        occupied_hours=parse_week(HOURS),
        setpoints={"heating": heating, "cooling": cooling} if logging.site_setpoints else {},
        policy=policy if logging.policy else {},
        excluded=tuple(Exclusion(begins, ends, why, tags) for begins, ends, tags, why in period.windows),
    )


def schedule_of(period: Period) -> pd.DataFrame:
    """Return the terminal schedule, SI, with the fans' control where the drawings show it."""
    table = period.building.schedule()
    fans = period.building.terminals["kind"] != "single-duct"
    control = np.where(fans, np.where(period.building.terminals["variable_fan"], "variable", "constant"), None)
    table["fan_control"] = control if period.logging.fan_control else None
    for name, kind in SCHEDULE.items():
        if name not in table:
            table[name] = None if kind == "text" else np.nan
    return table[list(SCHEDULE)]
