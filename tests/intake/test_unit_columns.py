"""Columns of units right behind the columns of values that they are of."""

from __future__ import annotations

import pytest

from tests.intake.folders import read, tags, values

MOMENTS = [f"2026-01-26 08:{5 * n:02d}" for n in range(6)]


def table(head: str, east: str, west: str) -> dict[str, str]:
    rows = "".join(f"{m},CB-E1,{east.format(68 + n)}\n{m},CB-W1,{west.format(20 + n)}\n" for n, m in enumerate(MOMENTS))
    return {"plaza.csv": f"Time,Box,{head}\n{rows}"}


@pytest.mark.parametrize(
    "head", ["Space Temp,Temp Unit,Airflow,Flow Unit", "Space Temp,Unit,Airflow,Unit", "Space Temp,UoM,Airflow,Units"]
)
def test_units_that_differ_by_row(tmp_path, head):
    trends = read(tmp_path, table(head, "{0},°F,100,CFM", "{0},°C,100,L/s"))
    assert tags(trends) == ["CB-E1", "CB-W1"]
    assert values(trends, "CB-E1", "zone_temp")[0] == values(trends, "CB-W1", "zone_temp")[0] == 20
    assert values(trends, "CB-E1", "primary_flow")[0] == pytest.approx(47.195, abs=0.001)
    assert values(trends, "CB-W1", "primary_flow")[0] == 100
    assert {column.column for column in trends.ledger.files[0].columns} == {"Space Temp", "Airflow"}


def test_one_unit_throughout_is_the_columns(tmp_path):
    trends = read(tmp_path, table("Space Temp,Unit,Airflow,Unit", "20,degC,100,m3/h", "{0},degC,,m3/h"))
    assert values(trends, "CB-E1", "primary_flow")[0] == pytest.approx(27.778, abs=0.001)
    assert values(trends, "CB-W1", "primary_flow") == []
    assert trends.ledger.set_aside == {"missing value": 6}


@pytest.mark.parametrize("cell", ["7", "bushels", "no unit here"])
def test_other_columns_behind_values_are_no_units(tmp_path, cell):
    trends = read(tmp_path, table("Space Temp (degC),Temp Unit", "21," + cell, "22," + cell))
    assert values(trends, "CB-E1", "zone_temp") == [21] * 6
    assert "Temp Unit" in [column.column for column in trends.ledger.files[0].columns]


def test_tags_under_a_heading_that_ends_with_unit_are_tags(tmp_path):
    rows = "".join(f"{m},{20 + n},VAV-{k}\n" for n, m in enumerate(MOMENTS) for k in (1, 2))
    assert tags(read(tmp_path, {"log.csv": f"Time,Space Temp,Terminal Unit\n{rows}"})) == ["VAV-1", "VAV-2"]
