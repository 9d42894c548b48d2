"""The tool that holds sentences against raw columns finds what is untrue, and lets what is true stand."""

import pandas as pd
import pytest

from tests.sentences import _contradictions, _untrue

MOMENTS = pd.date_range("2026-01-12", periods=100, freq="15min", tz="America/Chicago")
ROWS = pd.DataFrame({"zone_temp": [20.0] * 14 + [None] * 86, "primary_flow": 90.0}, index=MOMENTS)


@pytest.mark.parametrize(
    ("reason", "untrue"),
    [
        ("missing: the trend discharge_temp", 0),
        ("missing: the trend primary_flow and the trend discharge_temp; besides", 1),
        ("zone_temp has 14 samples of 100, the last on 2026-01-12 03:15", 0),
        ("zone_temp has 15 samples of 100", 1),
        ("zone_temp has 14 samples of 100, the last on 2026-01-13 03:15", 1),
        ("no fault in 20.0 h judged; more could be judged with the trend primary_flow", 0),
    ],
)
def test_reasons(reason, untrue):
    assert len(_untrue(reason, ROWS)) == untrue


def test_hours_of_a_finding():
    assert _contradictions({"fault_hours": 20.0}, 20.5) == []
    assert len(_contradictions({"fault_hours": 20.0}, 23.0)) == 1
