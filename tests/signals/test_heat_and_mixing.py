"""What a terminal gives, could give and needs, and what leaves it with the coil off: against figures worked by hand.

The heating figures are facts of the trade (common practice, no source): 94 L/s at 15.6 K carry about 1.76 kW, 283 L/s
about 5.3 kW.
"""

import numpy as np
import pytest

from analyzer.signals import Scene
from tests.rules.case_trends import Case, site_of, trends_of

PARALLEL = {"kind": "parallel", "reheat": "electric", "heating_primary": 94.0, "fan_flow": 189.0, "area": 40.0}
SERIES = PARALLEL | {"kind": "series", "fan_flow": 283.0}
AIRS = {"primary_flow": 94, "primary_temp": 13, "plenum_temp": 21, "zone_temp": 21, "fan_status": 1}


def scene(schedule, trends, **told) -> Scene:
    case = Case("discharge-too-hot", {"name": "by hand", "schedule": schedule, "trends": trends, **told})
    return Scene(trends_of(case), site_of(case))


def last(built: Scene, name: str, **parameters) -> float:
    return built.value(name, parameters)[-1]


@pytest.mark.parametrize("schedule", [PARALLEL, SERIES], ids=["parallel", "series"])
def test_most_heat_without_and_with_the_fan(schedule):
    built = scene(schedule, AIRS)
    # 2 % on each: 1.2 W per L/s and K in the trade's figures, 1.21 here.
    assert last(built, "heat_by_primary_alone", capability_rise=15.6, staged_rise=27.8) == pytest.approx(1760, rel=0.02)
    assert last(built, "heat_with_fan", capability_rise=15.6, staged_rise=27.8) == pytest.approx(5300, rel=0.02)


def test_a_small_coil_bounds_the_most_heat():
    built = scene(SERIES | {"reheat_capacity": 2000.0}, AIRS)
    # 2 kW less what 94 L/s at 8 K under the zone take away, 0.91 kW.
    assert last(built, "heat_with_fan", capability_rise=15.6, staged_rise=27.8) == pytest.approx(
        2000 - 1.2112 * 94 * 8, rel=0.01
    )


def test_a_terminal_without_a_fan_has_no_figure_with_one():
    built = scene({"kind": "single-duct", "heating_primary": 94.0}, {"zone_temp": 21, "primary_flow": 94})
    assert np.isnan(last(built, "heat_with_fan", capability_rise=15.6, staged_rise=27.8))


def test_heat_delivered_and_needed():
    """40 m2 receive 1.78 kW and fall by 0.5 K an hour: 50 kJ/(m2 K) let go of 0.28 kW, so some 2.05 kW are needed."""
    built = scene(
        {"kind": "single-duct", "area": 40.0},
        {"zone_temp": "21 to 15", "primary_flow": 94, "discharge_temp": "36.6 to 30.6"},
        days=0.5,
    )
    assert last(built, "zone_change_in_hour") == pytest.approx(-0.5, abs=0.01)
    assert last(built, "heat_delivered") == pytest.approx(1776, rel=0.01)
    assert last(built, "heat_needed") == pytest.approx(1776 + 40 * 50e3 * 0.5 / 3600, rel=0.01)
    assert 200 < last(built, "heat_needed_doubt") < 600


def test_heat_needed_is_unknown_without_area_and_without_rates_of_its_own():
    built = scene({"kind": "single-duct"}, {"zone_temp": 21, "primary_flow": 94, "discharge_temp": 30})
    assert np.isnan(last(built, "heat_needed"))


@pytest.mark.parametrize(
    "schedule, expected",
    [
        ({"kind": "single-duct"}, 13.0),
        ({"kind": "series", "fan_flow": 188.0}, 17.0 + 0.5),  # half primary, half plenum air, and all of the fan's heat
        ({"kind": "parallel", "fan_flow": 94.0}, 17.0 + 0.25),  # the fan warms its own half only
    ],
    ids=lambda value: value["kind"] if isinstance(value, dict) else "",
)
def test_discharge_with_the_coil_off_by_kind(schedule, expected):
    built = scene(schedule, AIRS)
    assert last(built, "coil_off_temp") == pytest.approx(expected, abs=0.03)


def test_what_stands_in_for_a_missing_sensor_is_doubted_more():
    own = scene(SERIES, AIRS)
    without = scene(SERIES, {name: value for name, value in AIRS.items() if name != "plenum_temp"})
    assert last(without, "coil_off_temp") == pytest.approx(last(own, "coil_off_temp"))  # the zone's 21 degC
    assert last(without, "coil_off_doubt", duct_gain=2.0, plenum_above_zone=10.0) > 2 * last(
        own, "coil_off_doubt", duct_gain=2.0, plenum_above_zone=10.0
    )


def test_mixture_is_unknown_while_command_and_status_disagree():
    assert np.isnan(last(scene(SERIES, AIRS | {"fan_command": 0}), "coil_off_temp"))


def test_air_read_with_the_air_handler_off_is_no_air():
    built = scene(PARALLEL, AIRS, air_handler={"supply_fan_status": 0})
    assert last(built, "primary_air") == 0.0


def test_air_read_through_a_shut_damper_is_unknown():
    assert np.isnan(last(scene(PARALLEL, AIRS | {"damper_position": 0}), "primary_air"))


def test_it_is_the_reading_where_the_flow_holds_its_setpoint_or_the_position_was_caught():
    through = {"damper_position": 0, "primary_flow_setpoint": 100}
    assert last(scene(PARALLEL, AIRS | through), "primary_air") == 94.0  # a counted 0: the flow is controlled
    assert np.isnan(last(scene(PARALLEL, AIRS | through | {"primary_flow_setpoint": 60}), "primary_air"))
    jumps = {"damper_position": {"00:00": 16, "12:00": 50, "16:00": 0}}
    caught = scene(PARALLEL, AIRS | jumps | {"primary_flow_setpoint": {"00:00": 94, "16:00": 60}})
    assert caught.value("damper_credible")[-1] == 0.0 and last(caught, "primary_air") == 94.0


def test_time_surely_shut_is_an_interval_less():
    built = scene(PARALLEL, {"reheat_position": {"00:00": 50, "12:00": 0}})
    assert built.value("reheat_shut_for")[12 * 12] == 0.0  # the first sample at rest: it may have shut just now
    assert built.value("reheat_shut_for")[12 * 12 + 3] == 900.0
