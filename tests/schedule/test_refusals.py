"""What cannot be read is refused in a sentence that says what to do."""

from __future__ import annotations

import pytest

from analyzer.errors import ScheduleError
from analyzer.schedule import read_schedules
from tests.schedule.reading import adds_up


def refused(path) -> str:
    with pytest.raises(ScheduleError) as told:
        read_schedules([path])
    return str(told.value)


def test_a_scan_is_refused(tmp_path):
    from PIL import Image
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

    path = tmp_path / "scan.pdf"
    canvas = Canvas(str(path))
    canvas.drawImage(ImageReader(Image.new("RGB", (60, 40), "white")), 50, 500)
    canvas.save()
    assert "is a scan: its pages hold pictures and no text" in refused(path)


def test_a_locked_pdf_is_refused(tmp_path):
    from reportlab.lib.pdfencrypt import StandardEncryption
    from reportlab.pdfgen.canvas import Canvas

    path = tmp_path / "locked.pdf"
    canvas = Canvas(str(path), encrypt=StandardEncryption("secret", ownerPassword="other", strength=128))
    canvas.drawString(50, 500, "VAV-1 400 120")
    canvas.save()
    assert "is locked by a password" in refused(path)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("broken.pdf", b"%PDF-1.4 and nothing of the kind", "is not a readable PDF"),
        ("broken.xlsx", b"PK\x03\x04 nothing", "is not a readable workbook"),
        ("plan.dwg", b"AC1032", "is no kind of schedule that is read"),
        ("empty.csv", b"", "no table or form of terminals"),
        ("letter.csv", b"Dear all,\nplease find attached\n", "no table or form of terminals"),
        ("binary.csv", b"TAG,MAX\x00\x00\x00\x07\n", "is no text"),
    ],
)
def test_what_is_no_schedule_is_refused(tmp_path, name, content, said):
    path = tmp_path / name
    path.write_bytes(content)
    told = refused(path)
    assert said in told and name in told and len(told) < 1000 and "\n" not in told


def test_a_file_that_is_not_there_is_refused(tmp_path):
    assert "there is no such file" in refused(tmp_path / "none.xlsx")


def test_without_the_library_a_pdf_is_refused_with_the_remedy(tmp_path, monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "pdfplumber", None)
    path = tmp_path / "schedule.pdf"
    path.write_bytes(b"%PDF-1.4")
    assert "pip install 'trendwright[pdf]'" in refused(path)


def test_a_formula_whose_value_was_never_stored_is_set_aside(tmp_path):
    import openpyxl

    book = openpyxl.Workbook()
    for row in (["TAG", "MAX CFM", "MIN CFM"], ["VAV-1", 400, "=B2*0.3"], ["VAV-2", 500, 150]):
        book.active.append(row)
    path = tmp_path / "schedule.xlsx"
    book.save(path)
    reading = read_schedules([path])
    assert [(aside.source.place, aside.why) for aside in reading.asides if aside.text.startswith("=")] == [
        ("C2", "a formula whose value is not stored in the file: open it, save it, and name it again")
    ]


TYPES = "TYPE,MAX CFM,MIN CFM,INLET (IN)\nA,300,90,6\nB,600,180,8\n"


@pytest.mark.parametrize(
    "content",
    [
        TYPES,
        "VAV TYPE SCHEDULE,,,\nTAG,MAX CFM,MIN CFM,INLET (IN)\nVAV-A,300,90,6\nVAV-B,600,180,8\n",
        "TAG,MAX CFM,MIN CFM,INLET (IN)\nVAV-A (TYPICAL OF 4),300,90,6\nVAV-B (TYPICAL OF 2),600,180,8\n",
    ],
)
def test_types_of_terminal_without_a_list_of_terminals_are_refused(tmp_path, content):
    path = tmp_path / "types.csv"
    path.write_text(content)
    told = refused(path)
    assert "gives types of terminal" in told and "nothing says which terminals are of each" in told


def test_a_list_in_another_file_says_which_terminals_are_of_a_type(tmp_path):
    (tmp_path / "types.csv").write_text(TYPES)
    (tmp_path / "list.csv").write_text("TERMINAL,ROOM,TYPE\nVAV-1,101,A\nVAV-2,102,B\nVAV-3,103,A\n")
    reading = read_schedules([tmp_path / "types.csv", tmp_path / "list.csv"])
    most = {fact.tag: fact.text for fact in reading.facts if fact.column == "primary_max"}
    assert most == {"VAV-1": "300", "VAV-2": "600", "VAV-3": "300"}


def test_a_type_that_no_terminal_is_of_is_set_aside(tmp_path):
    (tmp_path / "types.csv").write_text(TYPES)
    (tmp_path / "list.csv").write_text("TERMINAL,ROOM,TYPE\nVAV-1,101,A\nVAV-3,103,A\n")
    reading = read_schedules([tmp_path / "types.csv", tmp_path / "list.csv"])
    assert set(reading.tags) == {"VAV-1", "VAV-3"}
    aside = {(each.tag, each.text) for each in reading.asides if "nothing says which terminals" in each.why}
    assert aside == {("B", "B"), ("B", "600"), ("B", "180"), ("B", "8")}
    assert all(adds_up(account) for account in reading.accounts)
