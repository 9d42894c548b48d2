"""Read the committed exports back with plain pandas, into the same columns and units as a simulation gives."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from sample_trends.building import Building
from sample_trends.points import ABBREVIATIONS, ELECTRIC_HEAT
from sample_trends.readings import to_si

EXPORTS = Path(__file__).parents[2] / "sample_trends" / "exports"
_QUANTITY = {abbreviation: name for name, abbreviation in ABBREVIATIONS.items()} | {ELECTRIC_HEAT: "reheat_position"}
_WORDS = {"On": 1, "Off": 0, "Occ": 1, "Unocc": 0}


def read_wide() -> pd.DataFrame:
    """Return both wide CSVs: index local time without zone, a column a point (owner, abbreviation), IP."""
    first = pd.read_csv(EXPORTS / "wide" / "AHU-1.csv", index_col=0)
    second = pd.read_csv(EXPORTS / "wide" / "AHU-2.csv", index_col=0, skiprows=3)
    table = pd.concat([first, second], axis=1)
    table = table.apply(lambda column: column if column.dtype.kind in "if" else column.map(_WORDS))
    return _named(table.astype(float), "%m/%d/%Y %H:%M", ".")


def read_parquet(*path: str) -> pd.DataFrame:
    """Return a Parquet in the form of ``read_wide``."""
    table = pd.read_parquet(EXPORTS.joinpath(*path)).set_index("TimeUTC")
    table.index = table.index.tz_convert("America/Chicago").tz_localize(None).as_unit("s")
    return _named(table.astype(float), None, " ")


def read_changes() -> pd.DataFrame:
    """Return the log of changes: columns time, owner, quantity, value (words as numbers, IP)."""
    table = pd.read_csv(EXPORTS / "long" / "changes.csv", dtype=str)
    name = table["Point"].str.split(".", n=1)
    return pd.DataFrame(
        {
            "time": pd.to_datetime(table["Time"], format="%Y-%m-%d %H:%M:%S"),
            "owner": name.str[0],
            "quantity": name.str[1].map(_QUANTITY),
            "value": pd.to_numeric(table["Value"].replace({word: str(state) for word, state in _WORDS.items()})),
        }
    )


def _named(table: pd.DataFrame, stamp: str | None, separator: str) -> pd.DataFrame:
    if stamp:
        table.index = pd.to_datetime(table.index, format=stamp).as_unit("s")
    table.columns = pd.MultiIndex.from_tuples(
        [tuple(name.split(" (")[0].split(separator, 1)) for name in table.columns]
    )
    return table.rename_axis(index="time")


def of_owner(table: pd.DataFrame, owner: str, quantities) -> pd.DataFrame:
    """Return one terminal's (or air handler's) points by quantity, SI; missing ones as NaN."""
    mine = table[owner].rename(columns=_QUANTITY)
    return pd.DataFrame(
        {name: to_si(name, mine[name]) if name in mine else float("nan") for name in quantities}, index=mine.index
    )


def terminals_of(table: pd.DataFrame, building: Building, left_out=()) -> dict:
    """Return the terminals of an export for ``evidence.hours_of``; fan starts counted from the samples.

    ``left_out``: (terminal or air handler, from, to) in local time, in which its terminals' readings are blanked.
    """
    from analyzer.quantities import AIR_HANDLER, TERMINAL
    from tests.sample_trends.evidence import Terminal

    trends = {
        tag: of_owner(table, tag, [name for name in TERMINAL if name != "fan_starts"])
        for tag in building.terminals.index
    }
    for trend in trends.values():
        trend["fan_starts"] = (trend["fan_status"].diff() > 0).astype(float)
    for owner, since, until in left_out:
        hangs_on_it = (building.terminals["air_handler"] == owner) | (building.terminals.index == owner)
        for tag in building.terminals.index[hangs_on_it]:
            trends[tag].loc[since:until] = float("nan")
    handlers = {tag: of_owner(table, tag, AIR_HANDLER) for tag in building.air_handlers.index}
    schedule = building.schedule()
    groups = schedule["open_zone"].dropna()
    return {
        tag: Terminal(
            trends[tag], handlers[row["air_handler"]], row,
            [trends[other] for other in groups.index[groups == row["open_zone"]] if other != tag],
        )
        for tag, row in schedule.iterrows()
    }  # fmt: skip
