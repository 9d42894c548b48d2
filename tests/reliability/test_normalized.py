"""What ``normalize`` writes is never laid over what it reads, over another's file, or over another table's companions."""

from __future__ import annotations

import json
import shutil

import pandas as pd
import pyarrow.parquet as pq
import pytest

from analyzer.dataset import open_dataset, read_normalized
from tests.reliability.test_own_files import of


def with_supply_temp(path, value) -> None:
    """Add a point of the air handler to an export."""
    first, *lines = path.read_text().splitlines()
    path.write_text("\n".join([f"{first},AHU-1.SA-T (degF)", *(f"{line},{value}" for line in lines)]))


@pytest.fixture
def place(room, tmp_path):
    """A folder with the exports of two buildings, as tables and as raw Parquet."""
    for name, supply in (("exports", "55.0"), ("elsewhere", "58.0")):
        shutil.copytree(room / name, tmp_path / name)
        with_supply_temp(tmp_path / name / "AHU-1.csv", supply)
    (tmp_path / "raw").mkdir()
    pd.read_csv(room / "exports" / "AHU-1.csv").to_parquet(tmp_path / "raw" / "trends.parquet")
    shutil.copy(tmp_path / "raw" / "trends.parquet", tmp_path / "raw" / "air_handlers.parquet")
    return tmp_path


def normalized(place, runner, *call):
    (ran,) = runner.run(("normalize", *call, "-q"), cwd=place, quick=True)
    return ran


@pytest.mark.parametrize(
    ("exports", "out", "named"),
    [
        ("raw/trends.parquet", "raw/trends.parquet", "raw/trends.parquet"),
        ("raw", "raw/trends.parquet", "raw/trends.parquet"),
        ("raw/*.parquet", "raw/trends.parquet", "raw/trends.parquet"),
        ("raw/../raw/trends.parquet", "raw/trends.parquet", "raw/trends.parquet"),
        ("raw/air_handlers.parquet", "raw/trends.parquet", "raw/"),
        ("exports", "raw/trends.parquet", "raw/trends.parquet"),
        ("exports", "raw/air_handlers.parquet", "bears the name of an air handlers' table"),
        ("exports", "raw", "raw"),
        ("exports", ".", "is the folder you work in"),
        ("exports", "exports", "would be written over exports"),
    ],
)
def test_neither_an_export_nor_anothers_file_is_written_over(place, runner, exports, out, named):
    before = of(place)
    ran = normalized(place, runner, exports, "--out", out)
    assert ran["status"] == 2, ran
    (line,) = ran["err"].strip().splitlines()
    assert named in line and len(line) < 1000 and "Name a" in line
    assert of(place) == before


@pytest.mark.parametrize("name", ["ledger.json", "air_handlers.parquet", "trends.parquet"])
def test_a_companion_that_is_anothers_is_not_written_over(place, runner, name):
    (place / "table").mkdir()
    (place / "table" / name).write_text("mine")
    ran = normalized(place, runner, "exports", "--out", "table/trends.parquet")
    assert ran["status"] == 2
    assert f"table/{name}: is there already, and trendwright did not write it" in ran["err"]
    assert of(place / "table") == {name: b"mine"}


@pytest.mark.parametrize("out", ["table/trends.parquet", "table/house"])
def test_a_table_is_not_written_into_or_over_the_dataset_that_is_read(place, runner, out):
    assert normalized(place, runner, "exports", "--out", "table/house")["status"] == 0
    before = of(place)
    for exports in ("table", "table/house"):
        ran = normalized(place, runner, exports, "--out", f"{exports}/trends.parquet")
        assert ran["status"] == 2 and "which is read" in ran["err"], ran
    assert of(place) == before


def test_a_folder_that_holds_a_table_is_not_replaced_by_a_dataset(place, runner):
    assert normalized(place, runner, "exports", "--out", "table/trends.parquet")["status"] == 0
    before = of(place)
    ran = normalized(place, runner, "elsewhere", "--out", "table")
    assert ran["status"] == 2 and "is a folder that holds 'trends.parquet'" in ran["err"]
    assert of(place) == before


def test_two_tables_in_one_folder_share_nothing(place, runner):
    tables = {"floor-1": "exports", "trends": "elsewhere", "floor-2": "exports"}
    for name, exports in tables.items():
        assert normalized(place, runner, exports, "--out", f"table/{name}.parquet")["status"] == 0
    assert {path.name for path in (place / "table").iterdir()} == {
        "trends.parquet", "air_handlers.parquet", "ledger.json",
        "floor-1.parquet", "floor-1.air_handlers.parquet", "floor-1.ledger.json",
        "floor-2.parquet", "floor-2.air_handlers.parquet", "floor-2.ledger.json",
    }  # fmt: skip
    for name, exports in tables.items():
        alone = normalized(place, runner, exports, "--out", f"alone-{name}/trends.parquet")
        assert alone["status"] == 0
        here, there = (
            read_normalized(folder)
            for folder in (place / "table" / f"{name}.parquet", place / f"alone-{name}" / "trends.parquet")
        )
        pd.testing.assert_frame_equal(here.terminals, there.terminals)
        pd.testing.assert_frame_equal(here.air_handlers, there.air_handlers)
        assert len(here.air_handlers)


def test_a_table_of_another_name_is_reviewed_and_kept_with_its_air_handlers(place, runner):
    assert normalized(place, runner, "exports", "--out", "table/floor-1.parquet")["status"] == 0
    (ran,) = runner.run(("review", "table/floor-1.parquet", "--out", "out", "-q"), cwd=place, quick=True)
    assert ran["status"] == 0, ran
    assert (place / "out" / "air_handlers.parquet").samefile(place / "table" / "floor-1.air_handlers.parquet")
    kept, there = (read_normalized(place / name) for name in ("out/trends.parquet", "table/floor-1.parquet"))
    pd.testing.assert_frame_equal(kept.air_handlers, there.air_handlers)


def test_a_table_among_exports_is_not_read_as_one_of_them(place, runner):
    for name in ("trends", "floor-1"):
        assert normalized(place, runner, "exports", "--out", f"exports/{name}.parquet")["status"] == 0
    assert normalized(place, runner, "exports", "--out", "again/trends.parquet")["status"] == 0
    told = [json.loads((place / name).read_text()) for name in ("exports/ledger.json", "again/ledger.json")]
    assert told[0]["cells_read"] == told[1]["cells_read"]


def without_the_count(path) -> None:
    """Make a table as an earlier release wrote it."""
    stored = pq.read_table(path)
    metadata = {key: value for key, value in stored.schema.metadata.items() if key != b"trendwright.air_handlers"}
    pq.write_table(stored.replace_schema_metadata(metadata), path)


def test_a_table_of_an_earlier_release_is_read_with_its_air_handlers(place, runner):
    assert normalized(place, runner, "exports", "--out", "table/trends.parquet")["status"] == 0
    early = place / "table" / "floor-1.parquet"
    (place / "table" / "trends.parquet").rename(early)
    without_the_count(early)
    assert len(read_normalized(early).air_handlers)
    before = of(place)
    ran = normalized(place, runner, "elsewhere", "--out", "table/trends.parquet")
    assert ran["status"] == 2 and "air_handlers.parquet beside it belongs to floor-1.parquet" in ran["err"], ran
    assert of(place) == before


def test_a_column_that_an_earlier_release_did_not_have_reads_as_blank(place, runner):
    assert normalized(place, runner, "exports", "--out", "table/trends.parquet")["status"] == 0
    table = place / "table" / "trends.parquet"
    stored = pq.read_table(table)
    pq.write_table(stored.drop_columns(["cooling_signal"]), table)
    again = open_dataset(table)
    trends = again.of(again.tags)
    assert trends.terminals["cooling_signal"].isna().all() and trends.logging["cooling_signal"].isna().all()
    assert len(trends.terminals) == stored.num_rows


def test_a_table_without_the_air_handlers_that_belong_to_it_says_so(place, runner):
    assert normalized(place, runner, "exports", "--out", "table/floor-1.parquet")["status"] == 0
    assert normalized(place, runner, "elsewhere", "--out", "moved/trends.parquet")["status"] == 0
    (place / "table" / "floor-1.parquet").rename(place / "moved" / "floor-1.parquet")
    moved = open_dataset(place / "moved" / "floor-1.parquet")
    assert moved.air_handler_tags == []  # those that stand there are another table's
    assert any("floor-1.air_handlers.parquet is not beside the table" in told for told in moved.ledger.assumptions)


@pytest.mark.parametrize(
    ("out", "told"),
    [
        ("review/trends.parquet", "its folder holds a review or a comparison (written.json)"),
        ("review/other.parquet", "its folder holds a review or a comparison (written.json)"),
        ("s3://someone:hush@bucket/trends.parquet", "is an address of a store"),
    ],
)
def test_a_reviews_folder_and_an_address_are_refused(place, runner, out, told):
    (ran,) = runner.run(("review", "exports", "--out", "review", "-q"), cwd=place, quick=True)
    assert ran["status"] == 0, ran["err"]
    before = {path: path.read_bytes() for path in (place / "review").rglob("*") if path.is_file()}
    ran = normalized(place, runner, "elsewhere", "--out", out)
    assert ran["status"] == 2 and told in ran["err"] and "hush" not in ran["err"], ran
    assert {path: path.read_bytes() for path in (place / "review").rglob("*") if path.is_file()} == before
    assert not list(place.glob("s3*"))
