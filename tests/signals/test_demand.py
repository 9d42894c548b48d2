"""What terminals ask of their air handler: counted over all of them, and over those of no known air handler."""

import numpy as np
import pytest

from analyzer.engine.building import judge_building
from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.signals import Scene
from analyzer.signals.demand import demand_at, demand_of_nobodys
from tests.rules.case_trends import Case, site_of, trends_of

RUNS = "air-handler-runs-unoccupied"
RULES = {RUNS: read_rules([rule_book()])[RUNS]}
CONTENT = {"zone_temp": 21, "heating_setpoint": 16, "cooling_setpoint": 29}
COLD = CONTENT | {"zone_temp": 16.2}
FULL = {"damper_position": 100, "primary_flow": 150, "primary_flow_setpoint": 200}


def built(trends: list[dict], nobodys=()):
    """Terminals over four days at a quarter of an hour, on an air handler that runs all the time; some on none."""
    case = Case(
        RUNS,
        {
            "name": "by hand", "days": 4, "interval": "15 min", "trends": trends[0], "companions": trends[1:],
            "air_handler": {"supply_fan_status": 1},
        },
    )  # fmt: skip
    site = site_of(case)
    site.schedule.loc[list(nobodys), "air_handler"] = None
    return Scene(trends_of(case), site)


@pytest.mark.parametrize(
    ("second", "nobodys", "verdict"),
    [(CONTENT, (), "fault"), (COLD, (), "clear"), (COLD, ("TU-2",), "clear"), (CONTENT, ("TU-2",), "fault")],
    ids=["nobody calls", "one calls", "one of no known air handler calls", "one of none is content"],
)
def test_a_call_of_a_zone_that_may_hang_on_it_is_a_reason_to_run(second, nobodys, verdict):
    told = judge_building(built([CONTENT, second], nobodys), RULES).verdicts
    assert told.loc[told["terminal"] == "AHU-1", "verdict"].tolist() == [verdict]


def test_counts_are_those_of_the_air_handler_and_of_nobodys_apart():
    scene = built([FULL, FULL, COLD, FULL], ("TU-4",))
    own = scene.code == 0
    assert set(demand_at(scene, "damper_full")[own]) == {2.0}
    assert set(demand_at(scene, "cold")[own]) == {1.0}
    assert set(demand_of_nobodys(scene, "damper_full")[own]) == {1.0}
    assert np.isnan(demand_at(scene, "present")[scene.code == 3]).all()


def test_a_damper_that_holds_its_flow_at_full_opening_asks_for_nothing():
    held = FULL | {"primary_flow": 199}
    assert set(demand_at(built([FULL, held]), "damper_full")) == {1.0}


def test_without_a_flow_setpoint_a_zone_too_warm_wants_its_air():
    warm = {"damper_position": 100, "primary_flow": 150, "zone_temp": 25, "cooling_setpoint": 24}
    assert set(demand_at(built([warm, warm | {"zone_temp": 24.2}]), "damper_full")) == {1.0}
