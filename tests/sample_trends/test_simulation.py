"""The model: the same seed gives the same week, the readings follow from the physics, and sound means sound."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from analyzer.quantities import AIR_HANDLER, TERMINAL
from sample_trends import Fault, invented_building, physics, quillfeather_house, simulate
from sample_trends.steps import STEP

START = "2026-01-27"


@pytest.fixture(scope="module")
def house():
    return quillfeather_house()


@pytest.fixture(scope="module")
def day(house):
    return simulate(house, seed=3, start=START, days=1, step_minutes=1)


def test_tables_have_the_normalized_columns(day, house):
    assert list(day.terminals.columns) == ["terminal", "time", *TERMINAL]
    assert list(day.air_handlers.columns) == ["air_handler", "time", *AIR_HANDLER]
    assert len(day.terminals) == 1440 * len(house.terminals)
    assert str(day.terminals["time"].dt.tz) == "UTC"
    for name, quantity in (TERMINAL | AIR_HANDLER).items():
        values = (day.terminals if name in TERMINAL else day.air_handlers)[name].dropna()
        assert values.between(quantity.low, quantity.high).all(), name


def test_same_seed_same_day_whatever_the_interval_and_length(day, house):
    coarse = simulate(house, seed=3, start=START, days=0.5, step_minutes=15)
    fine = day.terminals[day.terminals["time"].isin(coarse.terminals["time"])].reset_index(drop=True)
    assert (coarse.terminals["terminal"] == fine["terminal"]).all()
    values, others = (
        table.drop(columns=["terminal", "time", "fan_starts"]).to_numpy() for table in (coarse.terminals, fine)
    )
    # The last bit of a sine depends on how long the array is; here and there that turns a rounding.
    assert ((values == others) | (np.isnan(values) & np.isnan(others))).mean() > 0.999


def test_no_start_is_lost_between_samples(house):
    faults = [Fault("fan-band-too-narrow", "FPT-1-08")]
    fine, coarse = (simulate(house, faults, seed=3, start=START, days=0.5, step_minutes=step) for step in (1, 15))
    starts = [week.terminals.groupby("terminal")["fan_starts"].sum() for week in (fine, coarse)]
    # The coarse log ends a quarter of an hour before the fine one.
    assert starts[1]["FPT-1-08"] >= 8
    assert (starts[0] - starts[1]).between(0, 2).all()


def test_an_interval_under_the_step_is_refused(house):
    with pytest.raises(ValueError, match="step_minutes=0.25 is no multiple of 1"):
        simulate(house, seed=3, start=START, days=0.5, step_minutes=0.25)


def test_sound_flow_sensors_read_true_within_three_percent(day, house):
    true = day.recording.terminals["true_primary_flow"]
    read = day.recording.terminals["primary_flow"]
    steady = slice(9 * 60, 17 * 60)
    error = read[steady].mean(axis=0) / true[steady].mean(axis=0) - 1.0
    assert np.abs(error).max() < 0.03
    assert np.median(np.abs(error)) < 0.02


def test_ventilation_is_truly_kept(day, house):
    true = day.recording.terminals["true_primary_flow"][7 * 60 : 18 * 60]
    hourly = np.apply_along_axis(lambda column: np.convolve(column, np.ones(60) / 60, "valid"), 0, true)
    least = house.terminals["ventilation_min"].to_numpy()
    there = ~np.isnan(least)
    assert (hourly.min(axis=0)[there] >= least[there]).all()


def test_series_discharge_is_the_mixture_and_the_heat(day, house):
    """Heat balance of a series unit's mixing box, from the readings alone (fan rise allowed for)."""
    tag = "FPT-2-12"
    rows = day.terminals[day.terminals["terminal"] == tag].set_index("time").tz_convert(house.time_zone)
    rows = rows.between_time("10:00", "17:00")
    fan = house.terminals.at[tag, "fan_flow"]
    share = rows["primary_flow"] / fan
    mixed = share * rows["primary_temp"] + (1 - share) * rows["plenum_temp"]
    assert (rows["reheat_position"] == 0).all()
    rise = (rows["discharge_temp"] - mixed).median()
    assert 0.0 < rise < 1.0


def test_coil_gives_the_heat_that_the_air_takes_up():
    """94 L/s at a rise of 15.6 K is 1.76 kW (200 cfm, 28 degF, 6,000 Btu/h): common practice, no source."""
    one = np.ones(1)
    b = SimpleNamespace(
        transfer_units=one, design_flow=94 * one, air_heat=1.2, electric=one > 0, reheat_capacity=1760 * one, coil_lag=1 - 1e-9,
    )  # fmt: skip
    knobs = SimpleNamespace(heat_capacity=one, heat_leak=0 * one, heat_welded=0 * one)
    t = SimpleNamespace(
        discharge_flow=94 * one, entering_temp=15.0 * one, heat_signal=one, coil_heat=0 * one, discharge_temp=15.0 * one,
        plenum_temp=22.0 * one,
    )  # fmt: skip
    for _ in range(10):
        physics.coil(b, t, knobs)
    assert t.discharge_temp[0] - 15.0 == pytest.approx(15.6, abs=0.05)


def test_room_settles_where_gains_meet_losses():
    """1 kW in a room of 50 W/K stands 20 K above a steady outdoor temperature: heat balance, no source needed."""
    one = np.ones(1)
    b = SimpleNamespace(
        plug_load=1000 * one, people_heat=0 * one, solar_area=0 * one, underfloor=one < 0, design_flow=100 * one, air_heat=1.2,
        mass_coupling=500 * one, loss=30 * one, mass_loss=20 * one, air_capacity=1e5 * one, mass_capacity=1e6 * one,
        top_floor=one < 0, open_group=np.zeros(1, int), open_count=one, open_exchange=0 * one,
        party_loss=0 * one, plenum_extra=0 * one,
    )  # fmt: skip
    knobs = SimpleNamespace(gains=one, leaky_room=one)
    t = SimpleNamespace(
        zone_temp=0 * one, mass_temp=0 * one, discharge_temp=0 * one, discharge_flow=0 * one, plenum_temp=0 * one
    )
    for _ in range(int(40 * 3600 * 10 / STEP)):
        physics.room(b, t, knobs, 0.0, 0.0, 0.0, one, 0.0)
    shared = (30 * t.zone_temp + 20 * t.mass_temp)[0]
    assert shared == pytest.approx(1000.0, rel=1e-3)
    assert t.zone_temp[0] == pytest.approx(20.0, abs=0.5)


def test_damper_opens_to_its_open_flow():
    one = np.ones(1)
    b = SimpleNamespace(
        damper_leak=0.005 * one, damper_curve=1.8 * one, open_coefficient=10 * one, downstream=2 * one, inlet_share=0.8 * one,
        flow_gain=one, flow_coefficient=9 * one, zero_pressure=0 * one,
    )  # fmt: skip
    knobs = SimpleNamespace(
        inlet_path=one, flow_gain=one, flow_zero=0 * one, flow_frozen=0 * one, flow_held=np.nan * one
    )
    flows = []
    for position in np.linspace(0, 1, 11):
        t = SimpleNamespace(blade=position * one, flow_read=0 * one)
        physics.primary_air(b, t, knobs, 250.0 * one, np.zeros((2, 1)))
        flows.append(t.primary_flow[0])
    assert (np.diff(flows) > 0).all()
    assert flows[-1] == pytest.approx(10 * np.sqrt(250 * 0.8))
    assert flows[0] < 0.02 * flows[-1]


def test_invented_buildings_hold_every_kind():
    terminals = invented_building(200, seed=8).terminals
    assert set(terminals["kind"]) == {"single-duct", "series", "parallel"}
    assert set(terminals["reheat"]) == {"none", "electric", "hot-water"}
    assert set(terminals["distribution"]) == {"overhead", "underfloor"}
    assert (terminals["primary_max"] > terminals["primary_min"]).all()
    assert (terminals["primary_min"] >= terminals["ventilation_min"].fillna(0)).all()
    series = terminals[terminals["kind"] == "series"]
    assert (series["fan_flow"] > series["primary_max"]).all()


def test_the_model_does_not_know_the_analyzer():
    """An independent model: of the analyzer it may use the units, nothing that judges."""
    import ast
    from pathlib import Path

    import sample_trends

    for path in Path(sample_trends.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            modules = (
                [node.module]
                if isinstance(node, ast.ImportFrom)
                else [a.name for a in getattr(node, "names", []) if isinstance(node, ast.Import)]
            )
            assert not [
                name for name in modules if name and name.startswith("analyzer") and name != "analyzer.quantities"
            ], path
