"""The chain from the engine's outputs to an export, without the engine: what is put in between is what it says."""

from __future__ import annotations

import numpy as np
import pandas as pd
import psychrolib
import pytest

from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from tests.energyplus.building import OF_TAG, ROOMS
from tests.energyplus.export import EXACT, Sensors, as_read
from tests.energyplus.injections import CASES, INJECTIONS, OF_SUPPLY
from tests.energyplus.readings import PRESSURE, dry_density, in_still_air, valve_signal
from tests.energyplus.truth import COMMON_CAUSE, SIGNS


@pytest.mark.parametrize(("temperature", "humidity_ratio"), [(13.0, 0.002), (20.0, 0.0075), (35.0, 0.012)])
def test_density_is_that_of_a_library_of_psychrometrics(temperature, humidity_ratio):
    psychrolib.SetUnitSystem(psychrolib.SI)
    volume = psychrolib.GetMoistAirVolume(temperature, humidity_ratio, PRESSURE)
    assert dry_density(temperature, humidity_ratio) == pytest.approx(1 / volume, rel=1e-4)


def test_a_valve_signal_is_the_inverse_of_its_equal_percentage_curve():
    signal = np.array([0.0, 20.0, 50.0, 77.0, 100.0])
    flow = (50.0 ** (signal / 100) - 1) / 49.0
    assert valve_signal(pd.Series(flow)).tolist() == pytest.approx(signal.tolist())


def test_a_sensor_in_still_air_nears_the_plenum():
    moving = pd.Series([0.2, 0.2, 0.0, 0.0, 0.0])
    shown = in_still_air(pd.Series([13.0, 14.0, 99.0, 99.0, 99.0]), moving, pd.Series(24.0, moving.index))
    assert shown[:2].tolist() == [13.0, 14.0]
    assert shown[2:].tolist() == pytest.approx((24 - 10 * np.exp(-np.array([1, 2, 3]) / 10)).tolist())


def test_sensor_errors_are_constants_within_their_bounds_and_noise():
    tags = np.repeat([room.tag for room in ROOMS], 500)
    names = ["zone_temp", "discharge_temp", "primary_temp", "plenum_temp", "primary_flow", "primary_flow_setpoint"]
    table = pd.DataFrame({"terminal": tags} | dict.fromkeys(names, 20.0))
    pd.testing.assert_frame_equal(as_read(table, EXACT, 1), table)
    off = (as_read(table, Sensors(), 1).set_index("terminal")[names] - 20.0).groupby(level=0).mean()
    assert off[["zone_temp", "discharge_temp"]].abs().to_numpy().max() < 2 * 0.2 + 0.02
    assert 0.1 < off["discharge_temp"].std() < 0.35
    assert (off["primary_flow"] / 20).abs().max() < 2 * 0.02 + 0.005


def test_every_injection_has_rules_of_the_book_and_a_sign_in_the_engine():
    rules = set(read_rules([rule_book()]))
    for injection in INJECTIONS.values():
        assert injection.shows
        assert set(injection.shows) <= set(SIGNS)
        assert {*injection.shows, *injection.also} <= rules
    assert {*OF_SUPPLY, COMMON_CAUSE} <= rules


def test_every_case_names_terminals_of_the_annex_and_known_kinds():
    assert all(tag in OF_TAG and kind in INJECTIONS for case in CASES.values() for tag, kind in case.items())
    assert {kind for case in CASES.values() for kind in case.values()} == set(INJECTIONS)
