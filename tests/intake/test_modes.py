"""Modes that only their cells tell."""

from __future__ import annotations

import pytest

from tests.intake.folders import read, said, values

WORDS = ["Unoccupied", "Occupied", "Occupied", "", "Unoccupied", "Occupied"]
MOMENTS = [f"2026-01-26 08:{5 * n:02d}" for n in range(6)]


def tidy(head: str, words: list[str]) -> str:
    rows = [f"VAV-1,{moment},{20 + n},{word}\n" for n, (moment, word) in enumerate(zip(MOMENTS, words, strict=True))]
    return f"Terminal,Sampled,Space Temp,{head}\n{''.join(rows)}"


@pytest.mark.parametrize("head", ["Mode", "Current mode", "State"])
def test_a_mode_with_words_for_occupancy_is_the_occupancy(tmp_path, head):
    trends = read(tmp_path, {"report.csv": tidy(head, WORDS)})
    assert values(trends, "VAV-1", "occupied") == [0, 1, 1, 0, 1]
    assert f"{head!r} holds words for occupancy alone, and was read as the occupancy mode." in said(trends)


def test_a_mode_of_a_wide_table(tmp_path):
    rows = "".join(f"{moment},{20 + n},{word}\n" for n, (moment, word) in enumerate(zip(MOMENTS, WORDS, strict=True)))
    trends = read(tmp_path, {"report.csv": f"Time,VAV-1 Space Temp,VAV-1 Mode\n{rows}"})
    assert values(trends, "VAV-1", "occupied") == [0, 1, 1, 0, 1]


@pytest.mark.parametrize(("words", "found"), [(WORDS, [0, 1, 1, 0, 1]), (["Heat", "Cool"] * 3, [])])
def test_a_mode_of_a_long_table(tmp_path, words, found):
    rows = ""
    for n, (moment, word) in enumerate(zip(MOMENTS, words, strict=True)):
        rows += f"{moment},VAV-1,Space Temp,{20 + n}\n{moment},VAV-1,Mode,{word}\n{moment},VAV-2,Mode,Off\n"
    trends = read(tmp_path, {"report.csv": f"Time,Terminal,Point,Value\n{rows}"})
    assert values(trends, "VAV-1", "occupied") == found
    assert values(trends, "VAV-2", "occupied") == []


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("Mode", ["Off", "On"] * 3),
        ("Mode", ["Heating", "Cooling"] * 3),
        ("Mode", ["Occupied", "Warmup"] * 3),
        ("Window mode", WORDS),
    ],
)
def test_a_mode_of_anything_else_is_none(tmp_path, head, words):
    trends = read(tmp_path, {"report.csv": tidy(head, words)})
    assert values(trends, "VAV-1", "occupied") == []
    assert "occupancy" not in said(trends)
