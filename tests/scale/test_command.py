"""The command on a building stored in parts: normalize into a folder, review it by several processes."""

from __future__ import annotations

from filecmp import cmpfiles

from tests.scale.buildings import DEMO

SITE = ["--site", str(DEMO / "site.toml")]


def test_normalized_into_parts_and_reviewed_by_two_processes(trendwright, tmp_path):
    parts, alone, two = (tmp_path / name for name in ("parts", "alone", "two"))
    said = trendwright("normalize", DEMO / "parquet", "--out", parts, *SITE, cwd=tmp_path)
    assert f"next: trendwright review {parts}" in said.out
    assert sorted(path.name for path in parts.iterdir()) == [
        "air_handlers.parquet", "ledger.json", "trends-00000.parquet",
    ]  # fmt: skip
    trendwright("review", parts, "--out", alone, *SITE, cwd=tmp_path)
    trendwright("review", parts, "--out", two, "--workers", "2", *SITE, cwd=tmp_path)
    tables = ["findings.csv", "verdicts.csv", "trend_request.csv", "findings.json", "index.html"]
    assert cmpfiles(alone, two, tables)[0] == tables
    pages = [path.name for path in (alone / "terminals").iterdir()]
    assert sorted(cmpfiles(alone / "terminals", two / "terminals", pages)[0]) == sorted(pages)
    assert (two / "trends.parquet" / "trends-00000.parquet").samefile(parts / "trends-00000.parquet")
    said = trendwright("complaint", two, "--terminal", "VAV-1-01", "--at", "2026-01-28 14:30", cwd=tmp_path)
    assert said.status == 0


def test_a_folder_with_other_files_is_not_replaced_by_a_dataset(trendwright, tmp_path):
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "owner.txt").write_text("Dear owner")
    said = trendwright("normalize", DEMO / "parquet", "--out", tmp_path / "letters", *SITE, cwd=tmp_path)
    assert said.status == 2
    assert "is a folder that holds 'owner.txt'. Name a new folder for the dataset." in said.err
    assert (tmp_path / "letters" / "owner.txt").read_text() == "Dear owner"


def test_exports_are_not_given_to_a_cluster(trendwright, tmp_path):
    said = trendwright("review", DEMO / "parquet", "--scheduler", "tcp://127.0.0.1:9", *SITE, cwd=tmp_path)
    assert said.status == 2
    assert "Run 'trendwright normalize" in said.err
