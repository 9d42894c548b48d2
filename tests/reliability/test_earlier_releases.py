"""What an earlier release wrote stays readable: every command opens its review, and its table with fewer quantities."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from analyzer.findings.stored import read_review
from analyzer.quantities import AIR_HANDLER, TERMINAL

EARLIER = Path(__file__).parent / "earlier" / "0.1.0"
FINDING = "VAV-2-05/reheat-during-cooling"
COMPLAINT = ("--terminal", "VAV-2-05", "--at", "2026-01-28 15:00", "--out", "complaint.html")
SITE = ("--site", "exports/site.toml")

# Every command that opens a review or a normalized table: the call, and a file that it then has written.
CALLS = {
    "complaint": (("complaint", "review", *COMPLAINT), "complaint.html"),
    "evidence": (("evidence", "review", FINDING, "--exports", "exports", "--out", "raw.csv", "-q"), "raw.csv"),
    "compare, as the earlier one": (("compare", "review", "later", "--out", "moved", "-q"), "moved/comparison.csv"),
    "compare, as the later one": (("compare", "later", "review", "--out", "moved", "-q"), "moved/comparison.csv"),
    "review in its place": (("review", "exports", "--out", "review", "-q"), "review/index.html"),
    "review of its table": (
        ("review", "review/trends.parquet", *SITE, "--out", "again", "-q"),
        "again/findings.json",
    ),
    "normalize its table": (
        ("normalize", "review/trends.parquet", *SITE, "--out", "table/trends.parquet", "-q"),
        "table/trends.parquet",
    ),
}
# What no command can do without: of a table that holds only these, the rest reads as null.
FEWEST = {"trends.parquet": ("terminal", "time", "zone_temp"), "air_handlers.parquet": ("air_handler", "time")}


@pytest.fixture(scope="module")
def later(runner, tmp_path_factory):
    """A review of the same exports by this release."""
    room = tmp_path_factory.mktemp("later")
    shutil.copytree(EARLIER / "exports", room / "exports")
    done(runner, room, ("review", "exports", "--out", "later", "-q"))
    return room / "later"


@pytest.fixture
def place(later, tmp_path):
    """The exports, the review of the earlier release, and one of this release."""
    shutil.copytree(EARLIER, tmp_path, dirs_exist_ok=True)
    shutil.copytree(later, tmp_path / "later")
    return tmp_path


def done(runner, folder, call):
    (ran,) = runner.run(call, cwd=folder, quick=True)
    assert ran["status"] == 0, ran["err"]
    return ran


def narrowed(table: Path, kept: tuple[str, ...]) -> None:
    """Leave only some columns in a table, as an earlier release that knew no other would have written it."""
    stored = pq.read_table(table)
    pq.write_table(stored.select(list(kept)), table)


def test_the_stored_review_is_of_a_release_that_knew_fewer_quantities():
    for name, known in (("trends.parquet", TERMINAL), ("air_handlers.parquet", AIR_HANDLER)):
        assert {*known} - {*pq.read_schema(EARLIER / "review" / name).names}, name


@pytest.mark.parametrize(("call", "written"), CALLS.values(), ids=CALLS)
def test_every_command_opens_the_review_of_an_earlier_release(runner, place, call, written):
    done(runner, place, call)
    assert (place / written).stat().st_size > 0


@pytest.mark.parametrize(("call", "written"), CALLS.values(), ids=CALLS)
def test_every_command_reads_columns_that_are_not_there_as_null(runner, place, call, written):
    """Today's table, as a release that will know more quantities finds it."""
    shutil.rmtree(place / "review")
    shutil.copytree(place / "later", place / "review")
    for name, kept in FEWEST.items():
        narrowed(place / "review" / name, kept)
    done(runner, place, call)
    assert (place / written).stat().st_size > 0


def test_what_is_known_of_the_earlier_review_is_what_stands_in_it(place):
    stored = read_review(place / "review")
    assert FINDING in stored.findings and len(stored.verdicts) > 100
    trends = stored.trends(["VAV-2-05"])
    assert trends.terminals["zone_temp"].notna().all() and trends.terminals["effective_setpoint"].isna().all()
    assert trends.terminals[list(TERMINAL)].dtypes.eq("float64").all()
    assert stored.air_handlers["supply_temp"].notna().any() and stored.air_handlers["supply_temp_setpoint"].isna().all()


def test_the_evidence_is_that_of_the_exports(runner, place):
    done(runner, place, CALLS["evidence"][0])
    table = pd.read_csv(place / "raw.csv", dtype=str, keep_default_na=False)
    lines = (place / "exports" / "AHU-1.csv").read_text().splitlines()
    header = lines[0].split(",")
    some = table[table["place"] != ""].iloc[::100]
    assert len(some) > 5
    for row in some.to_dict("records"):
        line = lines[int(row["place"].removeprefix("line ")) - 1].split(",")
        assert line[header.index(row["column"])] == row["raw_text"]


def test_a_review_in_its_place_counts_it_as_the_round_before(runner, place):
    before = json.loads((place / "review" / "findings.json").read_text("utf-8"))
    done(runner, place, CALLS["review in its place"][0])
    (kept,) = (place / "review" / "rounds").glob("*.json")
    assert json.loads(kept.read_text("utf-8")) == before


def test_a_table_of_which_half_the_files_know_fewer_quantities(runner, place):
    """A store that has grown over two releases."""
    (place / "store").mkdir()
    shutil.copy(place / "later" / "trends.parquet", place / "store" / "second.parquet")
    first = pq.read_table(place / "review" / "trends.parquet")
    tags = first["terminal"].cast("string").to_pylist()
    position = first.schema.get_field_index("terminal")
    renamed = first.set_column(position, "terminal", pa.array([f"{tag}-B" for tag in tags]))
    pq.write_table(renamed, place / "store" / "first.parquet")
    done(runner, place, ("review", "store", *SITE, "--out", "both", "-q"))
    both = read_review(place / "both").trends()
    assert len(both.tags) == 8
    assert both.terminals["zone_temp"].notna().all()
