"""What an air handler's own points say of it: whether it runs, and whether they are live or stand frozen."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analyzer.signals.axes import QUARTER
from analyzer.signals.windows import since_change

# Duct static pressure from which on the air handler is taken to run, where its fan is not trended [Pa]. Judgement: a
# tenth of an inch of water; nothing but a fan holds that.
RUNNING_PRESSURE = 25.0
# Points that move by themselves while an air handler runs; two of them at the least tell whether all stand still.
# (The outdoor temperature often comes from elsewhere and goes on.)
RESTLESS = ("supply_temp", "supply_flow", "duct_static_pressure", "supply_fan_speed")
LEAST_RESTLESS = 2
# Where none has moved for so long they are no more taken for live [s]. Judgement.
LIVE_WITHIN = 3600.0


def by_own_points(status: np.ndarray, pressure: np.ndarray) -> np.ndarray:
    """Whether an air handler runs by its fan's status, else by the pressure in its duct [Pa]; NaN unknown."""
    by_pressure = np.where(np.isnan(pressure), np.nan, (pressure > RUNNING_PRESSURE).astype(float))
    return np.where(np.isnan(status), by_pressure, status)


def frozen_for(table: pd.DataFrame) -> np.ndarray:
    """Return for each row of the air handlers' table how long all points have stood still [s]; NaN: too few known."""
    values = table[list(RESTLESS)].to_numpy()
    codes, seconds = table["air_handler"].cat.codes.to_numpy(), table["time"].astype("int64").to_numpy() / 1e6
    known = (~np.isnan(values)).sum(axis=1) >= LEAST_RESTLESS
    moved = np.ones(len(table), dtype=bool)
    same = (values[1:] == values[:-1]) | (np.isnan(values[1:]) & np.isnan(values[:-1]))
    moved[1:] = ~same.all(axis=1)
    first = np.searchsorted(codes, np.arange(len(table["air_handler"].cat.categories) + 1))
    return np.where(known, since_change(moved, first, seconds), np.nan)


def state_by_quarter(table: pd.DataFrame, tags: np.ndarray) -> pd.DataFrame:
    """Tell by number among some tags and quarter hour: ``runs``, and ``live``; 0, 1, or NaN where it is not known."""
    owner = pd.Index(tags).get_indexer(table["air_handler"].astype(str))
    frozen = frozen_for(table)
    told = {
        "runs": by_own_points(table["supply_fan_status"].to_numpy(), table["duct_static_pressure"].to_numpy()),
        "live": np.where(np.isnan(frozen), np.nan, (frozen < LIVE_WITHIN).astype(float)),
    }
    quarter = (table["time"].astype("int64").to_numpy() / 1e6 // QUARTER).astype(np.int64)
    return pd.DataFrame({name: _by_quarter(owner, quarter, values) for name, values in told.items()})


def _by_quarter(owner: np.ndarray, quarter: np.ndarray, values: np.ndarray) -> pd.Series:
    rows = np.flatnonzero((owner >= 0) & ~np.isnan(values))
    places, number = np.unique(owner[rows] * 2**40 + quarter[rows], return_inverse=True)
    mean = np.bincount(number, values[rows], len(places)) / np.bincount(number, minlength=len(places))
    index = pd.MultiIndex.from_arrays([places // 2**40, places % 2**40], names=["owner", "quarter"])
    return pd.Series((mean >= 0.5).astype(float), index=index)
