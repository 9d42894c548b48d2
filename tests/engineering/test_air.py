"""Air's density and the heat that it carries, against published figures in IP and SI and independent libraries.

The status of each figure stands beside it: R read in the source, R2 read in a page that restates it, M from memory,
C computed from the published formula.
"""

import CoolProp.CoolProp as coolprop
import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ip import to_ip, to_si

from analyzer import airside

psychrolib.SetUnitSystem(psychrolib.SI)


# "Design Guide for Heating, Ventilating, and Air Conditioning Systems" (rev. 2006-09-21), Table 6a, p. 38: 6,000 and
# 8,000 ft (R). The others: ASHRAE Fundamentals ch. 1 standard atmosphere (C). Three digits are printed.
@pytest.mark.parametrize(
    ("feet", "ratio", "inches_of_mercury"),
    [
        (0, 1.000, 29.92),
        (1000, 0.964, 28.86),
        (2000, 0.930, 27.82),
        (5000, 0.832, 24.90),
        (6000, 0.801, 23.98),
        (8000, 0.743, 22.23),
    ],
)
def test_altitude_thins_the_air_as_published(feet, ratio, inches_of_mercury):
    altitude = to_si(feet, "ft")
    assert airside.air_density(altitude=altitude) / airside.air_density() == pytest.approx(ratio, abs=0.001)
    assert to_ip(airside.air_pressure(altitude=altitude), "in. Hg") == pytest.approx(inches_of_mercury, abs=0.015)


@pytest.mark.parametrize(("feet", "pounds"), [(0, 0.0750), (6000, 0.0601), (8000, 0.0557)])
def test_density_at_70_degf_in_ip(feet, pounds):
    """0.075 lb/ft3: a test-instrument maker's brochure (R); the rest as Table 6a above (R). 70 degF as printed."""
    density = airside.air_density(altitude=to_si(feet, "ft"), temperature=to_si(70.0, "degF"))
    assert to_ip(density, "lb/ft3") == pytest.approx(pounds, abs=0.0002)  # standard air is rounded to 0.075


def test_density_of_standard_air_in_si():
    """1.204 kg/m3, dry, 20 degC: web page citing a ventilation manual (R)."""
    assert airside.air_density() == pytest.approx(1.204, abs=0.0005)
    assert pytest.approx(airside.air_density(), abs=0.0005) == airside.STANDARD_DENSITY


@pytest.mark.parametrize("temperature", [10.0, 20.0, 24.0, 35.0])
@pytest.mark.parametrize("altitude", [0.0, 190.0, 1600.0, 2400.0])
def test_density_agrees_with_psychrometric_and_fluid_property_libraries(altitude, temperature):
    ours = airside.air_density(altitude=altitude, temperature=temperature)
    pressure = psychrolib.GetStandardAtmPressure(altitude)
    assert airside.air_pressure(altitude=altitude) == pytest.approx(pressure, rel=1e-5)
    assert ours == pytest.approx(psychrolib.GetDryAirDensity(temperature, pressure), rel=1e-4)
    # The other library has a real gas, not an ideal one: 0.05 %.
    assert ours == pytest.approx(coolprop.PropsSI("D", "T", temperature + 273.15, "P", pressure, "Air"), rel=1e-3)


def test_specific_heat_agrees_with_a_fluid_property_library():
    assert pytest.approx(coolprop.PropsSI("C", "T", 293.15, "P", 101325, "Air"), rel=1e-3) == airside.SPECIFIC_HEAT


@pytest.mark.parametrize(
    ("cfm", "rise", "btu_per_hour", "source"),
    [
        (200, 28, 6048, "1.08 x 200 x 28; about 6,000 Btu/h: common practice, no source"),
        (600, 28, 18144, "common practice, no source"),
        (1000, 20, 21600, "1.08 x 1000 x 20 (C)"),
    ],
)
def test_sensible_heat_in_ip(cfm, rise, btu_per_hour, source):
    heat = airside.sensible_heat(flow=to_si(cfm, "cfm"), temperature_difference=to_si(rise, "degF rise"))
    # 1.08 is 60 x 0.075 x 0.24 exactly; the true product of this density and heat is 1.084.
    assert to_ip(heat, "Btu/h") == pytest.approx(btu_per_hour, rel=0.005), source


@pytest.mark.parametrize(
    ("flow", "rise", "watts", "source"),
    [
        (94.0, 15.6, 1760.0, "common practice, no source; 1.2 x 94 x 15.6"),
        (283.0, 15.6, 5300.0, "common practice, no source; 1.2 x 283 x 15.6"),
        (471.95, 100.0 / 9.0, 6330.0, "the SI form of 1,000 cfm at 20 degF: 6.33 kW (C)"),
    ],
)
def test_sensible_heat_in_si(flow, rise, watts, source):
    # The factor 1.2 is the rounded 1.211: 0.9 % apart.
    assert airside.sensible_heat(flow=flow, temperature_difference=rise) == pytest.approx(watts, rel=0.012), source


def test_the_ip_and_si_factors_are_one():
    """1.08 Btu/h per cfm and degF is 1.207 W per L/s and K (C); 1.2 in SI (M)."""
    per_unit = airside.sensible_heat(flow=1.0, temperature_difference=1.0)
    assert per_unit == pytest.approx(1.207, rel=0.005)
    ip = to_ip(airside.sensible_heat(flow=to_si(1, "cfm"), temperature_difference=to_si(1, "degF rise")), "Btu/h")
    assert ip == pytest.approx(1.08, rel=0.005)


@pytest.mark.parametrize(
    ("feet", "factor"), [(1000, 1.042), (2000, 1.004), (5000, 0.899), (6000, 0.865), (8000, 0.802)]
)
def test_the_sensible_heat_factor_falls_with_altitude(feet, factor):
    """1.08 times the relative density of Table 6a (C)."""
    heat = airside.sensible_heat(
        flow=to_si(1, "cfm"),
        temperature_difference=to_si(1, "degF rise"),
        density=airside.air_density(altitude=to_si(feet, "ft")),
    )
    assert to_ip(heat, "Btu/h") == pytest.approx(factor, rel=0.006)


def test_200_cfm_cannot_carry_a_ton_at_28_degf_and_600_cfm_can():
    """12,000 Btu/h is 3.5 kW: common practice, no source."""
    ton = to_si(12_000, "Btu/h")
    rise = to_si(28, "degF rise")
    assert ton == pytest.approx(3500.0, rel=0.005)
    assert airside.sensible_heat(flow=to_si(200, "cfm"), temperature_difference=rise) < ton
    assert airside.sensible_heat(flow=to_si(600, "cfm"), temperature_difference=rise) > ton
    needed = to_ip(airside.flow_for_heat(heat=ton, temperature_difference=rise), "cfm")
    assert needed == pytest.approx(12_000 / 1.08 / 28, rel=0.005)


def test_air_rise_over_a_coil_in_ip_and_si():
    """dT[degF] = 927 MBH / cfm: a trade equation sheet (R)."""
    rise = airside.temperature_rise(heat=to_si(10_000, "Btu/h"), flow=to_si(500, "cfm"))
    assert to_ip(rise, "degF rise") == pytest.approx(927 * 10 / 500, rel=0.006)
    assert airside.temperature_rise(heat=1000.0, flow=100.0) == pytest.approx(1000 / 1.211 / 100, rel=1e-3)


@pytest.mark.parametrize("humidity_ratio", [0.004, 0.008, 0.012])
def test_leaving_out_humidity_costs_less_than_one_percent(humidity_ratio):
    """Enthalpy difference per volume of moist air, by a psychrometric library."""
    warm, cool = 36.0, 21.0
    volume = psychrolib.GetMoistAirVolume(20.0, humidity_ratio, 101325.0)  # m3 per kg of dry air
    enthalpy = [psychrolib.GetMoistAirEnthalpy(t, humidity_ratio) for t in (warm, cool)]
    moist = (enthalpy[0] - enthalpy[1]) / volume / 1000.0  # W per L/s
    assert airside.sensible_heat(flow=1.0, temperature_difference=warm - cool) == pytest.approx(moist, rel=0.01)


# Boundaries: below, at, above, null.
@pytest.mark.parametrize(("difference", "flow"), [(-1.0, np.nan), (0.0, np.nan), (1.0, 1000 / 1.211), (np.nan, np.nan)])
def test_no_flow_heats_with_air_that_is_not_warmer(difference, flow):
    found = airside.flow_for_heat(heat=1000.0, temperature_difference=difference)
    assert found == pytest.approx(flow, rel=1e-3, nan_ok=True)


@pytest.mark.parametrize(("flow", "rise"), [(-1.0, np.nan), (0.0, np.nan), (1.0, 1000 / 1.211), (np.nan, np.nan)])
def test_no_rise_without_flow(flow, rise):
    assert airside.temperature_rise(heat=1000.0, flow=flow) == pytest.approx(rise, rel=1e-3, nan_ok=True)


@given(flow=st.floats(1, 5000), difference=st.floats(0.1, 40), density=st.floats(0.8, 1.3))
def test_heat_flow_and_rise_invert_each_other(flow, difference, density):
    heat = airside.sensible_heat(flow=flow, temperature_difference=difference, density=density)
    assert airside.flow_for_heat(heat=heat, temperature_difference=difference, density=density) == pytest.approx(flow)
    assert airside.temperature_rise(heat=heat, flow=flow, density=density) == pytest.approx(difference)
