"""Terminals whose tags hold no number, and points that would make terminals of nothing."""

from __future__ import annotations

import pytest

from tests.intake.folders import read, said, tags, values


def table(columns: list[str], value="2{n}.5") -> str:
    rows = "".join(f"2026-01-26 08:{n:02d}," + ",".join([value.format(n=n)] * len(columns)) + "\n" for n in range(6))
    return "Time," + ",".join(columns) + "\n" + rows


@pytest.mark.parametrize("form", ["{0} {1}", "{0}-{1}", "{1} {0}", "{1} - {0}"])
def test_what_stands_at_the_same_words_names_terminals(tmp_path, form):
    columns = [form.format(room, point) for room in ("Lobby", "North Cafe") for point in ("Zone Temp", "Clg SP")]
    trends = read(tmp_path, {"trend.csv": table(columns)})
    assert tags(trends) == ["Lobby", "North Cafe"]
    assert len(values(trends, "Lobby", "zone_temp")) == len(values(trends, "North Cafe", "cooling_setpoint")) == 6


@pytest.mark.parametrize(
    ("columns", "found"),
    [
        (["RM 110 CONF ROOM TEMP", "RM 110 CONF CLG STPT", "RM 112 ROOM TEMP"], ["RM 110 CONF", "RM 112"]),
        (["Room 7 East Zone Temp", "Room 7 East Clg SP", "Room 7 West Zone Temp", "Room 7 West Clg SP"],
         ["Room 7 East", "Room 7 West"]),
        (["RM 110 CONF ROOM TEMP", "RM 110 CLG STPT", "RM 110 CONF HTG STPT"], ["RM 110"]),  # not all of its points
        (["RM 110 WALL ROOM TEMP"], ["RM 110"]),  # one quantity alone: it may say which
        (["VAV-3 Lobby Zone Temp", "VAV-3 Lobby Clg SP"], ["VAV-3"]),
    ],
)  # fmt: skip
def test_a_name_behind_a_rooms_number_is_its_own(tmp_path, columns, found):
    trends = read(tmp_path, {"trend.csv": table(columns)})
    assert tags(trends) == found
    assert len(values(trends, found[0], "zone_temp")) == 6


def test_a_name_that_is_a_word_of_the_trade_is_one_where_its_twins_are(tmp_path):
    trends = read(tmp_path, {"trend.csv": table(["RA-ZAT", "RB-ZAT", "RA-AHU-SAT", "RB-AHU-SAT"])})
    assert tags(trends) == ["RA", "RB"]
    assert len(values(trends, "RA", "zone_temp")) == len(values(trends, "RA", "primary_temp")) == 6


def test_twins_in_files_of_their_own(tmp_path):
    files = {
        f"R{letter}_20260126T000000.csv": table([f"R{letter}-ZAT", f"R{letter}-ZONE-COOLING-SP"]) for letter in "AB"
    }
    assert tags(read(tmp_path, files)) == ["RA", "RB"]


@pytest.mark.parametrize(("unit", "found"), [("degC", True), ("%RH", False)])
def test_an_air_in_degrees_is_a_temperature_of_its_terminal(tmp_path, unit, found):
    columns = [f"{tag} {air} ({unit})" for tag in ("NUR-A", "NUR-B") for air in ("Room air", "Discharge air")]
    trends = read(tmp_path, {"trend.csv": table([*columns, "NUR-A Zone Temp", "NUR-B Zone Temp"])})
    assert tags(trends) == ["NUR-A", "NUR-B"]
    assert len(values(trends, "NUR-B", "discharge_temp")) == (6 if found else 0)


@pytest.mark.parametrize("columns", [["Supply Air Temp", "Return Air Temp"], ["SA-T", "RA-T"], ["Raw Zone Temp"]])
def test_kinds_of_air_are_no_terminals(tmp_path, columns):
    assert tags(read(tmp_path / "a", {"VAV-1.csv": table([*columns, "Zone Temp"])})) == ["VAV-1"]
    assert tags(read(tmp_path / "b", {"Lobby.csv": table([*columns, "Zone Temp"])})) == ["Lobby"]


def test_what_was_done_to_a_reading_names_no_terminal(tmp_path):
    trends = read(tmp_path / "Lobby", {"log.csv": table(["Raw Zone Temp", "Filtered Zone Temp", "Clg SP"])})
    assert len(tags(trends)) == 1
    assert "Where several points could be one quantity" in said(trends)


def test_columns_of_a_file_that_names_its_terminal_are_its(tmp_path):
    assert tags(read(tmp_path, {"VAV-1.csv": table(["Raw Zone Temp", "Filtered Zone Temp"])})) == ["VAV-1"]


@pytest.mark.parametrize(("thin", "left_out"), [(9, False), (10, True)])
def test_ten_terminals_of_nothing_but_a_state(tmp_path, thin, left_out):
    _thin(tmp_path, 3, thin, left_out)


@pytest.mark.parametrize(("full", "left_out"), [(4, True), (5, False)])
def test_three_times_as_many_terminals_of_nothing_but_a_state(tmp_path, full, left_out):
    _thin(tmp_path, full, 12, left_out)


def _thin(folder, full: int, thin: int, left_out: bool) -> None:
    columns = [f"VAV-{n} Zone Temp" for n in range(full)] + [f"occ{n + 10}_act" for n in range(thin)]
    rows = "".join(
        f"2026-01-26 08:{m:02d}," + ",".join([f"2{m}"] * full + [str(m % 2)] * thin) + "\n" for m in range(6)
    )
    trends = read(folder, {"log.csv": "Time," + ",".join(columns) + "\n" + rows})
    assert len(tags(trends)) == (full if left_out else full + thin)
    assert (f"of {thin} tags without a temperature or a flow" in said(trends)) is left_out


def test_letters_tell_terminals_apart_where_units_stand_without_brackets(tmp_path):
    columns = [
        f"VAV-{letter} {point}" for letter in "AB" for point in ("Temp °F", "Heat SP °F", "Flow CFM", "Reheat %")
    ]
    trends = read(tmp_path, {"trend.csv": table(columns, "6{n}")})
    assert tags(trends) == ["VAV-A", "VAV-B"]
    for quantity in ("zone_temp", "heating_setpoint", "primary_flow", "reheat_position"):
        assert len(values(trends, "VAV-A", quantity)) == len(values(trends, "VAV-B", quantity)) == 6


def test_kinds_of_air_with_units_without_brackets_are_no_terminals(tmp_path):
    columns = ["Supply Air Temp °F", "Return Air Temp °F", "Zone Temp °F", "Zone Temp C"]
    assert tags(read(tmp_path, {"VAV-1.csv": table(columns, "6{n}")})) == ["VAV-1"]
