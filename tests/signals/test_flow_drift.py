"""The damper curve compares days whose damper stood about alike, and no others."""

import numpy as np
import pytest

from analyzer.signals import Scene
from tests.rules.case_trends import Case, site_of, trends_of


def drift_of_the_last_day(opening: float, flow: float) -> float:
    """Three days at about 60 % with 200 L/s, then a day at another opening and flow; return what the curve makes of it."""
    told = {"name": "by hand", "days": 4, "trends": {"primary_flow": 200, "damper_position": 60}}
    case = Case("flow-sensor-drift", told)
    trends = trends_of(case)
    table = trends.terminals
    last = (table["time"] >= table["time"].iloc[0] + 3 * (table["time"].iloc[288] - table["time"].iloc[0])).to_numpy()
    table.loc[last, "damper_position"], table.loc[last, "primary_flow"] = opening, flow
    return Scene(trends, site_of(case)).value("drift_by_damper_curve")[-1]


def test_the_same_opening_with_a_fifth_less_flow():
    assert drift_of_the_last_day(60.0, 160.0) == pytest.approx(-0.2, abs=0.01)


def test_somewhat_further_shut_is_compared_still():
    assert not np.isnan(drift_of_the_last_day(22.0, 60.0))


def test_nearly_shut_is_not_compared_with_well_open():
    assert np.isnan(drift_of_the_last_day(12.0, 20.0))
