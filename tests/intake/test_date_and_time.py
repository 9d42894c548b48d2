"""Dates that stand once a day: for which rows they are taken, just below and just above each bound."""

from __future__ import annotations

import pyarrow as pa
import pytest

from analyzer.intake.tables.date_and_time import date_and_time

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
