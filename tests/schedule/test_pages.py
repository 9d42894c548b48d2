"""Lines over the tables of a page speak each of the table beneath it."""

from __future__ import annotations

import pytest

from tests.schedule.reading import read, values

HEAD = ["TAG", "MAX L/S", "MIN L/S", "COIL KW"]


def _written(path, pages: list[list[tuple[str, list[list[str]]]]]) -> None:
    from reportlab.lib import colors
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import PageBreak, Paragraph, SimpleDocTemplate, Table, TableStyle

    body, story = getSampleStyleSheet()["BodyText"], []
    for number, page in enumerate(pages):
        story += [PageBreak()] if number else []
        for caption, rows in page:
            story += [Paragraph(line, body) for line in caption.split("\n") if line]
            story.append(Table(rows, style=TableStyle([("GRID", (0, 0), (-1, -1), 0.5, colors.black)])))
    SimpleDocTemplate(str(path)).build(story)


@pytest.mark.parametrize("on_one_page", [True, False])
def test_a_line_over_a_table_is_its_own(tmp_path, on_one_page):
    tables = [
        ("Single-duct terminals with hot-water reheat", [HEAD, ["A-1", "120", "30", "1"], ["A-2", "95", "28", "2"]]),
        ("Series fan terminals with electric reheat", [HEAD, ["B-1", "600", "180", "9"], ["B-2", "700", "210", "8"]]),
    ]
    _written(tmp_path / "schedule.pdf", [tables] if on_one_page else [[table] for table in tables])
    found = values(read(tmp_path / "schedule.pdf")[0])
    said = {tag: (of["kind"], of["reheat"]) for tag, of in found.items()}
    assert said == {
        "A-1": ("single-duct", "hot-water"), "A-2": ("single-duct", "hot-water"),
        "B-1": ("series", "electric"), "B-2": ("series", "electric"),
    }  # fmt: skip


def test_a_note_under_one_table_is_no_title_of_the_next(tmp_path):
    head = ["TAG", "MAX", "MIN"]
    page = [
        ("Parallel fan terminals", [head, ["A-1", "120", "30"]]),
        ("NOTES: 1. ALL AIRFLOWS ARE IN L/S.\nSeries fan terminals", [head, ["B-1", "600", "180"]]),
    ]
    _written(tmp_path / "schedule.pdf", [page])
    found = values(read(tmp_path / "schedule.pdf")[0])
    assert {tag: of["kind"] for tag, of in found.items()} == {"A-1": "parallel", "B-1": "series"}
    assert (found["A-1"]["primary_max"], found["B-1"]["primary_max"]) == (120.0, 600.0)


def test_a_table_that_goes_on_keeps_the_line_over_its_first_page(tmp_path):
    rows = [[f"SB-{n}", "300", "90", "4"] for n in range(1, 5)]
    _written(tmp_path / "schedule.pdf", [[("Series fan boxes", [HEAD, *rows[:2]])], [("", rows[2:])]])
    found = values(read(tmp_path / "schedule.pdf")[0])
    assert {tag: of["kind"] for tag, of in found.items()} == dict.fromkeys(["SB-1", "SB-2", "SB-3", "SB-4"], "series")
