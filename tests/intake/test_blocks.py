"""Block after block in one file, under the same header: what the lines above each say belongs to its rows."""

from __future__ import annotations

import pytest

from tests.intake.folders import read, said, tags, values

CLOCKS = [f"2026-01-26 {h:02d}:{m:02d}" for h in (6, 7) for m in (0, 15, 30, 45)]
TEMPS = [20.0 + n / 2 for n in range(8)]
FLOWS = [100.0 + n for n in range(8)]


def block(lines: list[str], numbers: list[float], header: str = "Date/Time,Value") -> str:
    rows = [f"{clock},{number}" for clock, number in zip(CLOCKS, numbers, strict=True)]
    return "\n".join([*lines, header, *rows]) + "\n\n"


@pytest.mark.parametrize(
    "lines",
    [
        lambda point, unit: [f"Object: {point}", f"Units: {unit}", "Samples: 8"],
        lambda point, unit: [f"Unit: {unit}", f"Point = {point}"],
        lambda point, unit: [f"Objekt: {point}", f"Einheit: {unit}"],
        lambda point, unit: [f"Trend of:,{point}", f"Units:,{unit}"],
        lambda point, unit: ["Site: Invented House", f"Point: {point}", f"Unit: {unit}"],
    ],
)
@pytest.mark.parametrize(("one", "other"), [("VAV-1", "VAV-2"), ("VAV-Nave", "VAV-Hall")])
def test_a_block_for_every_point(tmp_path, lines, one, other):
    points = [(one, "Space Temperature", "degC", TEMPS), (other, "Space Temperature", "degC", TEMPS[::-1])]
    points += [(one, "Air Flow", "L/s", FLOWS), (other, "Air Flow", "L/s", FLOWS[::-1])]
    text = "Trend report\nRequested by: office\n\n"
    text += "".join(block(lines(f"{tag} {name}", unit), numbers) for tag, name, unit, numbers in points)
    trends = read(tmp_path, {"report.csv": text})
    assert tags(trends) == sorted([one, other])
    assert values(trends, one, "zone_temp") == values(trends, other, "zone_temp")[::-1] == TEMPS
    assert values(trends, one, "primary_flow") == values(trends, other, "primary_flow")[::-1] == FLOWS
    assert trends.ledger.set_aside == {}


PAGES = "DATE        TIME   ROOM-C  FLOW-LPS\n-------------------------------------\n"


def page(title: str, temps: list[float]) -> str:
    rows = [
        f"{clock[:10]}  {clock[11:]}  {t:>6}  {'*****' if t == 20.5 else '101':>8}\n"
        for clock, t in zip(CLOCKS, temps, strict=True)
    ]
    return f"{title}\n\n{PAGES}{''.join(rows)}\n"


@pytest.mark.parametrize("label", ["UNIT: ", "Terminal unit: ", "Box = "])
def test_a_page_for_every_terminal(tmp_path, label):
    text = "".join(
        page(f"THE DEPOT        HISTORY LIST     PAGE {n}\n{label}DEP-0{n}", temps)
        for n, temps in enumerate((TEMPS, TEMPS[::-1]), 1)
    )
    trends = read(tmp_path, {"history.lst": text})
    assert tags(trends) == ["DEP-01", "DEP-02"]
    assert values(trends, "DEP-01", "zone_temp") == values(trends, "DEP-02", "zone_temp")[::-1] == TEMPS
    assert values(trends, "DEP-01", "primary_flow") == [101.0] * 7
    assert trends.ledger.set_aside == {"missing value": 2}


@pytest.mark.parametrize(
    "line", ["Page: {n} of 2", "Printed: 2026-01-27 08:{n:02d}", "Samples: 1{n}", "Building: East"]
)
def test_lines_of_every_page_that_name_nothing(tmp_path, line):
    header = "Date/Time,Space Temp (degC)"
    again = [f"2026-01-26 {int(clock[11:13]) + 2:02d}{clock[13:]}" for clock in CLOCKS]
    second = "".join(f"{clock},21.5\n" for clock in again)
    text = block([line.format(n=1)], TEMPS, header) + f"{line.format(n=2)}\n{header}\n{second}"
    trends = read(tmp_path, {"VAV-7.csv": text})
    assert tags(trends) == ["VAV-7"]
    assert values(trends, "VAV-7", "zone_temp") == TEMPS + [21.5] * 8
    assert "Page" not in said(trends)
