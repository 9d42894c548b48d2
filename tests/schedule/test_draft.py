"""``draft --schedule``: what the documents say goes into the schedule with its source, and on to the report."""

from __future__ import annotations

import csv
import shutil

import pandas as pd
import pytest

from analyzer.call import spread
from analyzer.draft import draft
from analyzer.places import demo_exports
from analyzer.site import read_site
from analyzer.site.model import SCHEDULE

DOCUMENTS = ("terminal_schedule.xlsx", "balancing_report.pdf")


@pytest.fixture(scope="module")
def drafted(tmp_path_factory):
    """The demo's wide exports drafted with its documents, without its own schedule: the folder, and what was told."""
    exports, folder = tmp_path_factory.mktemp("exports"), tmp_path_factory.mktemp("drafted") / "out"
    for file in (demo_exports() / "wide").iterdir():
        shutil.copy(file, exports)
    files = [shutil.copy(demo_exports() / "documents" / name, exports) for name in DOCUMENTS]
    return folder, draft([exports], None, folder, lambda line: None, files)


def test_the_demos_documents_come_to_its_schedule(drafted):
    found, known = read_site(drafted[0]).schedule, read_site(demo_exports()).schedule
    columns = [name for name in SCHEDULE if known[name].notna().any()]
    assert sorted(found.index) == sorted(known.index)
    found, known = found.loc[known.index, columns], known[columns]
    words = [name for name in columns if SCHEDULE[name] == "text"]
    assert (found[words].fillna("") == known[words].fillna("")).all(axis=None)
    numbers = [name for name in columns if SCHEDULE[name] != "text"]
    pd.testing.assert_frame_equal(found[numbers].astype(float), known[numbers].astype(float), rtol=1e-3)


def test_every_value_that_the_documents_gave_has_its_source(drafted):
    site = read_site(drafted[0])
    assert site.sources["VAV-1-01"]["primary_max"].whole == "terminal_schedule.xlsx, M-601, G5"
    assert site.sources["VAV-1-01"]["primary_max"].short == "M-601, row 5"
    balanced = site.sources["VAV-1-01"]["balanced_max"]
    assert (balanced.document, balanced.short) == ("balancing report", "balancing_report.pdf, page 1, row 3")
    for tag, row in site.schedule.iterrows():
        given = {name for name, value in row.items() if isinstance(value, float) and value == value}
        assert given <= set(site.sources[tag])


def test_a_value_that_was_corrected_has_no_source_any_more(drafted, tmp_path):
    for name in ("site.toml", "terminals.csv", "points.csv", "sources.csv"):
        shutil.copy(drafted[0] / name, tmp_path)
    path = tmp_path / "terminals.csv"
    rows = list(csv.reader(path.read_text().splitlines()))
    at = rows[0].index("primary_max [cfm]")
    (line,) = [row for row in rows if row[0] == "VAV-1-01"]
    line[at] = "470"
    with path.open("w", newline="") as stream:
        csv.writer(stream).writerows(rows)
    sources = read_site(tmp_path).sources["VAV-1-01"]
    assert "primary_max" not in sources and "primary_min" in sources


def test_the_account_of_every_file_is_told(drafted):
    said = "\n".join(drafted[1])
    assert "terminal_schedule.xlsx: 944 cells read" in said
    assert "balancing_report.pdf: 370 cells read" in said


def test_the_documents_are_no_exports(drafted):
    site = read_site(drafted[0])
    assert sorted(path.name for path in site.documents) == sorted(DOCUMENTS)


def test_tags_that_are_not_the_same_are_listed_both_ways(tmp_path):
    (tmp_path / "trend.csv").write_text(
        "Time,VAV-1-01 SA FLOW (cfm),FPB-1-02 SA FLOW (cfm)\n"
        + "".join(f"2026-01-26 06:{minute:02d},{200 + minute},{300 + minute}\n" for minute in range(0, 60, 5))
    )
    schedule = tmp_path / "m601.csv"
    schedule.write_text("TAG,MAX CFM,MIN CFM,WIDGET\nVAV-1-1,400,120,a\nTU-1-02,500,150,b\nVAV-7-07,600,180,c\n")
    told = "\n".join(draft([tmp_path / "trend.csv"], None, tmp_path / "out", lambda line: None, [schedule]))
    assert "VAV-1-1 is VAV-1-01" in told
    assert "perhaps one terminal, and not taken for one: TU-1-02 and FPB-1-02" in told
    assert "scheduled and in no export: TU-1-02, VAV-7-07" in told
    assert "in the exports and not scheduled: FPB-1-02" in told
    assert "the column 'WIDGET' was not recognized; it holds 'a', 'b', 'c'" in told
    table = read_site(tmp_path / "out").schedule
    assert table.loc["VAV-1-01", "primary_max"] == pytest.approx(400 * 0.47195, rel=1e-3)
    assert pd.isna(table.loc["FPB-1-02", "primary_max"])


@pytest.mark.parametrize(
    ("args", "written"),
    [
        (["e", "--schedule", "a", "b", "--out", "d"], ["e", "--schedule", "a", "--schedule", "b", "--out", "d"]),
        (["e", "--schedule", "a", "--quiet"], ["e", "--schedule", "a", "--quiet"]),
        (["--schedule", "a", "e"], ["--schedule", "a", "e"]),
        (["e"], ["e"]),
    ],
)
def test_the_option_takes_several_files(args, written):
    assert spread(args) == written


@pytest.mark.parametrize(("second", "expected"), [("", ["", ""]), ("VAV-1-02 REHEAT VALVE (%)", ["none", "hot-water"])])
def test_a_terminal_without_a_reheat_signal_has_none_only_where_others_have_one(tmp_path, second, expected):
    """A bare export says nothing of reheat."""
    head = ["Time", "VAV-1-01 SA FLOW (cfm)", "VAV-1-02 SA FLOW (cfm)", *([second] if second else [])]
    lines = [
        ",".join([f"2026-01-26 06:{minute:02d}", str(200 + minute), str(300 + minute), *(["10"] if second else [])])
        for minute in range(0, 60, 5)
    ]
    (tmp_path / "trend.csv").write_text("\n".join([",".join(head), *lines]) + "\n")
    draft([tmp_path / "trend.csv"], None, tmp_path / "out", lambda line: None)
    assert read_site(tmp_path / "out").schedule["reheat"].fillna("").tolist() == expected


def test_a_buildings_word_in_front_of_all_tags_is_kept_where_the_exports_have_it(trendwright, tmp_path):
    tags = [f"B-TU-00{n}" for n in (1, 2, 3)]
    (tmp_path / "schedule.csv").write_text("TAG,MAX L/S,MIN L/S\n" + "".join(f"{tag},400,120\n" for tag in tags))
    rows = [f"{tag},2026-01-26 {hour:02d}:00,21" for tag in tags for hour in range(24)]
    (tmp_path / "trends.csv").write_text("\n".join(["Terminal,Time,Zone Temp (degC)", *rows]) + "\n")
    ran = trendwright("draft", "trends.csv", "--schedule", "schedule.csv", "--out", "draft", "-q", cwd=tmp_path)
    assert ran.status == 0, ran.err
    drafted = pd.read_csv(tmp_path / "draft" / "terminals.csv")
    assert drafted["terminal"].tolist() == tags
    assert drafted.filter(like="primary_max").notna().all(axis=None)
