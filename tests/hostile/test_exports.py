"""Hostile exports, through the command: refused in one sentence or read without harm, within seconds and bounded memory."""

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.intake.tables import opening
from analyzer.site import Site
from tests.hostile import exports as lay
from tests.hostile.running import furnish, refused, run

REVIEW = ("review", "exports", "--out", "out", "-q")
MILLION = 1_000_000


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lay.text("a.csv", lay.SOUND + "2026-01-13 00:00," + "7" * 50_000_000), "is longer than 4 MiB, the longest line allowed"),
        (lay.text("a.csv", "7" * 50_000_000), "line 1: is longer than 4 MiB"),
        (lay.text("a.csv", "Time" + ",a" * MILLION + "\n2026-01-12 00:00" + ",1" * MILLION + "\n"), "has 1000001 columns; allowed are 50000"),
        (lay.text("a.csv", lay.SOUND + "2026-01-13 00:00" + ",1" * MILLION + "\n" + lay.ROWS), "has more than 50000 columns; allowed are 50000"),
        (lay.text("a.csv", lay.SOUND.replace("TU-1 ZN-T", "(" * 200_000 + "ZN-T")), "letters long"),
        (lay.text("a.csv", lay.SOUND.replace("70.", "7\0000.")), "is not a text file (it holds null bytes)"),
        (lay.doubled_members, "holds 'week.csv' twice"),
        (lay.locked_member, "is locked by a password"),
        (lay.nested, "outer.zip/inner.zip/inmost.zip: is an archive two archives deep"),
        (lay.locked_inside, "outer.zip/inner.zip: is locked by a password"),
        (lay.damaged_inside, "outer.zip/inner.zip: is not a readable zip archive"),
        (lay.bomb_inside, "MiB or more; allowed are 4,096 MiB"),
        (lay.gzip_bomb, "unpacks to more than 256 MiB and 200 times its size"),
        (lay.zip_bomb, "bomb.zip/week.csv: cannot be unpacked"),
        (lay.workbook(lay.LAUGHING), "is not a readable workbook"),
        (lay.workbook(lay.TELLING), "is not a readable workbook"),
        (lay.workbook(lay.FAR_CELL), "has more than 50,000,000 cells"),
        (lay.workbook(lay.WIDE_ROWS), "has more than 50,000,000 cells"),
        (lay.workbook(lay.FALSE_SIZE), "no time stamp was found"),
        (lay.parquet_that_lies, "is not a readable Parquet file"),
        (lay.pipe("p.csv"), "no export was found"),
        (lay.link("z.csv", "/dev/zero"), "no export was found"),
        (lay.link("z.csv", "/etc/passwd"), "no export was found"),
    ],
    ids=lambda value: value.replace(" ", "-")[:50] if isinstance(value, str) else "",
)  # fmt: skip
def test_refused_in_one_sentence(tmp_path, runner, make, told):
    make(furnish(tmp_path))
    assert told in refused(run(runner, tmp_path, *REVIEW))
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("make", [lay.pipe("p.csv"), lay.link("p.csv", "/dev/zero")])
def test_a_pipe_or_a_device_that_is_named_is_no_export(tmp_path, runner, make):
    make(furnish(tmp_path))
    ran = run(runner, tmp_path, "review", "exports/p.csv", "--out", "out", "-q")
    assert "exports/p.csv: is no file but a pipe or a device" in refused(ran)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lay.both(lay.text("a.csv", lay.SOUND), lay.pipe("p.csv"), lay.link("z.csv", "/dev/zero")), ""),
        (lay.linked_member, "linked.zip/secret.csv: no time stamp was found; the file was passed over"),
        (lay.nested_beside_an_export, "outer.zip/inner.zip/inmost.zip: is an archive two archives deep, which is not opened"),
        (lay.text("a.csv", lay.HEAD + lay.ROWS + lay.ROWS.replace("-12 ", "-13 ") * 40 + lay.ROWS.replace("70.", "7\0000.")), ""),
        (lay.text("a.csv", lay.SOUND.replace("70.3", " 7 " * 300_000, 3)), ""),
        (lay.text("a.csv", lay.SOUND.replace("2026-01-12 00:15", "1/2/" * 300_000)), ""),
        (lay.both(lay.text("a.csv", lay.SOUND), lay.archive("n.zip", {"/etc/b.csv": lay.SOUND, "../../c.csv": lay.SOUND})), ""),
        (lay.parquet_of_one_long_text, ""),
    ],
    ids=["pipes", "linked-member", "nested", "late-nulls", "spaced-cell", "slashed-stamp", "paths", "one-long-text"],
)  # fmt: skip
def test_read_without_harm(tmp_path, runner, make, said):
    make(furnish(tmp_path))
    ran = run(runner, tmp_path, *REVIEW)
    assert ran["status"] == 0, ran["err"]
    assert said in ran["out"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["exports", "out"]


def test_a_file_name_of_bytes_that_spell_nothing(tmp_path, runner):
    exports = furnish(tmp_path)
    with open(bytes(exports) + b"/b\xff\x1b[31m.csv", "w") as file:
        file.write(lay.SOUND)
    ran = run(runner, tmp_path, *REVIEW[:-1])
    assert ran["status"] == 0, ran["err"]
    assert "\x1b" not in ran["out"] + ran["err"]


@pytest.mark.parametrize(
    ("limit", "least", "told"),
    [
        ("MOST_CELLS", 11, "has 4 rows of 3 columns; allowed are 11 cells"),
        ("MOST_COLUMNS", 2, "has 3 columns; allowed are 2"),
    ],
)
def test_a_stored_table_is_refused_by_its_footer_before_it_is_unpacked(tmp_path, monkeypatch, limit, least, told):
    table = pa.table({"time": [1, 2, 3, 4], "TU-1 ZN-T": [70.0] * 4, "TU-1 FLOW (cfm)": [200.0] * 4})
    pq.write_table(table, tmp_path / "week.parquet")
    monkeypatch.setattr(opening, limit, least)
    monkeypatch.setattr(pq.ParquetFile, "read", lambda *_, **__: pytest.fail("it was unpacked"))
    with pytest.raises(ExportError, match=told):
        read_exports([tmp_path / "week.parquet"], Site())
