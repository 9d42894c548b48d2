"""Headings that are paths: building, air handler, terminal, component, point."""

from __future__ import annotations

import pytest

from tests.intake.folders import read, tags, values

POINTS = ("Zone/Temperature (°F)", "Primary Air/Damper Position (%)", "Fan/Status")


def table(columns: list[str]) -> str:
    rows = "".join(f"2026-01-26 08:{n:02d}," + ",".join([f"{n % 2}"] * len(columns)) + "\n" for n in range(6))
    return "Time," + ",".join(columns) + "\n" + rows


@pytest.mark.parametrize("place", ["Hall/AHU-1/{0}/{1}", "AHU-1 / {0} / {1}", "Hall/AHU-1/Floor 2/{0}/{1}", "H:AHU-1:{0}:{1}", "H.AHU-1.{0}.{1}",
     "Hall - AHU-1 - {0} - {1}", "Hall > AHU-1 > {0} > {1}"])  # fmt: skip
def test_a_step_behind_the_air_handlers_names_the_terminal(tmp_path, place):
    columns = [place.format(unit, point) for unit in ("QRS-1-01", "QRS-1-02") for point in POINTS]
    own = ["Hall/AHU-1/Supply Air/Temperature (°F)", "Hall/AHU-1/Supply Fan/Status"]
    trends = read(tmp_path, {"trend.csv": table(columns + own)})
    assert tags(trends) == ["QRS-1-01", "QRS-1-02"]
    assert len(values(trends, "QRS-1-01", "damper_position")) == 6
    assert len(values(trends, "AHU-1", "supply_fan_status", table="air_handlers")) == 6
    assert "Hall/AHU-1/Supply Fan/Status" in [column.column for column in trends.ledger.files[0].columns]
    assert columns[0] in [column.column for column in trends.ledger.files[0].columns]


@pytest.mark.parametrize(
    "others",
    [
        ["Hall/AHU-1/HRU-2/Fan/Speed (%)", "Hall/AHU-1/HRU-2/Fan/Status"],  # a fan, but no air of a zone
        ["Hall/AHU-1/QRS-7/Zone/Temperature (°F)"],  # one point alone
        ["Hall/AHU-1/Pump 2/Status", "Hall/AHU-1/Pump 2/Temperature (°F)"],
    ],
)
def test_other_equipment_of_the_air_handler_is_no_terminal(tmp_path, others):
    columns = [f"Hall/AHU-1/VAV-1/{point}" for point in POINTS]
    assert tags(read(tmp_path, {"trend.csv": table(columns + others)})) == ["VAV-1"]
