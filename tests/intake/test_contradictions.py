"""Exports that say two things of a point: neither is taken, and that is said."""

from __future__ import annotations

import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.site import Site, read_site
from tests.intake.folders import read, said, tags, values

ROWS = "".join(f"2026-01-26 08:{n:02d},{300 + n},{21 + n / 10}\n" for n in (0, 15, 30, 45))
CODED = "Time,P1,P2\n" + ROWS
LIST = "Column,Terminal,Point,Unit\nP1,{0},Airflow,{1}\nP2,{0},Zone Temp,degC\n"


def table(flow: str, units: str = "") -> str:
    return f"Time,VAV-1 Airflow ({flow}),VAV-1 Zone Temp (°C)\n{units}{ROWS}"


def test_a_heading_and_a_units_row_that_differ(tmp_path):
    trends = read(tmp_path, {"t.csv": table("CFM", ",L/s,degC\n")})
    assert values(trends, "VAV-1", "primary_flow") == []
    assert values(trends, "VAV-1", "zone_temp") == [21, 22.5, 24, 25.5]
    assert "its header says CFM, its units row L/s" in said(trends)
    assert trends.ledger.set_aside == {"unmapped column": 4}


def test_a_heading_and_a_units_row_that_spell_one_unit_in_two_ways(tmp_path):
    trends = read(tmp_path, {"t.csv": table("l/sec", ",L/s,degC\n")})
    assert values(trends, "VAV-1", "primary_flow") == [300, 315, 330, 345]
    assert "says two things" not in said(trends)


def test_a_heading_and_a_note_that_differ(tmp_path):
    trends = read(tmp_path, {"t.csv": f"Airflow in L/s\n\n{table('CFM')}"})
    assert values(trends, "VAV-1", "primary_flow") == []
    assert "its header says CFM, its notes L/s" in said(trends)


def test_an_export_whose_units_all_contradict_each_other_is_refused(tmp_path):
    text = "Time,VAV-1 Airflow (CFM)\n,L/s\n2026-01-26 08:00,300\n2026-01-26 08:15,310\n"
    with pytest.raises(ExportError, match=r"'VAV-1 Airflow \(CFM\)' its header says CFM, its units row L/s"):
        read(tmp_path, {"t.csv": text})


def test_the_point_list_settles_it(tmp_path):
    (tmp_path / "points.csv").write_text("column,quantity,unit\nVAV-1 Airflow (CFM),primary_flow,L/s\n")
    (tmp_path / "site.toml").write_text('[site]\nname = "Hall"\ntime_zone = "UTC"\npoints = "points.csv"\n')
    (tmp_path / "t.csv").write_text(table("CFM", ",L/s,degC\n"), encoding="utf-8")
    trends = read_exports([tmp_path / "t.csv"], read_site(tmp_path / "site.toml"))
    assert values(trends, "VAV-1", "primary_flow") == [300, 315, 330, 345]


@pytest.mark.parametrize("second", ["a legend.csv", "zz.csv"])
def test_two_lists_of_names_of_which_each_gives_a_code_another_terminal(tmp_path, second):
    files = {"legend.csv": LIST.format("VAV-1", "cfm"), second: LIST.format("VAV-2", "cfm"), "t.csv": CODED}
    with pytest.raises(ExportError, match="lists of names say .*VAV-[12] Airflow.* and .*VAV-[12] Airflow"):
        read(tmp_path, files)


def test_a_list_above_the_header_and_one_beside_the_file(tmp_path):
    head = "# P1 = VAV-2 Airflow (cfm)\n# P2 = VAV-2 Zone Temp (degC)\n"
    with pytest.raises(ExportError, match="lists of names say"):
        read(tmp_path, {"legend.csv": LIST.format("VAV-1", "cfm"), "t.csv": head + CODED})


def test_lists_that_differ_in_a_unit_alone(tmp_path):
    head = "# P1 = VAV-1 Airflow (L/s)\n# P2 = VAV-1 Zone Temp (degC)\n"
    trends = read(tmp_path, {"legend.csv": LIST.format("VAV-1", "cfm"), "t.csv": head + CODED})
    assert values(trends, "VAV-1", "primary_flow") == []
    assert values(trends, "VAV-1", "zone_temp") == [21, 22.5, 24, 25.5]
    assert "lists of names say" in said(trends)


def test_a_list_of_names_for_every_folder(tmp_path):
    files = {
        f"{n}/{name}": text
        for n in "12"
        for name, text in (("legend.csv", LIST.format(f"VAV-{n}", "L/s")), ("t.csv", CODED))
    }
    trends = read(tmp_path, files)
    assert tags(trends) == ["VAV-1", "VAV-2"]
    assert values(trends, "VAV-2", "primary_flow") == [300, 315, 330, 345]


def test_a_list_of_names_in_a_folder_beside(tmp_path):
    files = {
        "lists/legend.csv": LIST.format("VAV-1", "L/s"),
        "lists/other legend.csv": "code,point\nQ1,Airflow\nQ2,Zone Temp\n",
    }
    assert tags(read(tmp_path, {**files, "data/t.csv": CODED})) == ["VAV-1"]


def test_lists_that_say_the_same_in_other_words(tmp_path):
    head = "# P1 = VAV-1 Air Flow (CFM)\n# P2 = VAV-1 Room Temperature (°C)\n"
    trends = read(tmp_path, {"legend.csv": LIST.format("VAV-1", "cfm"), "t.csv": head + CODED}, Site())
    assert tags(trends) == ["VAV-1"]
    assert len(values(trends, "VAV-1", "primary_flow")) == 4
    assert "lists of names say" not in said(trends)
