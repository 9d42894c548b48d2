"""Headings that may mean two things, settled by what stands below them."""

from __future__ import annotations

import pytest

from analyzer.errors import ExportError
from tests.intake.folders import read, tags, values

STAMPS = [f"2026-01-26 08:{5 * n:02d}" for n in range(6)]


@pytest.mark.parametrize("head", ["When,Box,Reading,Value,Unit", "When,Box,Result,Reading,Unit"])
def test_points_under_a_word_for_values_and_a_unit_by_row(tmp_path, head):
    rows = ""
    for n, stamp in enumerate(STAMPS):
        rows += f"{stamp},CB-E1,Space Temp,{68 + n},°F\n{stamp},CB-E1,Primary Airflow,100,CFM\n"
        rows += f"{stamp},CB-W1,Space Temp,{20 + n},°C\n{stamp},CB-W1,Primary Airflow,100,L/s\n"
    trends = read(tmp_path, {"plaza.txt": f"{head}\n{rows}"})
    assert tags(trends) == ["CB-E1", "CB-W1"]
    assert values(trends, "CB-E1", "zone_temp")[0] == values(trends, "CB-W1", "zone_temp")[0] == 20
    assert values(trends, "CB-E1", "primary_flow")[0] == pytest.approx(47.195, abs=0.001)
    assert values(trends, "CB-W1", "primary_flow")[0] == 100


def test_two_columns_of_values_of_which_neither_names_points_stay_refused(tmp_path):
    rows = "".join(f"{stamp},VAV-1 Zone Temp,{20 + n},ok then\n" for n, stamp in enumerate(STAMPS))
    with pytest.raises(ExportError, match="not one of 3 points was recognized"):
        read(tmp_path, {"log.csv": f"When,Point,Value,Reading\n{rows}"})


def test_tags_under_a_heading_of_no_meaning(tmp_path):
    rows = "".join(f"{stamp},VAV-{k},{20 + n}\n" for n, stamp in enumerate(STAMPS) for k in (1, 2))
    assert tags(read(tmp_path, {"log.csv": f"time,which one,zone temp\n{rows}"})) == ["VAV-1", "VAV-2"]


def test_a_letter_of_tags_names_no_quantity(tmp_path):
    rows = "".join(
        f"{stamp},T2.{k},room temperature,{20 + n}\n{stamp},T2.{k},damper,{n}\n"
        for n, stamp in enumerate(STAMPS) for k in (1, 2)
    )  # fmt: skip
    for name, head in (("a", "time,terminal,reading,value"), ("b", "time,unit,point,value")):
        trends = read(tmp_path / name, {"log.csv": f"{head}\n{rows}"})
        assert tags(trends) == ["T2.1", "T2.2"]
        assert values(trends, "T2.1", "zone_temp") == [20 + n for n in range(6)]
        assert values(trends, "T2.2", "damper_position") == list(range(6))


def test_a_letter_of_points_still_names_one(tmp_path):
    rows = "".join(f"{stamp},T{k},{20 + n}\n" for n, stamp in enumerate(STAMPS) for k in (1, 2))
    assert tags(read(tmp_path, {"log.csv": f"time,point,value\n{rows}"})) == ["1", "2"]
