"""Tags and quantities that the names of files, folders and lines above a header tell."""

from __future__ import annotations

import pandas as pd
import pytest

from analyzer.intake import read_exports
from analyzer.intake.tables.partitions import partition
from analyzer.site import Site
from tests.intake.folders import read, tags, values

POINT = "Time,Value\n" + "".join(f"2026-01-26 08:{n:02d},{{0}}.{n % 2 * 5}\n" for n in range(6))
TABLE = "Time,Zone Temp,Airflow (cfm)\n2026-01-26 08:00,{0},310\n2026-01-26 08:15,{0}.5,312\n"
LATER = TABLE.replace("08:", "09:")


def test_a_folder_for_a_terminal_with_a_file_for_a_point(tmp_path):
    trends = read(
        tmp_path,
        {
            "VAV-1/Zone Temp.csv": POINT.format(20),
            "VAV-1/Airflow.csv": POINT.format(300),
            "VAV-2/Zone Temp.csv": POINT.format(22),
            "VAV-2/Airflow.csv": POINT.format(400),
        },
    )
    assert tags(trends) == ["VAV-1", "VAV-2"]
    assert values(trends, "VAV-1", "zone_temp") == [20, 20.5] * 3
    assert values(trends, "VAV-2", "zone_temp") == [22, 22.5] * 3
    assert values(trends, "VAV-2", "primary_flow") == [400, 400.5] * 3


@pytest.mark.parametrize("folders", [("101", "102"), ("Corridor", "Lobby"), ("Room 101", "Room 102")])
@pytest.mark.parametrize("file", ["trend.csv", "data_2026-01-26.csv", "January.csv", "2026-01.csv"])
def test_a_file_that_only_says_that_it_is_one_is_its_folders(tmp_path, folders, file):
    trends = read(tmp_path, {f"{folder}/{file}": TABLE.format(20 + n) for n, folder in enumerate(folders)})
    assert tags(trends) == sorted(folders)
    assert values(trends, folders[1], "zone_temp") == [21, 21.5]


def test_parts_of_one_terminals_log_lie_in_its_folder(tmp_path):
    trends = read(tmp_path, {"VAV-1/part1.csv": TABLE.format(20), "VAV-1/part2.csv": LATER.format(21)})
    assert tags(trends) == ["VAV-1"]
    assert values(trends, "VAV-1", "zone_temp") == [20, 20.5, 21, 21.5]


def test_files_without_tags_in_one_folder_are_one_terminal(tmp_path):
    folder = tmp_path / "Level 2 East"
    trends = read(folder, {"Zone Temp.csv": POINT.format(20), "Airflow.csv": POINT.format(300)})
    assert tags(trends) == ["Level 2 East"]
    assert values(trends, "Level 2 East", "primary_flow") == [300, 300.5] * 3


def test_a_folder_that_only_says_that_it_is_one_holds_one_terminal_all_the_same(tmp_path):
    trends = read(tmp_path / "exports", {"Zone Temp.csv": POINT.format(20), "Airflow.csv": POINT.format(300)})
    assert tags(trends) == ["exports"]
    assert values(trends, "exports", "zone_temp") == [20, 20.5] * 3


@pytest.mark.parametrize(
    ("file", "tag"),
    [
        ("3-01 trend", "3-01"), ("Lobby trend", "Lobby"), ("trends_Lobby", "Lobby"), ("new lobby", "new lobby"),
        ("log 204", "204"), ("log 24", "log 24"),
    ],
)  # fmt: skip
def test_words_for_a_file_are_no_part_of_the_tag_in_its_name(tmp_path, file, tag):
    assert tags(read(tmp_path, {f"{file}.csv": TABLE.format(20)})) == [tag]


@pytest.mark.parametrize("days", [" Jan 12-16", "_12 to 16 January 2026", " 12 Jan", " Jan 12, 2026"])
def test_days_of_a_month_are_no_part_of_the_tag_in_its_name(tmp_path, days):
    trends = read(tmp_path, {f"FPD-{n}{days}.csv": TABLE.format(20 + n) for n in (1, 2)})
    assert tags(trends) == ["FPD-1", "FPD-2"]


@pytest.mark.parametrize("tag", ["VAV-A", "VAV-B"])
def test_a_letter_tells_terminals_apart_behind_a_place(tmp_path, tag):
    files = {
        f"MainHall_{each}_{point}.csv": POINT.format(number)
        for each in ("VAV-A", "VAV-B")
        for point, number in (("Zone_Temp", 20), ("Box_Flow", 300))
    }
    trends = read(tmp_path, files)
    assert values(trends, tag, "zone_temp") == [20, 20.5] * 3
    assert values(trends, tag, "primary_flow") == [300, 300.5] * 3


def test_a_file_of_one_letter_says_no_quantity(tmp_path):
    text = TABLE.format(20).replace("Time,Zone Temp", "Time,Boiler A")
    assert not values(read(tmp_path / "VAV-1", {"t.csv": text}), "VAV-1", "zone_temp")


def test_a_file_that_names_its_terminal_keeps_it_whatever_its_folder(tmp_path):
    files = {
        "AHU-1/VAV-1.csv": TABLE.format(20),
        "North/101.csv": TABLE.format(21),
        "North/Lobby.csv": TABLE.format(22),
    }
    assert tags(read(tmp_path, files)) == ["101", "Lobby", "VAV-1"]


def test_an_air_handlers_folder_owns_its_points(tmp_path):
    trends = read(
        tmp_path, {"AHU-1/Supply Air Temp.csv": POINT.format(13), "AHU-1/VAV-3/Zone Temp.csv": POINT.format(20)}
    )
    assert values(trends, "AHU-1", "supply_temp", table="air_handlers") == [13, 13.5] * 3
    assert values(trends, "VAV-3", "zone_temp") == [20, 20.5] * 3


def test_a_folder_for_a_quantity_with_a_file_for_a_terminal(tmp_path):
    trends = read(tmp_path, {"Zone Temp/VAV-1.csv": POINT.format(20), "Airflow/VAV-1.csv": POINT.format(300)})
    assert values(trends, "VAV-1", "zone_temp") == [20, 20.5] * 3
    assert values(trends, "VAV-1", "primary_flow") == [300, 300.5] * 3


def test_a_file_for_a_quantity_with_a_column_for_a_terminal(tmp_path):
    columns = "Time,VAV-1,VAV-2\n2026-01-26 08:00,{0},{1}\n"
    trends = read(tmp_path, {"Zone Temp.csv": columns.format(20, 21), "Airflow (cfm).csv": columns.format(300, 310)})
    assert values(trends, "VAV-2", "zone_temp") == [21]
    assert values(trends, "VAV-2", "primary_flow") == pytest.approx([310 * 0.471947], rel=1e-3)


def test_files_that_name_several_of_a_quantity_are_told_apart(tmp_path):
    both = "Time,VAV-1,VAV-2\n2026-01-26 08:00,{0},{1}\n2026-01-26 08:15,{0},{1}\n"
    trends = read(
        tmp_path,
        {"Airflow Setpoints (cfm).csv": both.format(300, 400), "Airflows (cfm).csv": both.format(310, 390),
         "Zone Temps (deg F).csv": both.format(68, 77)},
    )  # fmt: skip
    litres = 0.4719474
    assert values(trends, "VAV-1", "primary_flow_setpoint") == [round(300 * litres, 3)] * 2
    assert values(trends, "VAV-1", "primary_flow") == [round(310 * litres, 3)] * 2
    assert values(trends, "VAV-2", "zone_temp") == [25.0, 25.0]


def test_a_line_above_the_header_names_the_terminal(tmp_path):
    files = {f"export{n}.csv": f"Device: VAV-{n}\n\n{TABLE.format(20 + n)}" for n in (1, 2)}
    trends = read(tmp_path, files)
    assert tags(trends) == ["VAV-1", "VAV-2"]


@pytest.mark.parametrize("kind", ["parquet", "csv"])
@pytest.mark.parametrize("key", ["terminal", "equip", "vav", "unit"])
def test_partitions_by_terminal(tmp_path, kind, key):
    for tag, temp in (("VAV-1", 20), ("VAV%202", 21)):
        for day in (26, 27):
            stamps = pd.date_range(f"2026-01-{day}", periods=4, freq="15min")
            frame = pd.DataFrame({"time": stamps, "zone_temp": temp + day / 10, "airflow": 310.0})
            folder = tmp_path / f"{key}={tag}" / f"day={day}"
            folder.mkdir(parents=True)
            frame.to_parquet(folder / "part-0.parquet") if kind == "parquet" else frame.to_csv(folder / "part-0.csv")
    trends = read_exports([tmp_path], Site())
    assert tags(trends) == ["VAV 2", "VAV-1"]
    assert values(trends, "VAV 2", "zone_temp") == [23.6] * 4 + [23.7] * 4


def test_partitions_by_terminal_and_point(tmp_path):
    files = {
        f"terminal=VAV-{n}/point={point}/data.csv": f"time,value\n2026-01-26 08:00,{value + n}\n"
        for n in (1, 2)
        for point, value in (("Zone Temp", 20), ("Damper Position", 50))
    }
    trends = read(tmp_path, files)
    assert values(trends, "VAV-2", "zone_temp") == [22]
    assert values(trends, "VAV-2", "damper_position") == [52]


@pytest.mark.parametrize(
    ("folder", "told"),
    [("terminal=VAV%201", ("terminal", "VAV 1")), ("VAV-1", None), ("=VAV", None), ("terminal=", None)],
)
def test_a_partition(folder, told):
    assert partition(folder) == told


DAMPER = "Time,Damper (%)\n" + "".join(f"2026-01-26 08:{n:02d}:07,{20 + n}\n" for n in (1, 4, 9))


@pytest.mark.parametrize(
    "names",
    [
        ("ND-5 every 15 min", "ND-5 damper changes"),
        ("ND-5 15min", "ND-5 damper position"),
        ("ND-5_data", "ND-5_Damper_COV"),
    ],
)
def test_what_a_file_holds_and_how_often_is_no_part_of_a_tag(tmp_path, names):
    assert tags(read(tmp_path, {f"{names[0]}.csv": TABLE.format(20), f"{names[1]}.csv": DAMPER})) == ["ND-5"]


@pytest.mark.parametrize("name", ["ND-5 library", "Damper 7 flow"])
def test_words_that_may_be_a_name_are_left_in_it(tmp_path, name):
    assert tags(read(tmp_path, {f"{name}.csv": TABLE.format(20)})) == [name]


@pytest.mark.parametrize(
    ("name", "title", "tag"),
    [
        ("Rm 214 complaint.csv", "Cold complaint, room 214, terminal VAV-214", "VAV-214"),
        ("report.csv", "TREND REPORT   UNIT VAV-1-02   PAGE 1 OF 6", "VAV-1-02"),
        ("Rm 214.csv", "Terminals VAV-214 and VAV-215", "Rm 214"),
        ("Rm 215.csv", "Cold complaint, terminal VAV-214", "Rm 215"),  # they differ
        ("Lobby.csv", "Controller model VAVR-3000", "Lobby"),
        ("VAV-7.csv", "Copied from VAV-8", "VAV-7"),
    ],
)
def test_a_terminal_in_a_title(tmp_path, name, title, tag):
    assert tags(read(tmp_path, {name: f'"{title}"\n' + TABLE.format(21)})) == [tag]


# The folder that a call names is where somebody keeps the export, whatever it is called.
KEPT_IN = pytest.mark.parametrize("kept_in", ["export", "trends_unit_2", "AHU-9 terminal_0"])


@KEPT_IN
@pytest.mark.parametrize(
    ("files", "found"),
    [
        ({"LAB-01.csv": TABLE.format(20), "LAB-02.csv": TABLE.format(21)}, ["LAB-01", "LAB-02"]),
        ({"Lobby.csv": TABLE.format(20), "Cafe.csv": TABLE.format(21)}, ["Cafe", "Lobby"]),
        ({"trend.csv": TABLE.format(20).replace("Zone", "V-1 Zone").replace("Air", "V-1 Air")}, ["V-1"]),
        ({"trend.csv": "Time,Hall Zone Temp,Cafe Zone Temp\n2026-01-26 08:00,20,21\n"}, ["Cafe", "Hall"]),
    ],
)
def test_the_folder_that_is_named_is_no_part_of_the_export(tmp_path, kept_in, files, found):
    assert tags(read(tmp_path / kept_in, files)) == found


def test_the_folder_that_is_named_is_a_terminal_where_nothing_in_it_names_one(tmp_path):
    folder = tmp_path / "VAV-7 export"
    trends = read(folder, {"Zone Temp.csv": POINT.format(20), "Airflow.csv": POINT.format(300)})
    assert tags(trends) == ["VAV-7"]
    assert values(trends, "VAV-7", "primary_flow") == [300, 300.5] * 3
