"""The process that checks the contract is started before the command itself is loaded; it never outlives the command."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).resolve().parents[2]
PROC = Path("/proc")
pytestmark = pytest.mark.skipif(not PROC.is_dir(), reason="processes are looked up under /proc")


def started_by(process: int) -> set[int]:
    """Return the processes that a process has started and that are there still."""
    try:
        return {int(number) for number in (PROC / f"{process}/task/{process}/children").read_text().split()}
    except FileNotFoundError:
        return set()


def runs(process: int) -> bool:
    """Tell whether a process is there, and not only waiting to be counted as gone."""
    try:
        return (PROC / f"{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


def ended(processes: set[int]) -> bool:
    """Wait for processes to end; tell whether all did within what loading a library takes on a busy machine."""
    until = time.monotonic() + 30
    while any(map(runs, processes)) and time.monotonic() < until:
        time.sleep(0.02)
    return not any(map(runs, processes))


def command(*call: str, room: Path) -> subprocess.Popen:
    """Start the command as a user does, in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "analyzer", *call],
        cwd=room, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
        env=os.environ | {"PYTHONPATH": str(CHECKOUT)},
        # A shell that runs the tests in the background has them ignore SIGINT, and what they start with them.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip


def seen(process: subprocess.Popen) -> set[int]:
    """Wait until a command has started a process; return it."""
    while not (others := started_by(process.pid)) and process.poll() is None:
        time.sleep(0.002)
    return others


@pytest.fixture
def exports(tmp_path):
    """A folder with one small export."""
    hours = "".join(f"2026-01-05 {hour:02d}:00,71.{hour},300\n" for hour in range(24))
    (tmp_path / "a.csv").write_text(f"Timestamp,VAV-1.Zone Temp (degF),VAV-1.Airflow (cfm)\n{hours}", "utf-8")
    return tmp_path


@pytest.mark.parametrize("after", [0.0, 0.05, 0.2, 0.5], ids="{} s".format)
@pytest.mark.parametrize("sent", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_it_ends_with_a_command_that_is_stopped(exports, sent, after):
    process = command("review", "a.csv", "-q", room=exports)
    check = seen(process)
    assert len(check) == 1
    time.sleep(after)
    process.send_signal(sent)
    told = process.communicate(timeout=60)[1]
    assert ended(check)
    if sent != signal.SIGKILL and process.returncode:
        assert process.returncode == 2 and told == "trendwright: interrupted; nothing was written\n"


@pytest.mark.parametrize(
    ("call", "status", "told"),
    [
        (["review"], 2, "Missing argument"),
        (["review", "a.csv", "--fail-on", "grave"], 2, "'grave' is no severity"),
        (["review", "elsewhere"], 2, "no such file or folder"),
        (["review", "a.csv", "-q"], 0, ""),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else None,
)
def test_it_ends_with_a_command_that_ends(exports, call, status, told):
    process = command(*call, room=exports)
    check = seen(process)
    said = process.communicate(timeout=60)[1]
    assert (process.returncode, len(check)) == (status, 1)
    assert told in said and ended(check)


def test_what_checks_nothing_starts_nothing(exports):
    for call in (["--help"], ["review", "--help"], ["normalize", "a.csv", "--out", "t.parquet", "-q"]):
        process = command(*call, room=exports)
        assert seen(process) == set(), call
        process.communicate(timeout=60)
        assert process.returncode == 0
