"""A controller that is off the network says nothing, though its last values stand in the log for hours."""

import numpy as np
import pytest

from analyzer.engine.building import judge_building
from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.signals import Scene
from analyzer.signals.silent import silent_rows
from tests.rules.case_trends import Case, site_of, trends_of

RULES = read_rules([rule_book()])
QUARTER, DAY = 900.0, 96


def rows_of(*columns: np.ndarray, tells: tuple[bool, ...] = (True,)):
    """The silent rows of terminals one after the other, logged every quarter of an hour."""
    size = len(columns[0]) // len(tells)
    first, code = np.arange(len(tells) + 1) * size, np.repeat(np.arange(len(tells)), size)
    return silent_rows(columns, first, code, np.tile(np.arange(size) * QUARTER, len(tells)), np.array(tells))


def lively(days: int) -> np.ndarray:
    return 22 + np.sin(np.arange(days * DAY))


def test_all_points_at_their_last_values_for_sixteen_hours():
    zone, flow = lively(7), 10 * lively(7)
    for values in (zone, flow):
        values[200 : 200 + 64] = values[200]
    silent = rows_of(zone, flow)
    assert silent.nonzero()[0].tolist() == list(range(201, 264))  # the first of them was still logged


def test_one_point_that_goes_on_shows_that_the_rest_is_calm():
    zone = lively(7)
    zone[200:264] = zone[200]
    assert rows_of(zone, 10 * lively(7)) is None


def test_a_gap_and_a_log_that_ended_are_no_silence():
    zone = lively(7)
    zone[200:264] = np.nan
    zone[400:] = np.nan
    assert rows_of(zone, zone) is None


def test_one_point_that_is_missing_while_the_other_stands_is():
    zone, flow = lively(7), 10 * lively(7)
    zone[200:264], flow[200:264] = zone[200], np.nan
    assert rows_of(zone, flow).sum() == 63


@pytest.mark.parametrize("hours", [6, 7])
def test_six_hours_are_the_least(hours):
    zone = lively(7)
    zone[200 : 200 + 4 * hours + 1] = zone[200]
    assert (rows_of(zone) is not None) == (hours > 6)


def test_a_calm_weekend_of_coarse_steps_is_how_it_always_is():
    """Whole degrees: still for ten hours each night, and for two days at the weekend."""
    hour = np.arange(7 * DAY) % DAY // 4
    zone = np.where((hour >= 8) & (hour < 22), 22.0 + np.arange(7 * DAY) % 2, 22.0)
    zone[5 * DAY : 6 * DAY + 48] = 22.0
    assert rows_of(zone) is None


def test_what_is_usual_takes_four_days_to_know():
    zone = lively(3)
    zone[100:200] = zone[100]
    assert rows_of(zone) is None


def test_a_log_that_is_silent_for_most_of_its_time_is_like_that():
    zone = lively(10)
    zone[4 * DAY :] = zone[4 * DAY]
    assert rows_of(zone) is None
    zone = lively(10)
    zone[6 * DAY :] = zone[6 * DAY]
    assert rows_of(zone).sum() == 4 * DAY - 1


def test_each_terminal_by_itself():
    off = lively(7)
    off[200:264] = off[200]
    both = np.concatenate([lively(7), off])
    assert rows_of(both, tells=(True, True)).nonzero()[0].tolist() == list(range(7 * DAY + 201, 7 * DAY + 264))
    assert rows_of(both, tells=(True, False)) is None


def judged(air_handler: dict | None = None, **trends) -> tuple[str, Scene]:
    told = {"name": "by hand", "days": 6, "interval": "15 min", "trends": {"cooling_setpoint": 24, **trends}}
    told |= {"air_handler": air_handler} if air_handler else {}
    case = Case("zone-too-warm", told)
    scene = Scene(trends_of(case), site_of(case))
    (verdict,) = judge_building(scene, {"zone-too-warm": RULES["zone-too-warm"]}).verdicts["verdict"]
    return verdict, scene


SILENT = {"00:00": "22 with noise 0.4", "day 3 12:00": 27.0, "day 5 06:00": "usual"}
FLOW = {"00:00": "90 with noise 4", "day 3 12:00": 91.0, "day 5 06:00": "usual"}


def test_hours_of_silence_are_not_judged_and_that_is_said():
    """It fell silent on Wednesday at noon at 27 degC, and came back on Friday."""
    verdict, scene = judged(zone_temp=SILENT, primary_flow=FLOW)
    assert verdict == "clear" and scene.silent.sum() > 4 * 24
    assert np.isnan(scene.trend("zone_temp")[scene.silent]).all()
    assert any("frozen at once" in said for said in scene.named)
    part = scene.part(np.array([True]))
    assert part.silent.sum() == scene.silent.sum()


def test_its_twin_is_warm_and_goes_on_being_logged():
    warm = SILENT | {"day 3 12:00": "27 with noise 0.4"}
    verdict, scene = judged(zone_temp=warm, primary_flow=FLOW)
    assert verdict == "fault" and scene.silent is None


@pytest.mark.parametrize(
    "beside", [{}, {"damper_position": 40, "reheat_position": 0}], ids=["alone", "points that rest"]
)
def test_one_point_that_moves_by_itself_is_too_few_to_tell(beside):
    verdict, scene = judged(zone_temp=SILENT, **beside)
    assert verdict == "fault" and scene.silent is None


def test_a_setpoint_that_changes_does_not_break_the_silence():
    """It is kept by the log, or written by the schedule, and comes from elsewhere."""
    verdict, scene = judged(
        zone_temp=SILENT, primary_flow=FLOW, heating_setpoint={"00:00": 16, "06:00": 21, "18:00": 16}
    )
    assert verdict == "clear" and scene.silent is not None


def test_setpoints_of_silent_hours_are_not_told_to_be_logged_for_part_of_the_time():
    """They stand in the log throughout; that all points were frozen is said by itself."""
    setpoints = {"heating_setpoint": {"00:00": 16, "06:00": 21, "18:00": 16}}
    _, scene = judged(zone_temp=SILENT, primary_flow=FLOW, **setpoints)
    assert (scene.value("heating_setpoint")[scene.silent] > 0).sum() > 4 * 12  # held for longer than is worth telling
    said = " ".join([*scene.tallies, *scene.named])
    assert "frozen at once" in said and "part of the time only" not in said


# A quiet weekend: without air nothing moves the airflow, and a room may stand at one tenth of a degree.
CALM = {"00:00": "22 with noise 0.4", "day 3 00:00": 20.4, "day 4 12:00": "usual"}
NO_AIR = {"00:00": "90 with noise 4", "day 3 00:00": 0.0, "day 4 12:00": "usual"}


def test_a_room_at_rest_without_air_is_no_silence():
    _, scene = judged(zone_temp=CALM, primary_flow=NO_AIR)
    assert scene.silent is None


@pytest.mark.parametrize("fan", [0, 1])
def test_its_twin_stands_while_the_air_handler_runs(fan):
    """The flow of a terminal in use moves: both of its points stand because nothing was logged."""
    status = {"supply_fan_status": {"00:00": 1, "day 3 00:00": fan}}
    _, scene = judged(status, zone_temp=CALM, primary_flow=NO_AIR)
    assert (scene.silent is not None) == (fan == 1)


@pytest.mark.parametrize(("until", "found"), [("day 3 11:30", False), ("day 3 13:00", True)])
def test_two_temperatures_that_stand_tell_without_air_after_twice_as_long(until, found):
    calm = {"00:00": "22 with noise 0.4", "day 3 00:00": 20.4, until: "usual"}
    _, scene = judged(zone_temp=calm, primary_flow=NO_AIR, discharge_temp=calm)
    assert (scene.silent is not None) == found
