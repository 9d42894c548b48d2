"""Several processes do what one does: in order, with their mistakes told as one sentence, and none left behind."""

from __future__ import annotations

import errno
import os
import signal
import struct
import subprocess
import sys
import tempfile
import threading
import time

import numpy as np
import pytest

from analyzer.crew import Alone, Workers
from analyzer.errors import CallError, ExportError


def squared(shared: int, item: int) -> int:
    """A piece of work that takes the longer the earlier it comes."""
    time.sleep(0.02 * (5 - item))
    return shared + item * item


def refused(shared, item):
    raise ExportError("floor-3.csv", f"has no column {item}", "Name it in the point list.", place="line 4")


def ended(shared, item):
    os.kill(os.getpid(), signal.SIGKILL)


def test_answers_come_in_the_order_of_the_items():
    with Alone() as one, Workers(2) as two:
        assert list(one.each(squared, 100, range(5))) == [100, 101, 104, 109, 116]
        assert list(two.each(squared, 100, range(5))) == [100, 101, 104, 109, 116]
        assert list(two.each(squared, 200, range(2))) == [200, 201]


def test_what_a_worker_refuses_is_refused_in_its_words():
    with Workers(1) as crew, pytest.raises(ExportError) as caught:
        list(crew.each(refused, None, ["flow"]))
    assert str(caught.value) == "floor-3.csv: line 4: has no column flow. Name it in the point list."


def test_a_worker_that_is_ended_from_outside_is_told_in_one_sentence():
    with Workers(2) as crew, pytest.raises(CallError, match="ended from outside.* fewer --workers"):
        list(crew.each(ended, None, range(3)))


def half_told(ends: bool, item) -> None:
    """Write the first bytes of an answer into the pipe, and be gone; or stay, until the caller ends it."""
    frame = sys._getframe()
    while "result_queue" not in frame.f_locals:
        frame = frame.f_back
    os.write(frame.f_locals["result_queue"]._writer.fileno(), struct.pack("!i", 1000) + b"half")
    if ends:
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(60)


@pytest.mark.timeout(60)
def test_a_worker_that_is_ended_in_the_midst_of_its_answer_is_told_in_one_sentence():
    with Workers(2) as crew, pytest.raises(CallError, match="ended from outside.* fewer --workers"):
        list(crew.each(half_told, True, range(1)))


@pytest.fixture
def interruptible():
    """Hear an interruption, which a test run in the background does not by itself."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("interruptible")
@pytest.mark.timeout(60)
def test_a_caller_that_is_told_to_stop_does_not_wait_for_the_rest_of_an_answer():
    began = time.monotonic()
    with pytest.raises(KeyboardInterrupt), Workers(2) as crew:
        answers = crew.each(half_told, False, range(1))
        timer = threading.Timer(3.0, signal.raise_signal, (signal.SIGINT,))
        timer.start()
        next(answers)
    assert time.monotonic() - began < 30


HELD = """
import sys, time
from analyzer.crew import Workers
from tests.scale.test_workers import held
if __name__ == "__main__":
    with Workers(2) as crew:
        for pid in crew.each(held, None, range(2)):
            print(pid, flush=True)
"""


def held(shared, item):
    """Say who is at work, and stay at it unless it is the first to answer."""
    os.write(2, f"{os.getpid()}\n".encode())  # in one piece: two write at once
    time.sleep(60)
    return os.getpid()


def test_no_worker_outlives_the_process_that_was_called(tmp_path):
    script = tmp_path / "held.py"
    script.write_text(HELD)
    environment = os.environ | {"PYTHONPATH": os.getcwd()}
    process = subprocess.Popen([sys.executable, script], stderr=subprocess.PIPE, text=True, env=environment)
    workers = [int(process.stderr.readline()) for _ in range(2)]
    process.kill()
    process.wait()
    deadline = time.monotonic() + 10
    while any(_alive(pid) for pid in workers) and time.monotonic() < deadline:
        time.sleep(0.05)
    process.stderr.close()
    assert not any(_alive(pid) for pid in workers)


def _alive(pid: int) -> bool:
    try:
        with open(f"/proc/{pid}/stat") as stat:
            return stat.read().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def looked_at(shared: dict, item: str) -> tuple[float, bool, str]:
    """What a worker sees of an array: its sum, whether it may write to it, and what stands beside it."""
    return float(shared[item].sum()), shared[item].flags.writeable, shared["beside"]


def test_arrays_are_looked_at_where_they_are_and_written_once():
    flow, none = np.arange(100_000.0), np.empty(0)
    with Workers(2) as crew:
        for beside in ("monday", "tuesday"):
            shared = {"flow": flow, "again": flow, "none": none, "beside": beside}
            assert list(crew.each(looked_at, shared, ["flow", "again", "none"])) == [
                (flow.sum(), False, beside), (flow.sum(), False, beside), (0.0, False, beside),
            ]  # fmt: skip
        assert (crew._folder / "arrays").stat().st_size == flow.nbytes


def test_arrays_that_are_all_empty_arrive():
    with Workers(1) as crew:
        assert list(crew.each(looked_at, {"none": np.empty(0), "beside": ""}, ["none"])) == [(0.0, False, "")]


def test_a_full_folder_for_temporary_files_is_named(monkeypatch):
    def full(file, array):
        raise OSError(errno.ENOSPC, "No space left on device")

    with Workers(1) as crew, pytest.raises(OSError, match="No space left on device") as caught:
        monkeypatch.setattr(crew._arrays, "_place", full)
        list(crew.each(looked_at, {"flow": np.ones(9)}, ["flow"]))
    assert caught.value.filename == tempfile.gettempdir()
