"""The swap itself: killed between its steps, without the system's exchange, over links, and while another writes."""

import os
from pathlib import Path

import pytest

from analyzer import staging
from analyzer.errors import CallError
from tests.loaded.server import Process, Server
from tests.reliability.dying import place, write


def texts(*paths: Path) -> set[str]:
    return {path.read_text() for path in paths}


# Its processes are forked: some forty of them, which would load the tests each.
WRITERS = Server("tests.reliability.dying")


def die(step: int, exchange: str, what: str, target: Path) -> bool:
    """Write ``target`` in a process that kills itself before its step of that number; False where it has fewer."""
    streams = [os.open(os.devnull, os.O_RDONLY), *os.pipe()]
    said, theirs = streams[1:]
    process = Process(WRITERS.address, "tests.reliability.dying", (str(step), exchange, what, str(target)),
                      [streams[0], theirs, theirs])  # fmt: skip
    os.close(streams[0])
    os.close(theirs)
    with open(said, encoding="utf-8") as text:
        told = text.read()
    process.wait()
    assert told in ("", "whole\n"), told
    return told == ""


@pytest.mark.parametrize("exchange", ["with", "without"])
def test_killed_before_any_step_of_the_swap(tmp_path, exchange):
    folder, steps = tmp_path / "review", 0
    while True:
        write(folder, "old")
        if not die(steps, exchange, "write", folder):
            break
        if exchange == "with":
            assert texts(folder / "one", folder / "two") in ({"old"}, {"new"})
        write(folder, "next")
        assert texts(folder / "one", folder / "two") == {"next"}
        assert [path.name for path in tmp_path.iterdir()] == ["review"]
        steps += 1
    assert steps > 3


def test_what_was_aside_when_the_swap_was_cut_in_two_is_put_back(tmp_path):
    """Where the file system cannot exchange two folders there is an instant with none; the next writer puts it back."""
    folder = tmp_path / "review"
    write(folder, "old")
    folder.rename(tmp_path / ".review.trendwright-old")
    with pytest.raises(ZeroDivisionError), staging.folder_replaced(folder):
        1 / 0  # noqa: B018
    assert texts(folder / "one") == {"old"}
    assert [path.name for path in tmp_path.iterdir()] == ["review"]


def test_files_that_belong_together_are_old_or_new_together(tmp_path):
    table, steps = tmp_path / "trends.parquet", 0
    while True:
        place(table, "old")
        if not die(steps, "with", "place", table):
            break
        newest = staging.newest(table)
        assert texts(newest, newest.with_name("two")) in ({"old"}, {"new"})
        place(table, "next")
        assert texts(table, tmp_path / "two") == {"next"}
        assert {path.name for path in tmp_path.iterdir()} == {"trends.parquet", "two"}
        steps += 1
    assert steps > 5


def test_a_link_stays_a_link(tmp_path):
    write(tmp_path / "real", "old")
    (tmp_path / "review").symlink_to(tmp_path / "real")
    write(tmp_path / "review", "new")
    assert (tmp_path / "review").is_symlink()
    assert texts(tmp_path / "real" / "one") == {"new"}


def test_a_folder_that_others_may_not_read_stays_so(tmp_path):
    write(tmp_path / "review", "old")
    (tmp_path / "review").chmod(0o700)
    write(tmp_path / "review", "new")
    assert (tmp_path / "review").stat().st_mode & 0o777 == 0o700


def test_a_second_writer_waits_and_is_refused_in_the_end(tmp_path, monkeypatch):
    monkeypatch.setattr(staging, "PATIENCE_SECONDS", 0.3)
    folder = tmp_path / "review"
    write(folder, "old")
    with staging.folder_replaced(folder) as part:
        (part / "one").write_text("new")
        with pytest.raises(CallError, match=r"is being written by another trendwright.*Wait until it is done"):
            write(folder, "second")
        (part / "two").write_text("new")
    assert texts(folder / "one", folder / "two") == {"new"}
    assert [path.name for path in tmp_path.iterdir()] == ["review"]


def test_nothing_is_left_when_the_work_fails(tmp_path):
    write(tmp_path / "review", "old")
    with pytest.raises(RuntimeError), staging.folder_replaced(tmp_path / "review") as part:
        (part / "one").write_text("new")
        raise RuntimeError
    assert texts(tmp_path / "review" / "one") == {"old"}
    assert [path.name for path in tmp_path.iterdir()] == ["review"]
    assert os.listdir(tmp_path / "review") == ["one", "two"] or set(os.listdir(tmp_path / "review")) == {"one", "two"}
