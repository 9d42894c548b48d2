"""The data contract: a sound table passes, each kind of broken table is named by its column."""

import json
import os
import pickle
import subprocess
import sys

import numpy as np
import pandas as pd
import pytest

from analyzer.contract import ContractCheck, extremes, lean
from analyzer.contract.check import as_bytes, start_ahead
from analyzer.contract.suite import validate
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


BROKEN = {
    "out of range": (spoiled("zone_temp", 999.0), "zone_temp"),
    "no state": (spoiled("fan_status", 0.5), "fan_status"),
    "out of order": (table().iloc[[0, 2, 1, *range(3, 192)]].reset_index(drop=True), "in_order"),
    "a row twice": (table().iloc[[0, 0, *range(1, 192)]].reset_index(drop=True), "in_order"),
    "no terminal": (spoiled("terminal", None), "terminal"),
    "no time": (spoiled("time", pd.NaT), "time"),
    "a column missing": (table().drop(columns="co2"), "co2"),
    "a wrong type": (table().astype({"zone_temp": "float32"}), "zone_temp"),
    "empty": (table().iloc[:0], "the table"),
}


@pytest.mark.parametrize(("rows", "named"), BROKEN.values(), ids=BROKEN)
def test_broken_table_is_named_by_its_column(rows, named):
    told = validate(extremes(rows))
    assert not told["success"]
    assert any(sentence.startswith(f"{named}: ") for sentence in told["broken"]), told["broken"]


# Loads the library as the check's first process does, and checks every table that it is given.
LEAN_PROCESS = """
import json, pickle, sys
from analyzer.contract import lean
lean.load()
import pandas
from analyzer.contract.suite import validate
told = [validate(pandas.DataFrame(pickle.loads(rows))) for rows in pickle.load(sys.stdin.buffer)]
print(json.dumps({"told": told, "loaded": sorted(sys.modules)}))
"""


@pytest.fixture(scope="module")
def lean_process():
    """What the lean library told of the sound table and of each broken one, and the modules it loaded for that."""
    tables = [table(), *(rows for rows, _ in BROKEN.values())]
    run = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", LEAN_PROCESS],
        input=pickle.dumps([as_bytes(extremes(rows)) for rows in tables]),
        capture_output=True, check=True, timeout=120, env=os.environ | {"GX_ANALYTICS_ENABLED": "false"},
    )  # fmt: skip
    return json.loads(run.stdout)


def test_the_lean_library_comes_to_the_same_as_the_whole_one(lean_process):
    sound, *broken = lean_process["told"]
    assert sound == validate(extremes(table()))
    assert broken == [validate(extremes(rows)) for rows, _ in BROKEN.values()]


def test_the_lean_library_loads_what_checks_and_leaves_the_rest(lean_process):
    loaded = set(lean_process["loaded"])
    assert loaded >= {
        "great_expectations.validator.validator",
        "great_expectations.execution_engine.pandas_execution_engine",
        "great_expectations.expectations.core.expect_column_max_to_be_between",
    }
    left_out = ("great_expectations.datasource.fluent.spark", "scipy", "altair", "jinja2", "urllib3", "jsonschema")
    assert [name for name in loaded if name.startswith(left_out)] == []


def test_what_was_kept_out_refuses_to_be_used():
    kept_out = lean._NeverCalled().create_module(lean._NeverCalled().find_spec("requests.adapters"))
    with pytest.raises(NotImplementedError, match=r"requests\.adapters\.HTTPAdapter was kept out"):
        kept_out.HTTPAdapter()


def test_a_broken_contract_stops_the_review_with_one_sentence():
    rows = spoiled("zone_temp", 999.0)
    with ContractCheck() as check:
        check.take(extremes(rows))
        with pytest.raises(ContractError, match="breaks its data contract: zone_temp") as caught:
            check.outcome()
    assert "\n" not in str(caught.value)


def test_where_the_lean_library_gives_no_answer_the_whole_one_is_asked():
    with ContractCheck() as check:
        check._processes[0].kill()
        check.take(extremes(table()))
        assert check.outcome()["success"]
        assert [process.args[-1] for process in check._processes] == ["lean", "whole"]


def test_a_process_that_was_started_ahead_is_taken_by_the_next_check():
    end_if_untaken = start_ahead()
    with ContractCheck() as check:
        (started,) = check._processes
        end_if_untaken()
        assert started.poll() is None
        check.take(extremes(table()))
        assert check.outcome()["success"] and check._processes == [started]
    with ContractCheck() as check:
        assert check._processes != [started]


def test_a_check_that_is_left_starts_nothing_more():
    with ContractCheck() as check:
        check.take(extremes(spoiled("zone_temp", 999.0)))
    assert [process.poll() is not None for process in check._processes] == [True]


def test_a_check_that_cannot_run_is_said(tmp_path, monkeypatch):
    (tmp_path / "great_expectations.py").write_text("raise ImportError('torn in half')", "utf-8")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    with ContractCheck() as check:
        check.take(extremes(table()))
        with pytest.raises(ContractError, match="the data contract could not be checked: .*torn in half") as caught:
            check.outcome()
    assert len(str(caught.value)) < 600
