"""How far what a drift is held against can be trusted, where the rules' cases do not reach."""

import numpy as np
import pytest
from scipy import stats

from analyzer.signals.damper_caught import opening_curve
from analyzer.signals.drift_reference import against_reference, reference_days


@pytest.mark.parametrize(("days", "expected"), [(3, 3), (7, 3), (15, 3), (16, 4), (49, 10)])
def test_the_reference_grows_with_the_log(days, expected):
    assert reference_days(np.ones((1, days))).sum() == expected


def test_days_without_evidence_are_no_reference():
    hours = np.array([[0.0, 5.0, 0.0, 5.0, 5.0, 5.0]])
    assert reference_days(hours)[0].tolist() == [False, True, False, True, True, False]


@pytest.mark.parametrize("days", [3, 4, 5, 8, 12, 30])
def test_scatter_of_few_days_is_told_as_students_distribution_has_it(days):
    logged = 5 * days
    daily = np.full((1, logged), 1.0)
    daily[0, :days] += np.where(np.arange(days) % 2, 0.1, -0.1)
    _, scatter = against_reference(daily, np.ones_like(daily))
    expected = stats.t.ppf(0.975, days - 1) * np.std(daily[0, :days], ddof=1) * np.sqrt(1 + 1 / days)
    assert scatter[0, 0] == pytest.approx(expected, rel=0.03)


def test_two_days_are_no_reference():
    away, _ = against_reference(np.ones((1, 2)), np.ones((1, 2)))
    assert np.isnan(away).all()


def test_the_ordinary_curve_is_one_at_full_opening():
    assert opening_curve(np.array([100.0]))[0] == 0.0
    assert np.exp(opening_curve(np.array([8.0])))[0] == pytest.approx(0.05, abs=0.002)
