"""The data contract: a sound table passes, each kind of broken table is named by its column."""

import numpy as np
import pandas as pd
import pytest

from analyzer.contract import ContractCheck, extremes, validate
from analyzer.errors import ContractError
from analyzer.trends import TERMINAL_COLUMNS, in_form


def table() -> pd.DataFrame:
    """Two terminals, a day every quarter of an hour."""
    times = pd.date_range("2026-01-12", periods=96, freq="15min", tz="UTC")
    rows = pd.DataFrame({"terminal": np.repeat(["TU-1", "TU-2"], 96), "time": times.append(times)})
    rows = rows.reindex(columns=TERMINAL_COLUMNS)
    return in_form(rows.assign(zone_temp=21.0, primary_flow=100.0, fan_status=1.0, fan_starts=0.0))


def spoiled(column: str, value) -> pd.DataFrame:
    """The sound table with one cell changed."""
    rows = table()
    rows.loc[5, column] = value
    return rows


def test_sound_table_keeps_its_contract():
    told = validate(extremes(table()))
    assert told["success"] and told["broken"] == [] and told["expectations"] > 25


@pytest.mark.parametrize(
    ("rows", "named"),
    [
        (spoiled("zone_temp", 999.0), "zone_temp"),
        (spoiled("fan_status", 0.5), "fan_status"),
        (table().iloc[[0, 2, 1, *range(3, 192)]].reset_index(drop=True), "in_order"),
        (table().iloc[[0, 0, *range(1, 192)]].reset_index(drop=True), "in_order"),
        (table().drop(columns="co2"), "co2"),
        (table().astype({"zone_temp": "float32"}), "zone_temp"),
        (table().iloc[:0], "the table"),
    ],
    ids=["out of range", "no state", "out of order", "a row twice", "a column missing", "a wrong type", "empty"],
)
def test_broken_table_is_named_by_its_column(rows, named):
    told = validate(extremes(rows))
    assert not told["success"]
    assert any(sentence.startswith(f"{named}: ") for sentence in told["broken"]), told["broken"]


def test_a_broken_contract_stops_the_review_with_one_sentence():
    rows = spoiled("zone_temp", 999.0)
    with ContractCheck() as check:
        check.take(extremes(rows))
        with pytest.raises(ContractError, match="breaks its data contract: zone_temp") as caught:
            check.outcome()
    assert "\n" not in str(caught.value)


def test_a_check_that_cannot_run_is_said():
    rows = table()
    with ContractCheck() as check:
        check._process.kill()
        check.take(extremes(rows))
        with pytest.raises(ContractError, match="the data contract could not be checked: its process ended"):
            check.outcome()
