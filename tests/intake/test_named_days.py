"""Rows that carry a time of day alone: their date stands in the name of the file, the sheet or a folder, or above the header."""

from __future__ import annotations

import datetime

import openpyxl
import pandas as pd
import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.intake.words.named_dates import days_in
from analyzer.site import Site
from tests.intake.folders import read, said, values

POINTS = "VAV-1 Zone Temp (degC),VAV-1 Flow (L/s)"
DAY = [f"{h:02d}:{m:02d}" for h in range(24) for m in (0, 30)]


def rows(clocks: list[str], header: str = f"Time,{POINTS}") -> str:
    return "\n".join([header, *(f"{clock},{20 + n % 7},{190 + n}" for n, clock in enumerate(clocks))]) + "\n"


def first_and_last(trends) -> tuple[str, str]:
    times = trends.terminals["time"]
    return str(times.min())[:16], str(times.max())[:16]


@pytest.mark.parametrize(
    "name",
    [
        "trend 2026-01-21.csv",
        "gallery_20260121.csv",
        "2026_01_21_VAV.csv",
        "VAV 21.01.2026.csv",
        "trend 01-21-2026.csv",
        "21-Jan-2026.csv",
        "Trend January 21, 2026.csv",
        "21. Januar 2026.csv",
        "2026-01-21/trend.csv",
    ],
)
@pytest.mark.parametrize("header", ["Time", "Clock", "Time of day"])
def test_the_date_stands_in_a_name(tmp_path, name, header):
    trends = read(tmp_path, {name: rows(DAY, f"{header},{POINTS}")})
    assert first_and_last(trends) == ("2026-01-21 00:00", "2026-01-21 23:30")
    assert values(trends, "VAV-1", "primary_flow") == [190 + n for n in range(48)]
    assert "its rows carry a time of day alone; their date was taken from" in said(trends)


@pytest.mark.parametrize("line", ["2026-01-21", "Date: 2026-01-21", "Date,21-Jan-2026", "Datum: 21.01.2026"])
def test_the_date_stands_above_the_header(tmp_path, line):
    trends = read(tmp_path, {"printed 2026-01-28.csv": f"Daily report\n{line}\n{rows(DAY)}"})
    assert first_and_last(trends) == ("2026-01-21 00:00", "2026-01-21 23:30")


@pytest.mark.parametrize(
    ("name", "head"),
    [
        ("trend.csv", ""),
        ("trend 2026-01.csv", ""),
        ("trend 2026-13-21.csv", ""),
        ("2026-01-21 to 2026-01-25.csv", ""),
        ("trend.csv", "Printed: 2026-01-28 09:00\n"),
        ("VAV-12026012101.csv", ""),
    ],
)
def test_without_one_date_the_rows_are_of_no_day(tmp_path, name, head):
    with pytest.raises(ExportError, match="no time stamp was found: rows carry a time of day"):
        read(tmp_path, {name: head + rows(DAY)})


@pytest.mark.parametrize(
    ("clocks", "last"),
    [
        (DAY[1:] + ["00:00"], "2026-01-22 00:00"),  # the midnight that ends the day
        (DAY[1:] + ["24:00"], "2026-01-22 00:00"),
        (DAY[:40] + DAY[38:], "2026-01-21 23:30"),  # an hour that comes twice
        (DAY[::-1], "2026-01-21 23:30"),
        (DAY[36:46] + ["00:00"], None),  # goes back before 23:00
        (DAY[36:] + DAY[:12], None),  # over night
        ((DAY[36:] + DAY[:12])[::-1], None),
        (DAY + DAY, None),  # two days
    ],
)
def test_a_day_ends_at_midnight(tmp_path, clocks, last):
    files = {"trend 2026-01-21.csv": rows(clocks)}
    if last is None:
        with pytest.raises(ExportError, match="no time stamp was found: rows carry a time of day"):
            read(tmp_path, files)
    else:
        assert first_and_last(read(tmp_path, files))[1] == last


@pytest.mark.parametrize("order", ["by time", "by terminal"])
def test_a_row_per_terminal_and_time_in_either_order(tmp_path, order):
    cells = [(clock, f"VAV-{n}", 20 + n) for clock in DAY for n in (1, 2)]
    cells.sort(key=lambda cell: cell[0 if order == "by time" else 1])
    text = "Clock,Terminal,Zone Temp [C]\n" + "".join(f"{c},{tag},{value}\n" for c, tag, value in cells)
    trends = read(tmp_path, {"a_2026-01-21.csv": text, "a_2026-01-22.csv": text})
    assert values(trends, "VAV-2", "zone_temp") == [22] * 96


def test_a_column_of_dates_that_cannot_be_read_is_not_passed_over(tmp_path):
    with pytest.raises(ExportError):
        read(tmp_path, {"trend 2026-01-28.csv": rows([f"Mon,{c}" for c in DAY], f"Day,Time,{POINTS}")})


def test_a_sheet_a_day(tmp_path):
    book = openpyxl.Workbook()
    for n, title in enumerate(["2026-02-02", "2026-02-03", "spare"]):
        sheet = book.active if not n else book.create_sheet()
        sheet.title = title
        sheet.append([None, "VAV 1", None, "VAV 2", None])
        sheet.append(["Time of day", *["Zone Temp °F", "Airflow cfm"] * 2])
        for m in range(4):
            sheet.append([datetime.time(8, 15 * m), 70 + n, 300 + m, 72 + n, 400 + m])
    book.save(tmp_path / "week 6.xlsx")
    trends = read_exports([tmp_path], Site())
    assert trends.terminals["time"].dt.strftime("%m-%d").unique().tolist() == ["02-02", "02-03"]
    assert values(trends, "VAV 2", "zone_temp") == [22.222] * 4 + [22.778] * 4
    assert "rows that carry a time of day and no date were passed over: " in said(trends)


def test_the_day_first_of_names_is_learnt_from_the_other_files(tmp_path):
    trends = read(tmp_path, {f"log {day}-02-2026.csv": rows(DAY) for day in ("05", "21")})
    assert pd.to_datetime(trends.terminals["time"]).dt.strftime("%m-%d").unique().tolist() == ["02-05", "02-21"]


@pytest.mark.parametrize(("text", "days"), [("1-21-26", 1), ("week 1-21-26", 0), ("VAV 1-2-03", 0), ("2026-02-30", 0)])
def test_dates_in_names(text, days):
    assert len(days_in(text)) == days


def test_a_timetable_beside_the_trends_is_passed_over(tmp_path):
    table = "Day,Time,Event\nMon,07:00,on\nMon,18:00,off\nTue,07:00,on\n"
    trends = read(tmp_path, {"trend 2026-01-21.csv": rows(DAY), "hours 2026-01-21.csv": table})
    assert len(values(trends, "VAV-1", "zone_temp")) == 48
    assert "hours 2026-01-21.csv: no time stamp was found" in said(trends)


def undecided(date: str = "02/05/2026") -> str:
    return f"Date and time,{POINTS}\n" + "".join(f"{date} {7 + n}:00 AM,20,{190 + n}\n" for n in range(4))


@pytest.mark.parametrize(
    ("files", "day"),
    [
        ({"a.csv": 'Cold complaint\n"Readings, Thursday 5 February 2026"\n' + undecided()}, "2026-02-05"),
        ({"a.csv": "Readings of 2 May 2026\n" + undecided()}, "2026-05-02"),
        ({"trend 2026-02-05.csv": undecided()}, "2026-02-05"),
        ({"2026-05-02/trend.csv": undecided()}, "2026-05-02"),
        ({"trend 2026-02-05.csv": undecided(), "b.csv": undecided("02/06/2026")}, "2026-02-05"),
        ({"a.csv": "From 2 May 2026 to 3 May 2026\n" + undecided()}, "2026-05-02"),
    ],
)
def test_a_date_beside_settles_the_order_of_day_and_month(tmp_path, files, day):
    trends = read(tmp_path, files)
    assert first_and_last(trends)[0] == f"{day} 07:00"
    assert "so they are of the date that" in said(trends)


@pytest.mark.parametrize(
    ("name", "head"),
    [
        ("a.csv", ""),
        ("a.csv", "Printed 6 May 2026\n"),
        ("trend 02-05-2026.csv", ""),
        ("a.csv", "From 5 February 2026 to 2 May 2026\n"),
        ("trend 2026-02-05.csv", "Readings of 2 May 2026\n"),
    ],
)
def test_a_date_beside_that_tells_no_order(tmp_path, name, head):
    with pytest.raises(ExportError, match="date_order"):
        read(tmp_path, {name: head + undecided()})


@pytest.mark.parametrize(
    ("head", "heading", "day"),
    [
        ("", "Date and time (dd/mm/yyyy)", "2026-05-02"),
        ("", "Date and time [MM/DD/YYYY]", "2026-02-05"),
        ("Dates: day/month/year\n", "Date and time", "2026-05-02"),
        ("Datumsformat TT.MM.JJJJ\n", "Date and time", "2026-05-02"),
        ("Format %m/%d/%Y\n", "Date and time", "2026-02-05"),
    ],
)
def test_a_format_that_is_named_settles_the_order_of_day_and_month(tmp_path, head, heading, day):
    trends = read(tmp_path, {"a.csv": head + undecided().replace("Date and time", heading)})
    assert first_and_last(trends)[0] == f"{day} 07:00"
    assert "-first, as" in said(trends)


def test_formats_that_name_both_orders_settle_none(tmp_path):
    with pytest.raises(ExportError, match="date_order"):
        read(tmp_path, {"a.csv": "Printed as MM/DD/YYYY, logged as DD/MM/YYYY\n" + undecided()})


def test_a_format_that_the_stamps_disprove_is_not_followed(tmp_path):
    trends = read(tmp_path, {"a.csv": "Format MM/DD/YYYY\n" + undecided("25/02/2026")})
    assert first_and_last(trends)[0] == "2026-02-25 07:00"
