"""Two files of a dataset that hold the same moment are refused by name, and files that share a terminal's weeks are not."""

from __future__ import annotations

import shutil
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from analyzer.dataset import open_dataset, read_normalized
from analyzer.errors import ExportError
from tests.scale.buildings import demo_trends, in_parts

FIRST, HANDLERS = "trends-00000.parquet", "air_handlers.parquet"
REMEDY = "Take one of the two out of the folder; if they are of two buildings, review each by itself."


@pytest.fixture(scope="module")
def parts(tmp_path_factory):
    """The demo building's trends, in parts."""
    return in_parts(demo_trends(), tmp_path_factory.mktemp("twice") / "parts")


@pytest.fixture
def campus(parts, tmp_path) -> Path:
    """A folder of two buildings' datasets, of which the second is empty yet."""
    shutil.copytree(parts, tmp_path / "campus" / "east")
    (tmp_path / "campus" / "west").mkdir()
    return tmp_path / "campus"


def some_rows(source: Path, target: Path, rows: slice, **how) -> pa.Table:
    """Write some rows of a stored table, its metadata with them, to another file; return them."""
    kept = pq.read_table(source)
    kept = kept.take(pa.array(np.arange(len(kept))[rows]))
    pq.write_table(kept, target, **how)
    return kept


def doubled(file: Path) -> None:
    """Write one row of a stored table twice, in one row group."""
    stored = pq.read_table(file)
    twice = pa.concat_tables([stored.slice(0, 6), stored.slice(5)])
    pq.write_table(twice, file, row_group_size=len(twice))


def sentence_about(table: pa.Table, row: int) -> str:
    """What has to be said of a row: its terminal or air handler, and the site's local time."""
    at = table["time"][row].as_py().astimezone(ZoneInfo("America/Chicago"))
    return f"both hold {table[0][row].as_py()} at {at:%Y-%m-%d %H:%M:%S} CST. {REMEDY}"


@pytest.mark.parametrize("statistics", [True, False], ids=["with statistics", "without statistics"])
@pytest.mark.parametrize("name", [FIRST, HANDLERS], ids=["a terminal", "an air handler"])
def test_one_moment_in_two_files_is_refused_by_their_names(campus, name, statistics):
    again = some_rows(campus / "east" / name, campus / "west" / name, slice(700, 701), write_statistics=statistics)
    with pytest.raises(ExportError) as caught:
        open_dataset(campus)
    assert str(caught.value) == f"{campus}: east/{name} and west/{name} {sentence_about(again, 0)}"


def test_the_command_says_so_before_it_judges(trendwright, campus, tmp_path):
    some_rows(campus / "east" / FIRST, campus / "west" / FIRST, slice(10, 20))
    said = trendwright("review", campus, "--out", tmp_path / "out", cwd=tmp_path)
    assert said.status == 2
    assert f"east/{FIRST} and west/{FIRST} both hold" in said.err and said.err.strip().endswith(REMEDY)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", [FIRST, HANDLERS], ids=["a terminal", "an air handler"])
def test_one_moment_twice_in_one_file_is_refused_by_its_name(campus, name):
    doubled(campus / "east" / name)
    with pytest.raises(ExportError, match=rf"east/{name}: holds \S+ twice at 2026-.* Normalize its exports again\."):
        read_normalized(campus)


def test_a_worker_that_meets_it_says_so(trendwright, campus, tmp_path):
    doubled(campus / "east" / FIRST)
    said = trendwright("review", campus, "--out", tmp_path / "out", "--workers", "2", cwd=tmp_path)
    assert said.status == 2
    assert f"east/{FIRST}: holds" in said.err and "Traceback" not in said.err
    assert not (tmp_path / "out").exists()


def test_files_that_take_turns_are_one_building(campus, parts):
    """Every second moment in either file: they overlap in time, and no moment is held twice."""
    for name in (FIRST, HANDLERS):
        whole = pq.read_table(campus / "east" / name)
        second = pa.array(np.arange(len(whole)) % 2 == 1)
        pq.write_table(whole.filter(second), campus / "west" / name)
        pq.write_table(whole.filter(pa.compute.invert(second)), campus / "east" / name)
    there, whole = read_normalized(campus), read_normalized(parts)
    assert there.terminals.equals(whole.terminals) and there.air_handlers.equals(whole.air_handlers)
