"""Episodes: fault rows joined across short gaps in the data, ended by long ones and by what is known to be clear."""

import numpy as np
import pytest

from analyzer.engine.episodes import find_episodes

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
