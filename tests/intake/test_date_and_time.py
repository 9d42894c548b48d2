"""Dates that stand once a day: for which rows they are taken, just below and just above each bound."""

from __future__ import annotations

import pandas as pd
import pyarrow as pa
import pytest

from analyzer.intake.tables.date_and_time import date_and_time
from analyzer.intake.tables.day_numbers import _clock_size
from analyzer.intake.words.stamps import is_day_number
from tests.intake.folders import read

FIRST = "2026-10-25"


def joined(dates: list[str | None], clocks: list[str | None]) -> tuple[list[str], int]:
    stamps, below = date_and_time(pa.chunked_array([pa.array(dates)]), pa.chunked_array([pa.array(clocks)]))
    return [text.strip() if text else "" for text in stamps.to_pylist()], below


@pytest.mark.parametrize(
    ("back", "same_day"),
    [("01:00", True), ("00:59", False)],  # the hour that comes twice, and a minute more
)
def test_the_clock_of_one_day_goes_back_by_an_hour_at_the_most(back, same_day):
    found, below = joined([FIRST, "", "", "", ""], ["00:00", "01:30", "02:00", back, "03:00"])
    assert found[:3] == [f"{FIRST} 00:00", f"{FIRST} 01:30", f"{FIRST} 02:00"]
    assert found[3:] == ([f"{FIRST} {back}", f"{FIRST} 03:00"] if same_day else [back, "03:00"])
    assert below == (4 if same_day else 2)


@pytest.mark.parametrize(("dates", "below"), [([FIRST, FIRST, "", ""], 0), ([FIRST, "", "", FIRST, ""], 3)])
def test_a_date_stands_once_a_day_where_most_rows_have_none(dates, below):
    clocks = ["06:00", "07:00", "08:00", "09:00", "10:00"][: len(dates)]
    assert joined(dates, clocks)[1] == below


def test_the_newest_row_may_stand_first():
    found, below = joined(["2026-01-27", "", "", "2026-01-26", "", ""], ["12:00 PM", "6:00 AM", "12:00 AM"] * 2)
    assert below == 4
    assert found == [f"2026-01-{day} {clock}" for day in (27, 26) for clock in ("12:00 PM", "6:00 AM", "12:00 AM")]


def test_rows_without_a_time_of_day_get_no_date():
    assert joined([FIRST, "", None, ""], ["00:00", "", "06:00", "12:00"])[0] == [
        f"{FIRST} 00:00",
        "",
        f"{FIRST} 06:00",
        f"{FIRST} 12:00",
    ]


NUMBERS = [
    (day, 100 * hour + minute) for day in (20260125, 20260126) for hour in range(24) for minute in range(0, 60, 10)
]


@pytest.mark.parametrize(
    ("day", "clock", "form"),
    [
        ("YYYYMMDD", "HHMM", "{}"),
        ("Date", "Time", "{:04d}"),
        ("Date", "HHMMSS", "{:04d}00"),
        ("day", "time", "{}"),
    ],
)
def test_days_and_times_that_are_numbers(tmp_path, day, clock, form):
    rows = "".join(f"{date},{form.format(time)},VAV-1,2{n % 5}.5\n" for n, (date, time) in enumerate(NUMBERS))
    trends = read(tmp_path, {"log.csv": f"{day},{clock},Terminal,Zone Temp (degC)\n{rows}"})
    there = trends.terminals.dropna(subset="zone_temp")
    assert there["time"].tolist() == [
        pd.Timestamp(f"{date} {time // 100:02d}:{time % 100:02d}", tz="UTC") for date, time in NUMBERS
    ]
    assert there["zone_temp"].tolist() == [20.5 + n % 5 for n in range(len(NUMBERS))]


@pytest.mark.parametrize(("clock", "size"), [("2359", 100), ("2360", 0), ("2400", 100), ("2401", 1), ("246060", 0)])
def test_numbers_that_are_no_time_of_day(clock, size):
    assert _clock_size(pa.chunked_array([[10, int(clock)]]), "time") == size


@pytest.mark.parametrize(
    ("text", "is_day"), [("20260131", True), ("20260132", False), ("20261301", False), ("19691231", False)]
)
def test_numbers_that_are_no_day(text, is_day):
    assert is_day_number(text) is is_day
