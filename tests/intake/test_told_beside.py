"""What stands beside the values and says how to take them: letters of quality, spelled codes, spans, the zone, other files."""

from __future__ import annotations

import pandas as pd
import pytest

from analyzer.errors import ExportError
from analyzer.intake.points.states_told import take_states
from analyzer.intake.tables.stamps import lines_say_utc
from analyzer.intake.words.flags import read_flags
from analyzer.intake.words.units import take_unit
from analyzer.site import Site
from tests.intake.folders import read, said, values

STAMPS = [f"{t:%Y-%m-%d %H:%M}" for t in pd.date_range("2026-01-12", periods=40, freq="15min")]


def table(*columns: tuple[str, list]) -> str:
    rows = [",".join([stamp, *(str(cells[n]) for _, cells in columns)]) for n, stamp in enumerate(STAMPS)]
    return "\n".join([",".join(["Time", *(name for name, _ in columns)]), *rows]) + "\n"


TEMPERATURE = [round(21 + 0.1 * (n % 7), 1) for n in range(len(STAMPS))]
FLOW = [100 + n for n in range(len(STAMPS))]


def test_letters_of_quality(tmp_path):
    letters = ["B" if n == 3 else "U" if n == 9 else "G" for n in range(len(STAMPS))]
    trends = read(tmp_path, {"t.csv": table(("VAV-1 Space Temp (degC)", TEMPERATURE), ("Q", letters))})
    assert values(trends, "VAV-1", "zone_temp") == [t for n, t in enumerate(TEMPERATURE) if n not in (3, 9)]


@pytest.mark.parametrize(
    ("texts", "bad", "neither"),
    [
        (["G", "B", "U", ""], [False, True, True, False], []),
        (["G", "E"], [False, False], ["E"]),
        (["g", "f", "x"], [False, True, True], []),
        (["B", "U"], [False, False], ["B", "U"]),  # without the letter of good ones they may be anything
    ],
)
def test_what_letters_of_quality_say(texts, bad, neither):
    assert read_flags(texts) == (bad, neither)


@pytest.mark.parametrize(
    ("heading", "name", "states"),
    [
        ("VAV-1 Occupancy (1=Occupied 2=Unoccupied)", "VAV-1 Occupancy", {"1": 1, "2": 0}),
        ("VAV-1 Occupancy [1=occupied, 2=unoccupied]", "VAV-1 Occupancy", {"1": 1, "2": 0}),
        ("Fan {Off=0; On=1}", "Fan", {"0": 0, "1": 1}),
        ("Fan (0=Off 1=On)", "Fan", {"0": 0, "1": 1}),
        ("Mode (1=Occupied 2=Somewhere)", "Mode (1=Occupied 2=Somewhere)", {}),
        ("Mode (1=Occupied)", "Mode (1=Occupied)", {}),
        ("Damper (0-10 V = 0-100 %)", "Damper (0-10 V = 0-100 %)", {}),
    ],
)
def test_codes_that_a_heading_spells(heading, name, states):
    assert take_states(heading) == (name, tuple(states.items()))


def test_a_mode_whose_codes_the_heading_spells(tmp_path):
    mode = [1 if 10 <= n < 30 else 2 for n in range(len(STAMPS))]
    columns = ("VAV-1 Space Temp (degC)", TEMPERATURE), ("VAV-1 Occupancy State (1=Occupied 2=Unoccupied)", mode)
    trends = read(tmp_path, {"t.csv": table(*columns)})
    assert values(trends, "VAV-1", "occupied") == [2 - code for code in mode]


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Damper (0-10 V = 0-100 %)", "0-10 V"),
        ("Damper (0-100 % = 2-10 V)", "2-10 V"),
        ("Damper (0-100 %)", "0-100 %"),
        ("Flow (cfm)", "cfm"),
        ("tu1_flow (m3s)", "m3s"),
    ],
)
def test_the_unit_of_a_span_that_is_spelled_with_its_meaning(heading, unit):
    assert take_unit(heading)[1] == unit


@pytest.mark.parametrize(
    ("line", "utc"),
    [
        ("all stamps are UTC", True),
        ("Time zone: UTC", True),
        ("Alle Zeiten in UTC", True),
        ("Heures en UTC", True),
        ("Printed 2026-01-20 14:00 UTC", False),
        ("Time zone: UTC-6", False),
        ("UTC Building, first floor", False),
        ("Time zone: local", False),
    ],
)
def test_a_line_above_the_header_says_utc(line, utc):
    assert lines_say_utc(["Export of January", line]) == utc


def test_stamps_that_a_line_says_are_utc(tmp_path):
    text = "# all stamps are UTC\n" + table(("VAV-1 Space Temp (degC)", TEMPERATURE))
    trends = read(tmp_path, {"t.csv": text}, Site(time_zone="America/Chicago"))
    assert trends.terminals["time"].iloc[0] == pd.Timestamp("2026-01-12 00:00", tz="UTC")
    assert "says that the stamps are UTC" in said(trends)


def test_the_flow_of_a_terminal_without_a_fan_is_its_primary_airflow(tmp_path):
    columns = ("VAV-1 Discharge Air Flow (L/s)", FLOW), ("VAV-1 Damper Command (%)", [40] * len(STAMPS))
    trends = read(tmp_path / "a", {"t.csv": table(*columns)})
    assert values(trends, "VAV-1", "primary_flow") == FLOW
    assert "only airflow of a terminal" in said(trends)
    fan = ("VAV-1 Fan Status", [n // 20 for n in range(len(STAMPS))])
    trends = read(tmp_path / "b", {"t.csv": table(*columns, fan)})
    assert values(trends, "VAV-1", "discharge_flow") == FLOW


def test_words_between_a_name_and_its_unit(tmp_path):
    columns = ("VVS-1 Primärluft Sollwert in m³/h", [180] * 40), ("VVS-1 Primärluft Volumenstrom in m³/h", [180] * 40)
    trends = read(tmp_path, {"t.csv": table(*columns)})
    assert values(trends, "VVS-1", "primary_flow_setpoint") == [50] * 40


@pytest.mark.parametrize(("points", "differing", "refused"), [(3, 40, True), (3, 16, False), (2, 40, False)])
def test_files_that_contradict_each_other_throughout_are_refused(tmp_path, points, differing, refused):
    other = [t + (0.37 * (1 + n % 3) if n < differing else 0) for n, t in enumerate(TEMPERATURE)]
    names = [f"VAV-{n} Space Temp (degC)" for n in range(1, points + 1)]
    files = {
        "a.csv": table(*((name, TEMPERATURE) for name in names)),
        "b.csv": table(*((name, other) for name in names)),
    }
    if refused:
        with pytest.raises(ExportError, match="nothing tells which hold"):
            read(tmp_path, files)
    else:
        assert "hold other values of one point" in said(read(tmp_path, files))


def test_a_table_whose_headings_all_stand_twice_is_refused(tmp_path):
    columns = ("VAV-1 Space Temp (degC)", TEMPERATURE), ("VAV-1 Space Temp (degC)", [t + 4 for t in TEMPERATURE])
    with pytest.raises(ExportError, match="several columns of one heading, whose readings differ"):
        read(tmp_path, {"t.csv": table(*columns)})


def test_signals_in_volts_whose_unit_column_says_the_span(tmp_path):
    rows = "".join(f"{stamp},VAV-1 Damper Signal,{n % 11 / 2},V (0-10)\n" for n, stamp in enumerate(STAMPS))
    trends = read(tmp_path, {"t.csv": f"Time,Point,Value,Units\n{rows}"})
    assert values(trends, "VAV-1", "damper_position") == [n % 11 * 5 for n in range(len(STAMPS))]


def test_a_time_of_day_may_carry_its_zone(tmp_path):
    rows = [f"11/01/2026,0{hour}:{minute:02d} {zone},{20 + hour}" for zone, hour in (("CDT", 0), ("CDT", 1), ("CST", 1),
            ("CST", 2)) for minute in (0, 15, 30, 45)]  # fmt: skip
    text = "\n".join(["Date,Time,VAV-1 Zone Temp (degC)", *rows]) + "\n"
    trends = read(tmp_path, {"t.csv": text}, Site(time_zone="America/Chicago", date_order="month-first"))
    begin = pd.Timestamp("2026-11-01 05:00", tz="UTC")
    assert trends.terminals["time"].tolist() == [begin + n * pd.Timedelta("15min") for n in range(16)]


@pytest.mark.parametrize(
    ("name", "tag"), [("AHU B", "AHU B"), ("AHU/B", "AHU/B"), ("RTU C", "RTU C"), ("AHU T", None), ("AHUB", None)]
)
def test_air_handlers_told_apart_by_a_letter(tmp_path, name, tag):
    cells = [round(14 + 0.1 * (n % 5), 1) for n in range(len(STAMPS))]
    columns = (f"{name} Supply Air Temperature (degC)", cells), ("VAV-1 Zone Temp (degC)", TEMPERATURE)
    trends = read(tmp_path, {"t.csv": table(*columns)})
    assert trends.air_handlers["air_handler"].astype(str).unique().tolist() == ([tag] if tag else [])


def test_a_fraction_is_told_by_the_last_word_of_a_name(tmp_path):
    trends = read(tmp_path, {"t.csv": table(("vav1.damperPosFraction", [0.01 * n for n in range(len(STAMPS))]))})
    assert values(trends, "vav1", "damper_position") == list(range(len(STAMPS)))
