"""Interval logs, told from logs of changes."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

import analyzer


@pytest.mark.parametrize(("missing", "late"), [(0.6, 0), (0.0, 100)])
def test_a_status_of_a_poor_poll_is_not_held_between_its_rows(tmp_path, missing, late):
    draw = np.random.default_rng(4)
    time = pd.date_range("2026-03-02", periods=2016, freq="5min") + pd.to_timedelta(
        draw.integers(0, late + 1, 2016), "s"
    )
    rows = pd.DataFrame(
        {
            "Time": time,
            "VAV-1 Zone Temp (degC)": 21 + draw.integers(0, 9, 2016) / 10,
            "VAV-1 Fan Status": np.where(np.arange(2016) % 24 < 9, "On", "Off"),
        }
    )
    rows[draw.random(2016) >= missing].to_csv(tmp_path / "wide.csv", index=False)
    trends = analyzer.read_trends(tmp_path)
    assert (trends.logging[["zone_temp", "fan_status"]] > 0).all(axis=None)
    assert (trends.terminals["fan_status"].isna() == trends.terminals["zone_temp"].isna()).all()


def sparse(path, hits: np.ndarray, time: pd.DatetimeIndex, readings: np.ndarray) -> None:
    """Write a wide table with a row wherever one of its terminals has a cell."""
    rows = pd.DataFrame({"Time": time})
    for terminal, hit in enumerate(hits, 1):
        rows[f"VAV-{terminal} Zone Temp (degC)"] = np.where(hit, readings, np.nan)
    rows[hits.any(axis=0)].to_csv(path / "wide.csv", index=False)


@pytest.mark.parametrize("seed", range(3))
def test_the_busiest_point_of_a_table_of_changes_is_one_of_changes(tmp_path, seed):
    """It fills over a third of the rows, the others few."""
    draw = np.random.default_rng(seed)
    time = pd.date_range("2026-03-02", periods=1440, freq="min")
    often = np.array([0.15, 0.08, 0.08, 0.04, 0.04])[:, None]
    sparse(tmp_path, draw.random((5, 1440)) < often, time, 21 + draw.random(1440))
    trends = analyzer.read_trends(tmp_path)
    assert (trends.logging["zone_temp"] == 0).all()


@pytest.mark.parametrize(("late", "missing"), [(0, 0.55), (100, 0.55), (0, 0.3)])
def test_a_poll_with_empty_cells_and_readings_that_never_repeat_keeps_its_interval(tmp_path, late, missing):
    draw = np.random.default_rng(1)
    time = pd.date_range("2026-03-02", periods=1440, freq="5min")
    time += pd.to_timedelta(draw.integers(0, late + 1, 1440), "s")
    sparse(tmp_path, draw.random((5, 1440)) >= missing, time, 21 + draw.random(1440))
    trends = analyzer.read_trends(tmp_path)
    assert (trends.logging["zone_temp"] > 0).all()
