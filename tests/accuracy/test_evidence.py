"""The evidence of field mode: what settles a slow actuator, a terminal that holds a reset, and reheat of cold air."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from sample_trends.field import Period
from sample_trends.field_kinds import FIELD_KINDS
from tests.accuracy.field.evidence import air, loops

DAY = 1440


class _Known(SimpleNamespace):
    """A terminal's columns every minute, in the place of a view."""

    hours_a_sample, samples_an_hour, scheduled, unit, at = 1 / 60, 60, True, 0, 0

    def is_logged(self, *names: str) -> bool:
        return all(hasattr(self, name) for name in names)

    def of_unit(self, name: str) -> np.ndarray:
        return np.full(len(self.in_use), self.pressure)

    def true(self, name: str) -> np.ndarray:
        return self.truth[name]

    def total(self, seen) -> float:
        return float(np.asarray(seen, float).sum() * self.hours_a_sample)


def _steps(takes: int, days: int = 4, pressure: float = 200.0) -> _Known:
    """A setpoint that steps from 50 to 200 L/s each morning, and air that takes so many minutes."""
    minute = np.arange(days * DAY) % DAY
    since = minute - 480
    way = np.where(since < 0, 0.0, np.minimum(since / takes, 1.0))
    always = np.ones(days * DAY, bool)
    return _Known(
        logged=SimpleNamespace(period=SimpleNamespace(minutes=1)), pressure=pressure, in_use=always, unit_on=always,
        undisturbed=always, primary_flow_setpoint=np.where(since < 0, 50.0, 200.0), primary_flow=50 + 150 * way,
        damper_position=20 + 40 * way,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("takes", "days", "pressure", "shown"),
    [(25, 4, 200.0, True), (8, 4, 200.0, False), (25, 2, 200.0, False), (25, 4, 60.0, False), (90, 4, 200.0, False)],
    ids=["slow", "in time", "two steps", "no pressure", "not within the hour"],
)
def test_a_slow_actuator_is_shown_by_three_late_steps(takes, days, pressure, shown):
    assert (loops.late_steps(_steps(takes, days, pressure)) > 0) == shown


def _overloaded(over: float, others: int) -> _Known:
    """A terminal at its maximum, its zone so far above its setpoint [K], and so many others of ten at full cooling."""
    hours = 10 * 60
    calls = np.zeros((hours, 10))
    calls[:, : 1 + others] = 1.0
    always = np.ones(hours, bool)
    row = {"air_handler": "RTU-1", "primary_max": 200.0}
    return _Known(
        building=SimpleNamespace(terminals=pd.DataFrame({"air_handler": ["RTU-1"] * 10})), row=row, in_use=always,
        logged=SimpleNamespace(recording=SimpleNamespace(terminals={"cooling_signal": calls})),
        truth={"cooling_signal": calls[:, 0]}, setpoints=(np.full(hours, 21.0), np.full(hours, 24.0)),
        zone_temp=np.full(hours, 24.0 + over), primary_flow=np.full(hours, 199.0),
    )  # fmt: skip


@pytest.mark.parametrize(("over", "others", "hours"), [(2.0, 1, 10.0), (2.0, 5, 0.0), (0.3, 1, 0.0)])
def test_a_zone_that_stays_warm_at_its_maximum_holds_a_reset_where_few_do(over, others, hours):
    assert air.alone_at_full(_overloaded(over, others)) == pytest.approx(hours)


@pytest.mark.parametrize(("supply", "shown"), [(13.0, True), (19.5, False)])
def test_reheat_of_air_that_is_not_cold_is_no_waste(supply, shown):
    count = 40 * 60
    of_units = {"true_supply_temp": np.full((count, 1), supply)}
    known = _Known(
        row={"primary_max": 300.0, "duct_gain": 0.5}, in_use=np.ones(count, bool),
        truth={"true_zone_temp": np.full(count, 21.5)}, primary_flow=np.full(count, 200.0),
        reheat_position=np.full(count, 30.0),
        logged=SimpleNamespace(period=SimpleNamespace(days=7), recording=SimpleNamespace(air_handlers=of_units)),
    )  # fmt: skip
    assert (loops.reheat_at_two_thirds(known) > 0) == shown


def test_a_building_has_the_named_faults_and_no_others():
    named = ("slow-actuator", "unit-static-fixed-high")
    faults = [fault for fault in Period(3, only=named).faults if FIELD_KINDS[fault.kind].shows]
    assert {fault.kind for fault in faults} == set(named)
    (trouble,) = [fault.at for fault in faults if fault.at.startswith("RTU")]
    units = Period(3).building.terminals["air_handler"]
    assert trouble not in {units[fault.at] for fault in faults if fault.at != trouble}
    assert not [fault for fault in Period(5, only=named).faults if FIELD_KINDS[fault.kind].shows]
