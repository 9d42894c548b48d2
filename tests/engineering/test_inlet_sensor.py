"""The inlet sensor: velocity pressure, flow coefficients and the least readable flow, in IP and SI."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ip import to_ip, to_si

from analyzer import airside

# Standard air of the IP factor: 0.075 lb/ft3 (R, a test-instrument maker's brochure).
IP_STANDARD = to_si(0.075, "lb/ft3")


# V = 4005 sqrt(VP): brochure, and a web page citing a ventilation manual (R); the table (C), printed to whole fpm.
@pytest.mark.parametrize(
    ("inches", "fpm"),
    [(0.003, 219), (0.004, 253), (0.01, 400.5), (0.02, 566), (0.03, 694), (0.10, 1266), (0.25, 2002), (1.0, 4005)],
)
def test_velocity_from_pressure_in_ip(inches, fpm):
    velocity = airside.velocity_from_pressure(velocity_pressure=to_si(inches, "in. w.c."), density=IP_STANDARD)
    # Rounding, and 0.1 %: 4005 takes its inch of water at room temperature, the unit library at 4 degC.
    assert to_ip(velocity, "fpm") == pytest.approx(fpm, abs=0.5 + 1e-3 * fpm)
    back = airside.velocity_pressure(velocity=to_si(fpm, "fpm"), density=IP_STANDARD)
    assert to_ip(back, "in. w.c.") == pytest.approx(inches, rel=0.007)


def test_velocity_from_pressure_in_si():
    """1 in. w.c. is 249.089 Pa and gives 20.34 m/s at 1.204 kg/m3: web page (R), arithmetic (C)."""
    assert airside.velocity_from_pressure(velocity_pressure=249.089) == pytest.approx(20.34, abs=0.005)
    assert airside.velocity_pressure(velocity=20.34) == pytest.approx(249.089, rel=5e-4)


@pytest.mark.parametrize(
    ("feet", "factor"), [(0, 4005), (1000, 4078), (2000, 4153), (5000, 4391), (6000, 4474), (8000, 4647)]
)
def test_thin_air_moves_faster_at_the_same_pressure(feet, factor):
    """4005 over the root of the relative density; V = 1096.7 sqrt(VP / rho): brochure (R), column (C)."""
    relative = airside.air_density(altitude=to_si(feet, "ft")) / airside.air_density()
    velocity = airside.velocity_from_pressure(velocity_pressure=to_si(1, "in. w.c."), density=IP_STANDARD * relative)
    assert to_ip(velocity, "fpm") == pytest.approx(factor, rel=1e-3)


@pytest.mark.parametrize(("fpm", "inches"), [(400, 0.010), (700, 0.03)])
def test_known_velocities_against_their_pressures(fpm, inches):
    """400 fpm is 0.010 in. w.c., 700 fpm is 0.03: formula (C); rounded as printed."""
    assert to_ip(airside.velocity_pressure(velocity=to_si(fpm, "fpm")), "in. w.c.") == pytest.approx(inches, rel=0.03)


# Area x 4005 and K for an amplification of 2.3 (C, from V = 4005 sqrt(VP)).
@pytest.mark.parametrize(
    ("inches", "square_feet", "bare", "coefficient"),
    [
        (4, 0.0873, 350, 230),
        (5, 0.1364, 546, 360),
        (6, 0.1963, 786, 519),
        (10, 0.5454, 2184, 1440),
        (14, 1.0690, 4281, 2823),
        (16, 1.3963, 5592, 3687),
    ],
)
def test_coefficient_of_an_inlet(inches, square_feet, bare, coefficient):
    diameter = to_si(inches, "in.")
    assert to_ip(airside.inlet_area(diameter=diameter), "ft2") == pytest.approx(square_feet, abs=1e-4)
    for amplification, expected in ((1.0, bare), (2.3, coefficient)):
        found = airside.flow_coefficient_of_inlet(diameter=diameter, amplification=amplification)
        assert to_ip(found, "cfm/sqrt(in. w.c.)") == pytest.approx(expected, rel=0.003)


@pytest.mark.parametrize(("inches", "low", "high"), [(8, 900, 920), (12, 2050, 2070)])
def test_makers_coefficients_lie_in_the_band_of_amplifications(inches, low, high):
    """Makers' figures near 900-920 and 2050-2070 (M): inside what 2.0 to 2.8 gives."""
    most, least = (
        to_ip(airside.flow_coefficient_of_inlet(diameter=to_si(inches, "in."), amplification=f), "cfm/sqrt(in. w.c.)")
        for f in (2.0, 2.8)
    )
    assert least < low
    assert high < most


def test_an_unknown_amplification_moves_the_coefficient_by_ten_percent():
    usual = airside.flow_coefficient_of_inlet(diameter=0.2)
    assert airside.flow_coefficient_of_inlet(diameter=0.2, amplification=2.0) / usual == pytest.approx(1.07, abs=0.01)
    assert airside.flow_coefficient_of_inlet(diameter=0.2, amplification=2.8) / usual == pytest.approx(0.91, abs=0.01)


def test_flow_station_in_ip_and_si():
    """Q = K sqrt(dP): a trade equation sheet (R). K 900: 90 cfm at 0.01 in. w.c., 450 cfm at 0.25 (C)."""
    coefficient = to_si(900, "cfm/sqrt(in. w.c.)")
    for inches, cfm in ((0.01, 90.0), (0.25, 450.0), (1.0, 900.0)):
        pressure = to_si(inches, "in. w.c.")
        flow = airside.flow_from_pressure(differential_pressure=pressure, flow_coefficient=coefficient)
        assert to_ip(flow, "cfm") == pytest.approx(cfm)
        assert airside.pressure_from_flow(flow=flow, flow_coefficient=coefficient) == pytest.approx(pressure)
    assert airside.flow_from_pressure(differential_pressure=9.0, flow_coefficient=27.0) == pytest.approx(81.0)


def test_least_measurable_flow_in_ip_and_si():
    """Vm = A 4005 sqrt(VPm / F), ASHRAE Guideline 36 3.1.2 guidance (M): 8 in., F 2.3, 0.004 in. w.c."""
    area = np.pi / 4 * (8 / 12) ** 2
    expected = area * 4005 * np.sqrt(0.004 / 2.3)
    coefficient = airside.flow_coefficient_of_inlet(diameter=to_si(8, "in."), amplification=2.3)
    found = airside.least_measurable_flow(flow_coefficient=coefficient, least_pressure=to_si(0.004, "in. w.c."))
    assert to_ip(found, "cfm") == pytest.approx(expected, rel=0.003)  # 58 cfm
    assert found == pytest.approx(27.5, abs=0.2)  # L/s
    assert to_ip(airside.LEAST_READABLE_PRESSURE, "in. w.c.") == pytest.approx(0.004, rel=0.01)


def test_a_makers_floor_of_three_hundredths_as_duct_velocity():
    """0.03 in. w.c. at the sensor (R, a terminal maker's manual) is 457 fpm in the duct with F 2.3 (C)."""
    diameter = to_si(10, "in.")
    flow = airside.least_measurable_flow(
        flow_coefficient=airside.flow_coefficient_of_inlet(diameter=diameter), least_pressure=to_si(0.03, "in. w.c.")
    )
    velocity = flow / 1000.0 / airside.inlet_area(diameter=diameter)
    assert to_ip(velocity, "fpm") == pytest.approx(457, rel=0.003)


# Boundaries: below, at, above, null. A reading below zero is an error of the transducer's zero, not a velocity.
@pytest.mark.parametrize(("pressure", "flow"), [(-0.1, np.nan), (0.0, 0.0), (0.25, 10.0), (np.nan, np.nan)])
def test_flow_at_the_edge_of_zero_pressure(pressure, flow):
    found = airside.flow_from_pressure(differential_pressure=pressure, flow_coefficient=20.0)
    assert found == pytest.approx(flow, nan_ok=True)
    assert np.isnan(airside.velocity_from_pressure(velocity_pressure=pressure)) == np.isnan(flow)


@pytest.mark.parametrize(("pressure", "coefficient"), [(-1.0, np.nan), (0.0, np.nan), (4.0, 43.0), (np.nan, np.nan)])
def test_no_coefficient_from_a_reading_that_is_not_above_zero(pressure, coefficient):
    found = airside.flow_coefficient_from_reading(flow=86.0, differential_pressure=pressure)
    assert found == pytest.approx(coefficient, nan_ok=True)


@given(flow=st.floats(1, 3000), coefficient=st.floats(5, 200), density=st.floats(0.8, 1.3))
def test_flow_pressure_and_coefficient_invert_each_other(flow, coefficient, density):
    pressure = airside.pressure_from_flow(flow=flow, flow_coefficient=coefficient, density=density)
    back = airside.flow_from_pressure(differential_pressure=pressure, flow_coefficient=coefficient, density=density)
    assert back == pytest.approx(flow)
    found = airside.flow_coefficient_from_reading(flow=flow, differential_pressure=pressure, density=density)
    assert found == pytest.approx(coefficient)
