"""What a terminal delivers, the most that it could, and the load that the zone's own rates tell."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ip import to_ip, to_si

from analyzer import airside

# 28 degF above a zone of 70 degF: common practice, no source.
ZONE, HIGHEST = to_si(70, "degF"), to_si(98, "degF")


@pytest.mark.parametrize(("cfm", "btu_per_hour", "kilowatt"), [(200, 6000, 1.76), (600, 18_144, 5.3)])
def test_heat_delivered_to_the_space_in_ip_and_si(cfm, btu_per_hour, kilowatt):
    """Common practice, no source: 200 and 600 cfm, 94 and 283 L/s, at 28 degF, 15.6 K."""
    heat = airside.delivered_heat(discharge_flow=to_si(cfm, "cfm"), discharge_temp=HIGHEST, zone_temp=ZONE)
    assert to_ip(heat, "Btu/h") == pytest.approx(btu_per_hour, rel=0.013)
    assert heat / 1000.0 == pytest.approx(kilowatt, rel=0.013)  # "about", and 1.2 for 1.211


def test_air_at_zone_temperature_heats_nothing_though_the_coil_works():
    air = {"discharge_flow": 100.0, "discharge_temp": 21.0}
    assert airside.delivered_heat(**air, zone_temp=21.0) == 0.0
    assert airside.coil_heat(**air, entering_temp=13.0) == pytest.approx(100 * 8 * 1.211, rel=1e-3)


def test_coil_heat_is_judged_against_the_mixed_air():
    """A series unit with its coil off: no coil heat, though the discharge is 7 K above primary air."""
    flows = {"primary_flow": 60.0, "induced_flow": 140.0}
    entering = airside.coil_off_temp(**flows, primary_temp=13.0, induced_temp=23.0, fan_flow=200.0, fan_rise=0.5)
    assert airside.coil_heat(discharge_flow=200.0, discharge_temp=20.5, entering_temp=entering) == pytest.approx(0.0)
    assert airside.coil_heat(discharge_flow=200.0, discharge_temp=20.5, entering_temp=13.0) > 1500.0


@pytest.mark.parametrize(("call", "effectiveness"), [(-1.0, np.nan), (0.0, np.nan), (50.0, 0.8), (np.nan, np.nan)])
def test_effectiveness_of_a_call(call, effectiveness):
    found = airside.call_effectiveness(heat=1200.0, call=call, capacity=3000.0)
    assert found == pytest.approx(effectiveness, nan_ok=True)


def test_a_ton_of_heat_needs_the_fan():
    """12,000 Btu/h is more than 200 cfm can carry at 28 degF and less than 600 cfm can: common practice, no source."""
    ton = to_si(12_000, "Btu/h")
    primary, fan = to_si(200, "cfm"), to_si(400, "cfm")
    temps = {"entering_temp": 13.0, "highest_discharge_temp": HIGHEST, "zone_temp": ZONE}
    parallel = airside.discharge_flow(primary_flow=primary, fan_flow=fan, fan_on=1, series=False)
    series = airside.discharge_flow(primary_flow=primary, fan_flow=to_si(600, "cfm"), fan_on=1, series=True)
    assert airside.most_heat(flow=primary, **temps) < ton < airside.most_heat(flow=parallel, **temps)
    assert airside.most_heat(flow=series, **temps) == pytest.approx(airside.most_heat(flow=parallel, **temps))


def test_the_most_heat_is_bound_by_the_coil_in_ip_and_si():
    """200 cfm of 55 degF air and a 5 kW coil: 17,060 - 1.08 x 200 x 15 = 13,820 Btu/h to a zone of 70 degF (C), but
    28 degF over the zone allows 6,048; with 2 kW: 6,824 - 3,240 = 3,584 Btu/h (C), 1.05 kW."""
    terminal = {
        "flow": to_si(200, "cfm"),
        "entering_temp": to_si(55, "degF"),
        "highest_discharge_temp": HIGHEST,
        "zone_temp": ZONE,
    }
    assert to_ip(airside.most_heat(**terminal, capacity=5000.0), "Btu/h") == pytest.approx(6048, rel=0.005)
    assert to_ip(airside.most_heat(**terminal, capacity=2000.0), "Btu/h") == pytest.approx(3584, rel=0.005)
    assert airside.most_heat(**terminal, capacity=2000.0) / 1000 == pytest.approx(1.05, abs=0.01)


def test_a_coil_that_cannot_warm_cold_air_to_the_zone_cools_it():
    found = airside.most_heat(flow=300.0, entering_temp=12.0, highest_discharge_temp=32.0, zone_temp=21.0, capacity=1e3)
    assert found < 0


def test_entering_temperature_is_needed_only_where_the_capacity_is_known():
    found = airside.most_heat(
        flow=np.full(4, 100.0),
        entering_temp=np.array([np.nan, np.nan, 13.0, 13.0]),
        highest_discharge_temp=32.0,
        zone_temp=21.0,
        capacity=np.array([np.inf, 3000.0, np.inf, np.nan]),
    )
    np.testing.assert_array_equal(np.isnan(found), [False, True, False, True])


# Coil capacity below, at and above what the discharge limit lets through, and not known.
@pytest.mark.parametrize(("over", "bound"), [(-100.0, "coil"), (0.0, "both"), (100.0, "temperature"), (np.nan, None)])
def test_the_tighter_bound_wins(over, bound):
    flow, entering, highest, zone = 100.0, 13.0, 32.0, 21.0
    by_temperature = airside.sensible_heat(flow=flow, temperature_difference=highest - zone)
    capacity = airside.sensible_heat(flow=flow, temperature_difference=highest - entering) + over
    found = airside.most_heat(
        flow=flow, entering_temp=entering, highest_discharge_temp=highest, zone_temp=zone, capacity=capacity
    )
    expected = {"coil": by_temperature + over, "both": by_temperature, "temperature": by_temperature, None: np.nan}
    assert found == pytest.approx(expected[bound], nan_ok=True)


def test_load_of_a_zone_that_holds_is_what_it_receives():
    assert airside.zone_heat_load(delivered_heat=1500.0, temperature_rate=0.0, zone_capacity=2e6) == 1500.0


def test_load_in_ip_and_si():
    """C dT/dt = q - L: 2 MJ/K falling 0.9 degF (0.5 K) an hour gives up 278 W, 948 Btu/h (C)."""
    rate = -to_si(0.9, "degF rise") / 3600.0
    load = airside.zone_heat_load(delivered_heat=to_si(5118, "Btu/h"), temperature_rate=rate, zone_capacity=2e6)
    assert to_ip(load, "Btu/h") == pytest.approx(5118 + 948, abs=1.5)
    assert load == pytest.approx(1500 + 278, abs=1.5)


@given(capacity=st.floats(5e5, 2e7), load=st.floats(-5000, 8000), warm=st.floats(100, 8000), apart=st.floats(500, 8000))
def test_capacity_and_load_come_back_from_two_rates(capacity, load, warm, apart):
    """A zone of known capacity and load, warmed by two heats: both figures come back."""
    heats = np.array([warm + apart, warm])
    rates = (heats - load) / capacity
    found = airside.zone_capacity_from_rates(
        heat_warming=heats[0], rate_warming=rates[0], heat_cooling=heats[1], rate_cooling=rates[1]
    )
    assert found == pytest.approx(capacity, rel=1e-6)
    again = airside.zone_heat_load(delivered_heat=heats, temperature_rate=rates, zone_capacity=found)
    assert again == pytest.approx([load, load], rel=1e-5, abs=0.05)


# More heat must warm faster: rate with heat below, at and above the rate without, and not known.
@pytest.mark.parametrize(
    ("rate", "capacity"), [(-2e-4, np.nan), (-1e-4, np.nan), (1e-4, 1000 / 2e-4), (np.nan, np.nan)]
)
def test_no_capacity_from_rates_that_contradict_the_heat(rate, capacity):
    found = airside.zone_capacity_from_rates(
        heat_warming=1000.0, rate_warming=rate, heat_cooling=0.0, rate_cooling=-1e-4
    )
    assert found == pytest.approx(capacity, nan_ok=True)


def test_uncertainty_of_the_load_agrees_with_a_monte_carlo_run():
    heat, rate, capacity = 1500.0, -0.5 / 3600, 2e6
    errors = np.random.default_rng(2).normal(size=(3, 200_000)) * np.array([[150.0], [0.1 / 3600], [4e5]])
    loads = airside.zone_heat_load(
        delivered_heat=heat + errors[0], temperature_rate=rate + errors[1], zone_capacity=capacity + errors[2]
    )
    stated = airside.zone_heat_load_uncertainty(
        heat_uncertainty=150.0,
        temperature_rate=rate,
        rate_uncertainty=0.1 / 3600,
        zone_capacity=capacity,
        capacity_uncertainty=4e5,
    )
    assert stated == pytest.approx(loads.std(), rel=0.02)  # a product of two errors is left out; sampling 0.3 %


def test_usual_capacity_lies_between_the_air_alone_and_a_very_light_building():
    """Air of a 2.7 m room: 3.3 kJ/(m2 K) (C). ISO 13790:2008 table 12, very light: 80 kJ/(m2 K) (M)."""
    air = 2.7 * airside.STANDARD_DENSITY * airside.SPECIFIC_HEAT
    assert air < airside.ZONE_CAPACITY_PER_AREA * (1 - airside.ZONE_CAPACITY_SPREAD)
    assert airside.ZONE_CAPACITY_PER_AREA * (1 + airside.ZONE_CAPACITY_SPREAD) < 80e3
