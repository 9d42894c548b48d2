"""Time stamps in their usual spellings, and the hours that the clock skips or repeats."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest

from analyzer.intake.tables.date_order import DateOrder, UndecidedDates
from analyzer.intake.tables.stamps import (
    GOOD,
    NONEXISTENT,
    UNREADABLE,
    read_stamps,
    resolve_repeats,
)


def read(texts, zone="UTC", order=None):
    column = texts if isinstance(texts, pa.ChunkedArray) else pa.chunked_array([pa.array(texts, pa.string())])
    stamps = read_stamps(column, "trend.csv", "Time", zone, order or DateOrder())
    moments, _ = resolve_repeats(stamps, stamps.code, np.array([0, len(column)]))
    reason = stamps.reason[stamps.code]
    return [
        str(pd.Timestamp(m, unit="us")) if r == GOOD else None for m, r in zip(moments, reason, strict=True)
    ], reason


@pytest.mark.parametrize(
    "text",
    [
        "2026-01-14 15:30:00", "2026-01-14T15:30:00", "2026-01-14T15:30", "2026/01/14 15:30", "2026-01-14T15:30:00Z",
        "2026-01-14T10:30:00-05:00", "2026-01-14 16:30:00+0100", "01/14/2026 15:30", "1/14/26 3:30 PM", "1/14/2026 3:30:00 p.m.",
        "14.01.2026 15:30", "14-Jan-2026 15:30:00", "14 January 2026 15:30", "Jan 14, 2026 3:30:00 PM", "Wed 14-Jan-26 15:30:00",
        "Wednesday, January 14, 2026 3:30:00 PM", "20260114153000", "20260114T1530", "2026-01-14 15:30:00.000", "2026-Jan-14 15:30",
        "1768404600", "1768404600000", "46036.6458333333", " 2026-01-14 15:30:00 ",
    ],
)  # fmt: skip
def test_spelling(text):
    assert read([text])[0] == ["2026-01-14 15:30:00"]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "soon",
        "2026-02-30 10:00",
        "2026-01-14 25:00",
        "2026-01-14 10:61",
        "13:30",
        "14/14/2026 10:00",
        "1/14/2026 13:30 PM",
    ],
)
def test_what_is_no_moment_is_unreadable(text):
    found, reason = read(["2026-01-14 10:00", text])
    assert found[1] is None
    assert reason[1] == UNREADABLE


def test_midnight_at_the_end_of_the_day():
    assert read(["2026-01-14 24:00"])[0] == ["2026-01-15 00:00:00"]


def test_stored_stamps_with_and_without_a_zone():
    moments = pd.DatetimeIndex(["2026-01-14 15:30:00"])
    local = pa.chunked_array([pa.array(moments.tz_localize("America/Chicago"))])
    assert read(local, zone="Europe/Berlin")[0] == ["2026-01-14 21:30:00"]
    assert read(pa.chunked_array([pa.array(moments)]), zone="America/Chicago")[0] == ["2026-01-14 21:30:00"]


def test_a_stored_moment_that_no_calendar_has_is_unreadable():
    stored = pa.array([1_768_404_600_000_000, 1_738_000_000_000_000_000, -(2**62)], pa.timestamp("us"))
    times, reason = read(pa.chunked_array([stored]), zone="America/Chicago")
    assert times == ["2026-01-14 21:30:00", None, None]
    assert list(reason) == [GOOD, UNREADABLE, UNREADABLE]


def test_a_large_regular_column_is_read_like_a_small_one():
    times = pd.date_range("2026-01-14", periods=5000, freq="7s")
    texts = list(times.strftime("%m/%d/%Y %I:%M:%S %p"))
    assert read(texts)[0] == [str(time) for time in times]
    texts[4321] = "1/14/2026 8:24:07 AM"  # one stamp without its noughts
    assert read(texts)[0] == [str(time) for time in times]


def test_one_stamp_settles_the_order_of_the_whole_column():
    assert read(["03/04/2026 10:00", "13/04/2026 10:00"])[0][0] == "2026-04-03 10:00:00"
    assert read(["03/04/2026 10:00", "04/13/2026 10:00"])[0][0] == "2026-03-04 10:00:00"


def test_an_open_order_is_refused_with_both_readings():
    with pytest.raises(UndecidedDates) as refusal:
        read(["03/04/26 10:00", "03/05/26 10:00"])
    assert "'03/04/26 10:00' may be 2026-03-04 (month first) or 2026-04-03 (day first)" in str(refusal.value)
    assert "trend.csv: column 'Time'" in str(refusal.value)


def test_the_site_file_settles_an_open_order_but_not_against_the_column():
    assert read(["03/04/2026 10:00"], order=DateOrder("day-first"))[0] == ["2026-04-03 10:00:00"]
    assert read(["03/14/2026 10:00"], order=DateOrder("day-first"))[0] == ["2026-03-14 10:00:00"]


def test_a_day_that_reads_alike_both_ways_needs_no_order():
    assert read(["05/05/2026 10:00"])[0] == ["2026-05-05 10:00:00"]


def test_autumn_hour_by_the_order_of_the_rows():
    clock = [
        "2026-11-01 00:45",
        "2026-11-01 01:15",
        "2026-11-01 01:45",
        "2026-11-01 01:15",
        "2026-11-01 01:45",
        "2026-11-01 02:15",
    ]
    told = ["05:45", "06:15", "06:45", "07:15", "07:45", "08:15"]
    assert [moment[11:16] for moment in read(clock, zone="America/Chicago")[0]] == told
    assert [moment[11:16] for moment in read(clock[::-1], zone="America/Chicago")[0]] == told[::-1]


def test_autumn_hour_sorted_by_the_clock():
    clock = [
        "2026-11-01 00:30",
        "2026-11-01 01:00",
        "2026-11-01 01:00",
        "2026-11-01 01:30",
        "2026-11-01 01:30",
        "2026-11-01 02:00",
    ]
    found = read(clock, zone="America/Chicago")[0]
    assert [moment[11:16] for moment in found] == ["05:30", "06:00", "07:00", "06:30", "07:30", "08:00"]


def test_autumn_hour_named_by_the_stamp():
    found = read(["2026-11-01 01:30:00 CST", "2026-11-01 01:30:00 CDT"], zone="America/Chicago")[0]
    assert [moment[11:16] for moment in found] == ["07:30", "06:30"]


def test_autumn_hour_that_stands_once_is_its_first_pass_and_counted():
    column = pa.chunked_array([pa.array(["2026-11-01 00:30", "2026-11-01 01:30", "2026-11-01 02:30"])])
    stamps = read_stamps(column, "trend.csv", "Time", "America/Chicago", DateOrder())
    moments, single = resolve_repeats(stamps, stamps.code, np.array([0, 3]))
    assert single == 1
    assert str(pd.Timestamp(moments[1], unit="us")) == "2026-11-01 06:30:00"


@pytest.mark.parametrize(
    "order", [[6, 7, 8, 9, 0, 1, 2, 3, 4, 5], [0, 4, 2, 3, 5, 1, 6, 7, 8, 9]], ids=["second half first", "jumbled"]
)
def test_autumn_hour_in_rows_out_of_order_is_its_first_pass_and_counted(order):
    utc = pd.date_range("2026-11-01 05:30", periods=10, freq="15min", tz="UTC")
    wall = utc.tz_convert("America/Chicago").strftime("%Y-%m-%d %H:%M")[order]
    stamps = read_stamps(pa.chunked_array([pa.array(list(wall))]), "trend.csv", "Time", "America/Chicago", DateOrder())
    moments, told = resolve_repeats(stamps, stamps.code, np.array([0, len(order)]))
    assert told == 8
    first_pass = np.where(utc.hour[order] == 7, 6, utc.hour[order])
    assert [pd.Timestamp(m, unit="us").hour for m in moments] == list(first_pass)


@pytest.mark.parametrize("number", ["1768404600", "1768404600000", "46036.6458333333", "46036,6458333333"])
def test_a_stamp_in_another_spelling_leaves_numbers_what_they_are(number):
    found, reason = read([number, number, "2026-13-45 99:99", "none"])
    assert found == ["2026-01-14 15:30:00"] * 2 + [None] * 2
    assert list(reason) == [GOOD, GOOD, UNREADABLE, UNREADABLE]


def test_autumn_hour_of_each_log_by_itself():
    clock = [
        "2026-11-01 01:10",
        "2026-11-01 01:40",
        "2026-11-01 01:10",
        "2026-11-01 01:20",
        "2026-11-01 01:50",
        "2026-11-01 01:20",
    ]
    stamps = read_stamps(pa.chunked_array([pa.array(clock)]), "trend.csv", "Time", "America/Chicago", DateOrder())
    moments, _ = resolve_repeats(stamps, stamps.code, np.array([0, 3, 6]))
    assert [str(pd.Timestamp(m, unit="us"))[11:16] for m in moments] == [
        "06:10",
        "06:40",
        "07:10",
        "06:20",
        "06:50",
        "07:20",
    ]


def test_spring_hour_does_not_exist():
    found, reason = read(
        ["2026-03-08 01:59", "2026-03-08 02:00", "2026-03-08 02:59", "2026-03-08 03:00"], zone="America/Chicago"
    )
    assert list(reason) == [GOOD, NONEXISTENT, NONEXISTENT, GOOD]
    assert found[0][11:16] == "07:59"
    assert found[3][11:16] == "08:00"
