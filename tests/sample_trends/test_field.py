"""Field mode shows what real trends show: counted positions, frozen points, setpoints by mode, gaps; and it repeats."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from sample_trends.faults import Fault, kind_of
from sample_trends.field import Period, simulate_field
from sample_trends.field.files import NAMES, write_field_exports
from sample_trends.field.logs import log
from sample_trends.field.positions import counted_positions
from sample_trends.field.setpoints import effective
from sample_trends.field_kinds import FIELD_KINDS
from sample_trends.knobs import KNOBS
from sample_trends.simulation import record


@pytest.fixture(scope="module")
def period():
    return Period(3, days_given=1.5, terminals_given=14)


@pytest.fixture(scope="module")
def logged(period):
    return simulate_field(period)


def test_counted_positions_drift_and_a_restart_brings_them_home():
    true = np.full((21 * 96, 40), 40.0)
    counted = counted_positions(true, 0.25, np.random.default_rng(4))
    off = np.abs(counted.shown - true)
    assert (off[:, counted.credible] == 0).all()
    assert np.median(off[:, ~counted.credible]) > 5.0
    restarts = np.argwhere(counted.restarted)
    assert len(restarts)
    assert all(off[row, number] < 1e-9 for row, number in restarts)
    assert 0.2 < counted.restarted.sum(axis=1).max() / 40 < 0.7  # many at one moment
    assert counted.shown.min() >= 0.0
    assert counted.shown.max() <= 100.0


def test_the_effective_setpoint_belongs_to_the_mode_in_force():
    zone = np.array([[20.0], [22.0], [25.0], [23.0], [20.0]])
    heating, cooling = np.full_like(zone, 21.0), np.full_like(zone, 24.0)
    assert effective(zone, heating, cooling)[:, 0].tolist() == [21.0, 21.0, 24.0, 24.0, 21.0]


def test_points_of_a_unit_freeze_while_it_stands_and_its_terminals_lose_their_air(period):
    unit = period.building.air_handlers.index[0]
    day = pd.Timestamp(period.start)
    fault = Fault("unit-outage", unit, start=day + pd.Timedelta("11h"), end=day + pd.Timedelta("14h"))
    recording = record(
        period.building,
        [fault],
        seed=1,
        start=period.start,
        days=0.75,
        step_minutes=15,
        climate=period.climate,
        more=True,
    )
    logged = log(period, recording)
    during = slice(11 * 4 + 1, 14 * 4)
    own = (period.building.terminals["air_handler"] == unit).to_numpy()
    assert logged.air_handlers["supply_fan_status"][during, 0].tolist() == [1.0] * (3 * 4 - 1)
    assert np.ptp(logged.air_handlers["supply_temp"][during, 0]) == 0
    flow = recording.terminals["true_primary_flow"]
    assert flow[during, own].max() < 1.0 < np.median(flow[during][:, ~own])


def test_a_seed_repeats_and_another_does_not(period, logged):
    again = simulate_field(period)
    for name, values in logged.terminals.items():
        np.testing.assert_array_equal(values, again.terminals[name])
    other = Period(6, days_given=1.5, terminals_given=14)
    assert [fault.at for fault in other.faults] != [fault.at for fault in period.faults]


def test_what_a_building_does_not_log_is_not_there(period, logged):
    assert not period.logging.flow_setpoint
    assert np.isnan(logged.terminals["primary_flow_setpoint"]).all()
    assert np.isnan(logged.terminals["heating_setpoint"]).all()
    assert np.isfinite(logged.terminals["effective_setpoint"]).mean() > 0.98
    missing = np.isnan(logged.terminals["zone_temp"]).mean()
    assert 0.0005 < missing < 0.2


def test_every_kind_turns_knobs_and_can_happen():
    table = Period(4).building.terminals
    for name, kind in FIELD_KINDS.items():
        assert set(kind.turns) <= set(KNOBS), name
        assert kind.where == "air handler" or len(table.query(kind.where)), name
    assert not set(FIELD_KINDS["duct-blocked-in-field"].true_names) & {"flow-sensor-drift"}


def test_a_third_of_the_buildings_is_sound_and_the_others_are_bad():
    for seed in range(1, 7):
        real = [fault for fault in Period(seed).faults if kind_of(fault.kind).shows]
        assert (len(real) == 0) if seed % 3 == 2 else (len(real) > 15), seed


def test_files_hold_what_was_logged(tmp_path, logged):
    folder = write_field_exports(logged, tmp_path / "site")
    tags = logged.recording.building.terminals.index
    assert sorted(file.stem for file in (folder / "terminals").iterdir()) == sorted(tags)
    assert sorted(file.stem for file in (folder / "rooftop units").iterdir()) == ["RTU-1", "RTU-2"]
    for number, tag in enumerate(tags):
        table = pd.read_csv(folder / "terminals" / f"{tag}.csv")
        name = next(name for name in NAMES["damper_position"] if name in table)
        assert table["Timestamp"].iloc[0] == logged.time[0].tz_convert("UTC").strftime("%Y-%m-%d %H:%M:%S")
        np.testing.assert_allclose(table[name], np.round(logged.terminals["damper_position"][:, number]), atol=0.51)
    assert "[[exclude]]" in (folder / "site.toml").read_text() or not logged.period.windows
