"""What the charts get: packed columns that come back as they were, and thinning that loses nothing that matters."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.report.chart_data import TerminalRows, chart_series, clock_changes, fan_starts, occupied_stretches
from analyzer.report.sequence import pack
from analyzer.report.thinning import kept_samples, kept_steps
from tests.report.expanding import expand


@given(st.lists(st.integers(-100_000, 100_000), max_size=60))
def test_numbers_come_back_as_they_were_packed(numbers):
    assert expand(pack(np.array(numbers, dtype=np.int64))).tolist() == numbers


def test_a_steady_column_is_packed_as_a_few_runs():
    assert pack(np.arange(0, 2016 * 300, 300)) == {"r": [0, 1, 300, 2015]}
    assert pack(np.array([5, 5, 5, 5, 5, 7, 7, 7, 7])) == {"r": [5, 1, 0, 4, 2, 1, 0, 3]}


def test_a_week_at_five_minutes_is_drawn_in_full():
    values = np.sin(np.arange(2016))
    assert len(kept_samples(values, np.zeros(2016, dtype=bool))) == 2016


@given(st.integers(0, 2**32 - 1), st.integers(2601, 60_000))
def test_thinning_keeps_the_extremes_of_every_stretch(seed, n):
    values = np.random.default_rng(seed).normal(size=n).cumsum()
    keep = kept_samples(values, np.zeros(n, dtype=bool))
    assert len(keep) <= 2602
    assert {0, n - 1} <= set(keep.tolist())
    size = -(-n // 1300)
    for first in range(0, n, size):
        own = keep[(keep >= first) & (keep < first + size)]
        assert values[own].max() == values[first : first + size].max()
        assert values[own].min() == values[first : first + size].min()


def test_thinning_keeps_both_shores_of_a_gap():
    gaps = np.zeros(10_000, dtype=bool)
    gaps[4321] = True
    assert {4320, 4321} <= set(kept_samples(np.ones(10_000), gaps).tolist())


def test_a_held_series_keeps_every_change():
    values = np.array([0, 0, 1, 1, 0, 0, 0, 1])
    assert kept_steps(values, np.zeros(8, dtype=bool)).tolist() == [0, 2, 4, 7]


def _rows(columns: dict, every: int = 300, intervals: dict | None = None) -> TerminalRows:
    n = len(next(iter(columns.values())))
    return TerminalRows(
        np.arange(n) * every + 1_000_000, {k: np.asarray(v, float) for k, v in columns.items()}, intervals or {}
    )


def _unpacked(packed: dict) -> tuple[list, list]:
    return expand(packed["times"]).tolist(), (expand(packed["values"]) / packed["scale"]).tolist()


@pytest.mark.parametrize(("units", "shown"), [("si", [21.11, 21.17, 20.0]), ("ip", [70.0, 70.1, 68.0])])
def test_values_are_rounded_in_the_units_of_the_site(units, shown):
    rows = _rows({"zone_temp": [21.1111, 21.1667, 20.0]})
    times, values = _unpacked(chart_series(rows, units, 1_000_000)["zone_temp"])
    assert values == pytest.approx(shown)
    assert times == [0, 300, 600]


def test_a_slower_point_is_one_line_and_a_gap_breaks_it():
    every_third = [20.0, np.nan, np.nan] * 10
    packed = chart_series(_rows({"primary_temp": every_third}, intervals={"primary_temp": 900.0}), "si", 1_000_000)
    assert packed["primary_temp"]["breaks"] == []
    gap = [20.0, 20.1, *[np.nan] * 5, 20.2, 20.3]
    packed = chart_series(_rows({"zone_temp": gap}, intervals={"zone_temp": 300.0}), "si", 1_000_000)["zone_temp"]
    assert packed["breaks"] == [2]
    assert _unpacked(packed)[0] == [0, 300, 2100, 2400]


def test_a_short_gap_does_not_break_a_line():
    short = [20.0, np.nan, np.nan, 20.2]
    packed = chart_series(_rows({"zone_temp": short}, intervals={"zone_temp": 300.0}), "si", 1_000_000)
    assert packed["zone_temp"]["breaks"] == []


def test_breaks_stay_where_they_are_when_a_year_is_thinned():
    values = np.sin(np.arange(60_000) / 50)
    values[30_000:30_200] = np.nan
    packed = chart_series(_rows({"discharge_temp": values}), "si", 1_000_000)["discharge_temp"]
    times = expand(packed["times"])
    assert len(packed["breaks"]) == 1
    at = packed["breaks"][0]
    assert (times[at - 1] // 300, times[at] // 300) == (29_999, 30_200)
    assert len(times) < 2700


def test_every_fan_start_is_kept_however_long_the_period():
    starts = np.zeros(100_000)
    starts[[5, 6, 50_000, 99_999]] = [1, 3, 1, 2]
    rows = _rows({"fan_status": np.ones(100_000), "fan_starts": starts})
    assert fan_starts(rows, 1_000_000) == [[1500, 1], [1800, 3], [15_000_000, 1], [29_999_700, 2]]
    assert fan_starts(_rows({"zone_temp": [1.0]}), 0) == []


def test_a_series_without_a_value_is_left_out():
    assert "co2" not in chart_series(_rows({"co2": [np.nan, np.nan]}), "si", 0)


def test_occupied_stretches_end_with_the_row_after():
    rows = _rows({"occupied": [0, 1, 1, 0, np.nan, 1]})
    assert occupied_stretches(rows, 1_000_000) == [[300, 900], [1500, 1800]]
    assert occupied_stretches(_rows({"occupied": [0, 0]}), 0) == []


def test_the_wall_clock_knows_the_night_on_which_it_is_turned():
    start, end = pd.Timestamp("2026-03-06", tz="UTC"), pd.Timestamp("2026-03-12", tz="UTC")
    turned = int(pd.Timestamp("2026-03-08 08:00", tz="UTC").timestamp())  # 2 h local, -6 h -> -5 h
    changes = clock_changes(start, end, "America/Chicago")
    assert changes == [[int(start.timestamp()), -6 * 3600], [turned, -5 * 3600]]
    assert clock_changes(start, end, "UTC") == [[int(start.timestamp()), 0]]
