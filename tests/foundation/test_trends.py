"""The normalized table: its form, its files, and what is refused on reading."""

import json

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from analyzer.dataset import is_normalized, read_normalized, write_trends
from analyzer.errors import ExportError
from analyzer.quantities import TERMINAL
from analyzer.trends import (
    AIR_HANDLER_COLUMNS,
    AIR_HANDLERS_FILE,
    TERMINAL_COLUMNS,
    Trends,
    in_form,
    no_air_handlers,
    observed_logging,
)

START = pd.Timestamp("2026-01-12 06:00", tz="UTC")


def _rows(key: str, columns: list[str], tag: str, minutes: list[float], **values) -> pd.DataFrame:
    rows = pd.DataFrame(np.nan, index=range(len(minutes)), columns=columns)
    rows[key] = pd.Series([tag] * len(minutes), dtype=object)
    rows["time"] = [START + pd.Timedelta(minutes=m) for m in minutes]
    return rows.assign(**values)


def _terminal(tag: str, minutes: list[float], **values) -> pd.DataFrame:
    return _rows("terminal", TERMINAL_COLUMNS, tag, minutes, **values)


@pytest.fixture
def two_terminals() -> Trends:
    """VAV-2 logs temperature each 5 min and its fan on change; VAV-10 logs flow each 15 min; one air handler."""
    table = in_form(
        pd.concat(
            [
                _terminal("VAV-2", [10, 0, 5], zone_temp=[21.3, 21.1, np.nan], fan_status=[1.0, 0.0, 1.0]),
                _terminal("VAV-10", [0, 15], primary_flow=[94.39, 100.0]),
            ]
        )
    )
    handlers = in_form(_rows("air_handler", AIR_HANDLER_COLUMNS, "AHU-1", [0, 5], supply_temp=[12.8, 13.0]))
    logging = pd.DataFrame(np.nan, index=["VAV-10", "VAV-2"], columns=list(TERMINAL))
    logging.loc["VAV-2", ["zone_temp", "fan_status"]] = [300.0, 0.0]
    logging.loc["VAV-10", "primary_flow"] = 900.0
    return Trends(table, handlers, logging, "America/Chicago")


def test_the_form(two_terminals):
    table = two_terminals.terminals
    assert list(table.columns) == TERMINAL_COLUMNS
    assert list(table["terminal"].cat.categories) == ["VAV-10", "VAV-2"]
    assert table["time"].dtype == "datetime64[us, UTC]"
    assert (table.dtypes.iloc[2:] == "float64").all()
    assert list(table["terminal"]) == ["VAV-10"] * 2 + ["VAV-2"] * 3
    assert list(table.index) == [0, 1, 2, 3, 4]
    for _, rows in table.groupby("terminal", observed=True):
        assert rows["time"].is_monotonic_increasing
    assert list(table.loc[2:, "zone_temp"].fillna(-1)) == [21.1, -1, 21.3]


def test_written_and_read_back_it_is_the_same(two_terminals, tmp_path):
    path = tmp_path / "trends.parquet"
    write_trends(two_terminals, path)
    found = read_normalized(path)
    pd.testing.assert_frame_equal(found.terminals, two_terminals.terminals)
    pd.testing.assert_frame_equal(found.air_handlers, two_terminals.air_handlers)
    pd.testing.assert_frame_equal(found.logging, two_terminals.logging)
    assert found.time_zone == "America/Chicago"
    assert found.ledger.cells_read == found.ledger.cells_used + sum(found.ledger.set_aside.values()) > 0


def test_the_files_carry_format_zone_and_si_columns(two_terminals, tmp_path):
    write_trends(two_terminals, tmp_path / "trends.parquet")
    for name, columns in (("trends.parquet", TERMINAL_COLUMNS), (AIR_HANDLERS_FILE, AIR_HANDLER_COLUMNS)):
        schema = pq.read_schema(tmp_path / name)
        assert schema.names == columns
        assert schema.field("time").type == pa.timestamp("us", tz="UTC")
        assert schema.metadata[b"trendwright.format"] == b"trendwright-trends/1"
        assert schema.metadata[b"trendwright.time_zone"] == b"America/Chicago"
    logged = json.loads(pq.read_schema(tmp_path / "trends.parquet").metadata[b"trendwright.logging"])
    assert logged == {"VAV-10": {"primary_flow": 900.0}, "VAV-2": {"zone_temp": 300.0, "fan_status": 0.0}}


def test_missing_is_null_in_the_file_not_a_number(two_terminals, tmp_path):
    write_trends(two_terminals, tmp_path / "trends.parquet")
    assert pq.read_table(tmp_path / "trends.parquet")["zone_temp"].null_count == 3


def test_without_air_handlers_beside_it_there_are_none(two_terminals, tmp_path):
    write_trends(two_terminals, tmp_path / "trends.parquet")
    (tmp_path / AIR_HANDLERS_FILE).unlink()
    found = read_normalized(tmp_path / "trends.parquet").air_handlers
    assert list(found.columns) == AIR_HANDLER_COLUMNS
    assert found.empty
    pd.testing.assert_frame_equal(found, no_air_handlers())


def test_no_air_handlers_can_be_written(two_terminals, tmp_path):
    two_terminals.air_handlers = no_air_handlers()
    write_trends(two_terminals, tmp_path / "trends.parquet")
    pd.testing.assert_frame_equal(read_normalized(tmp_path / "trends.parquet").air_handlers, no_air_handlers())


def test_is_normalized_tells_its_own_files_from_others(two_terminals, tmp_path):
    write_trends(two_terminals, tmp_path / "trends.parquet")
    pq.write_table(pa.table({"time": [1, 2]}), tmp_path / "export.parquet")
    (tmp_path / "text.parquet").write_text("time,flow\n")
    names = ["trends.parquet", AIR_HANDLERS_FILE, "export.parquet", "text.parquet", "absent.parquet"]
    assert [is_normalized(tmp_path / name) for name in names] == [True, True, False, False, False]


def test_a_file_that_is_no_parquet_is_refused(tmp_path):
    path = tmp_path / "trends.parquet"
    path.write_text("time,flow\n")
    with pytest.raises(ExportError, match=r"trends\.parquet: is not a readable Parquet file .*\. Export it again\."):
        read_normalized(path)


def test_a_cut_file_is_refused(two_terminals, tmp_path):
    path = tmp_path / "trends.parquet"
    write_trends(two_terminals, path)
    path.write_bytes(path.read_bytes()[:-200])
    with pytest.raises(ExportError, match="is not a readable Parquet file"):
        read_normalized(path)


@pytest.mark.parametrize("metadata", [{}, {"trendwright.format": "trendwright-trends/99"}])
def test_another_format_is_refused(two_terminals, tmp_path, metadata):
    path = tmp_path / "trends.parquet"
    write_trends(two_terminals, path)
    pq.write_table(pq.read_table(path).replace_schema_metadata(metadata), path)
    with pytest.raises(ExportError, match="another format than trendwright-trends/1"):
        read_normalized(path)


def test_a_table_without_time_is_refused(two_terminals, tmp_path):
    path = tmp_path / "trends.parquet"
    write_trends(two_terminals, path)
    pq.write_table(pq.read_table(path).drop_columns(["time"]), path)
    with pytest.raises(ExportError, match="lacks the columns time"):
        read_normalized(path)


def test_quantities_that_an_earlier_release_did_not_know_read_as_null(two_terminals, tmp_path):
    path = tmp_path / "trends.parquet"
    write_trends(two_terminals, path)
    pq.write_table(pq.read_table(path).drop_columns(["effective_setpoint", "co2"]), path)
    table = read_normalized(path).terminals
    assert list(table.columns) == TERMINAL_COLUMNS
    assert table["co2"].isna().all()
    assert table["zone_temp"].equals(two_terminals.terminals["zone_temp"])


def test_without_a_note_of_the_logging_it_is_taken_from_the_rows(two_terminals, tmp_path):
    path = tmp_path / "trends.parquet"
    write_trends(two_terminals, path)
    stored = pq.read_table(path)
    metadata = {key: value for key, value in stored.schema.metadata.items() if key != b"trendwright.logging"}
    pq.write_table(stored.replace_schema_metadata(metadata), path)
    logging = read_normalized(path).logging
    assert logging.loc["VAV-2", "zone_temp"] == 600.0  # a null lies between its two values
    assert logging.loc["VAV-10", "primary_flow"] == 900.0
    assert np.isnan(logging.loc["VAV-10", "zone_temp"])


def test_observed_logging_does_not_look_across_terminals():
    table = in_form(
        pd.concat(
            [
                _terminal("A", [0, 5, 10], zone_temp=[21.0, 21.1, 21.2]),
                _terminal("B", [40, 55], zone_temp=[22.0, 22.1]),
                _terminal("C", [90], zone_temp=[23.0]),
            ]
        )
    )
    found = observed_logging(table)["zone_temp"]
    assert found.iloc[:2].to_dict() == {"A": 300.0, "B": 900.0}
    assert np.isnan(found["C"])  # one value has no spacing


@pytest.mark.parametrize(("starts", "from_events"), [(0.0, False), (1.0, False), (2.0, True), (np.nan, False)])
def test_more_than_one_start_in_a_row_can_only_come_from_events(starts, from_events):
    table = in_form(_terminal("A", [0, 5, 10], fan_status=[0.0, 1.0, 1.0], fan_starts=[0.0, starts, 0.0]))
    logged = observed_logging(table).loc["A", "fan_status"]
    assert (logged == 0.0) == from_events
    assert from_events or logged == 300.0


def test_rows_without_a_terminal_are_refused_and_not_left_out(two_terminals, tmp_path):
    path = tmp_path / "trends.parquet"
    write_trends(two_terminals, path)
    stored = pq.read_table(path)
    tags = pa.array([None, *stored["terminal"].to_pylist()[1:]], pa.string())
    pq.write_table(stored.set_column(0, "terminal", tags), path)
    with pytest.raises(ExportError, match="holds 1 rows without a value of 'terminal'"):
        read_normalized(path)
