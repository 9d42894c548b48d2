"""Which files are read, and which are refused or passed over."""

from __future__ import annotations

import gzip
import io
import os
import zipfile

import pytest

from analyzer.errors import ExportError, PointListError
from analyzer.intake import read_exports
from analyzer.intake.files import archives
from analyzer.intake.files import find as files
from analyzer.intake.tables import export_text, sniff
from analyzer.site import Site, read_site

EXPORT = "Time,VAV-1 ZN-T (degF)\n2026-01-26 06:00,70\n2026-01-26 06:05,70\n2026-01-26 06:10,71\n"


def read(*exports, site=None):
    return read_exports(list(exports), site or Site())


def labels(folder, site=None):
    return [source.label[len(str(folder)) + 1 :] for source in files.find([folder], site or Site()).sources]


def test_a_tree_is_read_in_order_without_what_describes_the_building(tmp_path):
    for name in (
        "b.csv",
        "a/x.csv",
        "a/deep/y.txt",
        "site.toml",
        "terminals.csv",
        "points.csv",
        "a/points.csv",
        "notes.pdf",
        ".hidden.csv",
    ):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        own = name.endswith(("terminals.csv", "points.csv"))
        (tmp_path / name).write_text("file,column,terminal\n" if own else EXPORT)
    (tmp_path / "my-rules").mkdir()
    (tmp_path / "my-rules" / "mine.toml").write_text("title = 'x'")
    assert labels(tmp_path) == ["b.csv", "a/x.csv", "a/deep/y.txt"]


def test_the_sites_own_files_are_never_exports_whatever_their_names(tmp_path):
    (tmp_path / "schedule 7.csv").write_text("terminal,kind\nVAV-1,single-duct\n")
    (tmp_path / "list.csv").write_text("column,ignore\n")
    (tmp_path / "trend.csv").write_text(EXPORT)
    (tmp_path / "building.toml").write_text(
        '[site]\ntime_zone = "UTC"\nterminals = "schedule 7.csv"\npoints = "list.csv"\n'
    )
    site = read_site(tmp_path / "building.toml")
    assert labels(tmp_path, site) == ["trend.csv"]


def test_a_reviews_outputs_are_never_exports(tmp_path):
    for name in (
        "trend.csv",
        "review/index.html",
        "review/ledger.json",
        "review/findings.json",
        "review/verdicts.csv",
        "review/x.csv",
    ):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(EXPORT)
    assert labels(tmp_path) == ["trend.csv"]
    (tmp_path / "ledger.json").write_text("{}")
    (tmp_path / "trends.parquet").write_text("")
    assert labels(tmp_path) == ["trend.csv"]


def test_links_are_not_followed_out_of_the_folder(tmp_path):
    outside, inside = tmp_path / "outside", tmp_path / "inside"
    for folder in (outside, inside, inside / "deep"):
        folder.mkdir()
    (outside / "secret.csv").write_text(EXPORT)
    (inside / "trend.csv").write_text(EXPORT)
    os.symlink(outside / "secret.csv", inside / "linked.csv")
    os.symlink(outside, inside / "linked")
    os.symlink(inside / "trend.csv", inside / "deep" / "again.csv")
    assert labels(inside) == ["trend.csv"]


def test_a_glob_and_a_file_named_twice_are_read_once(tmp_path):
    for name in ("a.csv", "b.csv", "c.dat"):
        (tmp_path / name).write_text(EXPORT)
    found = files.find([str(tmp_path / "*.csv"), tmp_path / "a.csv"], Site()).sources
    assert [source.name for source in found] == ["a.csv", "b.csv"]


def test_a_zip_is_read_with_its_tree_and_never_unpacked_to_disk(tmp_path):
    with zipfile.ZipFile(tmp_path / "all.zip", "w") as archive:
        archive.writestr("../../up.csv", EXPORT)
        archive.writestr("level 1/VAV-2.csv.gz", gzip.compress(EXPORT.replace("VAV-1 ", "").encode()))
        archive.writestr("read me.pdf", "x")
        archive.writestr("__MACOSX/level 1/._VAV-2.csv", "x")
    trends = read(tmp_path / "all.zip")
    assert list(trends.terminals["terminal"].cat.categories) == ["VAV-1", "VAV-2"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["all.zip"]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda folder: folder / "no such.csv", ["no such.csv: no such file or folder", "Check the path"]),
        (lambda folder: folder, ["no export was found", ".csv", "Name the exported files"]),
        (lambda folder: str(folder / "*.csv"), ["nothing matches this pattern"]),
        (lambda folder: put(folder, "a.csv", b""), ["a.csv: is empty"]),
        (lambda folder: put(folder, "a.csv", b"\n \n\n"), ["a.csv: is empty"]),
        (
            lambda folder: put(folder, "a.csv", bytes(range(256)) * 9),
            ["a.csv: is not a text file (it holds null bytes)"],
        ),
        (lambda folder: put(folder, "a.parquet", b"PAR1"), ["a.parquet: is not a readable Parquet file"]),
        (lambda folder: put(folder, "a.xlsx", b"PK"), ["a.xlsx: is not a readable workbook"]),
        (lambda folder: put(folder, "a.zip", b"PK"), ["a.zip: is not a readable zip archive"]),
        (lambda folder: put(folder, "a.csv.gz", b"\x1f\x8b123"), ["a.csv.gz: cannot be unpacked"]),
        (
            lambda folder: put(folder, "a.csv", b"Time\n2026-01-26 06:00\n"),
            ["a.csv: header: holds time stamps but no column of values"],
        ),
    ],
)
def test_refusals_name_file_and_remedy(tmp_path, make, words):
    with pytest.raises(ExportError) as refusal:
        read(make(tmp_path))
    for word in words:
        assert word in str(refusal.value)


def put(folder, name, data):
    (folder / name).write_bytes(data)
    return folder / name


@pytest.fixture
def small_limits(monkeypatch):
    monkeypatch.setattr(archives, "LARGEST_UNPACKED", 3 * 1024 * 1024)
    monkeypatch.setattr(sniff, "LONGEST_LINE", 1024 * 1024)
    monkeypatch.setattr(export_text, "LONGEST_LINE", 1024 * 1024)
    monkeypatch.setattr(sniff, "MOST_COLUMNS", 50)


@pytest.mark.parametrize("name", ["bomb.zip", "bomb.csv.gz"])
def test_an_archive_that_unpacks_to_too_much_is_refused(tmp_path, small_limits, name):
    nothing = b"0" * (4 * 1024 * 1024)
    if name.endswith(".zip"):
        with zipfile.ZipFile(tmp_path / name, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("a.csv", nothing)
    else:
        (tmp_path / name).write_bytes(gzip.compress(nothing))
    with pytest.raises(ExportError, match=r"unpacks to \d+ MiB or more; allowed are 3 MiB"):
        read(tmp_path / name)


def test_an_archive_that_lies_about_its_size_is_refused(tmp_path, small_limits):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.csv", b"0" * (4 * 1024 * 1024))
    honest = (4 * 1024 * 1024).to_bytes(4, "little")
    (tmp_path / "liar.zip").write_bytes(stream.getvalue().replace(honest, (1000).to_bytes(4, "little")))
    with pytest.raises(ExportError, match=r"liar\.zip"):
        read(tmp_path / "liar.zip")


@pytest.mark.parametrize("before", [0, 300])
def test_an_endless_line_is_refused(tmp_path, small_limits, before):
    lines = EXPORT + "2026-01-26 06:15,70\n" * before
    path = put(tmp_path, "a.csv", lines.encode() + b"2026-01-26 06:15," + b"7" * 1_200_000 + b"\n")
    with pytest.raises(ExportError, match=rf"line {5 + before}: is longer than 1 MiB"):
        read(path)


def test_too_many_columns_are_refused(tmp_path, small_limits):
    path = put(tmp_path, "a.csv", b"Time" + b",VAV-1 ZN-T" * 60 + b"\n2026-01-26 06:00" + b",70" * 60 + b"\n")
    with pytest.raises(ExportError, match="has 61 columns; allowed are 50"):
        read(path)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ["is empty"]),
        ("file,colunm\n", ["unknown column 'colunm'", "did you mean 'column'"]),
        ("column,quantity\nVAV-1 ZN-T,zone_tmp\n", ["line 2", "'zone_tmp'", "did you mean 'zone_temp'"]),
        ("column,ignore\nVAV-1 ZN-T,perhaps\n", ["line 2", "ignore is 'perhaps'"]),
        ("column,states\nVAV-1 OCC,1=blue\n", ["line 2", "1=blue"]),
        ("column,unit\nVAV-1 ZN-T (degF),\nVAV-1 ZN-T,cfm\n", ["line 3, unit", "'cfm' is no unit of temperature"]),
    ],
)
def test_mistakes_in_the_point_list(tmp_path, text, words):
    put(tmp_path, "points.csv", text.encode())
    put(tmp_path, "site.toml", b'[site]\ntime_zone = "UTC"\npoints = "points.csv"\n')
    path = put(tmp_path, "a.csv", EXPORT.replace(" (degF)", "").encode())
    with pytest.raises(PointListError) as refusal:
        read(path, site=read_site(tmp_path))
    for word in ["points.csv", *words]:
        assert word in str(refusal.value)


def test_a_unit_that_the_file_states_stands_before_the_point_lists(tmp_path):
    put(tmp_path, "points.csv", b"column,unit\nVAV-1 ZN-T (degF),degC\n")
    put(tmp_path, "site.toml", b'[site]\ntime_zone = "UTC"\npoints = "points.csv"\n')
    trends = read(put(tmp_path, "a.csv", EXPORT.encode()), site=read_site(tmp_path))
    assert trends.terminals["zone_temp"][0] == pytest.approx(21.111, abs=0.001)
    assert any("in degF by its header, and degC in the point list" in said for said in trends.ledger.assumptions)


def test_progress_is_told_file_by_file(tmp_path):
    lines = []
    read_exports([put(tmp_path, "a.csv", EXPORT.encode())], Site(), progress=lines.append)
    assert lines[0] == f"reading {tmp_path / 'a.csv'}"


def test_a_line_of_megabytes_is_read(tmp_path):
    rows = [f"2026-03-02 {n // 12:02d}:{n % 12 * 5:02d},21.{n % 9},note {n}" for n in range(288)]
    rows[200] += "x" * (3 * 1024 * 1024)
    (tmp_path / "a.csv").write_text("\n".join(["Time,VAV-1 Zone Temp (degC),Remark", *rows]), "utf-8")
    zone_temp = read(tmp_path).terminals["zone_temp"]
    assert zone_temp.tolist() == [21 + n % 9 / 10 for n in range(288)]


def test_files_of_other_types_are_named_in_a_folder_and_in_an_archive(tmp_path):
    (tmp_path / "trend.csv").write_text(EXPORT)
    for name in ("trend.xls", "old/notes.pdf", "site.toml", "ledger.json", ".hidden.doc"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("x")
    with zipfile.ZipFile(tmp_path / "week.zip", "w") as archive:
        archive.writestr("b.csv", EXPORT.replace("VAV-1", "VAV-2"))
        archive.writestr("deep/plan.dwg", "x")
        archive.writestr("points.csv", "x")
    (said,) = [sentence for sentence in read(tmp_path).ledger.assumptions if sentence.startswith("Passed over")]
    named = [name for name in ("trend.xls", "old/notes.pdf", "week.zip/deep/plan.dwg") if f"{tmp_path}/{name}" in said]
    assert len(named) == 3
    assert "points.csv" not in said and "site.toml" not in said and "ledger.json" not in said and "hidden" not in said


def test_where_nothing_can_be_read_the_files_of_other_types_are_named(tmp_path):
    (tmp_path / "trend.xls").write_text("x")
    with pytest.raises(ExportError, match=r"passed over: .*trend\.xls"):
        read(tmp_path)


def test_one_sentence_tells_of_all_files_of_a_kind(tmp_path):
    for number in range(47):
        (tmp_path / f"VAV-{number}.csv").write_bytes(
            f"Time;ZN-T (\xb0F);Flow (cfm)\n2026-01-26 06:00;70;1,{number + 100}\n".encode("cp1252")
        )
        (tmp_path / f"read me {number}.txt").write_text("nothing")
    said = read(tmp_path).ledger.assumptions
    for kind in ("read as cp1252", "nothing in the file tells whether its comma", "no time stamp was found"):
        assert sum(kind in sentence for sentence in said) == 1
    assert all(
        "and 42 more: " in sentence for sentence in said if "read as cp1252" in sentence or "no time" in sentence
    )


def test_one_sentence_tells_of_all_codes_of_a_kind(tmp_path):
    header = ",".join(f"VAV-{number} OCC" for number in range(40))
    rows = "\n".join(f"2026-01-26 06:0{minute}," + ",".join(str(n + 2) for n in range(40)) for minute in range(3))
    (tmp_path / "trend.csv").write_text(f"Time,{header}\n{rows}\n")
    said = [sentence for sentence in read(tmp_path).ledger.assumptions if "neither 0 nor 1" in sentence]
    assert len(said) == 1
    assert "and 35 more" in said[0]


def test_a_text_that_ends_within_a_letter_is_in_another_encoding(tmp_path):
    rows = [f"2026-03-02 {n // 12:02d}:{n % 12 * 5:02d},21.{n % 9},fine" for n in range(288)]
    text = "\n".join(["Time,VAV-1 Zone Temp (degC),Remark", *rows]).encode()
    trends = read(put(tmp_path, "a.csv", text + b"\xe2\x80"))
    assert trends.terminals["zone_temp"].tolist() == [21 + n % 9 / 10 for n in range(288)]
    assert any("read as cp1252" in said for said in trends.ledger.assumptions)


@pytest.mark.parametrize("ending", [b"\xe2", b"\xe2\x80"])
def test_so_is_one_of_a_single_line(tmp_path, ending):
    with pytest.raises(ExportError, match=r"a\.csv"):
        read(put(tmp_path, "a.csv", b"1/27/2026, 12:15" + ending))
