"""Stamps in several columns, times of day that are numbers, and spellings that stand round or behind the usual ones."""

from __future__ import annotations

import pandas as pd
import pytest

from analyzer.errors import ExportError
from analyzer.intake.tables.export_text import ExportText
from analyzer.intake.tables.fixed_width import part_columns
from analyzer.intake.tables.stamp_parts import first_row_of_parts
from tests.intake.folders import read

TIMES = pd.date_range("2026-01-12 05:00", "2026-01-14 05:00", freq="10min")
POINTS = "VAV-1-01 Zone Temp (degC),VAV-1-01 Flow (L/s)"


def table(header: str, stamp: str) -> str:
    """Return an export; ``stamp`` is a format of a row's first cells."""
    rows = [f"{t.strftime(stamp)},{20 + n % 7 / 2},{190 + n % 9}" for n, t in enumerate(TIMES)]
    return "\n".join([f"{header},{POINTS}", *rows]) + "\n"


def check(terminals: pd.DataFrame) -> None:
    assert terminals["terminal"].unique().tolist() == ["VAV-1-01"]
    assert terminals["time"].dt.tz_localize(None).tolist() == TIMES.tolist()
    assert terminals["zone_temp"].tolist() == [20 + n % 7 / 2 for n in range(len(TIMES))]
    assert terminals["primary_flow"].tolist() == [190 + n % 9 for n in range(len(TIMES))]


@pytest.mark.parametrize(
    ("header", "stamp"),
    [
        ("Year,Month,Day,Time", "%Y,%m,%d,%H:%M"),
        ("Year,Month,Day,Hour,Minute", "%Y,%m,%d,%H,%M"),
        ("YEAR,MON,DAY,HR,MIN,SEC", "%Y,%-m,%-d,%-H,%-M,0"),
        ("Day,Month,Year,Time", "%d,%b,%y,%H:%M"),
        ("Jahr,Monat,Tag,Uhrzeit", "%Y,%m,%d,%H:%M"),
        ("Año,Mes,Día,Hora", "%Y,%m,%d,%H:%M"),
        ("Date,Hour,Minute", "%Y-%m-%d,%-H,%-M"),
        ("Date,Time,AM/PM", "%m/%d/%Y,%I:%M:%S,%p"),
        ("Stamp,AM/PM", "%Y-%m-%d %I:%M:%S,%p"),
        ("Time,Year,Month,Hour", "%Y-%m-%d %H:%M,%Y,%m,%H"),  # parts beside the whole, for statistics
    ],
)
def test_parts_of_a_stamp_are_put_together(tmp_path, header, stamp):
    check(read(tmp_path, {"log.csv": table(header, stamp)}).terminals)


@pytest.mark.parametrize(
    ("header", "stamp"),
    [
        ("Day,Time", "%d-%b-%y,%I.%M %p"),
        ("Date,Time", "%d-%b-%Y,%H.%M"),
        ("Date,Time", "%d-%b-%Y,%-H.%M"),
        ("Date,Time", "%d-%b-%Y,%H%M"),
        ("Date,Time", "%Y%m%d,%H%M%S"),
        ("Time", "[%Y-%m-%d %H:%M:%S]"),
        ("Time", "'%Y-%m-%d %H:%M:%S"),
        ("Time", "%a %b %d %H:%M:%S %Y"),
        ("Time", "%a %b %d %H:%M:%S UTC %Y"),
        ("Time", "%H:%M:%S %d/%m/%Y"),
        ("Time", "%H:%M %Y-%m-%d"),
        ("Time", "%Y%m%d %H:%M"),
        ("Time", "%Y%m%d_%H:%M:%S"),
        ("yymmdd,hhmm", "%y%m%d,%H%M"),
        ("Date (ddmmyy),Time", "%d%m%y,%H:%M"),
        ("mmddyyyy,hhmm", "%m%d%Y,%H%M"),
        ("JJMMTT,Uhrzeit", "%y%m%d,%H:%M"),
        ("AAMMJJ,Heure", "%y%m%d,%H:%M"),
        ("yymmddhhmm", "%y%m%d%H%M"),
        ("Date,Time", "%y%m%d,%H%M"),
        ("Date,Time", "%d%m%y,%H:%M"),
    ],
)
def test_spellings_of_stamps(tmp_path, header, stamp):
    check(read(tmp_path, {"log.csv": table(header, stamp)}).terminals)


@pytest.mark.parametrize(
    ("header", "stamp"),
    [
        ("Date,Time", "260112,%H:%M"),  # one day, of which nothing tells the order
        ("ddmmyy,Time", "2613%d,%H:%M"),  # no such month
        ("Batch,Time", "%y%m%d,%H:%M"),
    ],
)
def test_figures_of_which_nothing_says_that_they_are_dates_are_none(tmp_path, header, stamp):
    with pytest.raises(ExportError):
        read(tmp_path, {"log.csv": table(header, stamp)})


@pytest.mark.parametrize(
    ("header", "stamp"),
    [
        ("ISO week,Weekday (1=Mon),Time", "%G-W%V,%u,%H:%M"),
        ("Week,Day,Time", "%G-W%V,%a,%H:%M"),
        ("Year,ISO week,Day of week,Time", "%G,%V,%u,%H:%M"),
        ("ISO week,Weekday (0=Sun),Time", "%G-W%V,%w,%H:%M"),
        ("Jahr,KW,Wochentag,Uhrzeit", "%G,%-V,%u,%H:%M"),
        ("Week,Weekday,Date,Time", "9,1,%Y-%m-%d,%H:%M"),  # beside the date, for statistics
    ],
)
def test_weeks_and_weekdays_are_put_together(tmp_path, header, stamp):
    check(read(tmp_path, {"log.csv": table(header, stamp)}).terminals)


@pytest.mark.parametrize(
    ("header", "stamp"),
    [
        ("Year,Week,Weekday,Time", "%G,%V,%u,%H:%M"),  # nobody says whose weeks
        ("Week,Weekday (1=Sun),Time", "%G-W%V,%w,%H:%M"),  # a week that begins on Sunday is not ISO 8601's
        ("ISO week,Weekday,Time", "%V,%u,%H:%M"),  # no year
        ("ISO week,Weekday,Time", "%G-W%V,0,%H:%M"),  # nobody says which day is the nought
    ],
)
def test_weeks_that_may_be_others_are_refused(tmp_path, header, stamp):
    with pytest.raises(ExportError):
        read(tmp_path, {"log.csv": table(header, stamp)})


def test_a_time_of_day_may_be_the_share_of_the_day_that_has_gone_by(tmp_path):
    rows = [
        f"{t:%Y-%m-%d},{(t - t.normalize()) / pd.Timedelta('1D'):.6f},{20 + n % 7 / 2},{190 + n % 9}"
        for n, t in enumerate(TIMES)
    ]
    check(read(tmp_path, {"log.csv": "\n".join([f"Date,Time,{POINTS}", *rows]) + "\n"}).terminals)


@pytest.mark.parametrize("of_day", [lambda n: n // 6, lambda n: n * 600])  # hours, seconds of the day
def test_days_without_a_time_of_day_that_can_be_read_are_refused(tmp_path, of_day):
    rows = [f"{t:%Y-%m-%d},{of_day(n % 144)},{20 + n % 7 / 2},{190 + n % 9}" for n, t in enumerate(TIMES)]
    with pytest.raises(ExportError, match="'Date' holds days, most of them in several rows"):
        read(tmp_path, {"log.csv": "\n".join([f"Date,Period,{POINTS}", *rows]) + "\n"})


@pytest.mark.parametrize(
    ("row", "found"),
    [
        (["2026", "1", "12", "20.5"], 1),
        (["1970", "12", "31", "20.5"], 1),
        (["1969", "12", "31", "20.5"], None),
        (["2200", "1", "1", "20.5"], None),
        (["2026", "13", "12", "20.5"], None),
        (["2026", "12", "32", "20.5"], None),
        (["2026", "Jan", "12", "20.5"], 1),
        (["2026", "Zone", "12", "20.5"], None),
        (["2026", "", "12", "20.5"], None),
    ],
)
def test_which_rows_hold_a_year_a_month_and_a_day(row, found):
    assert first_row_of_parts([["Year", "Month", "Day", "VAV-1 ZN-T"], row]) == found


SPACED = {
    "names over names": (
        ["Date       Time     VAV-1-01   VAV-1-01", "                    Zone Temp  Flow", "                    degC       L/s"],
        "{:%Y-%m-%d} {:%H:%M}    {:<10} {:<10}",
    ),
    "one space between stamp and value": (
        ["Time                VAV-1-01.ZoneTemp_degC   VAV-1-01.Flow_L/s"],
        "{:%Y-%m-%d} {:%H:%M:%S} {:<24} {:<10}",
    ),
    "a title and a rule": (
        ["Trend report of the first floor", "", "Time              VAV-1-01 ZN-T degC   VAV-1-01 FLOW L/s", "-" * 50],
        "{:%Y-%m-%d} {:%H:%M}  {:<20} {:<10}",
    ),
}  # fmt: skip


@pytest.mark.parametrize("shape", SPACED)
def test_columns_that_spaces_part(tmp_path, shape):
    head, row = SPACED[shape]
    rows = [row.format(t, t, 20 + n % 7 / 2, 190 + n % 9) for n, t in enumerate(TIMES)]
    check(read(tmp_path, {"log.txt": "\n".join([*head, *rows]) + "\n"}).terminals)


@pytest.mark.parametrize(("rows", "parted"), [(2, False), (3, True)])
def test_two_rows_show_no_columns(rows, parted):
    lines = ["Time              ZN-T"] + [f"2026-01-12 05:{n}0   21.{n}" for n in range(rows)]
    assert (part_columns(ExportText("log.txt", "\n".join(lines).encode())) is not None) == parted
