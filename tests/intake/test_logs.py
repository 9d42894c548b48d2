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
