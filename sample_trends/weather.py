"""Outdoor temperature and sun, made up from a season, a trend through the week and a seed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from sample_trends.building import FACES

_AZIMUTH = {"north": 180.0, "east": -90.0, "south": 0.0, "west": 90.0}  # degrees from south, west positive


@dataclass(frozen=True)
class Climate:
    """Weather: mean outdoor temperature at the start and ``days`` later [degC], and half the daily swing [K]."""

    at_start: float = -10.0
    at_end: float = 11.0
    swing: float = 4.5
    days: float = 7.0


def outdoor_temperature(local: pd.DatetimeIndex, climate: Climate, start, rng) -> np.ndarray:
    """Return the outdoor temperature [degC] at local times; lowest about 05:00, highest about 15:00."""
    hours = np.asarray((local - start) / pd.Timedelta("1h"), dtype=float)
    share = np.clip(hours / (24.0 * climate.days), 0.0, 1.0)
    trend = climate.at_start + (climate.at_end - climate.at_start) * share
    of_day = local.hour + local.minute / 60.0 + local.second / 3600.0
    daily = climate.swing * np.cos(2 * np.pi * (np.asarray(of_day) - 15.0) / 24.0)
    return trend + daily + _wander(hours, rng, 1.2, 6.0)


def sun_on_glass(local: pd.DatetimeIndex, latitude: float, by_day, clouds) -> np.ndarray:
    """Return the sun on vertical glass [W/m2]: one row a time, one column for each of FACES.

    Notes
    -----
    Solar geometry by the usual declination and hour-angle formulas; clear-sky beam A exp(-B / sin(altitude)) with
    A = 1200 W/m2 and B = 0.145 (the older ASHRAE clear-sky form, winter values, from memory), diffuse a tenth of
    the beam, and a cloudiness for each day that wanders within the day.
    """
    day = np.asarray(local.day_of_year, dtype=float)
    hour = np.asarray(local.hour + local.minute / 60.0 + local.second / 3600.0, dtype=float)
    phi = np.radians(latitude)
    declination = np.radians(23.45) * np.sin(2 * np.pi * (284 + day) / 365)
    angle = np.radians(15.0 * (hour - 12.0))
    sine = np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.cos(angle)
    up = sine > 0.02
    height = np.where(up, sine, 0.02)
    beam = np.where(up, 1200.0 * np.exp(-0.145 / height), 0.0)
    cosine = np.sqrt(1 - height**2)
    azimuth = np.arctan2(
        np.cos(declination) * np.sin(angle), (height * np.sin(phi) - np.sin(declination)) / np.cos(phi)
    )
    clear = _clearness(local, by_day, clouds)
    columns = []
    for face in FACES:
        if face == "inside":
            columns.append(np.zeros(len(local)))
            continue
        direct = beam * clear * np.maximum(cosine * np.cos(azimuth - np.radians(_AZIMUTH[face])), 0.0)
        columns.append(direct + beam * (0.06 + 0.06 * (1 - clear)))
    return np.stack(columns, axis=1).astype(np.float32)


def _clearness(local: pd.DatetimeIndex, by_day, clouds) -> np.ndarray:
    dates = local.normalize()
    codes, days = pd.factorize(dates)
    of_day = by_day.uniform(0.35, 1.0, len(days))
    hours = np.asarray((local - local[0]) / pd.Timedelta("1h"), dtype=float)
    return np.clip(of_day[codes] + _wander(hours, clouds, 0.10, 1.5), 0.05, 1.0)


def _wander(hours: np.ndarray, rng, size: float, span: float) -> np.ndarray:
    """Return a smooth random wander of standard deviation ``size``, with a knot each ``span`` hours."""
    knots = np.arange(hours[0] - span, hours[-1] + 2 * span, span)
    return np.interp(hours, knots, rng.normal(0.0, size, len(knots)))
