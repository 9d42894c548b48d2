"""Whether a terminal has an air handler's air: by its points where they can be believed, else by what terminals show."""

import numpy as np
import pytest

from analyzer.signals import Scene
from tests.rules.case_trends import Case, site_of, trends_of

USUAL = {"damper_position": 45, "primary_flow_setpoint": 200, "primary_flow": 200}
LOST = {
    "damper_position": {"00:00": 45, "day 3 10:00": 100, "day 3 15:00": "usual"},
    "primary_flow_setpoint": 200,
    "primary_flow": {"00:00": 200, "day 3 10:00": 0, "day 3 15:00": "usual"},
}
DURING, BEFORE, AFTER = 2 * 96 + 48, 2 * 96 + 36, 2 * 96 + 64  # quarter hours: noon, nine and four of the third day
RUNNING = {"supply_fan_status": 1, "duct_static_pressure": 250}


def scene(trends: list[dict], air_handler: dict | None = None, **told) -> Scene:
    """Three days at a quarter of an hour."""
    case = {"name": "by hand", "days": 3, "interval": "15 min", "trends": trends[0], "companions": trends[1:]} | told
    if air_handler:
        case["air_handler"] = air_handler
    case = Case("starved-terminal", case)
    return Scene(trends_of(case), site_of(case))


def at(built: Scene, name: str, row: int) -> list[float]:
    """A signal of every terminal at one of its rows."""
    return built.value(name)[built.first[:-1] + row].tolist()


def test_an_outage_goes_before_points_that_stand_frozen_at_on():
    built = scene([LOST] * 6, RUNNING)
    assert at(built, "air_available", DURING) == at(built, "supply_air_on", DURING) == [0.0] * 6
    for row in (BEFORE, AFTER):
        assert at(built, "air_available", row) == at(built, "supply_air_on", row) == [1.0] * 6


def test_a_terminal_that_keeps_its_reading_in_an_outage_has_no_air_to_be_expected_and_no_known_zero():
    built = scene([LOST] * 6 + [USUAL], RUNNING)
    assert at(built, "air_available", DURING)[-1] == 0.0
    assert np.isnan(at(built, "supply_air_on", DURING)[-1])


def test_two_terminals_without_air_among_eight_are_no_outage():
    built = scene([LOST] * 2 + [USUAL] * 6, RUNNING)
    assert at(built, "air_available", DURING) == at(built, "supply_air_on", DURING) == [1.0] * 8


def test_of_terminals_without_an_air_handler_those_that_fell_together_have_no_air():
    built = scene([LOST] * 5 + [USUAL] * 4, schedule={"air_handler": ""})
    assert at(built, "air_available", DURING) == [0.0] * 5 + [1.0] * 4


def test_a_status_that_says_off_for_hours_while_its_terminals_have_their_air_is_not_believed():
    built = scene([USUAL] * 4, {"supply_fan_status": 0})
    assert at(built, "supply_air_on", DURING) == [1.0] * 4


def test_one_terminal_is_too_few_to_say_so():
    built = scene([USUAL], {"supply_fan_status": 0})
    assert at(built, "supply_air_on", DURING) == [0.0]


def test_nothing_flows_anywhere_and_nothing_is_asked_for():
    shut = {name: {"00:00": 0} for name in USUAL}
    assert at(scene([shut] * 4), "supply_air_on", DURING) == [0.0] * 4
    assert at(scene([shut] * 4, RUNNING), "supply_air_on", DURING) == [1.0] * 4  # its own points tell


def test_without_flows_nothing_is_known_and_air_is_expected():
    built = scene([{"zone_temp": 21}] * 4)
    assert np.isnan(at(built, "supply_air_on", DURING)).all()
    assert at(built, "air_available", DURING) == [1.0] * 4


@pytest.mark.parametrize("interval", ["1 min", "5 min", "30 min"])
def test_it_is_the_same_however_often_it_is_logged(interval):
    built = scene([LOST] * 6, RUNNING, interval=interval)
    per_quarter = 15 / float(interval.split()[0])
    assert at(built, "air_available", int(DURING * per_quarter)) == [0.0] * 6
    assert at(built, "air_available", int(BEFORE * per_quarter)) == [1.0] * 6


@pytest.mark.parametrize(("pressure", "on"), [("250 with noise 5", 1.0), (250, 0.0)])
def test_who_gets_no_air_by_and_by_has_a_shut_damper_while_the_air_handlers_points_are_live(pressure, on):
    """By night they come to ask for a little air one after another and get none; frozen points prove nothing."""

    def terminal(hour: int) -> dict:
        usual = {"00:00": 0, "06:00": 200, "18:00": 0}
        return {
            "damper_position": {"00:00": 0, "06:00": 45, "18:00": 0, f"day 3 0{hour}:00": 20, "day 3 06:00": "usual"},
            "primary_flow_setpoint": usual | {f"day 3 0{hour}:00": 40, "day 3 06:00": "usual"},
            "primary_flow": usual,
        }

    points = {"supply_fan_status": 1, "duct_static_pressure": pressure, "supply_fan_speed": 40}
    built = scene([terminal(hour) for hour in (0, 1, 2, 0, 1, 2)], points)
    assert at(built, "supply_air_on", 2 * 96 + 18) == [on] * 6
