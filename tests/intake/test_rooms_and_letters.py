"""What stands beside a tag in names: the room that a terminal serves, a letter that is the tag's, a v for volts."""

from __future__ import annotations

import pytest

from tests.intake.folders import read, said, tags, values

STAMPS = [f"2026-01-26 08:{n:02d}" for n in range(0, 60, 5)]


def table(heads: list[str], *columns: list[float]) -> str:
    rows = (",".join(map(str, (stamp, *cells))) for stamp, *cells in zip(STAMPS, *columns, strict=True))
    return "\n".join([",".join(["Time", *heads]), *rows]) + "\n"


SWING = [20 + n % 4 for n in range(12)]


def test_the_room_behind_a_tag_is_none_of_the_point(tmp_path):
    heads = ["VAV-3A (Rm 310) RHT OUT", "VAV-3A (Rm 310) RM TEMP", "VAV-3A (Rm 310) DMPR OUT"]
    trends = read(tmp_path, {"floor.csv": table(heads, [0, 40] * 6, SWING, [10, 60] * 6)})
    assert tags(trends) == ["VAV-3A"]
    assert values(trends, "VAV-3A", "reheat_position") == [0, 40] * 6
    assert values(trends, "VAV-3A", "zone_temp") == SWING


def test_a_room_is_read_where_it_says_what_is_measured(tmp_path):
    trends = read(tmp_path, {"floor.csv": table(["VAV-3 Rm 310 Temp", "VAV-3 Rm 310 CO2"], SWING, [400, 500] * 6)})
    assert values(trends, "VAV-3", "zone_temp") == SWING
    assert values(trends, "VAV-3", "co2") == [400, 500] * 6


def test_a_letter_before_a_number_is_the_tags_and_no_temperature(tmp_path):
    heads = ["T-41 RMT", "T-41 RHV", "T-42 RMT", "T-42 RHV"]
    trends = read(tmp_path, {"floor.csv": table(heads, SWING, [0, 40] * 6, SWING, [0, 50] * 6)})
    assert tags(trends) == ["T-41", "T-42"]
    assert values(trends, "T-42", "reheat_position") == [0, 50] * 6


@pytest.mark.parametrize(("name", "percent"), [("dmpr_cmd_v", 50.0), ("dmpr_cmd", 5.0)])
def test_a_v_behind_a_command_is_volts(tmp_path, name, percent):
    trends = read(tmp_path, {"floor.csv": table([f"vav01_{name}", "vav01_zn_temp"], [0.0, 5.0] * 6, SWING)})
    assert max(values(trends, "vav01", "damper_position")) == percent


@pytest.mark.parametrize(
    "note",
    [
        "Temperatures in deg F, air flows in m3/h.",
        "Units: temperatures deg F, air flow and its setpoint m3/h, damper % open.",
    ],
)
def test_a_readme_tells_units_for_the_tables_of_its_folder(tmp_path, note):
    heads = ["VAV-1 Zone Temp", "VAV-1 Airflow"]
    files = {
        "east/readme.txt": f"Trends of the east wing, as asked for.\n{note}\n",
        "east/a.csv": table(heads, [68.0, 77.0] * 6, [3600] * 12),
        "west/b.csv": table(["VAV-2 Zone Temp", "VAV-2 Airflow (L/s)"], [20.0, 25.0] * 6, [100] * 12),
    }
    trends = read(tmp_path, files)
    assert values(trends, "VAV-1", "zone_temp") == [20, 25] * 6
    assert values(trends, "VAV-1", "primary_flow") == [1000] * 12
    assert values(trends, "VAV-2", "zone_temp") == [20, 25] * 6
    assert "notes say in which units points are" in said(trends)


def test_a_readme_whose_units_nothing_needs_is_named_all_the_same(tmp_path):
    heads = ["VAV-1 Zone Temp (degF)", "VAV-1 Airflow (cfm)"]
    files = {"readme.txt": "Temperatures in deg F.\n", "a.csv": table(heads, [68.0, 77.0] * 6, [100] * 12)}
    assert "readme.txt" in said(read(tmp_path, files))


def test_a_file_of_text_that_says_nothing_of_units_is_passed_over(tmp_path):
    files = {"readme.txt": "Trends of the east wing.\n", "a.csv": table(["VAV-1 Zone Temp"], SWING)}
    assert "readme.txt" in said(read(tmp_path, files))
