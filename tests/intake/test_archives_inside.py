"""Archives inside an archive: one level is opened, and what is allowed counts over both."""

from __future__ import annotations

import io
import zipfile

import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.intake.files import archives
from analyzer.site import Site
from tests.intake.folders import tags, values

TREND = "Time,Zone Temp (degC)\n" + "".join(f"2026-01-26 08:{m:02d},{{}}\n" for m in range(9))


def packed(members: dict[str, str | bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return stream.getvalue()


@pytest.fixture
def trends_of_two(tmp_path):
    units = {
        f"RTU-{u}.zip": packed({f"RTU-{u}/VAV-{u}-{n}.csv": TREND.replace("{}", f"2{n}") for n in (1, 2)})
        for u in (3, 4)
    }
    (tmp_path / "all.zip").write_bytes(packed(units | {"VAV-9.csv": TREND.replace("{}", "29")}))
    return tmp_path


def test_archives_inside_an_archive(trends_of_two):
    trends = read_exports([trends_of_two], Site())
    assert tags(trends) == ["VAV-3-1", "VAV-3-2", "VAV-4-1", "VAV-4-2", "VAV-9"]
    assert values(trends, "VAV-4-2", "zone_temp") == [22] * 9
    assert values(trends, "VAV-9", "zone_temp") == [29] * 9
    assert any(file.label.endswith("all.zip/RTU-4.zip/RTU-4/VAV-4-2.csv") for file in trends.ledger.exports)


def test_folders_of_both_levels_tell_the_terminal(tmp_path):
    inner = packed({"VAV-7/Zone Temp.csv": TREND.replace("{}", "21")})
    (tmp_path / "all.zip").write_bytes(
        packed({"north/VAV-8.zip": packed({"Zone Temp.csv": TREND.replace("{}", "22")}), "a.zip": inner})
    )
    assert tags(read_exports([tmp_path], Site())) == ["VAV-7", "VAV-8"]


SIZE = 5 * len(TREND.replace("{}", "21"))


@pytest.mark.parametrize(
    ("limit", "good", "bad"),
    [("MOST_ARCHIVE_MEMBERS", 7, 6), ("LARGEST_UNPACKED", None, -1)],
)
def test_what_is_allowed_counts_over_both_levels(trends_of_two, monkeypatch, limit, good, bad):
    if good is None:
        with zipfile.ZipFile(trends_of_two / "all.zip") as archive:
            good = SIZE + sum(info.file_size for info in archive.infolist() if info.filename.endswith(".zip"))
        bad += good
    monkeypatch.setattr(archives, limit, good)
    assert len(tags(read_exports([trends_of_two], Site()))) == 5
    monkeypatch.setattr(archives, limit, bad)
    with pytest.raises(ExportError, match=r"all\.zip: .*allowed are"):
        read_exports([trends_of_two], Site())


def test_an_archive_that_is_packed_again_is_read_anew(tmp_path):
    for temp in ("21", "22"):
        (tmp_path / "all.zip").write_bytes(packed({"a.zip": packed({"VAV-1.csv": TREND.replace("{}", temp)})}))
        assert values(read_exports([tmp_path], Site()), "VAV-1", "zone_temp") == [float(temp)] * 9
