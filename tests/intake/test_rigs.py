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
