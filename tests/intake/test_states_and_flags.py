"""States with their codes, words that flag the value beside them, stumps of lines and sentinels."""

from __future__ import annotations

import pyarrow as pa
import pytest

from analyzer.intake.words.flags import says_quality
from analyzer.intake.words.values import NUMBER, UNREADABLE, WORD, ValueTexts
from tests.intake.folders import read, said, values

BAD = ("Out of Service", '"{fault,down}"', "Comm Failure", "No Response")
GOOD = ("{ok}", "", "In Service")


@pytest.mark.parametrize("header", ["Status", "Flags", "Note", "Comments"])
def test_words_that_flag_a_value_in_a_long_table(tmp_path, header):
    rows = [f"2026-01-26 0{n}:00,VAV-1 ZN-T,{20 + n},{word}" for n, word in enumerate(BAD + GOOD)]
    trends = read(tmp_path, {"log.csv": f"Time,Point,Value,{header}\n" + "\n".join(rows) + "\n"})
    assert values(trends, "VAV-1", "zone_temp") == [24, 25, 26]
    assert trends.ledger.set_aside == {"flagged by the source": 4}


@pytest.mark.parametrize("header", ["Status", "Flags", "Note", "Comments"])
def test_words_that_flag_a_value_in_a_file_of_one_point(tmp_path, header):
    rows = [f"2026-01-26 0{n}:00,{20 + n},{word}" for n, word in enumerate(BAD + GOOD)]
    trends = read(tmp_path, {"VAV-1 ZN-T.csv": f"Time,Value,{header}\n" + "\n".join(rows) + "\n"})
    assert values(trends, "VAV-1", "zone_temp") == [24, 25, 26]


def test_notes_of_any_kind_beside_values_are_no_names_of_points(tmp_path):
    rows = [f"2026-01-26 0{n}:00,{20 + n},{word}" for n, word in enumerate(["filter changed", "door left open", ""])]
    trends = read(tmp_path, {"VAV-1 ZN-T.csv": "Time,Value,Note\n" + "\n".join(rows) + "\n"})
    assert values(trends, "VAV-1", "zone_temp") == [20, 21, 22]


@pytest.mark.parametrize(
    ("texts", "whole", "some"),
    [
        (["ok", "fault"], True, True),
        (["ok", "door open"], False, True),
        (["ok", "On"], False, False),
        (["door open"], False, False),
        ([""], True, False),
    ],
)
def test_what_says_quality(texts, whole, some):
    assert says_quality(texts) is whole
    assert says_quality(texts, whole=False) is some


@pytest.mark.parametrize(
    ("texts", "states"),
    [
        (["On (2)", "Off (42)"], [1, 0]),
        (["Occupied (1)", "Unoccupied (2)"], [1, 0]),
        (["Off (1)", "On (2)"], [0, 1]),
        (["2 - Unoccupied", "1: Occupied"], [0, 1]),
        (["On [2]", "Off {3}"], [1, 0]),
    ],
)
def test_a_state_beside_its_number(texts, states):
    read_texts = ValueTexts(pa.array(texts), ".")
    assert read_texts.kind.tolist() == [WORD, WORD]
    assert read_texts.number.tolist() == states


def test_a_code_of_the_other_state_is_believed_no_more_than_its_word():
    assert ValueTexts(pa.array(["Off (1)", "On (1)"]), ".").kind.tolist() == [UNREADABLE, WORD]
    assert ValueTexts(pa.array(["72 F", "3 t"]), ".").kind.tolist() == [NUMBER, NUMBER]


LINES = "Time,VAV-1 ZN-T,VAV-1 FLOW\n2026-01-26 08:00,21.5,310\n2026-01-26 08:15,21.6,312\n"


@pytest.mark.parametrize(
    ("last", "temps", "flows"),
    [
        ("2026-01-26 08:30,21.7,31", [21.5, 21.6, 21.7], [310, 312, 31]),  # as many cells as all: whole
        ("2026-01-26 08:30,21.7,31\n", [21.5, 21.6, 21.7], [310, 312, 31]),
        ("2026-01-26 08:30,2", [21.5, 21.6], [310, 312]),
        ("2026-01-26 08:30,21.7\n", [21.5, 21.6, 21.7], [310, 312]),  # it has its end
        ("2026-01-26 08:3", [21.5, 21.6], [310, 312]),
    ],
)
def test_the_stump_of_a_last_line_is_no_value(tmp_path, last, temps, flows):
    trends = read(tmp_path, {"log.csv": LINES + last})
    assert values(trends, "VAV-1", "zone_temp") == temps
    assert values(trends, "VAV-1", "primary_flow") == flows
    assert ("the last line breaks off" in said(trends)) == last.endswith(",2")


@pytest.mark.parametrize(("others", "kept"), [(9.0, True), (9.1, False)])
@pytest.mark.parametrize("header", ["ZN-T (degC)", "DA-T (degC)"])
def test_a_temperature_of_minus_one_ten_degrees_from_the_others(tmp_path, header, others, kept):
    rows = "".join(f"2026-01-26 08:{n:02d},{value}\n" for n, value in enumerate([-1, others, others, others]))
    trends = read(tmp_path, {"log.csv": f"Time,VAV-1 {header}\n{rows}"})
    found = values(trends, "VAV-1", "zone_temp" if "ZN" in header else "discharge_temp")
    assert (-1 in found) is kept
    assert ("exactly -1 degC" in said(trends)) is not kept


def test_outdoor_air_of_minus_one_is_a_frost(tmp_path):
    rows = "".join(f"2026-01-26 08:{n:02d},{value}\n" for n, value in enumerate([-1, 2, 30, 31]))
    trends = read(tmp_path, {"log.csv": f"Time,AHU-1 OA-T (degC)\n{rows}"})
    assert -1 in values(trends, "AHU-1", "outdoor_temp", table="air_handlers")
