"""When the building is in use, when it warms up, and the heat that people, lamps and plugs bring."""

from __future__ import annotations

import numpy as np
import pandas as pd

WEEKDAY = (7.0, 18.0)  # local hours
SATURDAY = (9.0, 13.0)
WARM_UP = 1.75  # h before the occupied hours
COLD_WARM_UP = 2.75  # h, where it is colder than -5 degC at four in the morning
MONDAY_WARM_UP = 3.25
FLUSH = 0.25  # h before the occupied hours: warm-up is over, the air handlers ventilate


def occupied_hours(local: pd.DatetimeIndex, closed=()) -> np.ndarray:
    """Tell for each local time whether the building is scheduled to be occupied; not on the dates ``closed``."""
    hour, day = _hour(local), np.asarray(local.day_of_week)
    weekday = (day < 5) & (hour >= WEEKDAY[0]) & (hour < WEEKDAY[1])
    return (weekday | ((day == 5) & (hour >= SATURDAY[0]) & (hour < SATURDAY[1]))) & ~_closed(local, closed)


def _closed(local: pd.DatetimeIndex, dates) -> np.ndarray:
    return np.isin(local.strftime("%Y-%m-%d"), dates) if len(dates) else np.zeros(len(local), bool)


def warm_up_hours(local: pd.DatetimeIndex, outdoor: np.ndarray, closed=()) -> tuple[np.ndarray, np.ndarray]:
    """Tell for each local time whether the building warms up, and whether it is flushed, for the hours to come."""
    hour, day = _hour(local), np.asarray(local.day_of_week)
    early = pd.Series(np.where((hour >= 4.0) & (hour < 4.1), outdoor, np.nan))
    at_four = early.groupby(np.asarray(local.day_of_year)).transform("mean").to_numpy()
    ahead = np.where(day == 0, MONDAY_WARM_UP, np.where(at_four < -5.0, COLD_WARM_UP, WARM_UP))
    opens = np.where(day < 5, WEEKDAY[0], SATURDAY[0])
    works = (day < 6) & ~_closed(local, closed)
    flush = works & (hour >= opens - FLUSH) & (hour < opens)
    return works & (hour >= opens - ahead) & (hour < opens) & ~flush, flush


def presence(local: pd.DatetimeIndex, terminals: int, by_day, by_block) -> tuple[np.ndarray, np.ndarray]:
    """Return the share of people and of plugs and lamps present, float32, one row a time and one column a terminal.

    People come from 07:30 on, go to lunch, leave from 16:30 on, and vary between terminals and between quarters of an
    hour. ``by_day`` and ``by_block`` are generators: how full the days are, and the quarters.
    """
    stamps, codes = np.unique(local.floor("15min"), return_inverse=True)
    blocks = pd.DatetimeIndex(stamps)
    hour, day = _hour(blocks), np.asarray(blocks.day_of_week)
    weekday = np.interp(
        hour, [6.8, 7.5, 9.0, 11.8, 12.5, 13.3, 16.5, 18.0, 19.0], [0, 0.2, 0.85, 0.85, 0.5, 0.85, 0.8, 0.25, 0]
    )
    saturday = np.interp(hour, [8.5, 9.5, 12.5, 13.5], [0, 0.3, 0.3, 0])
    typical = np.where(day < 5, weekday, np.where(day == 5, saturday, 0.0))
    days = np.unique(blocks.normalize(), return_inverse=True)[1]
    of_day = by_day.uniform(0.75, 1.15, (days.max() + 1, terminals))[days]
    of_block = by_block.normal(1.0, 0.12, (len(blocks), terminals))
    people = np.clip(typical[:, None] * of_day * of_block, 0.0, 1.2)
    lamps = np.where(
        (day < 5) & (hour >= 6.5) & (hour < 18.5), 1.0, np.where((day == 5) & (hour >= 8.5) & (hour < 13.5), 0.7, 0.05)
    )
    plugs = 0.08 + 0.80 * people
    gains = 0.45 * lamps[:, None] + 0.55 * plugs
    return people.astype(np.float32)[codes], gains.astype(np.float32)[codes]


def _hour(local: pd.DatetimeIndex) -> np.ndarray:
    return np.asarray(local.hour + local.minute / 60.0 + local.second / 3600.0, dtype=float)
