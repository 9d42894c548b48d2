"""A title above the header that says what its columns measure, and in which unit."""

from __future__ import annotations

import openpyxl
import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.site import Site
from tests.intake.folders import read, said, tags, values


def table(title: str, head: str = "Fecha y hora;UT-01;UT-02") -> str:
    rows = "".join(f"2026-01-26 08:{n:02d};{360 + n};720\n" for n in range(6))
    return f"{title}\n\n{head}\n{rows}"


@pytest.mark.parametrize("name", ["Caudal.csv", "enero.csv", "Caudal de aire.csv"])
def test_a_title_tells_the_unit_of_its_quantity(tmp_path, name):
    trends = read(tmp_path, {name: table("Caudal de aire primario (m³/h)")})
    assert tags(trends) == ["UT-01", "UT-02"]
    assert values(trends, "UT-02", "primary_flow") == [200] * 6


@pytest.mark.parametrize("line", ["Unidad: m³/h", "Unit = m3/h", "(m³/h)", "Einheit: m³/h"])
def test_a_line_of_its_own_goes_with_the_title(tmp_path, line):
    trends = read(tmp_path, {"enero.csv": table(f"Caudal de aire primario\n{line}")})
    assert values(trends, "UT-01", "primary_flow")[0] == 100
    assert "was read in" not in said(trends)


@pytest.mark.parametrize("line", ["Building: C", "Unit: 7", "Unit: m3/h\nUnit: L/s"])
def test_other_lines_say_nothing(tmp_path, line):
    trends = read(tmp_path, {"enero.csv": table(f"Caudal de aire primario\n{line}")})
    assert values(trends, "UT-01", "primary_flow")[0] == 360
    assert "was read in L/s, which is the default" in said(trends)


def test_a_title_of_another_quantity_than_the_files_name_says_nothing(tmp_path):
    files = {"Compuerta.csv": table("Caudal de aire primario (m³/h)"), "VAV-9.csv": "Time,Zone Temp\n2026-01-26,20\n"}
    trends = read(tmp_path, files)
    assert tags(trends) == ["VAV-9"]
    assert "its title and its name, or its folder's, name different quantities ('Caudal de aire primario" in said(
        trends
    )


def test_a_line_that_tells_the_unit_alone_is_no_title(tmp_path):
    trends = read(tmp_path, {"CFM Setpoint.csv": table("Units: cfm")})
    assert values(trends, "UT-02", "primary_flow_setpoint") == [pytest.approx(339.802, abs=0.001)] * 6


def test_a_title_says_nothing_of_columns_that_name_what_they_measure(tmp_path):
    with pytest.raises(ExportError, match="not one of 2 points was recognized"):
        read(tmp_path, {"enero.csv": table("Temperatura ambiente (°C)", "Fecha y hora;UT-01 humedad;UT-02 humedad")})


@pytest.mark.parametrize("line", ["Exported 1/23/2026", "Printed 2026-01-23 10:15"])
def test_a_line_with_a_moment_above_a_sheets_header_is_no_data(tmp_path, line):
    book = openpyxl.Workbook()
    rows = [["Fan powered boxes"], [line], [], ["Date/Time", "FPB-301 Zone Temp (°C)", "FPB-301 Fan Status"]]
    rows += [[f"2026-01-19 08:{n:02d}", 20 + n, "Off"] for n in range(6)]
    for row in rows:
        book.active.append(row)
    book.save(tmp_path / "boxes.xlsx")
    trends = read_exports([tmp_path], Site())
    assert values(trends, "FPB-301", "zone_temp") == [20 + n for n in range(6)]


def test_a_first_row_without_values_is_data_all_the_same(tmp_path):
    rows = "".join(f"2026-01-19 08:{n:02d},{20 + n if n else ''}\n" for n in range(6))
    trends = read(tmp_path, {"box.csv": f"Date/Time,FPB-301 Zone Temp (°C)\n{rows}"})
    assert values(trends, "FPB-301", "zone_temp") == [20 + n for n in range(1, 6)]
    assert len(trends.ledger.files[0].columns) == 1
