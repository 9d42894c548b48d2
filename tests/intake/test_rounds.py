"""Rounds: a row per terminal without a stamp, under a line with the moment at which all were read."""

from __future__ import annotations

import datetime

import pytest

from analyzer.errors import ExportError
from analyzer.intake import read_exports
from analyzer.site import Site
from tests.intake.counting import counted_cells
from tests.intake.folders import read, said, tags, values
from tests.intake.test_tables_of_other_shapes import book_of

MOMENTS = [datetime.datetime(2026, 3, day, hour) for day in (10, 11) for hour in range(7, 20, 2)]
TERMINALS = ("BOX-1", "BOX-2", "BOX-3")
HEADER = ["Box", "Space degC", "Flow l/s", "Damper %"]


def numbers(n: int, m: int) -> list:
    return [TERMINALS[m], 20 + n / 2 + m / 10, 100 + n + m, 30 + m]


def lines_of(n: int, sign: str = ",") -> str:
    return "".join(sign.join(map(str, numbers(n, m))) + "\n" for m in range(3))


def check(trends) -> None:
    assert tags(trends) == list(TERMINALS)
    assert list(trends.terminals[trends.terminals["terminal"] == "BOX-2"]["time"].dt.tz_localize(None)) == MOMENTS
    assert values(trends, "BOX-2", "zone_temp") == [20 + n / 2 + 0.1 for n in range(14)]
    assert values(trends, "BOX-3", "primary_flow") == [102.0 + n for n in range(14)]
    assert "each was given the moment of the line above it" in said(trends)


@pytest.mark.parametrize(
    "line",
    [
        "=== poll at {:%Y-%m-%d %H:%M:%S} ===",
        "Taken,{:%Y-%m-%d %H:%M},,by R. O.",
        "{:%d %b %Y %H:%M}",
        "Date,{:%Y-%m-%d},Time,{:%H:%M}",
        "Round of {:%m/%d/%Y %I:%M %p} (all boxes)",
    ],
)
@pytest.mark.parametrize("every", [True, False])
def test_blocks_under_their_moments(tmp_path, line, every):
    header = ",".join(HEADER) + "\n"
    blocks = [f"{line.format(t, t)}\n{header if every or not n else ''}{lines_of(n)}\n" for n, t in enumerate(MOMENTS)]
    with counted_cells() as cells:
        trends = read(tmp_path, {"poll.log": "Status of all boxes\n" + "".join(blocks)})
    check(trends)
    assert trends.ledger.cells_read == sum(cells) == 14 * 9
    lines = trends.ledger.not_data_lines
    assert lines["preamble"] == 15
    assert lines.get("repeated header", 0) == (13 if every else 0)


@pytest.mark.parametrize("sign", [";", "\t"])
def test_the_header_may_stand_once_above_all_moments(tmp_path, sign):
    text = (
        sign.join(HEADER)
        + "\n"
        + "".join(f"Stand: {t:%d.%m.%Y %H:%M}\n{lines_of(n, sign)}" for n, t in enumerate(MOMENTS))
    )
    check(read(tmp_path, {"Rundgang.txt": text}))


def test_a_sheet_for_every_round(tmp_path):
    sheets = {
        f"{t:%b%d %H%M}": [
            ["Status - all boxes"],
            ["Taken", t, None, "by", "R. O."],
            [],
            HEADER,
            *(numbers(n, m) for m in range(3)),
        ]
        for n, t in enumerate(MOMENTS)
    }
    book_of(tmp_path / "rounds.xlsx", {**sheets, "Notes": [["All boxes were walked."]]})
    check(read_exports([tmp_path], Site()))


def test_a_file_for_every_round(tmp_path):
    header = ",".join(HEADER)
    check(read(tmp_path, {f"round {n}.csv": f"Read: {t}\n{header}\n{lines_of(n)}" for n, t in enumerate(MOMENTS)}))


@pytest.mark.parametrize(
    "text",
    [
        f"Printed: {MOMENTS[0]}\n{','.join(HEADER)}\n{lines_of(0)}",  # of when is not said
        f"Taken: {MOMENTS[0]:%Y-%m-%d}\n{','.join(HEADER)}\n{lines_of(0)}",  # the time of day is not known
        f"Taken: {MOMENTS[0]}\n{','.join(HEADER)}\n{lines_of(0)}{lines_of(1)}",  # a second row of each terminal
        f"Taken: {MOMENTS[0]}\nSpace degC,Flow l/s\n20.5,100\n21.0,110\n",  # whose is not said
    ],
)
def test_rows_of_which_no_moment_is_known_are_refused(tmp_path, text):
    with pytest.raises(ExportError):
        read(tmp_path, {"status.csv": text})


def test_a_moment_above_rows_that_have_stamps_dates_none_of_them(tmp_path):
    rows = "".join(f"BOX-1,{t},{20 + n / 2}\n" for n, t in enumerate(MOMENTS))
    trends = read(tmp_path, {"log.csv": f"Read: 2026-04-01 08:00\nBox,Time,Space degC\n{rows}"})
    assert list(trends.terminals["time"].dt.tz_localize(None)) == MOMENTS
    assert "moment of the line above" not in said(trends)


def test_a_dated_list_of_names_is_no_round(tmp_path):
    rows = "".join(f"{t},{20 + n / 2},{100 + n}\n" for n, t in enumerate(MOMENTS))
    listed = "Date: 2026-03-01 08:00\nNo,Name,Description,Unit\n1,P1,BOX-1 Space,degC\n2,P2,BOX-1 Flow,l/s\n"
    trends = read(tmp_path, {"log.csv": f"Time,BOX-1 Space degC,BOX-1 Flow l/s\n{rows}", "list.csv": listed})
    assert values(trends, "BOX-1", "zone_temp") == [20 + n / 2 for n in range(14)]
    assert [file.file.rsplit("/")[-1] for file in trends.ledger.files] == ["log.csv"]
