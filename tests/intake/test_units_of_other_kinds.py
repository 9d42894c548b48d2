"""Milliamperes, units of what is none of the quantities, units that nobody knows; setpoints that only their unit tells."""

from __future__ import annotations

import pytest

from tests.intake.folders import read, said, tags, values

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


def test_a_unit_without_brackets_is_no_tag(tmp_path):
    rows = "".join(f"{stamp},20,300,0.5\n" for stamp in STAMPS)
    header = "Time,Zone Temp degC,Airflow Setpoint m3/h,Damper % Open 0-1\n"
    trends = read(tmp_path, {"R1.02.csv": header + rows, "R1.03.csv": header + rows})
    assert tags(trends) == ["R1.02", "R1.03"]
    assert values(trends, "R1.02", "primary_flow_setpoint") == [83.333] * 12
    assert values(trends, "R1.02", "damper_position") == [50] * 12


@pytest.mark.parametrize(
    ("name", "quantity"),
    [
        ("Débit consigne m3h", "primary_flow_setpoint"),
        ("Primary Air Flow [ft3_min]", "primary_flow"),
    ],
)
def test_a_quantity_in_a_file_s_name_with_its_unit(tmp_path, name, quantity):
    rows = "".join(f"{stamp},100,200\n" for stamp in STAMPS)
    trends = read(tmp_path, {f"{name}.csv": f"Time,VAV-1,VAV-2\n{rows}"})
    flow = 100 / 3.6 if "m3h" in name else 47.195
    assert values(trends, "VAV-1", quantity) == pytest.approx([flow] * 12, abs=0.001)


def test_words_that_mean_something_together_are_no_part_of_a_tag(tmp_path):
    rows = "".join(f"{stamp},20,50\n" for stamp in STAMPS)
    trends = read(tmp_path, {"t.csv": f"Time,BX-1_Zone Temp [degC],BX-1_Hot Water Valve Cmd [%]\n{rows}"})
    assert values(trends, "BX-1", "reheat_position") == [50] * 12


def test_files_of_points_with_accents_are_no_terminals(tmp_path):
    rows = "".join(f"{stamp},100\n" for stamp in STAMPS)
    files = {
        f"BTV 1-{n}/{point}.csv": f"Date,{point}\n{rows.replace('100', str(10 * n))}"
        for n in (1, 2)
        for point in ("Débit", "Registre", "Présence CO2")
    }
    assert tags(read(tmp_path, files)) == ["BTV 1-1", "BTV 1-2"]


@pytest.mark.parametrize(("unit", "quantity"), [("°F", "discharge_temp"), ("cfm", None), ("", None)])
def test_a_row_of_units_tells_what_is_measured_of_an_air(tmp_path, unit, quantity):
    rows = [f"2026-01-26 06:{m:02d},21,70.5\n" for m in range(0, 60, 5)]
    text = f"time,VAV-1 Room Temp,VAV-1 Disch Air\n,degC,{unit}\n" + "".join(rows)
    trends = read(tmp_path, {"trend.csv": text})
    found = trends.terminals.dropna(axis="columns", how="all").columns
    assert {name for name in found if name.startswith("discharge")} == ({quantity} if quantity else set())
