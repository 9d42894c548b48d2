"""The temperature of the entering air where nobody knows which air handler it comes from."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analyzer.signals import Scene
from analyzer.trends import in_form
from tests.rules.case_trends import Case, site_of, trends_of


def primary_temp(*supply: dict, air_handler: str = "", **trends) -> float:
    """At noon, of a terminal in a building of several air handlers."""
    schedule = {"air_handler": air_handler}
    parts = []
    for number, points in enumerate(supply, 1):
        case = Case(
            "by hand", {"name": "", "trends": {"zone_temp": 22, **trends}, "schedule": schedule, "air_handler": points}
        )
        parts.append(trends_of(case).air_handlers.assign(air_handler=f"AHU-{number}"))
    there = replace(trends_of(case), air_handlers=in_form(pd.concat(parts)))
    return Scene(there, site_of(case)).value("primary_temp")[12 * 12]


def running(supply_temp: float) -> dict:
    return {"supply_fan_status": 1, "supply_temp": supply_temp}


def test_all_that_run_supply_nearly_the_same():
    assert primary_temp(running(13.0), running(14.0)) == pytest.approx(13.5)


def test_they_supply_too_unlike():
    assert np.isnan(primary_temp(running(13.0), running(15.0)))


def test_one_that_stands_does_not_count():
    assert primary_temp(running(13.0), {"supply_fan_status": 0, "supply_temp": 24.0}) == pytest.approx(13.0)


def test_who_has_an_air_handler_or_a_sensor_goes_by_that():
    assert primary_temp(running(13.0), running(14.0), air_handler="AHU-2") == pytest.approx(14.0)
    assert primary_temp(running(13.0), running(14.0), primary_temp=12.2) == pytest.approx(12.2)
