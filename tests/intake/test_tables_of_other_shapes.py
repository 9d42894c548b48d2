"""Tables on their side, and several tables one below another in a file: each read for what it is."""

from __future__ import annotations

import openpyxl
import pandas as pd
import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.site import Site
from tests.intake.counting import counted_cells
from tests.intake.folders import read, said, tags, values

STAMPS = [f"2026-01-26 {h:02d}:{m:02d}" for h in range(6, 12) for m in (0, 15, 30, 45)]
SIDEWAYS = [
    ["Nr", "Point", "Unit", *STAMPS],
    ["1", "VAV-1 Space Temp", "degC", *(f"{20 + n / 10:.1f}" for n in range(24))],
    ["2", "VAV-1 Airflow", "L/s", *(f"{100 + n}" for n in range(24))],
    ["3", "VAV-2 Space Temp", "degC", *(["21.5"] * 23), ""],
]


def text_of(rows: list[list[str]], sign: str = ",") -> str:
    return "".join(sign.join(cells) + "\n" for cells in rows)


def book_of(path, sheets: dict[str, list[list]]) -> None:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for cells in rows:
            sheet.append(cells)
    book.save(path)


def is_turned(trends) -> None:
    assert values(trends, "VAV-1", "zone_temp") == [20 + n / 10 for n in range(24)]
    assert values(trends, "VAV-1", "primary_flow") == [100 + n for n in range(24)]
    assert values(trends, "VAV-2", "zone_temp")[:23] == [21.5] * 23
    assert trends.ledger.set_aside == {"missing value": 1}
    assert "lies on its side" in said(trends)


def test_a_table_on_its_side_with_labels_and_a_title(tmp_path):
    rows = [["Trends of January"], [], *SIDEWAYS, ["End of report"]]
    with counted_cells() as cells:
        trends = read(tmp_path, {"t.csv": text_of(rows)})
    is_turned(trends)
    assert trends.ledger.cells_read == sum(cells) == 72
    assert trends.ledger.not_data_lines == {"preamble": 1, "blank line": 1, "footer": 1}


def test_a_table_on_its_side_with_days_above_times(tmp_path):
    days = [["", "", "", *(stamp[:10] for stamp in STAMPS)], ["", "", "", *(stamp[11:] for stamp in STAMPS)]]
    is_turned(read(tmp_path, {"t.csv": text_of([*days, *SIDEWAYS[1:]])}))


def test_a_table_on_its_side_with_decimal_commas(tmp_path):
    rows = [SIDEWAYS[0], *([cell.replace(".", ",") for cell in cells] for cells in SIDEWAYS[1:])]
    is_turned(read(tmp_path, {"t.csv": text_of(rows, ";")}))


def test_a_sheet_on_its_side(tmp_path):
    rows = [[cells[0], cells[1], cells[2], *map(float, filter(None, cells[3:]))] for cells in SIDEWAYS[1:]]
    stamps = [pd.Timestamp(stamp).to_pydatetime() for stamp in STAMPS]
    book_of(tmp_path / "t.xlsx", {"trend": [["Nr", "Point", "Unit", *stamps], *rows]})
    is_turned(read_exports([tmp_path], Site()))


def test_a_column_of_means_at_the_end_is_no_sample(tmp_path):
    rows = [[*cells, "Average" if n == 0 else "21"] for n, cells in enumerate(SIDEWAYS)]
    trends = read(tmp_path, {"t.csv": text_of(rows)})
    assert values(trends, "VAV-1", "primary_flow") == [100 + n for n in range(24)]
    assert trends.ledger.set_aside == {"missing value": 1, "unreadable timestamp": 3}


def test_a_stored_table_on_its_side_is_refused(tmp_path):
    pd.DataFrame({"Point": ["VAV-1 Space Temp"]} | {stamp: [20.0] for stamp in STAMPS}).to_parquet(
        tmp_path / "t.parquet"
    )
    with pytest.raises(ExportError, match="lies on its side"):
        read_exports([tmp_path / "t.parquet"], Site())


def halves(second: list[str]) -> list[list[str]]:
    first = [[stamp, "20", "100"] for stamp in STAMPS[:12]]
    return [["Time", "Space Temp (degC)", "Airflow (L/s)"], *first, second, *([s, "300", "21"] for s in STAMPS[12:])]


@pytest.mark.parametrize("kind", ["text", "sheet"])
def test_columns_that_change_places_half_way_through(tmp_path, kind):
    rows = halves(["Time", "Air Flow (L/s)", "Space Temp (degC)"])
    if kind == "text":
        (tmp_path / "VAV-7.csv").write_text(text_of(rows))
    else:
        numbers = [
            [pd.Timestamp(a).to_pydatetime(), float(b), float(c)] if a[0] == "2" else [a, b, c] for a, b, c in rows
        ]
        book_of(tmp_path / "VAV-7.xlsx", {"trend": numbers})
    trends = read_exports([tmp_path], Site())
    assert values(trends, "VAV-7", "zone_temp") == [20] * 12 + [21] * 12
    assert values(trends, "VAV-7", "primary_flow") == [100] * 12 + [300] * 12
    assert "2 tables stand one below another" in said(trends)


def test_a_header_that_changes_far_below(tmp_path):
    stamps = pd.date_range("2026-01-01", periods=2000, freq="15min").strftime("%Y-%m-%d %H:%M")
    rows = [["Time", "Space Temp (degC)"], *([stamp, "20"] for stamp in stamps[:1500])]
    rows += [["Time", "CO2 (ppm)", "Space Temp (degC)"], *([stamp, "600", "21"] for stamp in stamps[1500:])]
    trends = read(tmp_path, {"VAV-7.csv": text_of(rows)})
    assert values(trends, "VAV-7", "zone_temp") == [20] * 1500 + [21] * 500
    assert values(trends, "VAV-7", "co2")[-1] == 600


def test_titles_between_the_tables_belong_to_the_next(tmp_path):
    rows = [
        ["Terminal: VAV-1"],
        ["Time", "Space Temp (degC)"],
        *([stamp, "20"] for stamp in STAMPS),
        ["Total", "480"],
        [],
    ]
    rows += [["Terminal: VAV-2"], ["Time", "CO2 (ppm)", "Space Temp (degC)"], *([s, "600", "21"] for s in STAMPS)]
    trends = read(tmp_path, {"trend.csv": text_of(rows)})
    assert values(trends, "VAV-1", "zone_temp") == [20] * 24
    assert values(trends, "VAV-2", "zone_temp") == [21] * 24
    assert trends.ledger.not_data_lines == {"preamble": 2, "footer": 1, "blank line": 1}


@pytest.mark.parametrize("word", ["", "Recorded"])
def test_a_header_without_a_word_for_time_is_known_by_its_other_columns(tmp_path, word):
    rows = halves([word, "Air Flow (L/s)", "Space Temp (degC)"])
    rows[0][0] = word
    trends = read(tmp_path, {"VAV-7.csv": text_of(rows)})
    assert values(trends, "VAV-7", "zone_temp") == [20] * 12 + [21] * 12
    assert values(trends, "VAV-7", "primary_flow") == [100] * 12 + [300] * 12


def test_a_header_that_only_changes_its_units_row(tmp_path):
    rows = [["Time", "Space Temp", "Airflow"], ["", "degC", "L/s"], *([s, "20", "100"] for s in STAMPS[:12])]
    rows += [["Time", "Space Temp", "Airflow"], ["", "degF", "L/s"], *([s, "68", "100"] for s in STAMPS[12:])]
    trends = read(tmp_path, {"VAV-7.csv": text_of(rows)})
    assert values(trends, "VAV-7", "zone_temp") == [20] * 24
    assert trends.ledger.not_data_lines == {"units row": 2}


def test_rows_of_data_above_a_header_are_refused_and_not_lost(tmp_path):
    rows = [*([s, "20"] for s in STAMPS[:12]), ["Time", "Airflow", "CO2"], *([s, "100", "600"] for s in STAMPS[12:])]
    with pytest.raises(ExportError, match="12 rows with stamps and values stand above the header"):
        read(tmp_path, {"VAV-7.csv": text_of(rows)})


def test_stamps_side_by_side_that_are_numbers(tmp_path):
    stamps = [str(1768200000 + 900 * n) for n in range(24)]
    is_turned(read(tmp_path, {"t.csv": text_of([[*SIDEWAYS[0][:3], *stamps], *SIDEWAYS[1:]])}))


def test_numbers_as_text_in_a_sheet_with_decimal_commas(tmp_path):
    rows = [[stamp, f"{20 + n / 10:.1f}".replace(".", ",")] for n, stamp in enumerate(STAMPS)]
    book_of(tmp_path / "VAV-7.xlsx", {"trend": [["Zeit", "Raumtemperatur (°C)"], *rows]})
    assert values(read_exports([tmp_path], Site()), "VAV-7", "zone_temp") == [20 + n / 10 for n in range(24)]


@pytest.mark.parametrize("share", ["0..1", "0-1", "0...1"])
def test_units_with_figures_are_no_tags(tmp_path, share):
    points = (("Zone Temp", "°C", 21.5), ("Damper Command", "0-10 V", 2.5), ("Reheat Command", share, 0.25))
    rows = "".join(
        f"{unit},{name},{spelled},2026-01-17 0{hour}:00,{value}\n"
        for unit in ("GL-1", "GL-2")
        for name, spelled, value in points
        for hour in range(6)
    )
    trends = read(tmp_path, {"log.csv": f"Unit,Point,Engineering unit,Timestamp,Value\n{rows}"})
    assert tags(trends) == ["GL-1", "GL-2"]
    for quantity, value in (("zone_temp", 21.5), ("damper_position", 25.0), ("reheat_position", 25.0)):
        assert values(trends, "GL-2", quantity) == [value] * 6


@pytest.mark.parametrize("heads", [("Time", "Value"), ("Zeit", "Wert"), ("Date/Time", "Reading")])
def test_times_and_values_side_by_side_under_the_points_names(tmp_path, heads):
    points = [("VAV-1 Room Temp (degC)", 15, 2), ("VAV-1 Flow (L/s)", 5, 0), ("VAV-2 Room Temp (degC)", 15, 4)]
    rows: list[list] = [[cell for name, _, _ in points for cell in (name, None)], [*heads] * 3]
    for n in range(36):
        cells = []
        for _, step, minute in points:
            there = n < 180 // step
            moment = pd.Timestamp("2026-01-26 06:00") + pd.Timedelta(minutes=minute + step * n)
            cells += [moment.to_pydatetime(), 20.0 + n] if there else [None, None]
        rows.append(cells)
    book_of(tmp_path / "pasted.xlsx", {"Trends": rows})
    trends = read_exports([tmp_path], Site())
    assert values(trends, "VAV-1", "zone_temp") == values(trends, "VAV-2", "zone_temp") == [20.0 + n for n in range(12)]
    assert values(trends, "VAV-1", "primary_flow") == [20.0 + n for n in range(36)]
    assert "nearest row, up to 2 min away: VAV-1 zone_temp." in said(trends)


CLOCKS = [f"{hour:02d}:00" for hour in range(24)]
TEMPS = [round(20 + day + hour / 100, 2) for day in (0, 1) for hour in range(24)]


def a_row_a_day(name: str = "", more: str = "", cells: str = "") -> str:
    rows = "".join(
        f"2026-01-{19 + day}{name},{','.join(f'{temp:.2f}' for temp in TEMPS[24 * day : 24 * day + 24])}{cells}\n"
        for day in (0, 1)
    )
    return f"Date{',Point' * bool(name)},{','.join(CLOCKS)}{more}\n{rows}"


@pytest.mark.parametrize(
    ("files", "without"),
    [
        ({"VAV-1/Zone Temp degC.csv": a_row_a_day()}, []),
        ({"log.csv": a_row_a_day(",VAV-1 Zone Temp (degC)")}, []),
        ({"VAV-1/Zone Temp degC.csv": a_row_a_day("", ",Average", ",21.0")}, []),
        ({"VAV-1/Zone Temp degC.csv": a_row_a_day().replace("21.00,", "bad,")}, [21.0]),
    ],
)
def test_a_row_a_day_and_a_column_for_every_time_of_day(tmp_path, files, without):
    trends = read(tmp_path, files)
    assert values(trends, "VAV-1", "zone_temp") == [temp for temp in TEMPS if temp not in without]
    assert trends.terminals["time"].iloc[-1] == pd.Timestamp("2026-01-20 23:00", tz="UTC")
    assert "its columns are the times of day of each row's date" in said(trends)


@pytest.mark.parametrize(
    "header", ["Date,Terminal,Reading,Unit", "Day,Box,Value,Units", "Datum,Gerät,Messwert,Einheit"]
)
@pytest.mark.parametrize("tag", ["T2.1", "VAV-2"])
def test_a_row_a_day_for_every_terminal_and_reading(tmp_path, header, tag):
    rows = [
        f"2026-01-{19 + day},{owner},{name},{unit},{','.join(str(number + hour / 10) for hour in range(24))}\n"
        for day in (0, 1)
        for owner in (tag, f"{tag[:-1]}3")
        for name, unit, number in (
            ("room temperature", "°C", 20 + day),
            ("air flow", "l/s", 80 + day),
            ("damper", "%", 30),
        )
    ]
    trends = read(tmp_path, {"daily.csv": f"{header},{','.join(CLOCKS)}\n{''.join(rows)}"})
    assert tags(trends) == [tag, f"{tag[:-1]}3"]
    assert values(trends, tag, "zone_temp") == [20 + day + hour / 10 for day in (0, 1) for hour in range(24)]
    assert values(trends, tag, "primary_flow") == [80 + day + hour / 10 for day in (0, 1) for hour in range(24)]
    assert trends.ledger.set_aside == {}


@pytest.mark.parametrize(("named", "laid_out"), [(3, False), (4, True)])
def test_four_times_of_day_are_no_names(tmp_path, named, laid_out):
    text = f"Date,{','.join(CLOCKS[:named])}\n" + "".join(f"2026-01-{n},{'20,' * named}\n" for n in range(19, 29))
    assert ("times of day" in said(read(tmp_path, {"VAV-1/Zone Temp degC.csv": text}))) is laid_out


def by_places(gap: int = 6, missing: int = -1, stamp: str = "2026-02-20 {n:02d}:00", rule: str = "") -> str:
    spaces = " " * gap
    rows = "".join(
        f"{stamp.format(n=n)}{spaces}{'' if n == missing else 70.5 + n % 3:>9}{spaces}{300 + n:>7}\n" for n in range(24)
    )
    return f"Trend report\n\nTime            {spaces}Zone Temp{spaces}Airflow\n{rule}{rows}"


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (by_places(), None),
        (by_places(missing=5), 5),
        (by_places(gap=2), None),
        (by_places(gap=1), None),
        (by_places(stamp="2026-02-20T{n:02d}:00"), None),
        (by_places(rule="----------------      ---------      -------\n"), None),
        (by_places().replace(".5", ",5"), None),
        (by_places().replace("      Zone Temp", "   Zone Temp"), None),
    ],
)
def test_columns_that_stand_under_each_other(tmp_path, text, missing):
    trends = read(tmp_path, {"VAV-1.txt": text})
    assert values(trends, "VAV-1", "zone_temp") == [
        pytest.approx((70.5 + n % 3 - 32) / 1.8, abs=0.001) for n in range(24) if n != missing
    ]
    assert len(values(trends, "VAV-1", "primary_flow")) == 24
    assert "its columns are parted by spaces alone" in said(trends)


def test_lines_without_columns_are_no_table(tmp_path):
    with pytest.raises(ExportError, match="no time stamp"):
        ragged = "".join(f"2026-02-20 {n:02d}:00 {7 * 10 ** (n % 3)} {300 + n}\n" for n in range(24))
        read(tmp_path, {"VAV-1.txt": f"Time Zone Temp Airflow\n{ragged}"})


def test_a_header_printed_again_without_its_row_of_units_keeps_them(tmp_path):
    names, units = ["Time", "VAV-1 Space Temp", "VAV-1 Airflow"], ["", "degC", "cfm"]
    rows = [[stamp, f"{20 + n / 10:.1f}", str(100 + n)] for n, stamp in enumerate(STAMPS)]
    pages = [["Trends of January"], names, units, *rows[:7], names, *rows[7:14], names, *rows[14:]]
    trends = read(tmp_path, {"t.csv": text_of(pages)})
    assert values(trends, "VAV-1", "primary_flow") == pytest.approx(
        [(100 + n) * 0.47194745 for n in range(24)], rel=1e-4
    )


RULED = (
    "HALL LOG\n\nDATE       TIME  BOX   ROOM TEMP PRIM FLOW FAN\n                       DEG C     L/s\n"
    "---------- ----- ----- --------- --------- ---\n"
    "2026-01-26 08:00 PB-01 21.0      300       ON\n2026-01-26 08:00 PB-02 22.0{0}     200       OFF\n"
    "2026-01-26 08:15 PB-01 21.5      310       ON\n2026-01-26 08:15 PB-02 22.5      210       OFF\n"
)


def test_a_rule_over_every_column_parts_names_with_one_space_between(tmp_path):
    trends = read(tmp_path, {"log.txt": RULED.format(" ")})
    assert values(trends, "PB-01", "zone_temp") == [21, 21.5]
    assert values(trends, "PB-02", "primary_flow") == [200, 210]
    assert values(trends, "PB-02", "fan_status") == [0, 0]


def test_a_cell_that_crosses_the_end_of_a_ruled_column_is_not_cut(tmp_path):
    wide = RULED.format("0000000").replace("22.00000000     200", "22.00000000 200")
    trends = read(tmp_path, {"log.txt": wide})
    assert not values(trends, "PB-02", "zone_temp") and not values(trends, "PB-02", "primary_flow")
    assert trends.ledger.set_aside == {"unmapped column": 4}


DUMP = "site|equip_tag|point_type|reading_ts|reading|mode\n" + "".join(
    f"PGT|TX-N0{n}|{point}|2026-01-26 08:{m}|{value + n}|OCCUPIED\n"
    for n in (1, 2) for point, value in (("ZONE_TEMP", 20), ("AIRFLOW", 300)) for m in ("00", "15", "30")
)  # fmt: skip


def test_a_column_of_quantities_under_a_heading_that_does_not_say_so(tmp_path):
    trends = read(tmp_path, {"dump.txt": DUMP})
    assert tags(trends) == ["TX-N01", "TX-N02"]
    assert values(trends, "TX-N02", "zone_temp") == [22] * 3
    assert values(trends, "TX-N01", "primary_flow") == [301] * 3


def test_a_column_of_modes_names_no_point(tmp_path):
    coded = DUMP.replace("ZONE_TEMP", "P1").replace("AIRFLOW", "P2")
    legend = "code,meaning\nP1,Zone Temp\nP2,Airflow\n"
    trends = read(tmp_path, {"legend.csv": legend, "dump.txt": coded.replace("point_type", "point")})
    assert values(trends, "TX-N02", "zone_temp") == [22] * 3
