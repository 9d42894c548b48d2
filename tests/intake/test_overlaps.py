"""One point in several files: one after the other, over each other, and logged two ways at once."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.site import Site

HEAD = "Time,FPB-1 ZN-T (degF),FPB-1 FAN STS,VAV-2 FLOW (cfm)\n"
CHANGES = "Time,Point,Value\n"


def rows(days: int) -> list[str]:
    times = pd.date_range("2026-01-05", periods=days * 96, freq="15min")
    random = np.random.default_rng(3)
    zone, fan, flow = (
        random.integers(66, 76, len(times)),
        random.integers(0, 2, len(times)),
        random.integers(90, 900, len(times)),
    )
    return [f"{t},{z},{'On' if f else 'Off'},{c}\n" for t, z, f, c in zip(times, zone, fan, flow, strict=True)]


def read(folder, **files):
    for name, text in files.items():
        (folder / f"{name}.csv").write_text(text)
    return read_exports([folder], Site())


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return read(tmp_path_factory.mktemp("whole"), one=HEAD + "".join(rows(4)))


def test_a_file_a_day_reads_like_one_file(tmp_path, whole):
    lines = rows(4)
    days = {f"day{n}": HEAD + "".join(lines[96 * n : 96 * (n + 1)]) for n in (2, 0, 3, 1)}
    trends = read(tmp_path, **days)
    pd.testing.assert_frame_equal(trends.terminals, whole.terminals)
    pd.testing.assert_frame_equal(trends.logging, whole.logging)
    assert trends.ledger.set_aside == {}


def test_days_that_overlap_read_like_one_file_and_count_the_doubles(tmp_path, whole):
    lines = rows(4)
    trends = read(tmp_path, a=HEAD + "".join(lines[:200]), b=HEAD + "".join(lines[150:]))
    pd.testing.assert_frame_equal(trends.terminals, whole.terminals)
    assert trends.ledger.set_aside == {"duplicate timestamp": 150}
    assert trends.ledger.cells_used == whole.ledger.cells_used


def test_rows_in_any_order_read_like_one_file(tmp_path, whole):
    lines = rows(4)
    np.random.default_rng(1).shuffle(lines)
    pd.testing.assert_frame_equal(read(tmp_path, one=HEAD + "".join(lines)).terminals, whole.terminals)


def changes(*events: tuple[str, str]) -> str:
    return CHANGES + "".join(f"2026-01-05 {time},FPB-1 FAN STS,{state}\n" for time, state in events)


BURST = (
    ("00:01:00", "Off"),
    ("00:02:10", "On"),
    ("00:03:00", "Off"),
    ("00:04:30", "On"),
    ("00:16:00", "Off"),
    ("00:21:40", "On"),
)


def test_changes_in_several_files_are_one_log(tmp_path):
    one = read(tmp_path, one=changes(*BURST))
    (tmp_path / "one.csv").unlink()
    two = read(tmp_path, a=changes(*BURST[:3]), b=changes(*BURST[3:]))
    pd.testing.assert_frame_equal(one.terminals, two.terminals)
    assert one.terminals["fan_starts"].tolist() == [0, 0, 0, 0, 1]  # two starts stand before the first row


def test_a_status_logged_both_ways_is_taken_from_its_changes_and_a_measurement_from_its_interval(tmp_path):
    lines = [f"2026-01-05 00:{m:02d}:00,{70 + m % 3},Off,100\n" for m in range(0, 60, 5)]
    zone = "".join(
        f"2026-01-05 00:{m:02d}:07,FPB-1 ZN-T (degF),{60 + m}\n" for m in (2, 9, 11, 17, 23, 24, 31, 38, 44, 53)
    )
    trends = read(tmp_path, table=HEAD + "".join(lines), log=changes(*BURST) + zone)
    terminal = trends.terminals[trends.terminals["terminal"] == "FPB-1"]
    assert terminal["zone_temp"].max() < 23
    assert terminal["fan_starts"].tolist()[:6] == [0, 2, 0, 0, 0, 1]
    told = trends.ledger
    # Within the changes' span: the table's statuses from 00:05 to 00:20. Within the table's: every change of the zone.
    assert told.set_aside == {"duplicate timestamp": 4 + 10}
    assert any("both at an interval and on change of value" in said for said in told.assumptions)


def test_files_that_hold_other_values_of_one_point_at_the_same_moments_are_told(tmp_path):
    lines = rows(2)
    other = [line.rsplit(",", 1)[0] + ",50\n" for line in lines[:120]]  # other values of the last column
    trends = read(tmp_path, a=HEAD + "".join(lines), b=HEAD + "".join(other))
    told = [sentence for sentence in trends.ledger.assumptions if "other values of one point" in sentence]
    assert len(told) == 1 and "VAV-2 primary_flow (" in told[0] and "a.csv" in told[0] and "b.csv" in told[0]
    assert "zone_temp" not in told[0]
    assert trends.terminals["primary_flow"].notna().sum() == len(lines) - 120


def test_conflicts_within_one_file_are_counted_and_not_told_of_files(tmp_path):
    lines = rows(1)
    trends = read(tmp_path, a=HEAD + "".join([*lines, lines[5].rsplit(",", 1)[0] + ",50\n"]))
    assert trends.ledger.set_aside["duplicate timestamp"] == 4
    assert not any("other values of one point" in sentence for sentence in trends.ledger.assumptions)


def test_an_empty_cell_leaves_what_the_file_before_it_holds_of_the_slot(tmp_path):
    day = [f"2026-01-05 {n // 4:02d}:{n % 4 * 15:02d}:00,{20 + n % 3}\n" for n in range(96)]
    head = "Time,VAV-1 ZN-T (degC)\n"
    late = "2026-01-05 23:59:57,25\n"  # belongs to midnight
    again = ["2026-01-06 00:00:00,\n", *(line.replace("-05 ", "-06 ") for line in day[1:])]
    table = read(tmp_path, a=head + "".join(day) + late, b=head + "".join(again)).terminals
    at_midnight = table.loc[table["time"] == pd.Timestamp("2026-01-06", tz="UTC"), "zone_temp"]
    assert at_midnight.tolist() == [25.0]


def merged(twice: int) -> str:
    """Two terminals of two points each, ``twice`` of which stand twice at every moment, each time with other values."""
    lines = []
    for n, time in enumerate(pd.date_range("2026-01-05", periods=20, freq="15min")):
        for k, point in enumerate(("VAV-1 ZN-T (degF)", "VAV-1 FLOW (cfm)", "VAV-2 ZN-T (degF)", "VAV-2 FLOW (cfm)")):
            lines += [f"{time},{point},{68 + (n + 3 * again) % 7}\n" for again in range(1 + (k < twice))]
    return CHANGES + "".join(lines)


def test_a_file_that_contradicts_itself_throughout_is_refused(tmp_path):
    with pytest.raises(ExportError, match="holds several values of one point at one moment, nearly throughout"):
        read(tmp_path, merged=merged(4))


def test_one_point_that_contradicts_itself_is_rejected_alone(tmp_path):
    trends = read(tmp_path, merged=merged(1))
    assert trends.ledger.set_aside == {"duplicate timestamp": 40}
    assert trends.ledger.cells_used == 60


def test_rows_that_stand_twice_alike_are_no_contradiction(tmp_path):
    text = merged(0)
    assert read(tmp_path, merged=text + text.removeprefix(CHANGES)).ledger.cells_used == 80
