"""Limits and axes of the charts."""

import numpy as np

from analyzer.report.charts import SPECIFICATIONS, chart_specifications, specifications_script
from analyzer.report.scales import flow_limits, panel_reach


def test_flows_that_lie_close_share_one_name():
    schedule = {
        "primary_max": 400.0,
        "primary_min": 100.0,
        "ventilation_min": 104.0,
        "heating_primary": 100.0,
        "fan_flow": np.nan,
    }
    limits = flow_limits(schedule, "si")["limits"]
    assert [value for value, _ in limits] == [100.0, 104.0, 400.0]
    assert [name for _, name in limits] == ["", "heating = minimum 100 · ventilation min. 104 L/s", "maximum 400 L/s"]
    assert flow_limits({"primary_max": None}, "si") == {"limits": [], "inlet_limits": []}


def test_an_inlets_minimum_is_drawn_on_a_chart_of_its_own():
    limits = flow_limits({"primary_max": 400.0, "outdoor_air_inlet_min": 30.0}, "si")
    assert limits == {"limits": [[400.0, "maximum 400 L/s"]], "inlet_limits": [[30.0, "minimum 30 L/s"]]}
    reach = panel_reach({"outdoor_air_flow": {"ends": [0.0, 4.0]}}, limits, "si")
    assert 30 < reach["outdoor_air"][1] < 60


def test_axes_reach_over_limits_and_never_zoom_into_noise():
    quiet = {
        "zone_temp": {"ends": [21.0, 21.2]},
        "primary_flow": {"ends": [0.0, 100.0]},
        "fan_speed": {"ends": [20.0, 90.0]},
    }
    reach = panel_reach(quiet, {"limits": [[400.0, "maximum"]]}, "si")
    assert reach["zone"][1] - reach["zone"][0] >= 5
    assert reach["air"][0] == 0 and reach["air"][1] > 440
    assert reach["position"] == [0, 104]


def test_the_specifications_that_pages_load_are_those_of_the_code():
    assert SPECIFICATIONS.read_text(encoding="utf-8") == specifications_script(), "run python -m tests.make_docs"


def test_the_specifications_satisfy_the_schema():
    import altair as alt

    for specification in chart_specifications().values():
        alt.Chart.from_dict(specification, validate=True)
