"""The data contract: a sound table passes, each kind of broken table is named by its column and its rows."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analyzer.contract import ContractCheck, check
from analyzer.contract.check import start_ahead
from analyzer.contract.suite import NAMED
from analyzer.contract.suite import check as checked
from analyzer.dataset import open_dataset, write_trends
from analyzer.errors import ContractError
from analyzer.trends import TERMINAL_COLUMNS, Trends, in_form, no_air_handlers, observed_logging


def table(terminals: int = 2) -> pd.DataFrame:
    """Some terminals, a day every quarter of an hour."""
    times = pd.date_range("2026-01-12", periods=96, freq="15min", tz="UTC")
    tags = [f"TU-{number}" for number in range(1, terminals + 1)]
    rows = pd.DataFrame({"terminal": np.repeat(tags, 96), "time": np.tile(times, terminals)})
    rows = rows.reindex(columns=TERMINAL_COLUMNS)
    return in_form(rows.assign(zone_temp=21.0, primary_flow=100.0, fan_status=1.0, fan_starts=0.0))


def spoiled(column: str, value, row: int = 5) -> pd.DataFrame:
    """The sound table with one cell changed."""
    rows = table()
    rows.loc[row, column] = value
    return rows


def trends(rows: pd.DataFrame) -> Trends:
    return Trends(rows, no_air_handlers(), observed_logging(rows))


def test_sound_table_keeps_its_contract():
    found = checked([table()])
    assert found["success"] and found["broken"] == [] and found["expectations"] > 50 and found["rows"] == 192


STOPS = {
    "out of order": (table().iloc[[0, 2, 1, *range(3, 192)]].reset_index(drop=True), "in_order", "00:15"),
    "a row twice": (table().iloc[[0, 0, *range(1, 192)]].reset_index(drop=True), "in_order", "00:00"),
    "terminals out of order": (table().iloc[[*range(96, 192), *range(96)]].reset_index(drop=True), "in_order", "00:00"),
    "no terminal": (spoiled("terminal", None), "terminal", "01:15"),
    "no time": (spoiled("time", pd.NaT), "time", "NaT"),
    "a column missing": (table().drop(columns="co2"), "co2", ""),
    "a column too many": (table().assign(mood=1.0), "the table", ""),
    "a wrong type": (table().astype({"zone_temp": "float32"}), "zone_temp", ""),
    "empty": (table().iloc[:0], "the table", ""),
}


@pytest.mark.parametrize(("rows", "column", "time"), STOPS.values(), ids=STOPS)
def test_a_table_that_cannot_be_used_is_named_by_its_column_and_row(rows, column, time):
    found = checked([rows])
    assert not found["success"]
    stops = [one for one in found["broken"] if one["stops"] and one["column"] == column]
    assert stops, found["broken"]
    assert any(time in row["time"] for row in stops[0]["rows"]) == bool(time)


VALUES = {
    "too high": ("zone_temp", 999.0, "-20 to 60 degC", "999.0"),
    "too low": ("primary_flow", -101.0, "-100 to 20000 L/s", "-101.0"),
    "endless": ("zone_temp", np.inf, "-20 to 60 degC", "inf"),
    "no state": ("fan_status", 0.5, "0 or 1", "0.5"),
}


@pytest.mark.parametrize(("column", "value", "expected", "shown"), VALUES.values(), ids=VALUES)
def test_a_value_out_of_range_names_its_row_and_stops_nothing(column, value, expected, shown):
    (broken,) = checked([spoiled(column, value)])["broken"]
    assert broken == {
        "column": column, "expected": expected, "count": 1, "stops": False,
        "rows": [{"terminal": "TU-1", "time": "2026-01-12 01:15:00+00:00", "value": shown}],
    }  # fmt: skip


def test_parts_of_a_table_are_counted_up_and_the_first_rows_named():
    (broken,) = checked([table(), spoiled("co2", -5.0), table().assign(co2=-5.0)])["broken"]
    assert broken["count"] == 193 and len(broken["rows"]) == NAMED
    assert broken["rows"][0]["time"] == "2026-01-12 01:15:00+00:00"


@pytest.fixture(params=["in memory", "stored"])
def source(request, tmp_path, monkeypatch):
    """A table that is handed over in several parts, or read by the process itself; and the same with a wrong value."""
    monkeypatch.setattr(check, "MOST_ROWS", 200)
    rows = table(terminals=7)

    def of(cell: float):
        spoilt = rows.copy()
        spoilt.loc[96 * 6, "zone_temp"] = cell
        if request.param == "in memory":
            return trends(spoilt)
        write_trends(trends(spoilt), tmp_path / "trends.parquet")
        return open_dataset(tmp_path / "trends.parquet")

    return of


def test_the_process_checks_every_row(source):
    with ContractCheck() as under_way:
        under_way.take(source(21.0))
        found = under_way.outcome()
    assert found["success"] and found["rows"] == 7 * 96


def test_the_process_names_the_row_of_a_wrong_value(source):
    with ContractCheck() as under_way:
        under_way.take(source(999.0))
        (broken,) = under_way.outcome()["broken"]
    assert broken["rows"] == [{"terminal": "TU-7", "time": "2026-01-12 00:00:00+00:00", "value": "999.0"}]


def test_a_table_that_cannot_be_used_stops_the_review_with_one_sentence():
    rows = table().iloc[[0, 2, 1, *range(3, 192)]].reset_index(drop=True)
    with ContractCheck() as under_way:
        under_way.take(trends(rows))
        with pytest.raises(ContractError, match="breaks its data contract: in_order.*TU-1 2026-01-12 00:15") as caught:
            under_way.outcome()
    assert "\n" not in str(caught.value)


@pytest.mark.usefixtures("contract_as_users_have_it")
def test_a_process_that_was_started_ahead_is_taken_by_the_next_check():
    end_if_untaken = start_ahead()
    with ContractCheck() as under_way:
        started = under_way._process
        end_if_untaken()
        assert started.poll() is None
        under_way.take(trends(table()))
        assert under_way.outcome()["success"]
    with ContractCheck() as another:
        assert another._process is not started


@pytest.mark.usefixtures("contract_as_users_have_it")
def test_a_check_that_is_left_ends_its_process():
    with ContractCheck() as under_way:
        under_way.take(trends(table(terminals=50)))
    assert under_way._process.poll() is not None
    assert under_way._answer.result(timeout=60) == b""


def test_a_process_that_is_gone_is_no_yes():
    with ContractCheck() as under_way:
        under_way._process.kill()
        under_way.take(trends(table()))
        with pytest.raises(ContractError, match="could not be checked: none of 192 rows were looked at"):
            under_way.outcome()


def test_rows_that_were_not_looked_at_are_no_yes(monkeypatch):
    monkeypatch.setattr(check, "_parts", lambda source: [source.of(["TU-1"])])
    with ContractCheck() as under_way:
        under_way.take(trends(table()))
        with pytest.raises(ContractError, match="could not be checked: 96 of 192 rows were looked at"):
            under_way.outcome()


@pytest.mark.usefixtures("contract_as_users_have_it")
def test_a_check_that_cannot_run_is_said(tmp_path, monkeypatch):
    (tmp_path / "great_expectations.py").write_text("raise ImportError('torn in half')", "utf-8")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    with ContractCheck() as under_way:
        under_way.take(trends(table()))
        with pytest.raises(ContractError, match="the data contract could not be checked: .*torn in half") as caught:
            under_way.outcome()
    assert len(str(caught.value)) < 600
