"""Values and units as exports spell them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest

from analyzer.intake import read_exports
from analyzer.intake.points.point import Point
from analyzer.intake.values.percent import read_percent
from analyzer.intake.words.units import take_unit, trailing_unit
from analyzer.intake.words.values import FLAG, NOTHING, NUMBER, UNREADABLE, WORD, ValueTexts
from analyzer.quantities import find_unit
from analyzer.site import Site


def read(text: str, decimal: str = "."):
    texts = ValueTexts(pa.array([text]), decimal)
    return texts.kind[0], texts.number[0], texts.unit.get(0)


@pytest.mark.parametrize(
    ("text", "decimal", "number", "unit"),
    [
        ("72.5", ".", 72.5, None), ("-3", ".", -3, None), ("1e3", ".", 1000, None), (".5", ".", 0.5, None), ("+4.", ".", 4, None),
        ("1,234.5", ".", 1234.5, None), ("1 234.5", ".", 1234.5, None), ("1'234.5", ".", 1234.5, None), ("72,5", ",", 72.5, None),
        ("1.234,5", ",", 1234.5, None), ("1 234,5", ",", 1234.5, None), ("\u22125.5", ".", -5.5, None),
        ("72.5 °F", ".", 72.5, "°F"), ("72.5degF", ".", 72.5, "degF"), ("1,200 cfm", ".", 1200, "cfm"), ("45 %", ".", 45, "%"),
        ("72.5 (ok)", ".", 72.5, None),
    ],
)  # fmt: skip
def test_number(text, decimal, number, unit):
    assert read(text, decimal) == (NUMBER, number, unit)


@pytest.mark.parametrize(
    "text", ["", "-", "---", "N/A", "nan", "NaN", "null", "None", "No Data", "missing", "#N/A", "?"]
)
def test_missing(text):
    assert read(text)[0] == NOTHING


@pytest.mark.parametrize("text", ["Fault", "comm loss", "OFFLINE", "72.5 (fault)", "72.5 [down]", "#VALUE!"])
def test_flagged(text):
    assert read(text)[0] == FLAG


@pytest.mark.parametrize("text", ["abc", "12,34.5", "1.2.3", "12:30", "1,23"])
def test_unreadable(text):
    assert read(text)[0] == UNREADABLE


@pytest.mark.parametrize(
    ("off", "on"),
    [("Off", "On"), ("FALSE", "true"), ("Inactive", "Active"), ("Stop", "Start"), ("stopped", "Running"), ("No", "Yes"),
     ("Unoccupied", "Occupied"), ("Disabled", "Enabled"), ("Closed", "Open")],
)  # fmt: skip
def test_status_words_in_their_pairs(off, on):
    assert read(off)[:2] == (WORD, 0)
    assert read(on)[:2] == (WORD, 1)


def percent(values, unit=None):
    value = np.array(values, float)
    point = Point("trend.csv", "VAV-1 RHT VLV", "VAV-1", "reheat_position")
    read_percent(point, unit and find_unit(unit, "percent"), value, np.zeros(len(value), np.uint8), None)
    return value.tolist()


@pytest.mark.parametrize(
    ("values", "unit", "expected"),
    [
        ([0, 12.5, 100], None, [0, 12.5, 100]),
        ([0, 0.125, 1.0, 0.5], None, [0, 12.5, 100, 50]),
        ([0, 0.29, 0.1], None, [0, 0.29, 0.1]),  # a valve that barely opens
        ([0, 0.30, 0.1], None, [0, 30, 10]),
        ([0, 1, 1, 0], None, [0, 100, 100, 0]),  # a stage
        ([0, 0.8, 0.4], "%", [0, 0.8, 0.4]),  # the file says percent
        ([0, 1.0, 0.4], "%", [0, 100, 40]),  # and yet it runs from 0 to 1
        ([0, 0.125, 0.2], "0-1", [0, 12.5, 20]),
        ([0, 1.01, 0.5], None, [0, 1.01, 0.5]),
        ([0, 0, 0], None, [0, 0, 0]),
        ([], None, []),
    ],
)
def test_percent_or_share_of_one(values, unit, expected):
    assert percent(values, unit) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("header", "name", "unit"),
    [
        ("VAV-1 ZN-T (°F)", "VAV-1 ZN-T", "°F"),
        ("VAV-1 FLOW [cfm]", "VAV-1 FLOW", "cfm"),
        ("VAV-1 (north) ZN-T", "VAV-1 (north) ZN-T", None),
        ("VAV-1 ZN-T", "VAV-1 ZN-T", None),
        ("AHU-1 SP {in.w.c.}", "AHU-1 SP", "in.w.c."),
    ],
)
def test_unit_in_brackets(header, name, unit):
    assert take_unit(header) == (name, unit)


@pytest.mark.parametrize(
    ("name", "dimension", "left", "unit"),
    [
        ("VAV-1 ZN-T degF", "temperature", "VAV-1 ZN-T", "degF"),
        ("VAV-1_FLOW_cfm", "flow", "VAV-1_FLOW", "cfm"),
        ("VAV-1 ZN-T deg F", "temperature", "VAV-1 ZN-T", "deg F"),
        ("VAV-1 ZN-T", "temperature", "VAV-1 ZN-T", None),
        ("VAV-1 DMPR %", "percent", "VAV-1 DMPR", "%"),
    ],
)
def test_unit_at_the_end_of_a_name(name, dimension, left, unit):
    assert trailing_unit(name, dimension) == (left, unit)


def flows(tmp_path, cells: list[str], site: Site | None = None):
    """Read one flow log; return its first values [L/s], its unit in the ledger and what was said."""
    path = tmp_path / "log.csv"
    stamps = pd.date_range("2026-01-26", periods=len(cells), freq="15min")
    path.write_text("Time,VAV-1 FLOW\n" + "".join(f"{t},{cell}\n" for t, cell in zip(stamps, cells, strict=True)))
    trends = read_exports([path], site or Site())
    return list(trends.terminals["primary_flow"]), trends.ledger.files[0].columns[0].unit, trends.ledger.assumptions


CFM = 0.47194745  # L/s; NIST SP 811, appendix B.8: 1 ft3/min = 4.719474 E-04 m3/s


def test_a_unit_in_most_cells_is_that_of_the_bare_numbers_too(tmp_path):
    value, unit, said = flows(tmp_path, ["100 cfm", "200", "300 cfm", "400 cfm"])
    assert value == pytest.approx([100 * CFM, 200 * CFM, 300 * CFM, 400 * CFM], rel=1e-6)
    assert unit == "cfm"
    assert not any("cfm" in sentence for sentence in said)


def test_a_unit_in_few_cells_is_an_assumption(tmp_path):
    value, unit, said = flows(tmp_path, ["100 cfm", "200", "300", "400"])
    assert value == pytest.approx([100 * CFM, 200 * CFM, 300 * CFM, 400 * CFM], rel=1e-6)
    assert unit == "cfm"
    assert any("read in cfm, as the few of its cells that hold a unit say" in sentence for sentence in said)


def test_few_cells_that_do_not_agree_tell_nothing_of_the_bare_numbers(tmp_path):
    value, unit, said = flows(tmp_path, ["100 cfm", "60 L/s", "300", "400", "500"])
    assert value == pytest.approx([100 * CFM, 60, 300, 400, 500], rel=1e-6)
    assert unit == "L/s"
    assert any("read in L/s, which is the default" in sentence for sentence in said)


def test_cells_that_each_tell_their_unit_need_no_assumption(tmp_path):
    value, _, said = flows(tmp_path, ["100 cfm", "60 L/s", "300 cfm", "70 L/s", "-"])
    assert value[:4] == pytest.approx([100 * CFM, 60, 300 * CFM, 70], rel=1e-6)
    assert np.isnan(value[4])
    assert not any("read in" in sentence for sentence in said)


def test_no_start_is_lost_of_a_table_with_a_row_whenever_something_changes(tmp_path):
    """Every row holds all values: the rows have no interval, and two changes may fall between two rows of a grid."""
    lines, at = ["Time,FPB-1 ZN-T (degC),FPB-1 FAN STS"], pd.Timestamp("2026-01-26 06:00:00")
    for start in range(10):
        for status, seconds in (("Off", 300 + 61 * start), ("On", 40 + 37 * start % 100)):
            lines.append(f"{at},{20 + start % 3},{status}")
            at += pd.Timedelta(seconds=seconds)
    (tmp_path / "log.csv").write_text("\n".join(lines) + "\n")
    trends = read_exports([tmp_path / "log.csv"], Site())
    assert trends.terminals["fan_starts"].sum() == 10
    assert trends.logging.loc["FPB-1", "fan_status"] == 0
