"""Two hundred point names of the trade, and what each of them is; an empty cell: none of the quantities.

The names are put together from the terms of open naming conventions and standards: the points that ASHRAE Guideline 36
lists for terminals and air handlers, the classes and tags of open building ontologies, and common abbreviations. All of
it is from memory, and none of it from a product.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from analyzer.intake.points.entries import Entry
from analyzer.intake.points.propose import propose
from analyzer.intake.words.tags import TagFinder
from analyzer.quantities import TERMINAL

NAMES = list(csv.DictReader(Path(__file__).with_name("trade_names.csv").read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", NAMES, ids=lambda row: row["name"])
def test_a_name_of_the_trade_is_what_it_says(row):
    point = propose("trend.csv", Entry(row["name"]), TagFinder([], []))
    assert (point.quantity or "") == row["quantity"]
    if point.mapped:
        assert point.air_handler == (row["quantity"] not in TERMINAL or row["name"].startswith("AHU-1"))


def test_there_are_two_hundred_of_them_and_each_stands_once():
    assert len(NAMES) >= 200
    assert len({row["name"] for row in NAMES}) == len(NAMES)
