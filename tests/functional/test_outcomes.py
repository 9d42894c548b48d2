"""Steps of functional tests: what has to follow each, how soon it did, and why something was not judged."""

import math

import numpy as np
import pytest

from analyzer.errors import SiteError
from analyzer.functional.limits import response_limits
from analyzer.functional.responses import FAIL, NOT_JUDGED, NOTHING_EXPECTED, PASS
from analyzer.signals.steps import follow, steps_of
from tests.functional.tests_told import judged, told_site

SETPOINT = {"00:00": 100, "09:00": 200, "12:00": 100}


def stepped(minutes: int, beyond: float = 200.0) -> dict:
    """Flow that follows the setpoint so many minutes after its step, straight away to a value and then to 200."""
    return {"00:00": 100, f"09:{minutes:02d}": beyond, f"09:{minutes + 3:02d}": 200, "12:00": 100}


def one(outcomes, quantity: str = "primary airflow"):
    (own,) = [own for own in outcomes if own.quantity == quantity]
    return own


@pytest.mark.parametrize(
    ("minutes", "result", "least", "most"),
    [
        # Airflow has 5 min; samples every minute leave the time open by two: of the step, and of what follows.
        (0, PASS, 0, 1), (4, PASS, 3, 5), (5, NOT_JUDGED, 4, 6), (6, NOT_JUDGED, 5, 7), (7, FAIL, 6, 8), (30, FAIL, 29, 31),
    ],
)  # fmt: skip
def test_airflow_has_to_follow_its_setpoint_within_the_limit(minutes, result, least, most):
    own = one(judged({"primary_flow_setpoint": SETPOINT, "primary_flow": stepped(minutes)}))
    assert (own.result, own.least / 60, own.most / 60) == (result, least, most)
    assert own.step == "airflow setpoint 100 to 200\u202fL/s" and own.overshoot == 0
    if result == NOT_JUDGED:
        assert "sampling too coarse: every 1\u202fmin" in own.reason


@pytest.mark.parametrize(("beyond", "result"), [(224, PASS), (226, FAIL)])
def test_an_overshoot_of_more_than_a_quarter_of_the_step_fails(beyond, result):
    own = one(judged({"primary_flow_setpoint": SETPOINT, "primary_flow": stepped(2, beyond)}))
    assert own.result == result and own.overshoot == pytest.approx(beyond - 200)


def test_an_overshoot_within_the_tolerance_is_noise():
    trends = {"primary_flow_setpoint": {"00:00": 400, "09:00": 500}, "primary_flow": {"00:00": 400, "09:01": 530}}
    own = one(judged(trends))
    assert own.overshoot == pytest.approx(30) and own.result == PASS


def test_a_log_that_is_too_coarse_judges_neither_time_nor_overshoot():
    own = one(judged({"primary_flow_setpoint": SETPOINT, "primary_flow": stepped(0)}, interval="15 min"))
    assert own.result == NOT_JUDGED and "every 15\u202fmin tells under 15\u202fmin" in own.reason
    own = one(judged({"primary_flow_setpoint": SETPOINT, "primary_flow": stepped(0)}, interval="5 min"))
    assert own.result == PASS and own.reason == "overshoot not judged: sampled every 5\u202fmin"


@pytest.mark.parametrize(
    ("trends", "reason"),
    [
        ({"primary_flow_setpoint": SETPOINT}, "primary airflow is not trended"),
        ({"primary_flow_setpoint": SETPOINT, "primary_flow": {"00:00": 100, "08:59": "none", "12:00": 100}}, "no sample"),
        ({"primary_flow_setpoint": SETPOINT, "primary_flow": 200}, "the airflow was there before the step"),
        (
            {"primary_flow_setpoint": {"00:00": 100, "09:00": 200, "09:04": 300}, "primary_flow": 100},
            "not settled in the window: it was moved again 3\u202fmin after the step",
        ),
        (
            {"primary_flow_setpoint": {"00:00": 100, "11:57": 200}, "primary_flow": 100},
            "the test or its log ended 2\u202fmin after the step",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_judged_says_why(trends, reason):
    own = judged(trends)[0]
    assert own.result == NOT_JUDGED and reason in own.reason


def test_without_air_from_the_air_handler_nothing_can_follow():
    trends = {"primary_flow_setpoint": SETPOINT, "primary_flow": {"00:00": 100, "08:30": 0}}
    air = {"supply_fan_status": {"00:00": 1, "08:30": 0}, "duct_static_pressure": {"00:00": 250, "08:30": 0}}
    own = one(judged(trends, air_handler=air))
    assert (own.result, own.reason) == (NOT_JUDGED, "the air handler delivered no air at that time")


def test_a_setpoint_that_ramps_is_no_step():
    trends = {"primary_flow_setpoint": "100 to 500", "primary_flow": 100}
    assert judged(trends) == []


def test_a_damper_that_is_commanded_moves_the_airflow():
    trends = {"damper_position": {"00:00": 20, "09:00": 100}, "primary_flow": {"00:00": 100, "09:03": 300}}
    own = one(judged(trends))
    assert (own.kind, own.result, own.step) == ("damper", PASS, "damper 20 to 100\u202f%")
    still = one(judged(trends | {"primary_flow": 100}))
    assert still.result == FAIL and still.reason == "primary airflow went from 100\u202fL/s to 100\u202fL/s"
    small = one(judged({"damper_position": {"00:00": 60, "09:00": 100}, "primary_flow": 300}))
    assert small.result == NOT_JUDGED and "changed too little" in small.reason


def test_a_damper_that_follows_its_setpoint_is_no_step_of_its_own():
    trends = {
        "primary_flow_setpoint": SETPOINT,
        "primary_flow": stepped(2),
        "damper_position": {"00:00": 20, "09:01": 70},
    }
    assert {own.kind for own in judged(trends)} == {"flow setpoint"}


def test_reheat_that_is_commanded_warms_the_discharge():
    trends = {"reheat_position": {"00:00": 0, "09:00": 100}, "primary_flow": 150}
    warm = one(judged(trends | {"discharge_temp": {"00:00": 13, "09:04": 30}}), "discharge temperature")
    assert warm.result == PASS and math.isnan(warm.overshoot)
    slow = one(judged(trends | {"discharge_temp": {"00:00": 13, "09:25": 30}}), "discharge temperature")
    assert slow.result == FAIL
    cold = one(judged(trends | {"discharge_temp": 13}), "discharge temperature")
    assert cold.result == FAIL and cold.reason == "discharge temperature went from 13.0\u202f°C to 13.0\u202f°C"
    more = {"primary_flow": {"00:00": 150, "09:00": 600}, "discharge_temp": 13}
    assert "airflow changed" in one(judged(trends | more), "discharge temperature").reason
    still = one(judged(trends | {"primary_flow": 0, "discharge_temp": 13}), "discharge temperature")
    assert still.reason == "no air moved through the terminal"


@pytest.mark.parametrize(("minute", "result"), [("09:01", PASS), ("09:05", FAIL)])
def test_a_fan_follows_its_command(minute, result):
    trends = {"fan_command": {"00:00": 0, "09:00": 1}, "fan_status": {"00:00": 0, minute: 1}}
    own = one(judged(trends, schedule={"kind": "parallel"}), "fan status")
    assert (own.kind, own.expected, own.result) == ("fan", "runs", result)


def test_a_zone_setpoint_step_to_heating_opens_the_reheat():
    trends = {
        "zone_temp": 21.0, "heating_setpoint": {"00:00": 20, "09:00": 24}, "cooling_setpoint": {"00:00": 24, "09:00": 27},
        "reheat_position": {"00:00": 0, "09:02": 8, "09:06": 15}, "discharge_temp": {"00:00": 14, "09:08": 22},
        "primary_flow": 100,
    }  # fmt: skip
    found = judged(trends, schedule={"reheat": "hot-water"})
    assert {own.kind for own in found} == {"heating"}
    assert found[0].step == "heating setpoint 20.0 to 24.0\u202f°C; cooling setpoint 24.0 to 27.0\u202f°C"
    assert [(own.quantity, own.result) for own in found] == [
        ("discharge temperature", PASS), ("reheat position", PASS),
    ]  # fmt: skip
    cold = one(judged(trends | {"reheat_position": 0}, schedule={"reheat": "hot-water"}), "reheat position")
    assert cold.result == FAIL and "not there" in cold.reason


def test_an_unoccupied_step_shuts_the_reheat_and_a_step_after_which_nothing_moves_says_so():
    trends = {
        "zone_temp": 21.0, "occupied": {"00:00": 1, "09:00": 0}, "primary_flow": 100,
        "heating_setpoint": {"00:00": 22, "09:00": 16}, "cooling_setpoint": {"00:00": 24, "09:00": 29},
        "reheat_position": {"00:00": 40, "09:04": 0},
    }  # fmt: skip
    own = [own for own in judged(trends, schedule={"reheat": "hot-water"}) if own.kind == "unoccupied"]
    assert [(found.quantity, found.expected, found.result) for found in own] == [("reheat position", "shuts", PASS)]
    assert own[0].step.startswith("occupied to unoccupied; heating setpoint 22.0 to 16.0")
    idle = judged(trends | {"reheat_position": 0}, schedule={"reheat": "hot-water"})
    assert [(found.kind, found.result) for found in idle] == [("unoccupied", NOTHING_EXPECTED)]


def test_an_expected_step_that_is_not_there_is_not_judged():
    trends = {"primary_flow_setpoint": SETPOINT, "primary_flow": stepped(2)}
    found = judged(trends, ("flow setpoint", "heating"))
    assert [(own.kind, own.result) for own in found] == [("flow setpoint", PASS), ("heating", NOT_JUDGED)]
    assert found[1].reason == "no such step in the trends of the window" and found[1].time is None


def test_steps_outside_the_window_are_no_steps_of_the_test():
    trends = {"primary_flow_setpoint": {"00:00": 100, "07:00": 200, "12:30": 100}, "primary_flow": 100}
    assert judged(trends) == []


def test_a_limit_of_the_site_file_counts_and_a_wrong_one_is_refused():
    trends = {"primary_flow_setpoint": SETPOINT, "primary_flow": stepped(8)}
    assert one(judged(trends)).result == FAIL
    assert one(judged(trends, changes={"airflow_within": "10 min"})).result == PASS
    for changes, told in (
        ({"airflow_withn": "10 min"}, r"response.airflow_withn: there is no such limit \(did you mean 'airflow_within'"),
        ({"airflow_within": "2 h"}, r"response.airflow_within: 2 h is outside the range of this limit"),
        ({"airflow_within": "5 cfm"}, r"response.airflow_within"),
    ):  # fmt: skip
        with pytest.raises(SiteError, match=told):
            response_limits(told_site(trends, changes=changes)[1])


def test_a_step_over_several_samples_is_one_and_a_gap_ends_its_hold():
    values = np.array([0.0, 0, 40, 80, 100, 100, np.nan, 100, 100])
    seconds = np.array([0.0, 60, 120, 180, 240, 300, 360, 420, 5000])
    steps = steps_of(values, np.array([0, 9]), seconds, least=20, gap=600.0)
    assert (steps.before[0], steps.row[0], steps.arrived[0], steps.end[0]) == (1, 2, 4, 8)
    assert (steps.old[0], steps.new[0], bool(steps.moved_again[0])) == (0, 100, False)


def test_what_was_never_there_has_a_least_time_alone():
    values = np.array([0.0, 100, 100, 100])
    seconds = np.array([0.0, 60, 120, 180])
    steps = steps_of(values, np.array([0, 4]), seconds, least=20)
    followed = follow(steps, np.zeros(4, dtype=bool), np.ones(4, dtype=bool), seconds)
    assert (followed.least[0], followed.most[0], followed.at[0], followed.samples[0]) == (120, np.inf, -1, 3)


def test_no_rows_have_no_steps():
    steps = steps_of(np.empty(0), np.array([0]), np.empty(0), least=1)
    assert len(steps) == 0
