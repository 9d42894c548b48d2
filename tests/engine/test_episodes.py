"""Episodes: fault rows joined across short gaps in the data, ended by long ones and by what is known to be clear."""

import numpy as np
import pytest

from analyzer.engine.episodes import fault_episodes, find_episodes
from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.signals import Scene
from tests.rules.case_trends import Case, site_of, trends_of

MINUTES = 5


def episodes(pattern: str, lasting_minutes: float = 0.0, terminals: str | None = None):
    """Return (first row, last row, minutes) of the episodes in a pattern: F fault, c clear, ? unknown, a row each."""
    rows = np.array(list(pattern))
    code = np.array([int(t) for t in terminals]) if terminals else np.zeros(len(rows), dtype=int)
    seconds = np.arange(len(rows)) * MINUTES * 60.0
    found = find_episodes(
        np.flatnonzero(rows == "F"), lambda between: rows[between] == "c", code, seconds, np.full(len(rows), MINUTES / 60), np.full(2, 3 * MINUTES * 60.0),
        lasting_minutes * 60,
    )  # fmt: skip
    assert set(found.row) == {
        row for a, b in zip(found.first_row, found.last_row, strict=True) for row in range(a, b + 1) if rows[row] == "F"
    }
    return [
        (a, b, (end - start) / 60)
        for a, b, start, end in zip(found.first_row, found.last_row, found.start, found.end, strict=True)
    ]


@pytest.mark.parametrize(
    ("pattern", "expected"),
    [
        ("cccc", []),
        ("FFFF", [(0, 3, 20)]),
        ("FFcFF", [(0, 1, 10), (3, 4, 10)]),
        ("FF?FF", [(0, 4, 25)]),
        ("FF??FF", [(0, 5, 30)]),
        ("FF???FF", [(0, 1, 10), (5, 6, 10)]),  # more than three intervals apart
        ("FF?c?FF", [(0, 1, 10), (5, 6, 10)]),
        ("?FF?", [(1, 2, 10)]),
    ],
)
def test_gaps(pattern, expected):
    assert episodes(pattern) == expected


@pytest.mark.parametrize(("lasting", "count"), [(9, 1), (10, 1), (11, 0)])
def test_shortest_episode_is_inclusive(lasting, count):
    assert len(episodes("cFFc", lasting)) == count


def test_episodes_do_not_run_over_from_one_terminal_to_the_next():
    assert episodes("FFFF", terminals="0011") == [(0, 1, 10), (2, 3, 10)]


def test_nothing_to_find():
    assert episodes("") == []


RULE = read_rules([rule_book()])["reheat-without-airflow"]
NONE_FROM_THREE = {"00:00": 100, "03:00": 0, "03:15": "none", "04:00": 100}


def of_a_case(**trends) -> list[float]:
    """Minutes of the episodes at a terminal that is logged every quarter of an hour, were every row a fault."""
    case = Case(RULE.id, {"name": "by hand", "interval": "15 min", "trends": {"reheat_position": 40, **trends}})
    scene = Scene(trends_of(case), site_of(case))
    rows = np.flatnonzero(scene.trend("primary_flow") < 5)
    found = fault_episodes(scene, RULE, rows)
    return ((found.end - found.start) / 60).tolist()


def test_one_sample_and_the_gap_after_it_are_no_fault_that_lasts():
    assert of_a_case(primary_flow=NONE_FROM_THREE) == []


def test_samples_of_the_same_length_are():
    assert of_a_case(primary_flow={"00:00": 100, "03:00": 0, "04:00": 100}) == [60.0]


def test_a_point_that_is_logged_more_slowly_is_there_between_its_samples():
    """The flow once an hour in a log of quarter hours."""
    case = Case(
        RULE.id, {"name": "by hand", "interval": "15 min", "trends": {"reheat_position": 40, "primary_flow": 0}}
    )
    trends = trends_of(case)
    minute = trends.terminals["time"].dt.minute
    trends.terminals.loc[minute != 0, "primary_flow"] = np.nan
    trends.logging["primary_flow"] = 3600.0
    scene = Scene(trends, site_of(case))
    found = fault_episodes(scene, RULE, np.flatnonzero(scene.trend("primary_flow") < 5))
    assert ((found.end - found.start) / 3600).sum() > 23
