"""Rows laid as stretches and rows laid one by one come to the same table."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

import analyzer
from analyzer.intake.grid import lanes


def _long_export(folder, drop: float, jitter: int, again: float) -> None:
    """Write a long export: five-minute samples, some missing, stamps some seconds late, some logged again soon after."""
    draw = np.random.default_rng(7)
    moments = pd.date_range("2026-03-02", periods=2000, freq="5min")
    parts = []
    for point, base in (("VAV-1 Zone Temp", 21.0), ("VAV-1 Primary Flow", 300.0), ("VAV-2 Zone Temp", 22.0)):
        part = pd.DataFrame({"Time": moments, "Point": point, "Value": base + draw.integers(0, 20, len(moments)) / 10})
        part = part[draw.random(len(part)) >= drop]
        soon = part[draw.random(len(part)) < again].copy()
        soon["Time"] += pd.Timedelta(70, "s")
        part = pd.concat([part, soon])
        part["Time"] += pd.to_timedelta(draw.integers(0, jitter + 1, len(part)), unit="s")
        parts.append(part)
    pd.concat(parts).sort_values("Time", kind="stable").to_csv(folder / "long.csv", index=False)


@pytest.mark.parametrize("drop", [0.0, 0.004, 0.03])
@pytest.mark.parametrize("jitter", [0, 25])
@pytest.mark.parametrize("again", [0.0, 0.03])
def test_stretches_and_single_rows_come_to_the_same(tmp_path, monkeypatch, drop, jitter, again):
    _long_export(tmp_path, drop, jitter, again)
    read, laid = [], []
    lay = lanes.lay_lanes

    def seen(*args):
        laid.append(lay(*args))
        return laid[-1]

    monkeypatch.setattr("analyzer.intake.grid.normalize.lay_lanes", seen)
    for shortest in (1, 10**9):  # rows of a stretch: a lane is cut at its gaps, or ragged if it has one
        monkeypatch.setattr(lanes, "_LONG", shortest)
        read.append(analyzer.read_trends(tmp_path))
    pd.testing.assert_frame_equal(read[0].terminals, read[1].terminals)
    assert laid[0].straight.all() == (not again)
    assert laid[1].straight.all() == (not again and not drop)
    held = int(read[0].terminals[["zone_temp", "primary_flow"]].notna().sum().sum())
    used = sum(file.cells_used for file in read[0].ledger.files)
    assert held == used if not again else 0.96 * used < held < used  # of two in one slot the later stays
