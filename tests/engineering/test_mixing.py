"""What a fan induces, how airs mix, and what the temperatures say about the primary flow."""

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from ip import to_ip, to_si

from analyzer import airside

psychrolib.SetUnitSystem(psychrolib.SI)
AIRS = {"primary_temp": 13.0, "induced_temp": 23.0}


# A series unit: primary below, at and above its fan, and not known. Mass balance of the terminal.
@pytest.mark.parametrize(
    ("primary", "induced", "discharge"),
    [(199.0, 1.0, 200.0), (200.0, 0.0, 200.0), (201.0, 0.0, 200.0), (np.nan, np.nan, 200.0)],
)
def test_series_fan_makes_up_what_primary_lacks(primary, induced, discharge):
    rows = {"primary_flow": primary, "fan_flow": 200.0, "fan_on": 1, "series": True}
    assert airside.induced_flow(**rows) == pytest.approx(induced, nan_ok=True)
    assert airside.discharge_flow(**rows) == discharge


@pytest.mark.parametrize(
    ("kind", "fan_on", "induced", "discharge"),
    [
        ("series", 1.0, 150.0, 250.0),
        ("series", 0.0, 0.0, 100.0),
        ("series", np.nan, np.nan, np.nan),
        ("parallel", 1.0, 250.0, 350.0),
        ("parallel", 0.0, 0.0, 100.0),
        ("parallel", np.nan, np.nan, np.nan),
        ("single-duct", 0.0, 0.0, 100.0),
    ],
)
def test_flows_of_each_kind(kind, fan_on, induced, discharge):
    """Kinds as the trade defines them: common practice, no source."""
    fan_flow = 0.0 if kind == "single-duct" else 250.0
    rows = {"primary_flow": 100.0, "fan_flow": fan_flow, "fan_on": fan_on, "series": kind == "series"}
    assert airside.induced_flow(**rows) == pytest.approx(induced, nan_ok=True)
    assert airside.discharge_flow(**rows) == pytest.approx(discharge, nan_ok=True)


def test_one_call_serves_rows_of_every_kind():
    rows = {
        "primary_flow": np.array([100.0, 100.0, 100.0, 300.0]),
        "fan_flow": np.array([250.0, 250.0, 0.0, 250.0]),
        "fan_on": np.array([1.0, 1.0, 0.0, 1.0]),
        "series": np.array([True, False, False, True]),
    }
    np.testing.assert_array_equal(airside.induced_flow(**rows), [150.0, 250.0, 0.0, 0.0])
    np.testing.assert_array_equal(airside.discharge_flow(**rows), [250.0, 350.0, 100.0, 250.0])


def test_mixing_in_ip_and_si():
    """Flow-weighted mean: 150 cfm at 55 degF with 450 cfm at 75 degF is 70 degF (C); in SI 71 and 212 L/s."""
    mixed = airside.mixed_temp(
        primary_flow=to_si(150, "cfm"),
        primary_temp=to_si(55, "degF"),
        induced_flow=to_si(450, "cfm"),
        induced_temp=to_si(75, "degF"),
    )
    assert to_ip(mixed, "degF") == pytest.approx(70.0)
    mixed = airside.mixed_temp(primary_flow=71.0, primary_temp=12.8, induced_flow=212.0, induced_temp=23.9)
    assert mixed == pytest.approx(21.1, abs=0.05)


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_mixing_agrees_with_an_enthalpy_balance(share):
    """Masses and enthalpies of moist air by a psychrometric library: 8 g/kg, 101.325 kPa."""
    humidity = 0.008
    temps = np.array([13.0, 23.0])
    volumes = np.array([psychrolib.GetMoistAirVolume(t, humidity, 101325.0) for t in temps])
    masses = np.array([share, 1 - share]) / volumes
    enthalpy = np.dot(masses, [psychrolib.GetMoistAirEnthalpy(t, humidity) for t in temps]) / masses.sum()
    exact = psychrolib.GetTDryBulbFromEnthalpyAndHumRatio(enthalpy, humidity)
    mixed = airside.mixed_temp(primary_flow=share, induced_flow=1 - share, **AIRS)
    assert 0 < mixed - exact < 0.1  # as its notes say


@pytest.mark.parametrize(("induced", "mixed"), [(0.0, 13.0), (100.0, np.nan), (np.nan, np.nan)])
def test_plenum_temperature_is_needed_only_where_air_is_induced(induced, mixed):
    found = airside.mixed_temp(primary_flow=100.0, primary_temp=13.0, induced_flow=induced, induced_temp=np.nan)
    assert found == pytest.approx(mixed, nan_ok=True)


@pytest.mark.parametrize(("total", "known"), [(-1.0, False), (0.0, False), (1.0, True), (np.nan, False)])
def test_nothing_mixes_without_flow(total, known):
    assert np.isfinite(airside.mixed_temp(primary_flow=total, induced_flow=0.0, **AIRS)) == known


def test_fan_heat_in_ip_and_si():
    """0.6 W per L/s is 0.28 W/cfm; all of it warms the air: 0.28 x 3.412 / 1.08 = 0.89 degF (C), 0.50 K."""
    assert airside.fan_temp_rise(power_per_flow=0.6) == pytest.approx(0.6 / 1.211, rel=1e-3)
    per_cfm = airside.FAN_POWER_PER_FLOW * to_si(1, "cfm")
    assert per_cfm == pytest.approx(0.283, abs=0.001)
    assert to_ip(airside.fan_temp_rise(), "degF rise") == pytest.approx(per_cfm * 3.412 / 1.08, rel=0.006)


@pytest.mark.parametrize(
    ("kind", "flows", "expected"),
    [
        ("single-duct", {"primary_flow": 100.0, "induced_flow": 0.0, "fan_flow": 0.0}, 13.0),
        ("parallel, fan off", {"primary_flow": 100.0, "induced_flow": 0.0, "fan_flow": 0.0}, 13.0),
        ("parallel, fan on", {"primary_flow": 100.0, "induced_flow": 150.0, "fan_flow": 150.0}, 19.0 + 0.6 * 0.5),
        ("series", {"primary_flow": 100.0, "induced_flow": 150.0, "fan_flow": 250.0}, 19.0 + 0.5),
        ("series, all primary", {"primary_flow": 250.0, "induced_flow": 0.0, "fan_flow": 250.0}, 13.0 + 0.5),
    ],
)
def test_discharge_to_expect_with_the_coil_off(kind, flows, expected):
    """Heat balance of each kind, by hand; the fan warms only what passes it."""
    assert airside.coil_off_temp(**flows, **AIRS, fan_rise=0.5) == pytest.approx(expected), kind


def test_a_series_unit_discharges_warmer_than_primary_plus_5_degf_with_its_coil_off():
    """So the alarm limit for a leaking valve (DAT over supply by 3 K, ASHRAE Guideline 36 5.6.6.5, R) is no limit for
    a series unit when set against primary air."""
    found = airside.coil_off_temp(primary_flow=60.0, induced_flow=140.0, fan_flow=200.0, fan_rise=0.5, **AIRS)
    assert found - AIRS["primary_temp"] > 3.0


def test_outdoor_air_fraction_has_the_same_form_as_the_primary_share():
    """%OA = (RAT - MAT) / (RAT - OAT): brochure (R). Return 75, mixed 65, outdoor 35 degF is 25 %, and in SI."""
    share = airside.primary_share(
        discharge_temp=to_si(65, "degF"), primary_temp=to_si(35, "degF"), plenum_temp=to_si(75, "degF")
    )
    assert share == pytest.approx(0.25)
    assert airside.primary_share(discharge_temp=20.0, primary_temp=8.0, plenum_temp=24.0) == pytest.approx(0.25)


# Primary below, at and above plenum temperature, and not known.
@pytest.mark.parametrize(("primary_temp", "share"), [(13.0, 0.5), (23.0, np.nan), (33.0, -0.5), (np.nan, np.nan)])
def test_share_at_its_edges(primary_temp, share):
    found = airside.primary_share(discharge_temp=18.0, primary_temp=primary_temp, plenum_temp=23.0)
    assert found == pytest.approx(share, nan_ok=True)


@given(
    primary=st.floats(1, 400),
    induced=st.floats(1, 400),
    primary_temp=st.floats(8, 18),
    apart=st.floats(2, 15),
    rise=st.floats(0, 1),
)
def test_share_undoes_the_mixing_of_a_series_and_of_a_parallel_unit(primary, induced, primary_temp, apart, rise):
    plenum_temp = primary_temp + apart
    airs = {
        "primary_flow": primary,
        "primary_temp": primary_temp,
        "induced_flow": induced,
        "induced_temp": plenum_temp,
        "fan_rise": rise,
    }
    share = primary / (primary + induced)
    series = airside.coil_off_temp(**airs, fan_flow=primary + induced)
    found = airside.primary_share(
        discharge_temp=series, primary_temp=primary_temp, plenum_temp=plenum_temp, fan_rise=rise
    )
    assert found == pytest.approx(share, abs=1e-9)
    parallel = airside.coil_off_temp(**airs, fan_flow=induced)
    found = airside.primary_share(discharge_temp=parallel, primary_temp=primary_temp, plenum_temp=plenum_temp + rise)
    assert found == pytest.approx(share, abs=1e-9)


@pytest.mark.parametrize("share", [0.15, 0.5, 0.9])
@pytest.mark.parametrize("apart", [5.0, 10.0])
def test_uncertainty_of_the_share_agrees_with_a_monte_carlo_run(share, apart):
    errors = np.random.default_rng(1).normal(size=(4, 200_000)) * np.array([[0.5], [0.4], [0.3], [0.2]])
    primary, plenum = 23.0 - apart, 23.0
    discharge = plenum - share * apart + 0.5
    shares = airside.primary_share(
        discharge_temp=discharge + errors[0],
        primary_temp=primary + errors[1],
        plenum_temp=plenum + errors[2],
        fan_rise=0.5 + errors[3],
    )
    stated = airside.primary_share_uncertainty(
        share=share,
        primary_temp=primary,
        plenum_temp=plenum,
        discharge_accuracy=0.5,
        primary_accuracy=0.4,
        plenum_accuracy=0.3,
        fan_rise_accuracy=0.2,
    )
    # First order against full: 3 % while the airs are ten errors apart; sampling 0.3 %.
    assert stated == pytest.approx(shares.std(), rel=0.03)
