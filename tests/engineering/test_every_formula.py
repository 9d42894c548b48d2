"""What holds for every engineering function: arrays as scalars, null in null out, no input changed, fully told."""

import doctest
import importlib
import inspect

import numpy as np
import pytest

from analyzer import airside, ventilation

# Two rows of plausible inputs, away from every edge, so that each of them is needed for the answer.
INPUTS = {
    airside.air_pressure: {"altitude": (0.0, 1600.0)},
    airside.air_density: {"altitude": (0.0, 1600.0), "temperature": (13.0, 35.0)},
    airside.sensible_heat: {"flow": (94.0, 283.0), "temperature_difference": (15.6, -8.0), "density": (1.2, 1.0)},
    airside.flow_for_heat: {"heat": (1760.0, -500.0), "temperature_difference": (15.6, -8.0), "density": (1.2, 1.0)},
    airside.temperature_rise: {"heat": (1760.0, 500.0), "flow": (94.0, 283.0), "density": (1.2, 1.0)},
    airside.induced_flow: {
        "primary_flow": (60.0, 50.0),
        "fan_flow": (200.0, 180.0),
        "fan_on": (1.0, 1.0),
        "series": (True, True),
    },
    airside.discharge_flow: {
        "primary_flow": (60.0, 50.0),
        "fan_flow": (200.0, 180.0),
        "fan_on": (1.0, 1.0),
        "series": (False, False),
    },
    airside.mixed_temp: {
        "primary_flow": (60.0, 50.0),
        "primary_temp": (13.0, 12.0),
        "induced_flow": (140.0, 30.0),
        "induced_temp": (23.0, 25.0),
    },
    airside.fan_temp_rise: {"power_per_flow": (0.6, 0.4), "density": (1.2, 1.0)},
    airside.coil_off_temp: {
        "primary_flow": (60.0, 50.0),
        "primary_temp": (13.0, 12.0),
        "induced_flow": (140.0, 30.0),
        "induced_temp": (23.0, 25.0),
        "fan_flow": (200.0, 30.0),
        "fan_rise": (0.5, 0.4),
    },
    airside.primary_share: {
        "discharge_temp": (20.5, 16.0),
        "primary_temp": (13.0, 12.0),
        "plenum_temp": (23.0, 25.0),
        "fan_rise": (0.5, 0.4),
    },
    airside.primary_share_uncertainty: {
        "share": (0.3, 0.6),
        "primary_temp": (13.0, 12.0),
        "plenum_temp": (23.0, 25.0),
        "discharge_accuracy": (0.5, 0.3),
        "primary_accuracy": (0.5, 0.3),
        "plenum_accuracy": (0.5, 0.3),
        "fan_rise_accuracy": (0.3, 0.2),
    },
    airside.inlet_area: {"diameter": (0.15, 0.4)},
    airside.velocity_from_pressure: {"velocity_pressure": (1.0, 249.0), "density": (1.2, 1.0)},
    airside.velocity_pressure: {"velocity": (2.0, 20.0), "density": (1.2, 1.0)},
    airside.flow_from_pressure: {
        "differential_pressure": (4.0, 60.0),
        "flow_coefficient": (43.0, 27.0),
        "density": (1.2, 1.0),
    },
    airside.pressure_from_flow: {"flow": (86.0, 200.0), "flow_coefficient": (43.0, 27.0), "density": (1.2, 1.0)},
    airside.flow_coefficient_from_reading: {
        "flow": (86.0, 200.0),
        "differential_pressure": (4.0, 60.0),
        "density": (1.2, 1.0),
    },
    airside.flow_coefficient_of_inlet: {"diameter": (0.15, 0.4), "amplification": (2.3, 2.0)},
    airside.least_measurable_flow: {
        "flow_coefficient": (43.0, 27.0),
        "least_pressure": (1.0, 7.5),
        "density": (1.2, 1.0),
    },
    airside.delivered_heat: {
        "discharge_flow": (94.0, 283.0),
        "discharge_temp": (36.0, 13.0),
        "zone_temp": (21.0, 24.0),
        "density": (1.2, 1.0),
    },
    airside.coil_heat: {
        "discharge_flow": (94.0, 283.0),
        "discharge_temp": (36.0, 30.0),
        "entering_temp": (13.0, 19.0),
        "density": (1.2, 1.0),
    },
    airside.call_effectiveness: {"heat": (1500.0, 900.0), "call": (100.0, 50.0), "capacity": (3000.0, 2000.0)},
    airside.most_heat: {
        "flow": (94.0, 283.0),
        "entering_temp": (13.0, 19.0),
        "highest_discharge_temp": (36.0, 32.0),
        "zone_temp": (21.0, 20.0),
        "capacity": (2000.0, 9000.0),
        "density": (1.2, 1.0),
    },
    airside.predicted_mean_vote: {
        "air_temp": (22.0, 27.0),
        "radiant_temp": (21.0, 28.0),
        "air_speed": (0.1, 0.3),
        "humidity": (40.0, 60.0),
        "activity": (1.2, 1.6),
        "clothing": (1.0, 0.5),
    },
    airside.predicted_dissatisfied: {"vote": (-0.5, 1.2)},
    airside.zone_heat_load: {
        "delivered_heat": (1500.0, 0.0),
        "temperature_rate": (-1e-4, 2e-4),
        "zone_capacity": (2e6, 5e6),
    },
    airside.zone_heat_load_uncertainty: {
        "heat_uncertainty": (150.0, 90.0),
        "temperature_rate": (-1e-4, 2e-4),
        "rate_uncertainty": (3e-5, 2e-5),
        "zone_capacity": (2e6, 5e6),
        "capacity_uncertainty": (1e6, 2e6),
    },
    airside.zone_capacity_from_rates: {
        "heat_warming": (3000.0, 2000.0),
        "rate_warming": (3e-4, 2e-4),
        "heat_cooling": (0.0, 100.0),
        "rate_cooling": (-1e-4, -2e-4),
    },
    ventilation.breathing_zone_flow: {
        "people": (4.0, 40.0),
        "area": (80.0, 139.0),
        "rate_per_person": (2.5, 5.0),
        "rate_per_area": (0.3, 0.6),
    },
    ventilation.distribution_effectiveness: {
        "underfloor": (False, True),
        "discharge_rise": (9.0, -2.0),
        "stratified": (False, True),
        "jet_reaches": (True, True),
    },
    ventilation.zone_outdoor_flow: {"breathing_zone_flow": (34.0, 140.0), "effectiveness": (0.8, 1.0)},
    ventilation.outdoor_flow_to_zone: {
        "primary_flow": (90.0, 200.0),
        "outdoor_air_fraction": (0.25, 0.4),
        "inlet_flow": (20.0, 0.0),
    },
    ventilation.averaging_seconds: {"zone_volume": (216.0, 90.0), "breathing_zone_flow": (34.0, 12.0)},
}
FORMULAS = pytest.mark.parametrize("formula", INPUTS, ids=lambda formula: formula.__name__)


def _public_functions():
    found = [getattr(airside, name) for name in airside.__all__]
    found += [value for value in vars(ventilation).values() if getattr(value, "__module__", "") == ventilation.__name__]
    return {value for value in found if inspect.isfunction(value)}


def _arrays(formula):
    return {name: np.array(values) for name, values in INPUTS[formula].items()}


def test_every_function_is_listed():
    assert set(INPUTS) == _public_functions()


@FORMULAS
def test_parameters_are_keyword_only_and_all_tried(formula):
    parameters = inspect.signature(formula).parameters
    assert {p.kind for p in parameters.values()} == {inspect.Parameter.KEYWORD_ONLY}
    assert set(parameters) == set(INPUTS[formula])


@FORMULAS
def test_numbers_and_arrays_give_the_same(formula):
    rows = _arrays(formula)
    whole = formula(**rows)
    assert whole.shape == (2,)
    assert np.isfinite(whole).all()
    for row in range(2):
        single = formula(**{name: values[row] for name, values in INPUTS[formula].items()})
        assert np.ndim(single) == 0
        assert isinstance(single, float)  # numpy's own float is one too
        assert single == pytest.approx(whole[row])
    square = formula(**{name: np.tile(values, (3, 1)) for name, values in rows.items()})
    np.testing.assert_array_equal(square, np.tile(whole, (3, 1)))


@FORMULAS
def test_a_missing_value_spoils_its_row_alone(formula):
    for name in (name for name, values in INPUTS[formula].items() if isinstance(values[0], float)):
        rows = _arrays(formula)
        rows[name][0] = np.nan
        np.testing.assert_array_equal(np.isnan(formula(**rows)), [True, False], err_msg=name)


@FORMULAS
def test_no_input_is_changed(formula):
    rows = _arrays(formula)
    for values in rows.values():
        values.flags.writeable = False
    before = {name: values.copy() for name, values in rows.items()}
    result = formula(**rows)
    assert not any(np.shares_memory(result, values) for values in rows.values())
    for name, values in rows.items():
        np.testing.assert_array_equal(values, before[name])


@FORMULAS
def test_the_docstring_says_what_a_reviewer_needs(formula):
    text = inspect.getdoc(formula)
    for heading in ("Parameters", "Returns", "Examples"):
        assert f"{heading}\n{'-' * len(heading)}" in text, heading
    for name in inspect.signature(formula).parameters:
        assert name in text.split("Returns\n-------")[0]
    # A unit in brackets wherever something has one; shares, people and switches have none.
    assert "[" in text


@pytest.mark.parametrize(
    "module", ["airside.air", "airside.mixing", "airside.inlet", "airside.heating", "airside.comfort", "ventilation"]
)
def test_examples_run(module):
    outcome = doctest.testmod(importlib.import_module(f"analyzer.{module}"))
    assert outcome.attempted > 0
    assert outcome.failed == 0
