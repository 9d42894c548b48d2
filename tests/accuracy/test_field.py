"""Field mode's measurement in small: what counts as right, and that a wrong cause, a miss and a false one are seen."""

from __future__ import annotations

import pandas as pd
import pytest

from sample_trends.faults import Fault
from sample_trends.field import Period, simulate_field
from tests.accuracy.field.measure import MeasuredField, OfPeriod, score_period
from tests.accuracy.field.page import details_of_field, of_field
from tests.accuracy.field.score import COLUMNS, scored, with_verdicts
from tests.accuracy.field.sites import site_of, trends_of
from tests.accuracy.field.table import compact
from tests.accuracy.field.truth import Truth
from tests.accuracy.scoring import CONSEQUENCE, FALSE, RIGHT, SYMPTOM, WRONG


@pytest.fixture(scope="module")
def logged():
    return simulate_field(Period(6, days_given=3, terminals_given=24))


@pytest.fixture(scope="module")
def truth(logged):
    return Truth(logged)


@pytest.fixture(scope="module")
def of(logged) -> OfPeriod:
    return score_period(logged, trends_of(logged), site_of(logged.period))


def _found(*rows) -> pd.DataFrame:
    usual = {
        "confidence": "firm",
        "severity": "high",
        "fault_hours": 9.0,
        "under": None,
        "scope": "terminal",
        "terminals": (),
    }
    told = [usual | {"terminal": at, "rule": rule, "id": f"{at}/{rule}"} | more for at, rule, more in rows]
    return pd.DataFrame(told, columns=COLUMNS)


def _at(truth: Truth, kind: str) -> str:
    return next(tag for tag, faults in truth.own.items() if any(fault.kind == kind for fault in faults))


def test_a_drift_at_a_starved_terminal_is_a_wrong_cause_and_takes_what_is_under_it_along(truth):
    at = _at(truth, "duct-blocked-in-field")
    drift = (at, "flow-sensor-drift", {})
    told = scored(truth, _found(drift, (at, "starved-terminal", {"under": f"{at}/flow-sensor-drift"})))
    assert told["judged_as"].tolist() == [WRONG, RIGHT]
    seeded = pd.DataFrame(
        [("duct-blocked-in-field", at, "starved-terminal", 9.0, True)], columns=["kind", "at", "rule", "hours", "shown"]
    )
    verdicts = pd.DataFrame([(at, "starved-terminal", "fault", "")], columns=["terminal", "rule", "verdict", "reason"])
    assert not with_verdicts(truth, seeded, told, verdicts)["told"].any()
    alone = scored(truth, _found((at, "starved-terminal", {})))
    assert with_verdicts(truth, seeded, alone, verdicts)["told"].all()


def test_a_consequence_is_right_under_its_cause_and_a_nuisance_beside_it(truth):
    at = _at(truth, "coil-dead")
    cause = (at, "reheat-not-delivering", {})
    beside = scored(truth, _found(cause, (at, "zone-too-cold", {})))
    assert beside["judged_as"].tolist() == [RIGHT, CONSEQUENCE]
    under = scored(truth, _found(cause, (at, "zone-too-cold", {"under": f"{at}/reheat-not-delivering"})))
    assert under["judged_as"].tolist() == [RIGHT, RIGHT]
    assert under["top"].tolist() == [True, False]


def test_what_is_told_of_a_sound_terminal_is_false():
    logged = simulate_field(Period(5, days_given=1, terminals_given=10))
    truth = Truth(logged)
    assert len(truth.sound) >= 8
    assert scored(truth, _found((truth.sound[0], "flow-sensor-drift", {})))["judged_as"].tolist() == [FALSE]


def test_a_shared_finding_is_right_where_it_is_true_of_most_of_its_terminals(logged, truth):
    unit = logged.recording.building.air_handlers.index[0]
    tags = tuple(truth.table.index[truth.table["air_handler"] == unit])
    trouble = [Fault("unit-outage", unit, start=logged.period.start)]
    truth.of_unit, before = {unit: trouble}, truth.of_unit
    shared = {"scope": "air_handler", "terminals": tags}
    other = tuple(truth.table.index[truth.table["air_handler"] != unit])
    told = scored(
        truth,
        _found(
            (unit, "air-handler-outage", {}),
            ("unit of " + tags[0], "air-handler-outage", shared),
            ("elsewhere", "air-handler-outage", {"scope": "air_handler", "terminals": other}),
            (unit, "air-handler-short-of-pressure", {}),
        ),
    )
    truth.of_unit = before
    assert told["judged_as"].tolist() == [RIGHT, RIGHT, FALSE, WRONG]


def test_a_small_period_is_measured_end_to_end(of):
    shown = of.seeded[of.seeded["shown"]]
    assert len(shown) >= 6
    assert (shown["verdict"] == "fault").sum() >= 3, shown.to_string()
    clear_cut = shown[shown["rule"].isin(("sensor-flatlined", "series-fan-off-when-occupied"))]
    assert len(clear_cut) >= 1
    assert clear_cut["told"].all(), clear_cut.to_string()
    assert set(of.findings["judged_as"]) <= {RIGHT, SYMPTOM, CONSEQUENCE, WRONG, FALSE}
    assert of.sound_weeks < of.terminal_weeks
    assert of.terminal_weeks == pytest.approx(24 * 3 / 7)


def test_the_page_and_the_text_tell_the_same_sums(of):
    measured = MeasuredField([of])
    text, told = compact(measured), of_field(measured) + details_of_field(measured)
    top = int(of.findings["top"].sum())
    right = int((of.findings["top"] & (of.findings["judged_as"] == RIGHT)).sum())
    assert f"{right} of {top} (" in text
    assert f"{right} of {top} (" in told
