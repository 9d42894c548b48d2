"""Workbooks within the limits of archives, and reading that heeds an interrupt at once."""

from __future__ import annotations

import gzip
import io
import os
import signal
import subprocess
import sys
import time
import zipfile

import openpyxl
import pytest

from analyzer.errors import ExportError
from analyzer.intake import limits
from analyzer.intake.limits import MEBIBYTE
from analyzer.intake.tables import workbooks
from analyzer.intake.tables.workbooks import read_sheets
from tests.loaded.server import CHECKOUT

HEEDED = 2.0  # seconds


def workbook(sheet: bytes, strings: bytes = b"") -> bytes:
    """A workbook of one sheet, written by hand: a library would take as long as reading it does."""
    stream, made = io.BytesIO(), io.BytesIO()
    book = openpyxl.Workbook()
    book.active.append(["Time", "TU-1.PRI-FLOW (cfm)"])
    book.save(stream)
    with zipfile.ZipFile(stream) as sound, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as packed:
        for name in sound.namelist():
            packed.writestr(name, sheet if name == "xl/worksheets/sheet1.xml" else sound.read(name))
        if strings:
            packed.writestr("xl/more.xml", strings)
    return made.getvalue()


def rows(number: int, columns: int = 40) -> bytes:
    cells = "".join(f"<c><v>{n}.5</v></c>" for n in range(columns))
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return f'<worksheet xmlns="{space}"><sheetData>{f"<row>{cells}</row>" * number}</sheetData></worksheet>'.encode()


@pytest.mark.parametrize("where", ["sheet", "another part"])
def test_a_workbook_that_unpacks_beyond_measure_is_refused_before_it_is_read(where):
    bomb = b" " * (300 * MEBIBYTE)
    made = workbook(bomb) if where == "sheet" else workbook(rows(1), bomb)
    assert len(made) < 3 * MEBIBYTE
    start = time.process_time()
    with pytest.raises(ExportError, match=r"week\.xlsx: unpacks to more than 256 MiB and 200 times its size"):
        read_sheets(made, "week.xlsx")
    assert time.process_time() - start < 1


def test_the_cells_of_all_sheets_count(monkeypatch):
    monkeypatch.setattr(workbooks, "MOST_SHEET_CELLS", 100)
    book = openpyxl.Workbook()
    for sheet in (book.active, book.create_sheet("second")):
        for _ in range(20):
            sheet.append([1, 2, 3])
    stream = io.BytesIO()
    book.save(stream)
    with pytest.raises(ExportError, match="sheet 'second': has more than 100 cells"):
        read_sheets(stream.getvalue(), "week.xlsx")
    assert limits.MOST_SHEET_CELLS == 50_000_000


LONG = {"a workbook": ["a.xlsx"], "a workbook beside a log": ["a.xlsx", "b.csv.gz"], "a packed log": ["b.csv.gz"]}


@pytest.fixture(scope="module")
def long_files(tmp_path_factory):
    """A folder of files that take longer to read than anybody waits."""
    folder = tmp_path_factory.mktemp("long")
    (folder / "a.xlsx").write_bytes(workbook(rows(60_000)))
    log = b"Time,TU-1.PRI-FLOW (cfm)\n" + b"2026-01-12 00:00,%d\n" % 7 * 12_000_000
    (folder / "b.csv.gz").write_bytes(gzip.compress(log, 1))
    return folder


@pytest.mark.parametrize("name", LONG)
@pytest.mark.parametrize("after", [2.5, 4.0])
def test_an_interrupt_is_heeded_while_exports_are_read(tmp_path, long_files, name, after):
    (tmp_path / "exports").mkdir()
    for file in LONG[name]:
        (tmp_path / "exports" / file).hardlink_to(long_files / file)
    (tmp_path / "exports" / "c.csv").write_text("Time,TU-1.PRI-FLOW (cfm)\n2026-01-12 00:00,7\n")
    process = subprocess.Popen(
        [sys.executable, "-m", "analyzer", "normalize", "exports", "--out", "out/trends.parquet"],
        cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env=os.environ | {"PYTHONPATH": str(CHECKOUT)},
        # A shell that runs the tests in the background has them ignore SIGINT, and what they start with them.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip
    time.sleep(after)
    if process.poll() is not None:
        process.communicate()
        pytest.skip("this machine has read it by then")
    process.send_signal(signal.SIGINT)
    start = time.monotonic()
    out, err = process.communicate(timeout=60)
    took = time.monotonic() - start
    assert (process.returncode, out, err) == (2, "", "trendwright: interrupted; nothing was written\n")
    assert took < HEEDED, took
