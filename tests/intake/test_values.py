"""Values and units as exports spell them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest

from analyzer.intake import read_exports
from analyzer.intake.words.units import take_unit, trailing_unit
from analyzer.intake.words.values import FLAG, NOTHING, NUMBER, UNREADABLE, WORD, ValueTexts
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


def percent(tmp_path, values, unit=None):
    """Read a signal of one terminal, whose header states a unit or none."""
    return signals(tmp_path, {f"VAV-1 RHT VLV{unit and f' ({unit})' or ''}": values})[0]["VAV-1"]


def signals(tmp_path, columns: dict[str, list]):
    """Read a table of reheat signals; return each terminal's values and what was said."""
    path = tmp_path / "log.csv"
    stamps = pd.date_range("2026-01-26", periods=len(next(iter(columns.values()))), freq="15min")
    rows = zip(stamps, *columns.values(), strict=True)
    path.write_text("Time," + ",".join(columns) + "\n" + "".join(",".join(map(str, row)) + "\n" for row in rows))
    trends = read_exports([path], Site())
    found = trends.terminals.groupby("terminal", observed=True)["reheat_position"].agg(list)
    return dict(found), trends.ledger.assumptions


@pytest.mark.parametrize(
    ("values", "unit", "expected"),
    [
        ([0, 12.5, 100], None, [0, 12.5, 100]),
        ([0, 0.125, 1.0, 0.5], None, [0, 12.5, 100, 50]),
        ([0, 0.29, 0.1], None, [0, 0.29, 0.1]),  # a valve that barely opens
        ([0, 0.30, 0.1], None, [0, 30, 10]),
        ([0, 1, 1, 0], None, [0, 100, 100, 0]),  # a stage
        ([0, 0.8, 0.4], "%", [0, 0.8, 0.4]),  # the file says percent
        ([0, 1.0, 0.4], "%", [0, 1.0, 0.4]),  # and is believed, as of one that is 0 or 1
        ([0, 1, 1, 0], "%", [0, 1, 1, 0]),
        ([0, 5, 10, 2.5], "V", [0, 50, 100, 25]),
        ([2, 6, 10, 4], "V", [0, 50, 100, 25]),
        ([2, 6, 10, 4], "0-10 V", [20, 60, 100, 40]),
        ([2, 6, 10, 4], "2-10 V", [0, 50, 100, 25]),
        ([0, 0.125, 0.2], "0-1", [0, 12.5, 20]),
        ([0, 1.01, 0.5], None, [0, 1.01, 0.5]),
        ([0, 0, 0], None, [0, 0, 0]),
    ],
)
def test_percent_or_share_of_one(tmp_path, values, unit, expected):
    assert percent(tmp_path, values, unit) == pytest.approx(expected)


@pytest.mark.parametrize(("lowest", "span"), [(1.89, "0-10 V"), (1.91, "2-10 V"), (2.09, "2-10 V"), (2.11, "0-10 V")])
def test_volts_that_stand_at_two_when_off_run_from_two(tmp_path, lowest, span):
    _, said = signals(tmp_path, {"VAV-1 RHT VLV (V)": [lowest, 5, 9], "VAV-2 RHT VLV (V)": [4, 5, 6]})
    assert any(f"was read in {span}" in sentence for sentence in said)
    assert any(f"Signals in volts were read as {span} = 0 to 100 %" in sentence for sentence in said)


@pytest.mark.parametrize(
    ("namesake", "expected"),
    [([0, 1.01, 0.25], [0, 1.0, 0.5]), ([0, 1.0, 0.25], [0, 100, 50]), ([0, 255, 0.25], [0, 100, 50])],
    ids=["passes 1", "does not", "has a code"],
)
def test_whether_a_signal_runs_to_one_is_asked_of_its_namesakes_too(tmp_path, namesake, expected):
    found, said = signals(tmp_path, {"VAV-1 RHT VLV": [0, 1.0, 0.5], "VAV-2 RHT VLV": namesake})
    assert found["VAV-1"] == pytest.approx(expected)
    assert any("VAV-1 RHT VLV" in sentence and "was read in" in sentence for sentence in said)


@pytest.mark.parametrize(("unit", "expected"), [("%", [0, 1.0, 0.5]), ("0-1", [0, 100, 50])])
def test_a_namesakes_unit_tells(tmp_path, unit, expected):
    found, said = signals(tmp_path, {"VAV-1 RHT VLV": [0, 1.0, 0.5], f"VAV-2 RHT VLV ({unit})": [0, 0.2, 0.1]})
    assert found["VAV-1"] == pytest.approx(expected)
    assert any("as its namesakes say" in sentence for sentence in said)


@pytest.mark.parametrize(("most", "unit"), [(1000, "L/s"), (1001, "m3/h")])
def test_metric_flows_past_the_size_of_a_terminal_are_in_m3_h(tmp_path, most, unit):
    value, told, said = flows(tmp_path, ["0", "500", str(most)])
    assert told == unit
    assert value[1] == pytest.approx(500 if unit == "L/s" else 500 / 3.6)
    assert any(f"read in {unit}" in sentence for sentence in said)


def test_one_temperature_in_degf_makes_an_airflow_cfm(tmp_path):
    (tmp_path / "log.csv").write_text(
        "Time,VAV-1 FLOW,VAV-1 DA-T (degF)\n2026-01-26 00:00,100,55\n2026-01-26 00:15,200,56\n"
    )
    trends = read_exports([tmp_path], Site())
    assert list(trends.terminals["primary_flow"]) == pytest.approx([100 * CFM, 200 * CFM], rel=1e-6)


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
