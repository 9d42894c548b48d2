"""A file that grows, shrinks, is written anew or vanishes while it is read: read as it stood, or refused in a sentence."""

import itertools
import shutil
import threading
import time
from pathlib import Path

import pytest

from analyzer.errors import ExportError, UserError
from analyzer.intake import read_exports
from analyzer.intake.files.find import Source
from analyzer.intake.tables.export_text import open_text
from analyzer.intake.tables.sniff import sniff
from analyzer.site import Site
from tests.fuzz.trying import counted_cells, unbalanced
from tests.intake.test_damage import EXPORTS, a_day
from tests.intake.writing import Dialect, write

SECONDS = 2.0
TEXT = EXPORTS["wide, text, utf-8"][0][1]


def grow(path: Path, turn: int) -> None:
    with path.open("ab") as file:
        file.write(TEXT.splitlines(keepends=True)[-2][: 1 + turn % 60])
    if turn % 400 == 399:
        path.write_bytes(TEXT)


def shrink(path: Path, turn: int) -> None:
    with path.open("r+b") as file:
        file.truncate(len(TEXT) * (97 - turn % 97) // 97)
    if turn % 97 == 96:
        path.write_bytes(TEXT)


def write_anew(path: Path, turn: int) -> None:
    path.write_bytes(TEXT if turn % 2 else TEXT[: len(TEXT) // 3])


def vanish(path: Path, turn: int) -> None:
    if turn % 2:
        path.unlink(missing_ok=True)
    else:
        path.write_bytes(TEXT)


def spoil(path: Path, turn: int) -> None:
    path.write_bytes(TEXT + b"\xff\xfe\x00" * (turn % 3))


@pytest.mark.parametrize("move", [grow, shrink, write_anew, vanish, spoil])
def test_a_file_that_moves_while_it_is_read(tmp_path, move):
    path = tmp_path / "week.csv"
    path.write_bytes(TEXT)
    ended = threading.Event()

    def keep_moving() -> None:
        for turn in itertools.count():
            if ended.is_set():
                return
            move(path, turn)
            time.sleep(0.0005)

    mover = threading.Thread(target=keep_moving)
    mover.start()
    read = refused = 0
    until = time.monotonic() + SECONDS
    try:
        while time.monotonic() < until or read + refused < 5:
            try:
                with counted_cells() as cells:
                    told = read_exports([path], Site(time_zone="America/Chicago", date_order="month-first")).ledger
            except UserError as refusal:
                refused += 1
                assert "week.csv" in str(refusal) and len(str(refusal)) < 1000
            else:
                read += 1
                assert unbalanced(told, sum(cells)) == ""
    finally:
        ended.set()
        mover.join()
    assert read + refused >= 5


def test_a_file_cut_off_after_it_was_opened_is_refused(tmp_path):
    path = tmp_path / "week.csv"
    path.write_bytes(TEXT)
    text = open_text(Source("week.csv", "week.csv", path))
    with path.open("r+b") as file:
        file.truncate(TEXT.index(b"\n", 200))
    with pytest.raises(ExportError, match="week.csv.*became shorter while it was read"):
        sniff(text)


def test_a_folder_whose_files_go_while_it_is_listed(tmp_path):
    (tmp_path / "kept").mkdir()
    write(a_day(), "file per terminal", "text", Dialect(), tmp_path / "kept")
    refused = 0
    for turn in range(12):
        room = tmp_path / f"room {turn}"
        shutil.copytree(tmp_path / "kept", room)
        remover = threading.Timer(0.002 * turn, shutil.rmtree, (room,), {"ignore_errors": True})
        remover.start()
        try:
            read_exports([room], Site(time_zone="America/Chicago"))
        except UserError as refusal:
            refused += 1
            assert len(str(refusal)) < 1000
        remover.join()
    assert refused
