"""A building cut into groups: what belongs together stays together, and a review comes to the same either way."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analyzer.crew import Workers
from analyzer.dataset import open_dataset
from analyzer.engine.groups import across, groups_of
from analyzer.site import Site
from analyzer.site.model import empty_schedule
from tests.scale.buildings import demo_trends, in_parts, reviewed, told

TAGS = ["TU-1", "TU-2", "TU-3", "TU-4", "TU-5"]


def site(**columns) -> Site:
    schedule = empty_schedule().reindex(TAGS)
    for name, words in columns.items():
        schedule[name] = pd.Series(words, index=TAGS, dtype=object)
    return Site(schedule=schedule)


def terminals(rows: int, most_rows: int, **columns) -> list[tuple[str, ...]]:
    return [group.terminals for group in groups_of(TAGS, np.full(5, rows), site(**columns), most_rows)]


def test_terminals_of_no_air_handler_fill_groups_in_order():
    assert terminals(100, 200) == [("TU-1", "TU-2"), ("TU-3", "TU-4"), ("TU-5",)]


def test_an_air_handlers_terminals_stay_together_where_a_group_holds_them():
    owner = ["AHU-1", "AHU-2", "AHU-1", "AHU-2", "AHU-2"]
    cut = groups_of(TAGS, np.full(5, 100), site(air_handler=owner), 300)
    assert [group.terminals for group in cut] == [("TU-1", "TU-3"), ("TU-2", "TU-4", "TU-5")]
    assert not across(cut)


def test_of_a_large_air_handler_open_zones_stay_together_and_it_is_told():
    owner, zone = ["AHU-1"] * 5, ["lobby", None, None, None, "lobby"]
    cut = groups_of(TAGS, np.full(5, 100), site(air_handler=owner, open_zone=zone), 200)
    assert [group.terminals for group in cut] == [("TU-1", "TU-5"), ("TU-2", "TU-3"), ("TU-4",)]
    assert across(cut)


def test_an_open_zone_ties_two_air_handlers():
    owner, zone = ["AHU-1", "AHU-2", "AHU-1", "AHU-3", "AHU-3"], ["lobby", "lobby", None, None, None]
    assert terminals(100, 300, air_handler=owner, open_zone=zone) == [("TU-1", "TU-2", "TU-3"), ("TU-4", "TU-5")]


def test_a_group_names_its_air_handlers():
    owner = ["AHU-2", "AHU-2", "AHU-1", None, None]
    (group,) = groups_of(TAGS, np.full(5, 1), site(air_handler=owner))
    assert group.air_handlers == ("AHU-1", "AHU-2")


@pytest.fixture(scope="module")
def whole():
    """The demo building, judged in one group."""
    return told(reviewed(demo_trends()))


@pytest.mark.parametrize("most_rows", [1, 30_000])
def test_a_review_in_groups_comes_to_the_same(whole, monkeypatch, most_rows):
    monkeypatch.setattr(groups_of, "__defaults__", (most_rows,))
    assert told(reviewed(demo_trends())) == whole


def test_a_review_of_stored_parts_by_two_processes_comes_to_the_same(whole, tmp_path):
    dataset = open_dataset(in_parts(demo_trends(), tmp_path / "parts"))
    with Workers(2) as crew:
        assert told(reviewed(dataset, crew=crew)) == whole
