"""Where rows stand in time: windows, parts of a scene, groups; on regular rows and on rows with gaps."""

import numpy as np
import pandas as pd
import pytest

from analyzer.signals.axes import Axes, clock_key
from analyzer.signals.grouped import Groups, median_of_known
from analyzer.signals.windows import (
    since_change,
    surely_since,
    trailing_mean,
    trailing_total,
    window_end,
    window_start,
)

FIRST = np.array([0, 6, 6, 12])  # the second terminal has no row
CODE = np.repeat([0, 2], 6)
REGULAR = np.tile(np.arange(6) * 300.0, 2)
GAPS = np.array([0, 300, 900, 1000, 2000, 2300, 0, 60, 120, 900, 960, 5000.0])


def counted(seconds, inside) -> np.ndarray:
    """For each row the rows of its terminal that lie inside, by looking at every pair."""
    return np.array([[CODE[j] == CODE[i] and inside(seconds[i], seconds[j]) for j in range(12)] for i in range(12)])


@pytest.mark.parametrize("width", [60.0, 300.0, 301.0, 900.0, 1e6])
@pytest.mark.parametrize(("seconds", "step"), [(REGULAR, 300.0), (GAPS, np.nan)], ids=["regular", "gaps"])
def test_a_window_is_open_behind_and_closed_ahead(seconds, step, width):
    step = np.array([step, np.nan, step])
    since = window_start(CODE, FIRST, seconds, width, step)
    behind = counted(seconds, lambda now, other: now - width < other <= now)
    assert (since == behind.argmax(axis=1)).all()
    until = window_end(CODE, FIRST, seconds, width, step)
    ahead = counted(seconds, lambda now, other: now <= other <= now + width)
    assert (until == 12 - ahead[:, ::-1].argmax(axis=1)).all()


def test_a_terminal_with_a_width_of_its_own():
    since = window_start(CODE, FIRST, REGULAR, np.array([600.0, 600.0, 300.0]), np.array([300.0, np.nan, 300.0]))
    assert since.tolist() == [0, 0, 1, 2, 3, 4, 6, 7, 8, 9, 10, 11]


def test_hours_that_just_reach_the_least_count_wherever_they_stand():
    """Nine samples of five minutes are three quarters of an hour, however large the sums before them."""
    values, hours = np.full(1000, 1e6 / 3), np.full(1000, 1 / 12)
    values[::7] = np.nan
    since = np.maximum(np.arange(1000) - 9, 0)
    known = np.array([(~np.isnan(values[start : row + 1])).sum() for row, start in enumerate(since)])
    assert set(known) >= {8, 9}
    assert ((known >= 9) == ~np.isnan(trailing_total(values, hours, since, 0.75))).all()
    mean = trailing_mean(values, hours, since, 0.75)
    assert ((known >= 9) == ~np.isnan(mean)).all()
    assert mean[known >= 9] == pytest.approx(1e6 / 3)


def test_time_since_a_change_starts_anew_at_each_terminal():
    changed = np.array([0, 0, 1, 1, 0, 0, 0, 1, 0, 0, 0, 0], dtype=bool)
    since = since_change(changed, FIRST, REGULAR)
    assert since.tolist() == [0, 300, 0, 0, 300, 600, 0, 0, 300, 600, 900, 1200]
    surely = surely_since(changed, FIRST, REGULAR, np.array([300.0, np.nan, 600.0]))
    assert surely.tolist() == [0, 0, 0, 0, 0, 300, 0, 0, 0, 0, 300, 600]


def test_terminals_at_the_same_moments_share_an_axis():
    rows, interval, regular = np.array([3, 3, 2, 3]), np.full(4, 300.0), np.array([True, True, True, False])
    first = np.concatenate([[0], np.cumsum(rows)])
    axes = Axes(clock_key(np.zeros(4), interval, rows, regular), first)
    seconds = np.array([0, 300, 600, 0, 300, 600, 0, 300, 0, 300, 700.0])
    assert len(axes.rows) == 3 + 2 + 3
    assert (seconds[axes.rows][axes.row] == seconds).all()


def test_groups_against_pandas():
    rng = np.random.default_rng(5)
    number = np.sort(rng.integers(0, 40, 500))
    number = number[number % 7 != 3]
    values = rng.normal(size=len(number)).round(1)
    groups, by_pandas = Groups(number, 41), pd.Series(values).groupby(number)
    assert groups.median(values) == pytest.approx(by_pandas.median().reindex(range(41)).to_numpy(), nan_ok=True)
    assert groups.sum(values) == pytest.approx(by_pandas.sum().reindex(range(41), fill_value=0.0).to_numpy())
    assert groups.any(values > 2).tolist() == by_pandas.max().gt(2).reindex(range(41), fill_value=False).tolist()
    assert np.isnan(groups.median(values)[40])


def test_what_is_not_known_stays_out_of_a_median():
    table = np.array([[1.0, np.nan, 3.0], [np.nan, np.nan, np.nan], [5.0, 7.0, 7.0]])
    assert median_of_known(table) == pytest.approx([2.0, np.nan, 7.0], nan_ok=True)
