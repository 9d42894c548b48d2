"""Milliamperes, units of what is none of the quantities, units that nobody knows; setpoints that only their unit tells."""

from __future__ import annotations

import pytest

from tests.intake.folders import read, said, values

STAMPS = [f"2026-01-26 06:{m:02d}" for m in range(0, 60, 5)]


def one(tmp_path, header: str, cells: list[str], beside: str = ""):
    rows = "".join(f"{stamp},{cell},20\n" for stamp, cell in zip(STAMPS, cells * 12, strict=False))
    return read(tmp_path, {"VAV-1.csv": f"Time,{header},Zone Temp (degC)\n{beside}{rows}"})


@pytest.mark.parametrize("header", ["Damper (mA)", "Damper Position [4-20 mA]", "Damper mA"])
def test_milliamperes_are_percent_of_their_span_and_said(tmp_path, header):
    trends = one(tmp_path, header, ["4", "12", "20"])
    assert values(trends, "VAV-1", "damper_position")[:3] == [0, 50, 100]
    assert "Signals in milliamperes were read as 4 to 20 mA" in said(trends)


@pytest.mark.parametrize(
    "header",
    [
        "Fan Speed (Hz)",
        "Fan Speed (rpm)",
        "Fan Speed RPM",
        "Airflow (fpm)",
        "Airflow (m/s)",
        "Airflow (kg/s)",
        "CO2 (mg/m3)",
    ],
)
def test_a_unit_of_another_kind_is_not_read_as_the_usual_one(tmp_path, header):
    trends = one(tmp_path, header, ["45", "50"])
    assert trends.ledger.set_aside == {"unmapped column": 12}


def test_a_unit_that_nobody_knows_is_told(tmp_path):
    assert "(its 'counts' is no unit that is known)" in said(one(tmp_path, "Damper (counts)", ["45", "50"]))
    assert "no unit that is known" not in said(one(tmp_path / "words", "Damper (actual)", ["45", "50"]))


@pytest.mark.parametrize(
    ("header", "quantity", "read_as"),
    [
        ("Setpoint (degC)", "effective_setpoint", 22),
        ("Sollwert (°C)", "effective_setpoint", 22),
        ("SP (L/s)", "primary_flow_setpoint", 22),
        ("Consigne [m3/h]", "primary_flow_setpoint", 6.111),
    ],
)
def test_a_bare_setpoint_is_told_by_its_unit(tmp_path, header, quantity, read_as):
    assert values(one(tmp_path, header, ["22"]), "VAV-1", quantity) == [read_as] * 12


def test_a_bare_setpoint_without_a_unit_is_left_out(tmp_path):
    assert one(tmp_path, "Setpoint", ["22"]).ledger.set_aside == {"unmapped column": 12}
