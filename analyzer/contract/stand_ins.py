"""The few rows that stand in for a table where its contract is checked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.quantities import TERMINAL

if TYPE_CHECKING:  # the check is started before anything heavy is imported
    from pandas import DataFrame


def extremes(table: DataFrame) -> DataFrame:
    """Return the rows that stand in for a table where its contract is checked: what holds for them holds for all.

    Returns
    -------
    DataFrame
        The table's columns and types, and ``in_order``; three rows (none for an empty table): the lowest value of each
        column, the highest, and of a state the one furthest from being 0 or 1; missing where a column has none. The
        key and the time are missing in them where they are in any row.
    """
    import numpy as np
    import pandas as pd

    if not len(table):
        return table.assign(in_order=pd.Series(dtype=bool))
    kept = pd.concat([table.iloc[:1]] * 3, ignore_index=True)
    key, time = table.columns[0], table["time"].astype("int64").to_numpy()
    code = table[key].cat.codes.to_numpy()
    kept[key] = table[key].iloc[0] if (code >= 0).all() else None
    kept["time"] = table["time"].iloc[0] if table["time"].notna().all() else pd.NaT
    for name in table.columns[2:]:
        values = table[name].to_numpy()
        if values.dtype == np.float64:
            low = np.fmin.reduce(values)
            high = np.fmax.reduce(values) if low == low else low
            state = name in TERMINAL and TERMINAL[name].state and low == low
            kept[name] = [low, high, _least_like_a_state(values) if state else np.nan]
    in_order = ((code[1:] > code[:-1]) | ((code[1:] == code[:-1]) & (time[1:] > time[:-1]))).all()
    return kept.assign(in_order=bool(in_order))


def _least_like_a_state(values) -> float:
    import numpy as np

    off = np.abs(np.abs(values - 0.5) - 0.5)
    return values[np.nanargmax(off)]
