"""Laboratory exports: rigs in place of terminals, heads that say what each column is, days of the year, seconds since a start."""

from __future__ import annotations

import pandas as pd
import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.site import Site
from tests.intake.folders import read, said, tags, values


@pytest.mark.parametrize(("heading", "rig"), [("rig", "Pruefstand"), ("Test Stand", "Bench"), ("Prüfstand", "Stand")])
def test_a_long_table_of_rigs_in_strict_si(tmp_path, heading, rig):
    times = pd.date_range("2026-03-09 23:00", periods=6, freq="1min")
    signals = [("room_air_temperature", 293.15, "K"), ("primary_volume_flow", 0.1, "m3/s")]
    rows = [
        (t, f"{rig}{n}", name, value + n / 100, unit) for n in (1, 2) for name, value, unit in signals for t in times
    ]
    pd.DataFrame(rows, columns=["timestamp_utc", heading, "signal", "value", "unit"]).to_parquet(
        tmp_path / "log.parquet"
    )
    trends = read_exports([tmp_path], Site(time_zone="Europe/Berlin"))
    assert tags(trends) == [f"{rig}1", f"{rig}2"]
    assert values(trends, f"{rig}2", "zone_temp") == [20.02] * 6
    assert values(trends, f"{rig}1", "primary_flow") == [110] * 6
    assert trends.terminals["time"].min() == pd.Timestamp("2026-03-09 23:00", tz="UTC")


TIMES = pd.date_range("2026-02-23 22:00", periods=8, freq="1h")  # to the day after
POINTS = "VAV-1 Zone Temp (degC)\tVAV-1 Flow (L/s)"


def log(header: str, stamp, *, points: str = POINTS, times: pd.DatetimeIndex = TIMES) -> str:
    """Return a tab-separated log; ``stamp`` makes a row's first cells of its time."""
    rows = [f"{stamp(t)}\t{20 + n / 2}\t{190 + n}" for n, t in enumerate(times)]
    return "\n".join([f"{header}\t{points}", *rows]) + "\n"


def is_right(trends, tag: str = "VAV-1", times: pd.DatetimeIndex = TIMES) -> bool:
    table = trends.terminals
    return (
        table["terminal"].unique().tolist() == [tag]
        and table["time"].dt.tz_localize(None).tolist() == times.tolist()
        and values(trends, tag, "zone_temp") == [20 + n / 2 for n in range(len(times))]
        and values(trends, tag, "primary_flow") == [190 + n for n in range(len(times))]
    )


@pytest.mark.parametrize(
    ("header", "spelling"),
    [
        ("date\tclock", "%Y-%j\t%H:%M:%S"),
        ("Date\tTime", "%Y%j\t%H:%M"),
        ("Time\tYYYY-DDD", "%H:%M\t%Y-%j"),
        ("Year\tDOY\tTime", "%Y\t%j\t%H:%M"),
        ("Year\tJulian Day\tHHMM", "%Y\t%-j\t%-H%M"),
        ("Year\tDay\tHour\tMinute", "%Y\t%-j\t%-H\t%-M"),
        ("Jahr\tTag des Jahres\tUhrzeit", "%Y\t%j\t%H:%M"),
    ],
)
def test_days_of_the_year(tmp_path, header, spelling):
    assert is_right(read(tmp_path, {"run.dat": log(header, lambda t: t.strftime(spelling))}))


@pytest.mark.parametrize(
    ("day", "good"), [("2024-366", True), ("2025-365", True), ("2025-366", False), ("2025-000", False)]
)
def test_a_year_has_so_many_days(tmp_path, day, good):
    text = log("date\tclock", lambda t: f"{day}\t{t:%H:%M}", times=pd.date_range("2024-12-31", periods=4, freq="1h"))
    if good:
        assert values(read(tmp_path, {"run.dat": text}), "VAV-1", "zone_temp") == [20, 20.5, 21, 21.5]
    else:
        with pytest.raises(ExportError, match="no time stamp"):
            read(tmp_path, {"run.dat": text})


def test_days_without_months_are_days_of_the_year_only_past_the_31st(tmp_path):
    text = log("Year\tDay\tTime", lambda t: t.strftime("%Y\t%d\t%H:%M"))  # the month's day, whose month is lost
    with pytest.raises(ExportError, match="no time stamp"):
        read(tmp_path, {"run.dat": text})


CODED = [
    "# c1: degC, room air temperature\n# c2: L/s, primary airflow",
    "c1 = room air temperature, degC\nc2 = primary airflow, L/s",
    "; c1 - Zone temp (degC)\n; c2 - Airflow (L/s)",
    "c1\troom air temperature\tdegC\nc2\tprimary airflow\tL/s",
]


@pytest.mark.parametrize("head", CODED)
def test_lines_above_the_header_say_what_its_columns_are(tmp_path, head):
    text = head + "\n" + log("Time", lambda t: t.strftime("%Y-%m-%d %H:%M"), points="c1\tc2")
    trends = read(tmp_path, {"VAV-1.dat": text})
    assert is_right(trends)
    assert "lines above its header say what 2 of its columns are" in said(trends)
    assert [column.column for file in trends.ledger.files for column in file.columns] == ["c1", "c2"]


def test_two_files_whose_heads_say_otherwise(tmp_path):
    text = "{}\n" + log("Time", lambda t: t.strftime("%Y-%m-%d %H:%M"), points="c1\tc2")
    first = text.format("c1 = VAV-1, zone temperature, degC\nc2 = VAV-1, airflow, L/s")
    second = text.format("c1 = VAV-2, discharge temperature, degC\nc2 = VAV-2, airflow setpoint, L/s")
    trends = read(tmp_path, {"a.txt": first, "b.txt": second})
    assert (
        values(trends, "VAV-1", "zone_temp")
        == values(trends, "VAV-2", "discharge_temp")
        == [20 + n / 2 for n in range(8)]
    )
    assert values(trends, "VAV-1", "primary_flow") == values(trends, "VAV-2", "primary_flow_setpoint")


def test_a_place_before_a_name_stays_with_what_its_line_says(tmp_path):
    points = ["A.x", "A.y", "B.x", "B.y"]
    head = "".join(
        f"# Chamber_{p}: {'degC, room temperature' if p[-1] == 'x' else 'L/s, primary airflow'}\n" for p in points
    )
    rows = "".join(f"{t:%Y-%m-%d %H:%M}\t20\t190\t21\t200\n" for t in TIMES)
    trends = read(tmp_path, {"t.dat": head + "Time\t" + "\t".join(f"Chamber_{p}" for p in points) + "\n" + rows})
    assert tags(trends) == ["Chamber_A", "Chamber_B"]
    assert values(trends, "Chamber_A", "primary_flow") == [190] * 8
    assert values(trends, "Chamber_B", "zone_temp") == [21] * 8


def test_one_line_above_the_header_is_no_list(tmp_path):
    head = "VAV-1 Zone Temp (degC): discharge temperature of last year\n"
    assert is_right(read(tmp_path, {"t.dat": head + log("Time", lambda t: t.strftime("%Y-%m-%d %H:%M"))}))


START = pd.Timestamp("2026-03-07 23:00", tz="America/New_York")  # the clock is put on in the night


@pytest.mark.parametrize(
    ("head", "heading", "unit"),
    [
        ("start = 2026-03-07T23:00:00-05:00", "t_s", 1),
        ("# Test started: 2026-03-07 23:00", "Elapsed Time [s]", 1),
        ("Start time: Mar 7, 2026 11:00:00 PM", "seconds", 1),
        ("Start date: 2026-03-07\nStart time: 23:00", "time_min", 60),
        ("Begin 2026-03-08T04:00:00Z", "Elapsed (h)", 3600),
        ("t0: 2026-03-07 23:00:00 (local)", "t (ms)", 0.001),
        ("Beginn: 07.03.2026 23:00", "Zeit (s)", 1),
        ("Start 03/07/2026 23:00:00 (month/day/year)", "Elapsed (min)", 60),
        ("Dates are DD/MM/YYYY\nStart: 07/03/2026 23:00", "t_s", 1),
    ],
)
def test_counts_from_a_start(tmp_path, head, heading, unit):
    text = (
        head
        + "\n\n"
        + "\n".join([f"{heading}\t{POINTS}", *(f"{n * 1800 / unit:g}\t{20 + n / 2}\t{190 + n}" for n in range(12))])
    )
    trends = read(tmp_path, {"run.txt": text}, Site(time_zone="America/New_York"))
    assert is_right(trends, times=pd.date_range("2026-03-08 04:00", periods=12, freq="30min"))
    assert "counts from a start, which a line above the header tells" in said(trends)


def test_counts_whose_unit_stands_below(tmp_path):
    rows = "".join(f"{n}\t{20 + n / 2}\t{190 + n}\n" for n in range(8))
    text = f"Start: 2026-02-23 22:00\nTime\tVAV-1 Zone Temp\tVAV-1 Flow\nh\tdegC\tL/s\n{rows}"
    assert is_right(read(tmp_path, {"run.txt": text}))


@pytest.mark.parametrize(
    ("head", "heading", "counts"),
    [
        ("Printed 2026-03-04 00:00", "t_s", [0, 60, 120, 180]),  # no start
        ("start = 2026-03-04 00:00\nstart = 2026-03-05 00:00", "t_s", [0, 60, 120, 180]),  # two
        ("start = 2026-03-04", "t_s", [0, 60, 120, 180]),  # of a day
        ("start = 03/04/2026 00:00", "t_s", [0, 60, 120, 180]),  # of March or of April
        ("start = 2026-03-04 00:00", "fan runtime s", [0, 60, 120, 180]),
        ("start = 2026-03-04 00:00", "min", [0, 60, 120, 180]),
        ("start = 2026-03-04 00:00", "t_s", [0, 60, 30, 180]),
        ("start = 2026-03-04 00:00", "t_s", [0, 60]),
    ],
)
def test_what_does_not_count_from_a_start(tmp_path, head, heading, counts):
    rows = "".join(f"{count}\t20.5\t190\n" for count in counts)
    with pytest.raises(ExportError):
        read(tmp_path, {"run.txt": f"{head}\n{heading}\t{POINTS}\n{rows}"})


def test_a_start_above_rows_with_stamps_changes_nothing(tmp_path):
    text = "start = 2026-01-01 00:00\n" + log("Time\tt_s", lambda t: f"{t:%Y-%m-%d %H:%M}\t{(t - TIMES[0]).seconds}")
    assert is_right(read(tmp_path, {"run.txt": text}))


def test_channels_of_two_terminals_without_numbers(tmp_path):
    names = [(tag, name) for tag in ("TERM-L", "TERM-R") for name in ("zone temperature, degC", "primary airflow, L/s")]
    head = "".join(f"ch{n:02d} = {tag}, {name}\n" for n, (tag, name) in enumerate(names, 1))
    rows = "".join(f"{60 * n}\t20\t190\t21\t200\n" for n in range(8))
    text = f"start = 2026-03-04T00:00:00-05:00\n{head}\nt_s\tch01\tch02\tch03\tch04\n{rows}"
    trends = read(tmp_path, {"lane.txt": text})
    assert tags(trends) == ["TERM-L", "TERM-R"]
    assert values(trends, "TERM-R", "zone_temp") == [21] * 8
    assert values(trends, "TERM-L", "primary_flow") == [190] * 8
