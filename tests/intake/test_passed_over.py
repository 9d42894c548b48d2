"""Words of names that are not known: said where they may turn what the others say, and not where they name a place."""

from __future__ import annotations

import pytest

from analyzer.intake import read_exports
from analyzer.site import read_site
from tests.intake.folders import read, said, values

HEADER = "Time,{tag} {temp},{tag} {flow}\n"
ROWS = "".join(f"2026-01-26 08:{n:02d},{20 + n / 10},{300 + n}\n" for n in (0, 15, 30, 45))


@pytest.mark.parametrize(
    ("temp", "flow", "told"),
    [
        ("Zone Temp", "Airflow Qrstu", "'qrstu' in names of primary airflow"),
        ("Zone Temp Qrstu", "Airflow", "'qrstu' in names of zone temperature"),
        ("Lobby Zone Temp", "Lobby Airflow", None),
        ("Zone Temp", "Airflow", None),
        ("Zone Temp (degF)", "Airflow (cfm)", None),
    ],
)
def test_a_word_beside_one_quantity_is_told(tmp_path, temp, flow, told):
    files = {f"{tag}.csv": HEADER.format(tag=tag, temp=temp, flow=flow) + ROWS for tag in ("VAV-1", "VAV-2")}
    trends = read(tmp_path, files)
    assert len(values(trends, "VAV-1", "primary_flow")) == 4
    assert ("not known" in said(trends)) == bool(told)
    assert (told or "") in said(trends)


def test_a_file_for_a_quantity_tells_what_its_name_holds_more(tmp_path):
    both = "Time,VAV-1,VAV-2\n2026-01-26 08:00,{0},{1}\n2026-01-26 08:15,{0},{1}\n"
    trends = read(tmp_path, {"Airflow Qrstu (cfm).csv": both.format(1, 2), "Zone Temp.csv": both.format(20, 21)})
    assert "'qrstu' in names of primary airflow" in said(trends)


def test_the_point_list_ends_the_doubt(tmp_path):
    (tmp_path / "points.csv").write_text("file,column,terminal,quantity\n,*Airflow Qrstu,,primary_flow\n")
    (tmp_path / "site.toml").write_text('[site]\ntime_zone = "UTC"\npoints = "points.csv"\n')
    files = {"exports/VAV-1.csv": HEADER.format(tag="VAV-1", temp="Zone Temp", flow="Airflow Qrstu") + ROWS}
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text)
    trends = read_exports([tmp_path / "exports"], read_site(tmp_path / "site.toml"))
    assert len(values(trends, "VAV-1", "primary_flow")) == 4
    assert "not known" not in said(trends)
