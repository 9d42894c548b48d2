"""Laboratory exports: rigs in place of terminals, heads that say what each column is, days of the year, seconds since a start."""

from __future__ import annotations

import pandas as pd
import pytest

from analyzer.intake import read_exports
from analyzer.site import Site
from tests.intake.folders import tags, values


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
