"""A random table in a random layout reads back the same, and its cells add up."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given

from tests.drawn import drawn
from tests.schedule.layouts import Drawn, schedules
from tests.schedule.reading import adds_up, differences, read, values
from tests.schedule.writing import SUFFIX, as_text, write_workbook

_CONCLUDED = ("kind", "reheat", "floor")  # of words and titles, which the property does not draw


def _read_back(drawn: Drawn) -> list[str]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"schedule{SUFFIX[drawn.form]}"
        if drawn.form == "workbook":
            write_workbook(path, {"M-1": drawn.rows})
        elif drawn.form.startswith("pdf"):
            from tests.schedule.pdf import write_pdf

            write_pdf(path, [drawn.rows], ruled=drawn.form == "pdf")
        else:
            delimiter = {"csv": ",", "tsv": "\t", "semicolons": ";"}[drawn.form]
            path.write_text(as_text(drawn.rows, delimiter), encoding="utf-8", newline="")
        merged, reading = read(path)
    assert all(adds_up(account) for account in reading.accounts)
    found = {tag: {c: v for c, v in of.items() if c not in _CONCLUDED} for tag, of in values(merged).items()}
    return differences(drawn.expected, found)


@drawn(40, suppress_health_check=[HealthCheck.too_slow])
@given(schedules())
def test_a_table_reads_back_the_same(drawn):
    assert _read_back(drawn) == [], drawn.rows


@drawn(6, suppress_health_check=[HealthCheck.too_slow])
@given(schedules(forms=("pdf",)))
def test_a_ruled_pdf_reads_back_the_same(drawn):
    assert _read_back(drawn) == [], drawn.rows


def test_columns_of_spaces_are_read_with_the_lines_of_the_file(tmp_path):
    path = tmp_path / "schedule.txt"
    path.write_text(
        "VAV TERMINAL SCHEDULE\n\n"
        "TAG        ROOM            MAX CFM   MIN CFM   INLET (IN)\n"
        "VAV-1      LOBBY           600       180       8\n"
        "VAV-2      OPEN OFFICE     1,200     360       12\n\n"
        "NOTES:\n1. ALL NEW.\n"
    )
    merged, reading = read(path)
    assert {(tag, of["zone"].text, of["primary_max"].text) for tag, of in merged.values.items()} == {
        ("VAV-1", "LOBBY", "600"), ("VAV-2", "OPEN OFFICE", "1,200"),
    }  # fmt: skip
    assert merged.values["VAV-2"]["primary_min"].source.place == "row 5, column 4"
    assert all(adds_up(account) for account in reading.accounts)
