"""Sentences that say in which units points are, above the header or on a sheet of their own."""

from __future__ import annotations

import openpyxl
import pytest

from analyzer.intake import read_exports
from analyzer.site import Site
from tests.intake.folders import read, said, values

HEAD = ["Time", "QP-1 zone temp", "QP-1 primary air", "QP-1 electric heat", "QP-1 CO2"]
ROWS = [[f"2026-01-26 08:{n:02d}", 18 + n, 100, 10 * n, 700] for n in range(6)]
NOTE = "Zone temps in °C, air in cfm, damper and heat in % of full"


def text(*notes: str) -> str:
    return "".join(f"{note}\n" for note in notes) + "\n".join(",".join(map(str, row)) for row in [HEAD, *ROWS]) + "\n"


def test_notes_on_a_sheet_of_their_own(tmp_path):
    book = openpyxl.Workbook()
    book.active.title = "Read me"
    for note in ("Prepared by the contractor", NOTE, "QP-1 fan was in hand on Friday"):
        book.active.append([note])
    sheet = book.create_sheet("Data")
    for row in [HEAD, *ROWS]:
        sheet.append(row)
    book.save(tmp_path / "trends.xlsx")
    trends = read_exports([tmp_path], Site())
    assert values(trends, "QP-1", "zone_temp") == [18 + n for n in range(6)]
    assert values(trends, "QP-1", "primary_flow") == [pytest.approx(47.195, abs=0.001)] * 6
    assert values(trends, "QP-1", "reheat_position") == [10 * n for n in range(6)]
    assert f"notes say in which units points are ({NOTE!r}), and they were read so." in said(trends)


@pytest.mark.parametrize("note", ["Air: cfm; zone temps: °C", "Units: air in cfm", NOTE])
def test_notes_above_the_header(tmp_path, note):
    trends = read(tmp_path, {"trend.txt": text(note)})
    assert values(trends, "QP-1", "primary_flow") == [pytest.approx(47.195, abs=0.001)] * 6


@pytest.mark.parametrize(
    "note",
    [
        "Zone: C",
        "Air was in cfm until May",
        "The air in hall B is warm",
        "Air in cfm. Air in L/s.",
        "Air balance in cfm",
    ],
)
def test_other_sentences_say_nothing_of_units(tmp_path, note):
    trends = read(tmp_path, {"trend.txt": text(note)})
    assert values(trends, "QP-1", "primary_flow") == []
    assert "notes say" not in said(trends)


def test_a_unit_that_cannot_be_the_points_is_not_taken_from_a_note(tmp_path):
    trends = read(tmp_path, {"trend.txt": text("CO2 in cfm")})
    assert values(trends, "QP-1", "co2") == [700] * 6
    assert "notes say" not in said(trends)


SIGNALS = "Time,VAV-1 Zone Temp (degC),VAV-1 Damper (0-10 V)\n" + "".join(
    f"{row[0]},20,{n}\n" for n, row in enumerate(ROWS)
)


@pytest.mark.parametrize("note", ["damper: 0 V = open; 10 V = closed", "Dampers 100 % = fully closed", "0 = open"])
def test_a_signal_that_is_the_other_way_round_is_told(tmp_path, note):
    trends = read(tmp_path, {"trend.txt": f"{note}\n{SIGNALS}"})
    assert f"a note says that a signal's least value is open ({note!r})" in said(trends)


@pytest.mark.parametrize("note", ["damper: 0 V = closed; 10 V = fully open", "10 = open", "Room 0 opens at 7"])
def test_a_signal_that_is_as_usual_is_not(tmp_path, note):
    trends = read(tmp_path, {"trend.txt": f"{note}\n{SIGNALS}"})
    assert "least value" not in said(trends)
    assert values(trends, "VAV-1", "damper_position") == [10 * n for n in range(6)]
