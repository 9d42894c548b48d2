"""Tags of words that nobody knows, of letters that look like a quantity's, or behind a word for a terminal."""

from __future__ import annotations

import pytest

from analyzer.intake.points.entries import Entry
from analyzer.intake.points.propose import propose
from analyzer.intake.words.equipment import without_noun
from analyzer.intake.words.tags import TagFinder
from tests.intake.folders import read, tags, values

NAMES = ("zone temp [°C]", "damper position [%]", "fan status")


def table(*words: str, more: str = "") -> str:
    columns = [f"{word} {name}" for word in words for name in NAMES]
    rows = "".join(
        f"2026-01-26 {h:02d}:{m}," + ",".join(f"{20 + n},{50 + n},1" for n in range(len(words))) + ",13" * bool(more) + "\n"
        for h in (8, 9) for m in ("00", "15", "30", "45")
    )  # fmt: skip
    return f"Time,{','.join(columns)}{',' + more if more else ''}\n{rows}"


@pytest.mark.parametrize("word", ["SFT", "QXB", "PF"])
@pytest.mark.parametrize("file", ["trend.csv", "terminals of RTU-3.csv"])
def test_a_tag_that_begins_its_points_is_a_terminals_whatever_its_file(tmp_path, word, file):
    text = table(f"{word}-01", f"{word}-02", more="RTU-3 discharge air temp [°C]")
    trends = read(tmp_path, {file: text})
    assert tags(trends) == [f"{word}-01", f"{word}-02"]
    assert values(trends, f"{word}-02", "zone_temp") == [21] * 8
    assert values(trends, f"{word}-01", "fan_status") == [1] * 8
    assert values(trends, "RTU-3", "supply_temp", table="air_handlers") == [13] * 8


def test_the_fans_of_an_air_handler_are_no_terminals(tmp_path):
    columns = "SF-1 fan status,SF-1 fan speed (%),QXB-1 fan status"
    trends = read(tmp_path, {"RTU-3.csv": f"Time,{columns}\n2026-01-26 08:00,1,50,1\n2026-01-26 08:15,1,51,0\n"})
    assert tags(trends) == []
    assert values(trends, "RTU-3", "supply_fan_speed", table="air_handlers") == [50, 51]


def test_a_file_that_names_its_terminal_keeps_columns_that_begin_otherwise(tmp_path):
    assert tags(read(tmp_path, {"VAV-3.csv": table("QXB-01")})) == ["VAV-3"]


@pytest.mark.parametrize(
    ("name", "tag"),
    [
        ("VAV-T01 room temp C", "VAV-T01"),
        ("VAV-T01 airflow m3/h", "VAV-T01"),
        ("VAV-T01 damper %", "VAV-T01"),
        ("FPB T12", "FPB T12"),
        ("Zone T1", "T1"),
        ("VAV T1", "1"),  # one figure may number a temperature
    ],
)
def test_a_letter_that_names_a_quantity_by_itself(name, tag):
    assert TagFinder([], []).find(name).tag == tag


@pytest.mark.parametrize(
    ("spelled", "tag"),
    [
        ("caja CVV-01", "CVV-01"),
        ("Box PFX-12", "PFX-12"),
        ("boîte BTX 3", "BTX 3"),
        ("terminal VAV-214", "VAV-214"),
        ("Box 12", "Box 12"),
        ("Box A-12", "Box A-12"),
        ("terminal unit 12", "terminal unit 12"),
        ("Unit Level 3", "Unit Level 3"),
    ],
)
def test_a_word_for_a_terminal_before_its_tag(spelled, tag):
    assert without_noun(spelled) == tag


def test_one_terminal_with_and_without_the_word_before_its_tag(tmp_path):
    temp, flow = (f"Time,{name}\n2026-01-26 08:00,20\n2026-01-26 08:15,21\n" for name in ("Zone Temp", "Airflow (L/s)"))
    assert tags(read(tmp_path, {"caja CVV-01.csv": temp, "CVV-01.csv": flow})) == ["CVV-01"]


def test_a_word_of_the_schedules_own_tag_stays():
    point = propose("f.csv", Entry("caja CVV-01 Temperatura (°C)"), TagFinder(["caja CVV-01"], []))
    assert (point.tag, point.quantity) == ("caja CVV-01", "zone_temp")
