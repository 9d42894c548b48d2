"""Months in many languages, weeks, days of the year, days that follow each other, and stamps without a year."""

from __future__ import annotations

from datetime import datetime, timedelta

import pandas as pd
import pyarrow as pa
import pytest

from analyzer.errors import ExportError
from analyzer.intake.tables.date_order import DateOrder, UndecidedDates
from analyzer.intake.tables.stamps import read_stamps
from analyzer.intake.words.countries import writes_month_first
from analyzer.intake.words.months import UnclearMonth, in_english, month_of
from analyzer.intake.words.stamps import looks_like_stamp
from tests.intake.folders import read, said

EPOCH = datetime(1970, 1, 1)


def moments(texts: list[str], beside=(), order: DateOrder | None = None) -> list[datetime | None]:
    column = pa.chunked_array([pa.array(texts, pa.string())])
    stamps = read_stamps(column, "trend.csv", "Time", "UTC", order or DateOrder(), beside)
    found = zip(stamps.first[stamps.code].tolist(), stamps.reason[stamps.code].tolist(), strict=True)
    return [EPOCH + timedelta(microseconds=micros) if not reason else None for micros, reason in found]


# Spellings as the locale data have them, from memory of their date formats; the names are of months.tsv.
@pytest.mark.parametrize(
    ("text", "month"),
    [
        ("27. Januar 2026 07:05", 1), ("27. März 2026, 07:05", 3), ("27. Dez. 2026 07:05", 12), ("Di., 27. Jan. 2026, 07:05", 1),
        ("27 janvier 2026 07:05", 1), ("mar. 27 janv. 2026 07:05", 1), ("27 août 2026 à 07h05", 8), ("27 févr. 2026 07:05:00", 2),
        ("27 de enero de 2026 07:05", 1), ("martes, 27 de mayo de 2026, 7:05:00 a. m.", 5), ("27-ene-2026 07:05", 1),
        ("27 de fevereiro de 2026 07:05", 2), ("27 out. 2026 07:05", 10), ("27 gennaio 2026 07:05", 1), ("27 mag 2026, 07:05", 5),
        ("27 maart 2026 07:05", 3), ("27 mei 2026 07:05", 5), ("27 okt. 2026 07.05", 10), ("27. lokakuuta 2026 klo 7.05", 10),
        ("27. marraskuuta 2026 klo 7.05.00", 11), ("27 października 2026 07:05", 10), ("27 lis 2026 07:05, wt. paź", None),
        ("27. srpna 2026 7:05", 8), ("2026. október 27. 7:05", 10), ("27 окт. 2026 г., 07:05", 10), ("27 жовтня 2026 р. 07:05", 10),
        ("27 Οκτωβρίου 2026, 7:05 π.μ.", 10), ("27 Eki 2026 07:05", 10), ("27 Ağustos 2026 07:05", 8), ("2026年10月27日 7:05", 10),
        ("2026年10月27日 上午 7:05", 10), ("2026년 10월 27일 오전 7:05", 10), ("27 tháng 10, 2026 07:05", 10), ("27 أكتوبر 2026 07:05", 10),
        ("٢٧ أكتوبر ٢٠٢٦ ٠٧:٠٥", 10), ("27 אוקטובר 2026, 7:05", 10), ("27 अक्तूबर 2026 07:05", 10), ("27 ต.ค. 2026 07:05", 10),
        ("2026 m. spalio 27 d. 07:05", 10), ("2026. gada 27. oktobris 07:05", 10), ("27. oktoober 2026 07:05", 10),
        ("Tue 27 Oct 2026 07:05:00", 10), ("October 27, 2026 7:05 AM", 10), ("27 Sept 2026 07:05", 9),
    ],
)  # fmt: skip
def test_a_month_by_its_name(text, month):
    if month is None:
        assert moments([text]) == [None]
        return
    assert looks_like_stamp(text)
    assert moments([text]) == [datetime(2026, month, 27, 7, 5)]


def test_a_month_of_two_languages_is_told_by_the_others():
    assert moments(["31. října 2026 0:00", "1. listopadu 2026 0:15", "2. listopad 2026 0:30"])[2] == datetime(
        2026, 11, 2, 0, 30
    )
    assert moments(["30. rujna 2026 0:00", "1. listopada 2026 0:15"])[1] == datetime(2026, 10, 1, 0, 15)
    with pytest.raises(UnclearMonth, match="listopada"):
        in_english(["1. listopada 2026 0:15"])
    with pytest.raises(ExportError, match="the month 'listopada' is another one in another language"):
        moments(["1. listopada 2026 0:15"])


def test_words_that_are_no_dates():
    assert month_of("VAV") is None
    assert not any(map(looks_like_stamp, ["Mai 101", "VAV-1 Jan Temp", "Room 12 May", "72.4 °F", "On (2)"]))


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("2026-W05-1 07:05", datetime(2026, 1, 26, 7, 5)),
        ("2026-W05-1T07:05:30", datetime(2026, 1, 26, 7, 5, 30)),
        ("2026W051 07:05", datetime(2026, 1, 26, 7, 5)),
        ("2020-W53-7 00:00", datetime(2021, 1, 3)),  # the long year's last day, by ISO 8601
        ("2021-W53-1 00:00", None),
        ("2026-W00-1 00:00", None),
        ("2026-026 07:05", datetime(2026, 1, 26, 7, 5)),
        ("2024-366T00:00:00", datetime(2024, 12, 31)),
        ("2026-366T00:00:00", None),
    ],
)
def test_weeks_and_days_of_the_year(text, moment):
    assert moments([text]) == [moment]


def days(form: str, step_days: int, count: int, a_day: int = 4) -> list[str]:
    begin = datetime(2026, 1, 3)
    stamps = [begin + timedelta(days=step_days * day, hours=6 * n) for day in range(count) for n in range(a_day)]
    return [stamp.strftime(form) for stamp in stamps]


@pytest.mark.parametrize("form", ["%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"])
def test_the_days_of_a_first_week_follow_each_other(form):
    order = DateOrder()
    assert moments(days(form, 1, 7), order=order)[-1] == datetime(2026, 1, 9, 18)
    assert "so the days follow each other" in order.assumptions[0].sentence
    assert order.learnt == ("day-first" if form[1] == "d" else "month-first")


@pytest.mark.parametrize(("step", "told"), [(3, True), (4, True), (8, False)])
def test_days_that_follow_each_other_within_a_week(step, told):
    texts = days("%d/%m/%Y %H:%M", step, 2)
    if told:
        assert moments(texts)[-1].month == 1
    else:
        with pytest.raises(UndecidedDates):
            moments(texts)


@pytest.mark.parametrize(("a_day", "told"), [(4, True), (3, False)])
def test_a_day_of_a_log_has_four_stamps(a_day, told):
    texts = days("%d/%m/%Y %H:%M", 1, 3, a_day)
    if told:
        assert moments(texts)[-1].month == 1
    else:
        with pytest.raises(UndecidedDates):
            moments(texts)


def test_the_site_files_word_goes_before_the_days():
    assert moments(days("%d/%m/%Y %H:%M", 1, 3), order=DateOrder("month-first"))[-1] == datetime(2026, 5, 1, 18)


TABLE = "Time,VAV-1 ZN-T\n{0}  00:15:00,20\n{0}  12:00:00,21\n{0}  24:00:00,22\n"


@pytest.mark.parametrize("spelling", ["01/26", "26-Jan", "Jan 26", "26. Januar"])
def test_stamps_without_a_year(tmp_path, spelling):
    with pytest.raises(ExportError, match="its stamps say no year"):
        read(tmp_path, {"trend.csv": TABLE.format(spelling)})
    trends = read(tmp_path / "again", {"trend_2026-02-01.csv": TABLE.format(spelling)})
    assert trends.terminals["time"].iloc[0] == pd.Timestamp("2026-01-26 00:15", tz="UTC")
    assert moments([f"{spelling}  24:00:00"], ["trend_2026-02-01"]) == [datetime(2026, 1, 27)]
    assert "its stamps say no year; it was taken from 'trend_2026-02-01': 2026" in said(trends)


@pytest.mark.parametrize(
    ("beside", "years"),
    [
        (["trend 2025"], [2025, 2025, 2026, 2026]),  # a year and nothing else is that in which the log begins
        (["trend_2025-12-28"], [2025, 2025, 2026, 2026]),
        (["trend_2026-01-05"], [2025, 2025, 2026, 2026]),
        (["2025-12-30_2026-01-02"], [2025, 2025, 2026, 2026]),
        (["trend", "Printed: 2 Jan 2026"], [2025, 2025, 2026, 2026]),
    ],
)
@pytest.mark.parametrize("newest_first", [False, True])
def test_a_turn_of_the_year_is_followed(beside, years, newest_first):
    texts = ["12/30 08:00", "12/31 08:00", "01/01 08:00", "01/02 08:00"]
    step = -1 if newest_first else 1
    assert [moment.year for moment in moments(texts[::step], beside)] == years[::step]


def test_a_number_of_a_tag_is_no_year():
    with pytest.raises(ExportError, match="say no year"):
        moments(["01/26 08:00", "01/27 08:00"], ["VAV-2010", "Room 2012"])


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        ("03.02.2026 06:00;20\n03.02.2026 06:15;21\n", "dates with points"),
        ("03.02.2026 06.00;20\n03.02.2026 06.15;21\n", "dates with points"),
        ("03.02.2026 06:00 Uhr;20\n03.02.2026 06:15 Uhr;21\n", "dates with points"),
        ("03/02/2026 06:00;20,5\n03/02/2026 06:15;21,5\n", "languages with decimal commas"),
        ("03/02/2026 06h00;20,5\n03/02/2026 06h15;21,5\n", "languages with decimal commas"),
    ],
)
def test_dates_that_their_form_tells_to_be_day_first(tmp_path, rows, why):
    trends = read(tmp_path, {"log.csv": f"Time;VAV-1 Zone Temp (degC)\n{rows}"})
    assert trends.terminals["time"].min() == pd.Timestamp("2026-02-03 06:00", tz="UTC")
    assert "were read day-first" in said(trends) and why in said(trends)


def test_dates_with_slashes_and_decimal_points_stay_open(tmp_path):
    with pytest.raises(ExportError, match="may be 2026-03-02"):
        read(tmp_path, {"log.csv": "Time;VAV-1 Zone Temp (degC)\n03/02/2026 06:00;20.5\n03/02/2026 06:15;21.5\n"})


def test_commas_that_may_part_thousands_do_not_tell_the_order_of_dates(tmp_path):
    rows = "".join(f"01/05/2026 06:{m:02d};1,{m}{m % 10}\n" for m in range(15, 60, 5))
    with pytest.raises(ExportError, match="may be 2026-01-05"):
        read(tmp_path, {"log.csv": f"Time;VAV-1 Airflow (cfm)\n{rows}"})


@pytest.mark.parametrize(("zone", "said"), [("America/Chicago", True), ("America/Toronto", False), ("UTC", False)])
def test_a_single_day_is_written_as_people_write_it_where_the_site_is(zone, said):
    """Once all files are known, and none tells: in the United States the month stands first (CLDR, en_US ``M/d/yy``)."""
    texts = ["2/5/2026 12:00:00 AM", "2/5/2026 12:15:00 AM"]
    order = DateOrder(month_first_here=writes_month_first(zone))
    with pytest.raises(UndecidedDates):
        moments(texts, order=order)
    order.know_all()
    if said:
        assert moments(texts, order=order)[-1] == datetime(2026, 2, 5, 0, 15)
        assert "as they are written where the site is" in order.assumptions[0].sentence
    else:
        with pytest.raises(UndecidedDates):
            moments(texts, order=order)


def test_what_another_file_tells_goes_before_what_is_usual():
    order = DateOrder(month_first_here=True, learnt="day-first", all_known=True)
    assert moments(["2/5/2026 12:00"], order=order) == [datetime(2026, 5, 2, 12)]
