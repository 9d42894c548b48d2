"""Setpoints as they are logged: one effective point, points by mode for the first weeks, a pair, or none."""

from __future__ import annotations

import numpy as np
import pandas as pd

from sample_trends.building import Building


def effective(zone: np.ndarray, heating: np.ndarray, cooling: np.ndarray) -> np.ndarray:
    """Return the one setpoint in force [degC]: heating's after the zone called for heat, cooling's after cooling."""
    calls = np.where(zone < heating + 0.15, 1.0, np.where(zone > cooling - 0.15, 0.0, np.nan))
    heats = pd.DataFrame(calls).ffill().fillna(0.0).to_numpy() > 0.5
    return np.where(heats, heating, cooling)


def by_mode(building: Building, heating: np.ndarray, cooling: np.ndarray, unset: np.ndarray) -> dict[str, np.ndarray]:
    """Return the points of each mode [degC], as rows of samples.

    ``heating`` and ``cooling`` are the shifts of each terminal's setpoints in active hours [K], one a terminal;
    ``unset`` tells the terminals that have no setback. Where nobody uses the standby mode, its points may be crossed.
    """
    table = building.terminals
    occupied = {"heating": table["occupied_heating"] + heating, "cooling": table["occupied_cooling"] + cooling}
    back = {"heating": table["unoccupied_heating"], "cooling": table["unoccupied_cooling"]}
    points = {}
    for side, sign in (("heating", -1.0), ("cooling", 1.0)):
        points[f"occupied_{side}_setpoint"] = occupied[side].to_numpy()
        apart = np.where(table["standby_crossed"], -2.8, table["standby_gap"])
        points[f"standby_{side}_setpoint"] = occupied[side].to_numpy() + sign * apart
        points[f"unoccupied_{side}_setpoint"] = np.where(unset, occupied[side], back[side])
    return points
