"""Every schedule and balancing report of ``cases/`` comes to its exact table, and every cell is accounted for."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from tests.schedule.reading import adds_up, differences, expected, read, values
from tests.schedule.writing import write

CASES = [
    pytest.param(case, id=f"{file.stem}: {case['name']}")
    for file in sorted(Path(__file__).with_name("cases").glob("*.toml"))
    for case in tomllib.loads(file.read_text(encoding="utf-8"))["case"]
]


@pytest.mark.parametrize("case", CASES)
def test_a_layout_comes_to_its_table(case, tmp_path):
    merged, reading = read(write(case, tmp_path))
    told = case["expect"]
    assert differences(expected(told["table"]), values(merged)) == []
    said = " | ".join([*reading.assumptions, *merged.disagree, *(f"{a.why}: {a.text}" for a in merged.asides)])
    assert [text for text in told.get("says", []) if text not in said] == [], said
    beside = {(fact.tag, fact.column, fact.text) for fact in merged.beside}
    assert {tuple(row) for row in told.get("beside", [])} <= beside, beside


@pytest.mark.parametrize("case", CASES)
def test_every_cell_is_accounted_for(case, tmp_path):
    _, reading = read(write(case, tmp_path))
    (account,) = reading.accounts
    assert account.cells > 0
    assert adds_up(account), account


@pytest.mark.parametrize("case", CASES)
def test_every_value_has_the_cell_that_it_stands_in(case, tmp_path):
    merged, _ = read(write(case, tmp_path))
    facts = [*merged.beside, *(fact for of in merged.values.values() for fact in of.values())]
    assert facts
    assert all(fact.source.file and fact.source.place for fact in facts)
