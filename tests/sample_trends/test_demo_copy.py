"""Copying the demo out: every shape is whole, no terminal comes twice, and a full folder is left alone."""

from __future__ import annotations

import pandas as pd
import pyarrow.parquet as pq
import pytest

from analyzer.demo import SHAPES, copy_demo
from analyzer.errors import CallError
from tests.sample_trends.exported import EXPORTS


def _owners_of(path) -> set[str]:
    if path.suffix == ".parquet":
        return {name.split(" ", 1)[0] for name in pq.read_schema(path).names[1:]}
    lines = path.read_text().splitlines()
    if path.name == "changes.csv":
        return {line.split(",")[1].split(".")[0] for line in lines[1:]}
    header = next(line for line in lines if line.startswith("Timestamp"))
    return {name.split(".", 1)[0] for name in header.split(",")[1:]}


@pytest.mark.parametrize("shape", SHAPES)
def test_every_terminal_once(tmp_path, shape):
    paths = copy_demo(tmp_path / "demo", shape=shape)
    exports = [path for path in paths if path.name not in ("site.toml", "terminals.csv", "documents")]
    owners = [owner for path in exports for owner in _owners_of(path)]
    terminals = pd.read_csv(EXPORTS / "terminals.csv")["terminal"]
    assert sorted(owners) == sorted([*terminals, "AHU-1", "AHU-2"])
    assert len(exports) == {"wide": 2, "long": 1, "parquet": 1, "mix": 3}[shape]
    assert all(path.parent == tmp_path / "demo" for path in paths)


def test_mixed_values_are_those_of_the_whole_files(tmp_path):
    copy_demo(tmp_path, shape="mix")
    part, whole = pd.read_parquet(tmp_path / "trends.parquet"), pd.read_parquet(EXPORTS / "parquet" / "trends.parquet")
    pd.testing.assert_frame_equal(part, whole[list(part.columns)])
    lines = set((EXPORTS / "long" / "changes.csv").read_text().splitlines())
    assert set((tmp_path / "changes.csv").read_text().splitlines()) < lines


def test_retest_is_the_later_week_alone(tmp_path):
    names = [path.name for path in copy_demo(tmp_path / "new" / "demo", retest=True)]
    assert names == ["documents", "retest_week.parquet", "site.toml", "terminals.csv"]


def test_a_full_folder_is_left_alone(tmp_path):
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(CallError, match=f"{tmp_path}: exists and is not an empty folder"):
        copy_demo(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_a_file_in_the_way_is_left_alone(tmp_path):
    (tmp_path / "demo").write_text("mine")
    with pytest.raises(CallError, match="demo: exists and is not an empty folder"):
        copy_demo(tmp_path / "demo")
    assert (tmp_path / "demo").read_text() == "mine"


def test_an_unknown_shape_is_named_with_the_nearest(tmp_path):
    with pytest.raises(CallError, match=r"'wise' is no shape \(did you mean 'wide'\?\)"):
        copy_demo(tmp_path / "demo", shape="wise")
    assert not (tmp_path / "demo").exists()


def test_nothing_is_left_when_a_file_is_missing(tmp_path, monkeypatch):
    import analyzer.demo

    bare = tmp_path / "bare"
    bare.mkdir()
    (bare / "site.toml").write_text("")
    monkeypatch.setattr(analyzer.demo, "demo_exports", lambda: bare)
    with pytest.raises(CallError, match="demo: cannot be written"):
        copy_demo(tmp_path / "demo")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bare"]
