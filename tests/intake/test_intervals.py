"""Rows that stand for an interval, from one stamp to another."""

from __future__ import annotations

import pytest

from tests.intake.folders import read, said, tags, values


def table(head: str, first: str = "{0}", second: str = "{1}") -> str:
    rows = ""
    for n in range(6):
        begin, end = f"2026-01-26 08:{5 * n:02d}", f"2026-01-26 08:{5 * n + 5:02d}"
        rows += "".join(f"{first},{second},VAV-{k},{20 + n}\n".format(begin, end) for k in (1, 2))
    return f"{head},terminal box,room temp avg (degC)\n{rows}"


@pytest.mark.parametrize("head", ["from,to", "Start Time,End Time", "von,bis", "Interval start,Interval end"])
def test_the_begin_of_an_interval_is_its_time(tmp_path, head):
    trends = read(tmp_path, {"averages.csv": table(head)})
    assert tags(trends) == ["VAV-1", "VAV-2"]
    assert str(trends.terminals["time"].iloc[0]) == "2026-01-26 08:00:00+00:00"
    assert values(trends, "VAV-2", "zone_temp") == [20 + n for n in range(6)]
    begin, end = head.split(",")
    assert f"each row stands for an interval; its begin ('{begin}'), not its end ('{end}'), was taken" in said(trends)


def test_the_begin_is_taken_where_the_end_stands_first(tmp_path):
    trends = read(tmp_path, {"averages.csv": table("to,from", "{1}", "{0}")})
    assert str(trends.terminals["time"].iloc[0]) == "2026-01-26 08:00:00+00:00"


def test_a_second_stamp_of_another_meaning_is_no_end(tmp_path):
    trends = read(tmp_path, {"log.csv": table("Time,Uploaded at")})
    assert str(trends.terminals["time"].iloc[0]) == "2026-01-26 08:00:00+00:00"
    assert "interval" not in said(trends)


def test_cells_that_are_tags_among_words_are_notes(tmp_path):
    text = table("Time,End").replace("terminal box", "remarks of the day").replace("VAV-1", "VAV-1 filter changed")
    assert tags(read(tmp_path, {"VAV-9.csv": text.replace("VAV-2", "nothing to report")})) == ["VAV-9"]
