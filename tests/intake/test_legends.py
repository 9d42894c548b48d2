"""Legends: a file, or a sheet, that says what coded names stand for."""

from __future__ import annotations

import gzip

import openpyxl
import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.site import Site
from tests.intake.folders import read, said, values

STAMPS = [f"2026-01-26 08:{m:02d}" for m in range(8)]
TREND = "Time,P01,P02,P03\n" + "".join(f"{stamp},{68 + n % 4},{300 + n},7\n" for n, stamp in enumerate(STAMPS))
LEGEND = "Code,Description,Unit\nP01,VAV-1 Zone Temp,degF\nP02,VAV-1 Airflow,cfm\nP03,Parking lights,\n"


def is_right(trends) -> bool:
    temps = [round((68 + n % 4 - 32) / 1.8, 3) for n in range(8)]
    return values(trends, "VAV-1", "zone_temp") == temps and values(trends, "VAV-1", "primary_flow")[
        0
    ] == pytest.approx(141.58, abs=0.01)


@pytest.mark.parametrize("name", ["legend.csv", "zz points.csv", "aa.csv", "zz.csv"])
def test_a_legend_beside_coded_names(tmp_path, name):
    trends = read(tmp_path, {"trend.csv": TREND, name: LEGEND})
    assert is_right(trends)
    assert (
        f"{name}: taken for a list of what names stand for, 3 of them in the exports, such as 'P01' for 'VAV-1 Zone Temp'"
        in said(trends)
    )
    assert [column.column for file in trends.ledger.files for column in file.columns] == ["P01", "P02", "P03"]


@pytest.mark.parametrize(
    "legend",
    [
        "Code;Equipment;Meaning;Units\nP01;VAV-1;Zone Temp;degF\nP02;VAV-1;Airflow;cfm\n",
        "P01,VAV-1 Zone Temp (degF)\nP02,VAV-1 Airflow (cfm)\n",
        "P01 = VAV-1 Zone Temp (degF)\nP02 = VAV-1 Airflow (cfm)\n",
        "LABEL,DESCRIPTION,UNIT,UNCERTAINTY\nP01,Zone temperature of VAV-1,DEG_F,0.2\nP02,Airflow of VAV-1,FT3-PER-MIN,10 %\n",
    ],
)
def test_spellings_of_a_legend(tmp_path, legend):
    assert is_right(read(tmp_path, {"trend.csv": TREND, "legend.txt": legend}))


def test_a_legend_of_a_long_table(tmp_path):
    rows = "".join(f"{stamp},{code},{value}\n" for stamp in STAMPS for code, value in (("P01", 68), ("P02", 300)))
    trends = read(tmp_path, {"trend.csv": f"Time,PointID,Value\n{rows}", "legend.csv": LEGEND})
    assert values(trends, "VAV-1", "zone_temp") == [20] * 8


@pytest.mark.parametrize("own_file", [True, False])
def test_a_legend_in_a_workbook(tmp_path, own_file):
    book = openpyxl.Workbook()
    lists = book.active
    for line in LEGEND.splitlines():
        lists.append(line.split(","))
    if own_file:
        book.save(tmp_path / "names.xlsx")
        (tmp_path / "trend.csv").write_text(TREND)
    else:
        trend = book.create_sheet("Trend")
        for line in TREND.splitlines():
            trend.append([float(cell) if cell.isdigit() else cell for cell in line.split(",")])
        book.save(tmp_path / "trend.xlsx")
    assert is_right(read_exports([tmp_path], Site()))


def test_a_legend_by_name_on_the_command_line(tmp_path):
    for name, text in (("trend.csv", TREND), ("legend.csv", LEGEND)):
        (tmp_path / name).write_text(text)
    assert is_right(read_exports([tmp_path / "trend.csv", tmp_path / "legend.csv"], Site()))
    with pytest.raises(ExportError, match="no time stamp was found"):
        read_exports([tmp_path / "legend.csv"], Site())


def test_a_list_of_nothing_that_is_exported_is_passed_over(tmp_path):
    trend = TREND.replace("P01", "VAV-1 Zone Temp (degF)").replace("P02", "VAV-1 Airflow (cfm)")
    trends = read(
        tmp_path,
        {
            "trend.csv": trend,
            "legend.csv": LEGEND.replace("P0", "Q0"),
            "rooms.csv": "Name,Tag\nLobby,VAV-1\nHall,VAV-2\n",
        },
    )
    assert is_right(trends)
    assert "legend.csv: a list of names of which the exports hold none; it was passed over" in said(trends)
    assert "rooms.csv: no time stamp was found" in said(trends)


NAMED = "Time,VAV-1.ZoneTemp,VAV-1.PrimaryFlow\n" + "".join(
    f"{stamp},{68 + n % 4},{n + 300}\n" for n, stamp in enumerate(STAMPS)
)


@pytest.mark.parametrize("name", ["point list.csv", "units.csv", "aa.csv"])
def test_a_list_of_points_and_their_units(tmp_path, name):
    units = "Point,Units,Notes\nVAV-1.ZoneTemp,°F,\nVAV-1.PrimaryFlow,m³/h,\n"
    trends = read(tmp_path, {"trend.csv": NAMED, name: units})
    assert values(trends, "VAV-1", "zone_temp")[0] == 20
    assert values(trends, "VAV-1", "primary_flow")[0] == pytest.approx(300 / 3.6, abs=0.01)
    assert "list of points and their units, 2 of them in the exports" in said(trends)


def test_a_list_of_points_without_units_says_nothing(tmp_path):
    trends = read(
        tmp_path, {"trend.csv": NAMED, "list.csv": "Point,Logged\nVAV-1.ZoneTemp,yes\nVAV-1.PrimaryFlow,yes\n"}
    )
    assert "no time stamp was found; the file was passed over" in said(trends)


@pytest.mark.parametrize("first", [40120, 1771822800, 20260112, 7])
@pytest.mark.parametrize("heading", ["point_id\tequipment\tpoint_name\tunit\n", "ID\tUnit tag\tMeaning\tUnits\n", ""])
def test_a_legend_whose_numbers_look_like_stamps(tmp_path, first, heading):
    first_tag, other_tag = ("LAB-2-S01", "LAB-2-S02") if heading else ("VAV-1", "VAV-2")
    points = [
        (first_tag, "Room Temperature", "degF"),
        (first_tag, "Supply Flow", "cfm"),
        (other_tag, "Room Temperature", "degF"),
    ]
    legend = heading + "".join("\t".join([str(first + 3 * n), *point]) + "\n" for n, point in enumerate(points))
    samples = "".join(f"{first + 3 * n}\t{1771822800 + 900 * m}\t{68 + m}\n" for m in range(8) for n in range(3))
    (tmp_path / "samples.tsv.gz").write_bytes(gzip.compress(f"point_id\tepoch_s\tvalue\n{samples}".encode()))
    trends = read(tmp_path, {"a.tsv": legend})
    assert values(trends, other_tag, "zone_temp") == [round((68 + m - 32) / 1.8, 3) for m in range(8)]
    assert len(values(trends, first_tag, "primary_flow")) == 8
    assert "a.tsv: taken for a list of what names stand for, 3 of them in the exports" in said(trends)


def test_a_table_without_stamps_that_is_no_legend_is_refused_still(tmp_path):
    table = "meter\tdoor\tnote\n" + "".join(f"{40120 + n}\t{n}\t{n + 3}\n" for n in range(8))
    with pytest.raises(ExportError, match="no column of time stamps was found among 'meter'"):
        read(tmp_path, {"trend.csv": TREND, "legend.csv": LEGEND, "meters.tsv": table})


SERVED = [("P01", "QB-A", "Room temperature", "degF"), ("P02", "QB-B", "Room temperature", "degF"),
          ("P03", "QB-A", "Damper", "%"), ("P04", "QB-B", "Damper", "%")]  # fmt: skip
CODED = "Time,P01,P02,P03,P04\n" + "".join(
    f"{stamp},{68 + n % 4},{70 + n % 3},{n},7\n" for n, stamp in enumerate(STAMPS)
)


@pytest.mark.parametrize("heading", ["Column,Unit served,Measurement,Engineering unit", "Code,Serves,What,Unit"])
def test_a_column_of_a_legend_says_whose_each_is(tmp_path, heading):
    rows = "".join(",".join(row) + "\n" for row in SERVED)
    trends = read(tmp_path, {"trend.csv": CODED, "legend.csv": f"{heading}\n{rows}"})
    assert values(trends, "QB-A", "zone_temp")[:2] == [20, 20.556]
    assert values(trends, "QB-B", "damper_position") == [7] * 8


def test_two_columns_that_may_say_whose_each_is_say_nothing(tmp_path):
    rows = "".join(f"{code},{1 + (owner == 'QB-B')},{owner},{what},{unit}\n" for code, owner, what, unit in SERVED)
    trends = read(tmp_path, {"trend.csv": CODED, "legend.csv": f"Code,Channel,Serves,What,Unit\n{rows}"})
    assert "1" not in trends.terminals["terminal"].tolist()
    assert "QB-A" not in trends.terminals["terminal"].tolist()
