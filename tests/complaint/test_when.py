"""The time of a complaint, as people write it down."""

import pandas as pd
import pytest

from analyzer.complaint.when import read_moment
from analyzer.errors import CallError

ZONE = "America/Chicago"


def span(first: str, last: str):
    return pd.Timestamp(first, tz=ZONE), pd.Timestamp(last, tz=ZONE)


WEEK = span("2026-01-26", "2026-02-01 23:55")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("2026-01-28 14:30", "2026-01-28T14:30:00-06:00"),
        ("2026-01-28T14:30", "2026-01-28T14:30:00-06:00"),
        ("2026-01-28T14:30-06:00", "2026-01-28T14:30:00-06:00"),
        ("2026-01-28T20:30Z", "2026-01-28T14:30:00-06:00"),
        ("2026-01-28 14:30 CST", "2026-01-28T14:30:00-06:00"),
        ("01/28/2026 2:30 PM", "2026-01-28T14:30:00-06:00"),
        ("1/28/26 2:30pm", "2026-01-28T14:30:00-06:00"),
        ("28/01/2026 14:30", "2026-01-28T14:30:00-06:00"),  # there is no 28th month
        ("28.1.2026 14h30", "2026-01-28T14:30:00-06:00"),
        ("28 January 2026 at 2.30 p.m.", "2026-01-28T14:30:00-06:00"),
        ("Wed Jan 28th, 3pm", "2026-01-28T15:00:00-06:00"),
        ("28 Jan 12:05 am", "2026-01-28T00:05:00-06:00"),
        ("Jan 28 12 pm", "2026-01-28T12:00:00-06:00"),
        ("1 Feb 2026 09:00", "2026-02-01T09:00:00-06:00"),
        ("02/01/2026 9:00", "2026-02-01T09:00:00-06:00"),  # the second of January is not in the trends
    ],
)
def test_many_spellings_are_one_moment(text, told):
    assert read_moment(text, ZONE, WEEK).isoformat() == told


@pytest.mark.parametrize(
    ("text", "period", "told"),
    [
        ("2026-01-28", WEEK, "names no time of day"),
        ("14:30", WEEK, "names no day"),
        ("yesterday 3pm", WEEK, "names no day"),
        ("2026-01-28 14:30 or 15:00", WEEK, "more than one time of day"),
        ("2026-01-28 25:00", WEEK, "'25:00' is no time of day"),
        ("2026-01-28 13:00 pm", WEEK, "is no time of day"),
        ("2026-02-30 10:00", WEEK, "a day that does not exist"),
        (
            "2026-03-02 10:00",
            WEEK,
            "2026-03-02 10:00 lies outside the trends, which go from 2026-01-26 00:00 to 2026-02-01",
        ),
        ("01/02/2026 10:00", span("2026-01-01", "2026-02-28"), "can be read as 2026-01-02 or 2026-02-01"),
        (
            "2026-11-01 01:30",
            span("2026-10-30", "2026-11-05"),
            "came twice in America/Chicago: the clocks were put back",
        ),
        ("2026-03-08 02:30", span("2026-03-05", "2026-03-12"), "never came in America/Chicago"),
        ("2026-01-28 14:30 CDT", WEEK, "CDT is not in force"),
        ("", WEEK, "names no day"),
    ],
)
def test_what_cannot_be_one_moment_is_refused(text, period, told):
    with pytest.raises(CallError, match=told) as refused:
        read_moment(text, ZONE, period)
    assert str(refused.value).startswith("--at: ") and len(str(refused.value)) < 1000


def test_a_site_that_says_its_order_of_dates_is_not_asked_again():
    period = span("2026-01-01", "2026-02-28")
    assert read_moment("01/02/2026 10:00", ZONE, period, "month-first").day == 2
    assert read_moment("01/02/2026 10:00", ZONE, period, "day-first").month == 2


@pytest.mark.parametrize(
    ("text", "offset"), [("1:30 CDT", "-05:00"), ("1:30 CST", "-06:00"), ("01:30-06:00", "-06:00")]
)
def test_an_hour_that_comes_twice_is_settled_by_its_offset(text, offset):
    moment = read_moment(f"2026-11-01 {text}", ZONE, span("2026-10-30", "2026-11-05"))
    assert moment.isoformat() == f"2026-11-01T01:30:00{offset}"
