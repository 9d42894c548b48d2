"""A change-of-value log: a record when a point has moved by its increment, and one each midnight."""

from __future__ import annotations

import numpy as np
import pandas as pd

from sample_trends.building import CFM
from sample_trends.points import Points

# Increments, in the stored unit; flows by the terminal's size.
INCREMENTS = {
    "zone_temp": 0.3, "heating_setpoint": 0.1, "cooling_setpoint": 0.1, "damper_position": 2.0, "fan_status": 1.0,
    "fan_command": 1.0, "fan_speed": 3.0, "reheat_position": 4.0, "discharge_temp": 1.0, "primary_temp": 0.7,
    "plenum_temp": 0.5, "occupied": 1.0, "co2": 25.0, "supply_temp": 0.5, "duct_static_pressure": 0.03,
    "supply_fan_status": 1.0, "outdoor_temp": 0.5, "outdoor_air_fraction": 3.0,
}  # fmt: skip
FLOW_SHARE = 0.015  # of the scheduled maximum, in whole steps of 5 cfm
FLOWS = ("primary_flow", "primary_flow_setpoint", "discharge_flow", "outdoor_air_flow", "supply_flow")


def change_log(points: Points) -> pd.DataFrame:
    """Return a week's log: columns ``time`` (local, to the second), ``point`` (row of ``points.table``), ``value``.

    Sorted by time. Every point has a record at the start and at each midnight; a record comes a few seconds after the
    step in which the point moved, the same few for all of one controller's points. A point that gives nothing any more
    has one record without a value.
    """
    values, increments = points.values, _increments(points)
    step_day = np.asarray(points.time.normalize() == points.time)
    held = np.full(values.shape[1], np.nan)
    rows, columns = [], []
    for step, now in enumerate(values):
        known = ~np.isnan(now)
        moved = (np.abs(now - held) >= increments - 1e-9) | (known != ~np.isnan(held)) | (known & step_day[step])
        held = np.where(moved, now, held)
        which = np.flatnonzero(moved)
        rows.append(np.full(len(which), step))
        columns.append(which)
    rows, columns = np.concatenate(rows), np.concatenate(columns)
    log = pd.DataFrame(
        {"time": points.time[rows] + _delays(points)[columns], "point": columns, "value": values[rows, columns]}
    )
    return log.sort_values(["time", "point"], kind="stable", ignore_index=True)


def _increments(points: Points) -> np.ndarray:
    table = points.table
    size = table["owner"].map(points.building.terminals["primary_max"] / CFM)
    size = size.fillna(table["owner"].map(points.building.terminals.groupby("air_handler")["primary_max"].sum() / CFM))
    flow = np.maximum(np.round(FLOW_SHARE * size / 5.0) * 5.0, 5.0)
    flow = np.where(table["quantity"] == "primary_flow_setpoint", np.maximum(flow / 2, 5.0), flow)
    return np.where(table["quantity"].isin(FLOWS), flow, table["quantity"].map(INCREMENTS).fillna(1.0)).astype(float)


def _delays(points: Points) -> pd.TimedeltaIndex:
    delay = points.table["owner"].map(points.building.terminals["event_delay"]).fillna(1.0)
    return pd.to_timedelta(np.floor(delay.to_numpy()), unit="s")
