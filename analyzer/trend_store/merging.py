"""Two tables of the same week made one: what the later one says goes before what the earlier one said."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

# Exports of one reading in two formats differ by what is lost in converting units, and by nothing else; judgement.
SAME_WITHIN = 1e-6


@dataclass
class Changes:
    """What a delivery changes of a store.

    Attributes
    ----------
    rows, values : int
        Rows that the store had not, and the values in them.
    completed : int
        Cells that were empty in the store and have a value now.
    agreed, corrected : int
        Cells that both have: with the same value, and with another.
    corrections : list of DataFrame
        Columns terminal or air_handler, time, quantity, before, after: a row for each corrected cell.
    """

    rows: int = 0
    values: int = 0
    completed: int = 0
    agreed: int = 0
    corrected: int = 0
    corrections: list[pd.DataFrame] = field(default_factory=list)

    def add(self, other: Changes) -> None:
        """Add up what another part of the delivery changes."""
        self.rows += other.rows
        self.values += other.values
        self.completed += other.completed
        self.agreed += other.agreed
        self.corrected += other.corrected
        self.corrections += other.corrections


def merged(earlier: pd.DataFrame, later: pd.DataFrame) -> tuple[pd.DataFrame, Changes]:
    """Merge two tables cell by cell.

    Parameters
    ----------
    earlier, later : DataFrame
        In the form of ``Trends``: sorted by key and time, each pair once. An empty cell of ``later`` leaves what is
        there.

    Returns
    -------
    DataFrame, Changes
        In the same form; what ``later`` changed of ``earlier``.
    """
    key, _, *quantities = later.columns
    keys = earlier[key].cat.categories.union(later[key].cat.categories).sort_values()
    code = np.concatenate([keys.get_indexer(table[key].astype(object)) for table in (earlier, later)])
    time = np.concatenate([table["time"].dt.tz_localize(None).to_numpy("M8[us]") for table in (earlier, later)])
    order = np.lexsort((time, code))
    first = np.r_[True, (np.diff(code[order]) != 0) | (np.diff(time[order]) != np.timedelta64(0))][: len(order)]
    row = np.empty(len(order), np.int64)
    row[order] = np.cumsum(first) - 1
    old, new = row[: len(earlier)], row[len(earlier) :]
    known = np.zeros(int(first.sum()), bool)
    known[old] = True
    both = known[new]
    changes = Changes(rows=int((~both).sum()))
    columns = {}
    for name in quantities:
        column = np.full(len(known), np.nan)
        column[old] = earlier[name].to_numpy()
        given = later[name].to_numpy()
        before = column[new]
        if name == "fan_starts":
            given = np.fmax(given, before)  # starts before a delivery's first row are not in its count
        there = ~np.isnan(given)
        had = there & ~np.isnan(before)
        differs = had & ~np.isclose(given, np.where(had, before, 0.0), rtol=SAME_WITHIN, atol=SAME_WITHIN)
        changes.values += int((there & ~both).sum())
        changes.completed += int((there & both & ~had).sum())
        changes.agreed += int((had & ~differs).sum())
        changes.corrected += int(differs.sum())
        if differs.any():
            changes.corrections.append(
                pd.DataFrame({
                    key: later[key].astype(object)[differs],
                    "time": later["time"][differs],
                    "quantity": name,
                    "before": before[differs],
                    "after": given[differs],
                })
            )  # fmt: skip
        column[new[there]] = given[there]
        columns[name] = column
    at = order[first]
    table = pd.DataFrame({key: pd.Categorical.from_codes(code[at], keys), "time": time[at]} | columns, copy=False)
    table["time"] = pd.DatetimeIndex(table["time"].to_numpy("M8[us]")).tz_localize("UTC")
    return table, changes
