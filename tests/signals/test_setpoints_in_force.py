"""Which setpoints are in force, by whichever of a terminal's setpoints are logged, and for how long they stay so."""

from dataclasses import replace

import numpy as np
import pytest

from analyzer.signals import Scene
from tests.rules.case_trends import Case, site_of, trends_of


def scene(trends: dict, *, hold_days: float = 60, **told) -> Scene:
    case = Case("by hand", {"name": "by hand", "trends": trends, "interval": "15 min", **told})
    return Scene(trends_of(case), replace(site_of(case), setpoint_hold=hold_days * 86400))


def at(there: Scene, side: str, day: int, hour: float) -> float:
    """The setpoint in force at an hour of a day, from 1."""
    return there.value(f"{side}_setpoint")[int(((day - 1) * 24 + hour) * 4)]


PAIR = {"occupied_heating_setpoint": 21.0, "occupied_cooling_setpoint": 23.5}


def test_an_occupied_setpoint_is_not_in_force_at_night():
    there = scene(PAIR)
    assert (at(there, "heating", 1, 12), at(there, "cooling", 1, 12)) == (21.0, 23.5)
    assert np.isnan(at(there, "heating", 1, 3)) and np.isnan(at(there, "cooling", 1, 3))


def test_at_night_the_unoccupied_pair_is_in_force():
    there = scene(PAIR | {"unoccupied_heating_setpoint": 16.0, "unoccupied_cooling_setpoint": 29.0})
    assert (at(there, "heating", 1, 3), at(there, "cooling", 1, 3)) == (16.0, 29.0)


def test_an_effective_setpoint_is_heatings_in_heating_and_coolings_in_cooling():
    there = scene(PAIR | {"effective_setpoint": {"00:00": 16.0, "07:00": 21.0, "12:00": 23.5, "18:00": 16.0}})
    assert (at(there, "heating", 1, 9), at(there, "cooling", 1, 9)) == (21.0, 23.5)
    assert (at(there, "heating", 1, 14), at(there, "cooling", 1, 14)) == (21.0, 23.5)
    assert (there.value("cooling_setpoint") - there.value("heating_setpoint") >= 2.4)[~np.isnan(
        there.value("cooling_setpoint"))].all()  # fmt: skip


def test_at_night_an_effective_setpoint_is_that_of_the_unoccupied_pair_it_equals():
    pair = {"unoccupied_heating_setpoint": 16.0, "unoccupied_cooling_setpoint": 29.0}
    there = scene(PAIR | pair | {"effective_setpoint": {"00:00": "16/29 every 120 min", "07:00": 21.0, "18:00": 16.0}})
    assert {at(there, "heating", 1, hour) for hour in (1, 3, 5)} == {16.0}
    assert {at(there, "cooling", 1, hour) for hour in (1, 3, 5)} == {29.0}


def test_an_adjusted_effective_setpoint_takes_the_gap_of_the_occupied_pair_with_it():
    there = scene(PAIR | {"effective_setpoint": 21.6})
    assert (at(there, "heating", 1, 12), at(there, "cooling", 1, 12)) == pytest.approx((21.6, 24.1))


def test_an_effective_setpoint_that_nothing_tells_of_is_unknown():
    there = scene({"effective_setpoint": 22.0, "zone_temp": 22.5})
    assert np.isnan(there.value("heating_setpoint")).all() and np.isnan(there.value("cooling_setpoint")).all()


# As a controller moves them through the day.
AT_WORK, MOVING = {"00:00": 60, "10:00": 40, "14:00": 30}, {"00:00": 200, "15:00": 110}


@pytest.mark.parametrize(
    ("told", "side"),
    [({"reheat_position": AT_WORK, "zone_temp": 21.0}, "heating"), ({"reheat_position": 0, "zone_temp": 29.0}, "cooling"),
     ({"reheat_position": 0, "zone_temp": 22.0, "primary_flow": MOVING}, "cooling"), ({"zone_temp": 15.0}, "heating")],
)  # fmt: skip
def test_reheat_airflow_or_the_zone_tell_which_of_the_two_it_is(told, side):
    there = scene({"effective_setpoint": 22.0} | told, schedule={"primary_min": 100})
    assert at(there, side, 1, 12) == 22.0
    assert np.isnan(at(there, "cooling" if side == "heating" else "heating", 1, 12))


@pytest.mark.parametrize(
    "told", [{"reheat_position": 50, "zone_temp": 21.0}, {"reheat_position": 0, "zone_temp": 22.0, "primary_flow": 200}]
)
def test_its_twins_that_stand_all_day_tell_nothing(told):
    """A reheat overridden, and the flow through a damper that is stuck."""
    there = scene({"effective_setpoint": 22.0} | told, schedule={"primary_min": 100})
    assert np.isnan(at(there, "heating", 1, 12)) and np.isnan(at(there, "cooling", 1, 12))


def test_the_two_values_between_which_it_goes_to_and_fro_are_the_pair():
    there = scene(
        {"effective_setpoint": {"00:00": 16.0, "07:00": "20/24 every 60 min", "18:00": 16.0}, "zone_temp": 22}
    )
    assert (at(there, "heating", 1, 12), at(there, "cooling", 1, 12)) == (20.0, 24.0)


def test_a_zone_below_an_effective_setpoint_does_not_make_it_heatings():
    there = scene({"effective_setpoint": 24.0, "zone_temp": 21.0, "reheat_position": 0})
    assert np.isnan(at(there, "heating", 1, 12)) and np.isnan(at(there, "cooling", 1, 12))


def test_a_value_that_can_only_be_coolings_at_night_is_coolings_by_day_too():
    there = scene({"effective_setpoint": 25.5, "zone_temp": 22.0, "reheat_position": 0})
    assert np.isnan(at(there, "heating", 1, 12)) and at(there, "cooling", 1, 12) == 25.5


@pytest.mark.parametrize(
    ("controller", "heating"),
    [({"reheat_position": 0}, False), ({"reheat_position": 0, "fan_command": 1}, True), ({}, True)],
    ids=["reheat shut", "reheat shut and the fan called", "nothing tells"],
)
def test_a_zone_far_under_it_makes_it_heatings_unless_the_controller_rests(controller, heating):
    """A controller that rests is not heating: its zone sensor may stand still."""
    there = scene({"effective_setpoint": 22.0, "zone_temp": 13.0} | controller)
    assert (at(there, "heating", 1, 12) == 22.0) == heating


@pytest.mark.parametrize("pair", [PAIR, {}], ids=["pair", "no pair"])
def test_out_of_hours_it_is_the_one_that_was_set_back_to_where_it_is(pair):
    effective = {"00:00": 15.6, "07:00": 21.0, "18:00": 29.4}
    there = scene(pair | {"effective_setpoint": effective, "zone_temp": 22.0})
    assert at(there, "heating", 1, 3) == 15.6 and not at(there, "cooling", 1, 3) < 29
    assert at(there, "cooling", 1, 20) == 29.4 and not at(there, "heating", 1, 20) > 16


def test_in_hours_a_setpoint_over_the_occupied_pair_is_coolings_of_another_mode():
    effective = {"00:00": 29.4, "07:00": 23.5, "12:00": 25.0, "15:00": 29.4}
    there = scene(PAIR | {"effective_setpoint": effective, "zone_temp": 22.0, "reheat_position": 0})
    assert (at(there, "heating", 1, 9), at(there, "cooling", 1, 9)) == (21.0, 23.5)
    assert at(there, "cooling", 1, 13) == 25.0 and np.isnan(at(there, "heating", 1, 13))
    assert at(there, "cooling", 1, 16) == 29.4 and np.isnan(at(there, "heating", 1, 16))


def test_its_twin_the_same_with_the_reheat_at_work_is_heatings_moved_far():
    there = scene(PAIR | {"effective_setpoint": 28.3, "zone_temp": 26.0, "reheat_position": AT_WORK})
    assert (at(there, "heating", 1, 12), at(there, "cooling", 1, 12)) == pytest.approx((28.3, 30.8))


@pytest.mark.parametrize("levels", ["20/21.1 every 60 min", "20/22 every 60 min"])
def test_two_values_at_both_of_which_reheat_works_are_heatings_both(levels):
    there = scene({"effective_setpoint": {"00:00": 16.0, "07:00": levels, "18:00": 16.0}, "reheat_position": 30})
    assert np.isnan(there.value("cooling_setpoint")).all()


def test_reheat_that_is_open_over_the_setpoint_does_not_make_it_heatings():
    there = scene({"effective_setpoint": 23.3, "zone_temp": 24.0, "reheat_position": 50})
    assert np.isnan(there.value("heating_setpoint")).all()


STANDBY = {"standby_heating_setpoint": 19.9, "standby_cooling_setpoint": 24.6}


@pytest.mark.parametrize(("reheat", "heating"), [(0, 19.9), (40, 21.0)], ids=["left alone", "heated"])
def test_a_standby_pair_counts_where_the_terminal_leaves_the_zone_to_it(reheat, heating):
    there = scene(PAIR | STANDBY | {"zone_temp": 20.2, "reheat_position": reheat})
    assert at(there, "heating", 1, 12) == heating
    assert there.value("setpoints_apart", {"least_deadband": 2.5})[48] == 2.5


@pytest.mark.parametrize("last", [14, 1])
def test_occupied_setpoints_of_the_first_days_stay_in_force_in_hours_and_not_at_night(last):
    there = scene(PAIR, days=28, logged={name: [1, last] for name in PAIR})
    assert (at(there, "heating", 26, 12), at(there, "cooling", 26, 12)) == (21.0, 23.5)
    assert np.isnan(at(there, "heating", 26, 3))
    assert "{count} terminals are logged for part of the time only" in " ".join(there.tallies)


@pytest.mark.parametrize(("last", "told"), [(2, True), (7, False)])
def test_pairs_that_end_beside_an_effective_setpoint_are_told(last, told):
    """The effective one is logged throughout; what it is paired with is not."""
    there = scene(
        PAIR | {"effective_setpoint": 21.0, "zone_temp": 21.0}, days=7, logged={name: [1, last] for name in PAIR}
    )
    assert at(there, "cooling", 6, 12) == 23.5
    assert ("part of the time only" in " ".join(there.tallies)) == told


def test_they_stay_for_no_longer_than_the_site_file_allows():
    there = scene(PAIR, days=14, logged={name: [1, 2] for name in PAIR}, hold_days=5)
    assert at(there, "heating", 5, 12) == 21.0
    assert np.isnan(at(there, "heating", 12, 12))


def test_an_active_setpoint_whose_log_stops_stays_in_force_in_its_mode():
    active = {"heating_setpoint": {"00:00": 16.0, "05:00": 21.0, "18:00": 16.0}, "zone_temp": 21}
    there = scene(active, days=8, logged={"heating_setpoint": [1, 2]})
    assert at(there, "heating", 5, 12) == 21.0
    assert at(there, "heating", 5, 3) == at(there, "heating", 7, 12) == 16.0


def test_an_active_setpoint_seen_by_day_only_says_nothing_of_the_night():
    active = {"heating_setpoint": {"00:00": "none", "08:00": 21.0, "12:00": "none"}, "zone_temp": 21}
    there = scene(active, days=3, logged={"heating_setpoint": [1, 1]})
    assert at(there, "heating", 3, 12) == 21.0
    assert np.isnan(at(there, "heating", 3, 3))


def test_a_few_early_samples_do_not_block_another_source():
    few = {"heating_setpoint": {"00:00": "none", "08:00": 19.0, "11:30": "none"}}
    there = scene(few | PAIR, days=49, logged={"heating_setpoint": [1, 1]})
    assert at(there, "heating", 1, 9) == 19.0
    assert at(there, "heating", 40, 12) == 21.0


def test_a_held_setpoint_is_given_up_where_the_other_side_crosses_it():
    trends = {"heating_setpoint": 21.0, "cooling_setpoint": {"00:00": 24.0}, "zone_temp": 21}
    there = scene(trends, days=2, logged={"heating_setpoint": [1, 1]})
    assert at(there, "heating", 2, 12) == 21.0
    moved = there.table["cooling_setpoint"].to_numpy().copy()
    moved[120:] = 20.0  # later on the second day
    there.table["cooling_setpoint"] = moved
    again = Scene(there.trends, there.site)
    assert np.isnan(at(again, "heating", 2, 12)) and at(again, "cooling", 2, 12) == 20.0


def test_an_active_setpoint_that_does_not_follow_the_mode_is_the_occupied_one():
    trends = {"heating_setpoint": 21.0, "unoccupied_heating_setpoint": 16.0}
    there = scene(trends)
    assert (at(there, "heating", 1, 12), at(there, "heating", 1, 3)) == (21.0, 16.0)
    assert any("does not follow" in sentence for sentence in there.tallies)


def test_so_is_a_pair_that_the_effective_setpoint_often_is_neither_of():
    trends = {"heating_setpoint": 21.0, "cooling_setpoint": 23.5,
              "effective_setpoint": {"00:00": 16.0, "07:00": 21.0, "18:00": 16.0}, "reheat_position": 50}  # fmt: skip
    there = scene(trends)
    assert (at(there, "heating", 1, 12), at(there, "cooling", 1, 12)) == (21.0, 23.5)
    assert at(there, "heating", 1, 3) == 16.0


def test_the_site_files_setpoints_hold_while_occupied_where_none_is_logged():
    there = scene({"zone_temp": 22}, setpoints={"heating": 20.0, "cooling": 24.0})
    assert (at(there, "heating", 1, 12), at(there, "cooling", 1, 12)) == (20.0, 24.0)
    assert np.isnan(at(there, "heating", 1, 3))


SITES = {"setpoints": {"heating": 21.0, "cooling": 24.0}}
HEATS = {"00:00": 0, "07:00": 80, "10:00": 50, "15:00": 20, "18:00": 0}
COMES_AND_GOES = {"00:00": 0, "07:00": 1, "10:00": 0}


@pytest.mark.parametrize(
    ("trends", "kind", "known"),
    [
        ({"zone_temp": 26.5, "reheat_position": HEATS}, "single-duct", False),
        ({"zone_temp": 24.5, "reheat_position": HEATS}, "single-duct", True),  # within a kelvin of it
        ({"zone_temp": 26.5, "reheat_position": 50}, "single-duct", True),  # by hand
        ({"zone_temp": 26.5, "reheat_position": 0}, "single-duct", True),
        ({"zone_temp": 26, "fan_command": COMES_AND_GOES, "fan_status": COMES_AND_GOES}, "parallel", False),
        ({"zone_temp": 26, "fan_command": 1, "fan_status": 1}, "parallel", True),
        ({"zone_temp": 26, "fan_command": COMES_AND_GOES, "fan_status": COMES_AND_GOES}, "series", True),
    ],
    ids=["reheat", "near it", "by hand", "no heat", "parallel fan", "a fan that stays on", "series fan"],
)
def test_a_terminal_that_heats_well_above_the_site_files_cooling_setpoint_keeps_another(trends, kind, known):
    there = scene(trends, schedule={"kind": kind, "reheat": "hot-water"}, **SITES)
    assert np.isnan(at(there, "cooling", 1, 12)) == (not known)
    counts = [count for said, count in there.tallies.items() if "they keep another" in said]
    assert counts == ([] if known else [1])  # once a terminal, not once a side


def test_what_is_said_is_counted_over_all_groups():
    from collections import Counter

    from analyzer.signals.tallies import tallies_told

    assert tallies_told(Counter({"Setpoints of {count} terminals are held.": 1})) == [
        "Setpoints of 1 terminal are held."
    ]
    assert tallies_told(Counter({"Of {count} terminals.": 3})) == ["Of 3 terminals."]


STEP_IN_THE_EVENING = {"effective_setpoint": {"00:00": 16.0, "07:00": 21.2, "18:00": 16.0}}
STEP_TO_COOLING = {"effective_setpoint": {"00:00": 29.0, "07:00": 23.4, "18:00": 29.0}}


@pytest.mark.parametrize(
    ("trends", "side", "other"),
    [
        (STEP_IN_THE_EVENING | {"zone_temp": 20.5}, "heating", "cooling"),  # no call for heat at 16: it was heating's
        (STEP_TO_COOLING | {"zone_temp": 24.2}, "cooling", "heating"),
    ],
    ids=["down to the setback", "up to the setback"],
)
def test_a_step_that_the_zone_does_not_call_for_tells_the_side_of_the_day(trends, side, other):
    there = scene(trends)
    assert at(there, side, 1, 12) == trends["effective_setpoint"]["07:00"]
    assert np.isnan(at(there, other, 1, 12))


def test_a_step_that_the_zone_may_have_called_for_tells_nothing():
    zone = {"00:00": 23.2, "17:30": 17.7}  # so cold that it calls for heat at its setback as well
    there = scene({"effective_setpoint": {"00:00": 22.5, "07:00": 23.4, "18:00": 17.5}, "zone_temp": zone})
    assert np.isnan(at(there, "heating", 1, 12)) and np.isnan(at(there, "cooling", 1, 12))
