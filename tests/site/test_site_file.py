"""The site file and the schedule: what they say in SI, and every mistake in one sentence."""

import datetime

import numpy as np
import pandas as pd
import pytest

from analyzer import UserError, read_site
from analyzer.site.hours import occupied, parse_week

SITE = """
[site]
name = "Quillfeather House"
time_zone = "America/Chicago"
units = "ip"
altitude = "620 ft"
terminals = "terminals.csv"
[hours]
occupied = { mon-fri = "07:00-18:00", sat = ["09:00-13:00", "14:00-15:00"] }
holidays = ["2026-01-19"]
[setpoints]
heating = "70 degF"
cooling = "74 degF"
[accuracy]
zone_temp = "0.5 K"
primary_flow = { of_reading = 0.05, at_least = "10 cfm" }
[rule.fan-short-cycling]
starts_per_hour = "6"
"""
TERMINALS = """terminal,kind,reheat,primary_max [cfm],primary_min [L/s],inlet_diameter [in],observed primary_max [cfm]
TU-1,single-duct,Hot Water,"1,000",100,8,940

TU-2,Parallel,electric,600,,,
"""


@pytest.fixture
def folder(tmp_path):
    """A site file with a schedule of two terminals."""
    (tmp_path / "site.toml").write_text(SITE)
    (tmp_path / "terminals.csv").write_text(TERMINALS)
    return tmp_path


def test_quantities_are_read_as_si(folder):
    site = read_site(folder)
    assert site.altitude == pytest.approx(188.976)  # 620 ft
    assert site.setpoints == pytest.approx({"heating": 21.1111, "cooling": 23.3333}, abs=1e-4)
    assert site.accuracy["zone_temp"].of(20.0) == 0.5
    assert site.accuracy["primary_flow"].of(np.array([10.0, 1000.0])) == pytest.approx([4.719474, 50.0])
    assert site.holidays == (datetime.date(2026, 1, 19),)
    assert site.rule_changes == {"fan-short-cycling": {"starts_per_hour": "6"}}


def test_schedule_is_read_as_si_with_blanks_unknown(folder):
    schedule = read_site(folder / "site.toml").schedule
    assert schedule.loc["TU-1", "primary_max"] == pytest.approx(471.947, abs=1e-3)  # 1000 cfm
    assert schedule.loc["TU-1", "primary_min"] == 100
    assert schedule.loc["TU-1", "inlet_diameter"] == pytest.approx(0.2032)  # 8 in
    assert schedule["kind"].tolist() == ["single-duct", "parallel"]
    assert schedule["reheat"].tolist() == ["hot-water", "electric"]
    assert np.isnan(schedule.loc["TU-2", "primary_min"])


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("America/Chicago", "America/Chicag", r"site.time_zone: 'America/Chicag' is no time zone .*'America/Chicago'"),
        ('time_zone = "America/Chicago"', "", "the key 'site.time_zone' is missing"),
        ("units", "unit", r"unknown key 'site.unit' \(did you mean 'units'\?\)"),
        ('"ip"', '"imperial"', "site.units: .*'imperial'"),
        ("620 ft", "620 furlongs", "site.altitude: 'furlongs' is no unit of length"),
        ("mon-fri", "mon-fry", "hours.occupied: 'mon-fry' is no day"),
        ("07:00-18:00", "18:00-07:00", "'18:00-07:00' does not end after it starts"),
        ("2026-01-19", "2026-13-19", "hours.holidays"),
        ("70 degF", "79 degF", "setpoints: the heating setpoint is not below the cooling setpoint"),
        ("zone_temp", "zonetemp", r"'zonetemp' is no quantity \(did you mean 'zone_temp'\?\)"),
        ("of_reading", "of_readin", "accuracy.primary_flow: unknown key 'of_readin'"),
        ('"0.5 K"', '"-0.5 K"', "accuracy.zone_temp: -0.5 is negative"),
        ('"0.5 K"', '"1e300 K"', "accuracy.zone_temp: 1e.300 is more than half of all that a sensor can read"),
        ("terminals.csv", "terminal.csv", "site.terminals: names 'terminal.csv', and there is no such file"),
        ("[site]", "[site", "is not valid TOML"),
    ],
)
def test_mistake_in_the_site_file_is_one_sentence(folder, old, new, told):
    assert old in SITE
    (folder / "site.toml").write_text(SITE.replace(old, new, 1))
    with pytest.raises(UserError, match=told) as caught:
        read_site(folder)
    assert str(caught.value).startswith(str(folder / "site.toml"))
    assert "\n" not in str(caught.value) and len(str(caught.value)) < 1000


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"1,000"', "plenty", "line 2, column 'primary_max': 'plenty' is not a number"),
        ("600", "-600", "line 4, column 'primary_max': '-600' is not a number of at least 0"),
        ("primary_max [cfm],", "primary_mx [cfm],", r"unknown column 'primary_mx \[cfm\]' \(did you mean 'primary_max'\?\)"),
        ("primary_max [cfm],", "primary_max,", "the column 'primary_max' has no unit"),
        ("[in]", "[inchs]", "the unknown unit 'inchs'"),
        ("Parallel", "Paralel", r"line 4, column 'kind': 'Paralel' is not one of .*did you mean 'parallel'"),
        ("TU-2", "TU-1", "line 4: the terminal 'TU-1' stands twice"),
        ("TU-2", "", "line 4: the terminal's tag is missing"),
        ("terminal,", "tag,", "the column 'terminal' is missing"),
        ('"1,000",100', '"1,000",999', "line 2: primary_min of 'TU-1' is above its primary_max"),
    ],
)  # fmt: skip
def test_mistake_in_the_schedule_is_one_sentence(folder, old, new, told):
    assert old in TERMINALS
    (folder / "terminals.csv").write_text(TERMINALS.replace(old, new, 1))
    with pytest.raises(UserError, match=told) as caught:
        read_site(folder)
    assert str(caught.value).startswith(str(folder / "terminals.csv"))


def test_all_mistakes_of_a_file_are_told_together(folder):
    (folder / "site.toml").write_text(SITE.replace("America/Chicago", "Mars").replace("620 ft", "high"))
    with pytest.raises(UserError, match=r"site.time_zone.*site.altitude"):
        read_site(folder)


@pytest.mark.parametrize(
    ("moment", "expected"),
    [
        ("2026-01-12 06:59", False),
        ("2026-01-12 07:00", True),
        ("2026-01-12 17:59", True),
        ("2026-01-12 18:00", False),  # the end is not in it
        ("2026-01-17 13:30", False),
        ("2026-01-17 14:30", True),
        ("2026-01-18 10:00", False),  # a Sunday
        ("2026-01-19 10:00", False),  # a holiday
        ("2026-03-08 10:00", False),  # the Sunday on which clocks go forward
        ("2026-03-09 07:00", True),  # and local hours hold after it
    ],
)
def test_occupied_hours_are_local(moment, expected):
    week = parse_week({"mon-fri": "07:00-18:00", "sat": ["09:00-13:00", "14:00-15:00"]})
    moments = pd.DatetimeIndex([pd.Timestamp(moment, tz="America/Chicago")])
    assert occupied(moments, week, [datetime.date(2026, 1, 19)]).tolist() == [expected]


def test_a_span_of_days_may_run_over_the_weekend():
    week = parse_week({"sat-mon": "08:00-24:00"})
    assert [day for day, spans in week.items() if spans] == [0, 5, 6]
