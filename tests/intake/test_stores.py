"""Workbooks, Parquet files and what the site file decides: what the folders of cases cannot hold as text."""

from __future__ import annotations

import datetime

import numpy as np
import openpyxl
import pandas as pd
import pytest

from analyzer.intake import read_exports
from analyzer.site import Site, read_site

START = datetime.datetime(2026, 1, 26, 6, 0)
ROWS = [(START + datetime.timedelta(minutes=5 * n), 68.0 + n, 200 + 10 * n) for n in range(4)]


def read(path, **site):
    return read_exports([path], Site(time_zone="America/Chicago", **site))


def workbook(path, **sheets):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title.replace("_", "-"))
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


def test_every_sheet_is_a_table_and_may_be_named_by_its_terminal(tmp_path):
    head = ["Time", "ZN-T (degF)", "FLOW (cfm)"]
    path = workbook(
        tmp_path / "week 4.xlsx",
        Notes=[["Trends of the north side"], ["Made by", "someone"]],
        VAV_1=[["Report"], [], head, *ROWS, ["Average", 69.5, 215]],
        VAV_2=[head, *ROWS[:2], [], head, *ROWS[2:]],
    )
    trends = read(path)
    assert list(trends.terminals["terminal"].cat.categories) == ["VAV-1", "VAV-2"]
    assert trends.terminals["zone_temp"].tolist() == pytest.approx([20, 20.556, 21.111, 21.667] * 2, abs=0.001)
    assert str(trends.terminals["time"][0]) == "2026-01-26 12:00:00+00:00"
    assert [file.file[-12:] for file in trends.ledger.files] == ["sheet VAV-1", "sheet VAV-2"] or all(
        "sheet VAV-" in file.file for file in trends.ledger.files
    )
    assert trends.ledger.not_data_lines == {"preamble": 1, "blank line": 2, "footer": 1, "repeated header": 1}


def test_a_workbooks_words_dates_and_clocks_apart(tmp_path):
    rows = [["Date", "Time of day", "VAV-1 FAN STS", "VAV-1 OCC", "VAV-1 CO2 (ppm)"]]
    for n, (moment, _, flow) in enumerate(ROWS):
        rows.append([moment.date(), moment.time(), ("Off", "On")[n % 2], n > 1, flow if n else "N/A"])
    trends = read(workbook(tmp_path / "a.xlsx", Sheet=rows))
    assert str(trends.terminals["time"][3]) == "2026-01-26 12:15:00+00:00"
    assert trends.terminals["fan_status"].tolist() == [0, 1, 0, 1]
    assert trends.terminals["occupied"].tolist() == [0, 0, 1, 1]
    assert trends.ledger.set_aside == {"missing value": 1}


def frame(index: bool = False) -> pd.DataFrame:
    times = pd.DatetimeIndex([row[0] for row in ROWS]).tz_localize("America/Chicago")
    table = pd.DataFrame({"VAV-1 ZN-T (degF)": [row[1] for row in ROWS], "VAV-1 FLOW (cfm)": [row[2] for row in ROWS]})
    return table.set_index(times) if index else table.assign(when=times)


@pytest.mark.parametrize("index", [False, True])
def test_stamps_stand_anywhere_in_a_parquet_file(tmp_path, index):
    frame(index).to_parquet(tmp_path / "a.parquet")
    trends = read(tmp_path / "a.parquet")
    assert str(trends.terminals["time"][0]) == "2026-01-26 12:00:00+00:00"
    assert trends.terminals["zone_temp"].tolist() == pytest.approx([20, 20.556, 21.111, 21.667], abs=0.001)


def test_parquet_types_of_all_kinds(tmp_path):
    table = frame()
    table["VAV-1 FAN STS"] = [True, False, None, True]
    table["VAV-1 DMPR POS"] = pd.array([10, None, 30, 40], dtype="Int16")
    table["VAV-1 OCC"] = pd.Categorical(["Occ", "Unocc", "Occ", None])
    table["VAV-1 CO2"] = np.array([400, 410, np.inf, 420], dtype="float32")
    table.to_parquet(tmp_path / "a.parquet")
    trends = read(tmp_path / "a.parquet")
    told = trends.terminals
    assert told["fan_status"].tolist() == pytest.approx([1, 0, np.nan, 1], nan_ok=True)
    assert told["damper_position"].tolist() == pytest.approx([10, np.nan, 30, 40], nan_ok=True)
    assert told["occupied"].tolist() == pytest.approx([1, 0, 1, np.nan], nan_ok=True)
    assert told["co2"].tolist() == pytest.approx([400, 410, np.nan, 420], nan_ok=True)
    assert trends.ledger.set_aside == {"missing value": 3, "unreadable value": 1}


def test_the_site_files_units_decide_where_no_export_does(tmp_path):
    (tmp_path / "trend.csv").write_text("Time,VAV-1 FLOW,VAV-1 ZN-T\n" + "".join(f"{m},{f},{t}\n" for m, t, f in ROWS))
    (tmp_path / "site.toml").write_text('[site]\ntime_zone = "UTC"\nunits = "ip"\n')
    trends = read_exports([tmp_path], read_site(tmp_path))
    assert trends.terminals["primary_flow"][0] == pytest.approx(94.389, abs=0.001)
    assert trends.terminals["zone_temp"][0] == pytest.approx(20)
    said = " ".join(trends.ledger.assumptions)
    assert (
        "Primary airflow at the inlet sensor was read in cfm, as the site file says units = 'ip': VAV-1 FLOW." in said
    )


def weeks(days: int, occupied) -> str:
    times = pd.date_range("2026-01-05", periods=days * 24 + 1, freq="1h")
    rows = [f"{t},70,{occupied(n)}" for n, t in enumerate(times)]
    return "Time,VAV-1 ZN-T (degF),VAV-1 OCC\n" + "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    ("days", "occupied", "kept"),
    [(6, lambda n: 1, False), (5, lambda n: 1, True), (14, lambda n: int(n != 7), True), (21, lambda n: 0, False)],
)
def test_an_occupancy_that_never_changes_in_weeks_is_set_aside(tmp_path, days, occupied, kept):
    (tmp_path / "trend.csv").write_text(weeks(days, occupied))
    trends = read(tmp_path / "trend.csv")
    assert trends.terminals["occupied"].notna().any() == kept
    told = trends.ledger
    assert told.set_aside.get("outside physical range", 0) == (0 if kept else days * 24 + 1)
    assert any("occupancy mode of VAV-1" in said for said in told.assumptions) == (not kept)


def test_a_clock_that_jumps_by_years_costs_no_rows_between(tmp_path):
    (tmp_path / "trend.csv").write_text(
        "Time,VAV-1 ZN-T (degC),VAV-1 DMPR (%)\n1970-01-01 00:00:00,20,40\n"
        + "".join(f"2026-01-26 06:0{n}:00,2{n},4{n}\n" for n in range(8))
    )
    trends = read(tmp_path / "trend.csv")
    assert len(trends.terminals) == 9
    assert trends.logging.loc["VAV-1", "zone_temp"] == 60


def test_a_point_whose_every_stamp_is_unreadable_has_no_rows_and_harms_none(tmp_path):
    (tmp_path / "trend.csv").write_text(
        "timestamp,device,property,value\n2026-01-26 06:00:00,VAV-1,Zone Temperature (degC),20.0\n"
        "23:59:60,VAV-2,Zone Temperature (degC),21.5\n"
    )
    trends = read(tmp_path / "trend.csv")
    assert trends.terminals["zone_temp"].tolist() == [20.0]
    assert trends.ledger.set_aside == {"unreadable timestamp": 1}
