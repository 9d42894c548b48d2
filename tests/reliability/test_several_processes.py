"""A review by several processes that is told to stop: status 2, one sentence, no process and nothing half-written left."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import pytest

from analyzer.temporary import temporary_folder
from analyzer.trends import Trends, no_air_handlers
from tests.loaded.commands import CHECKOUT, MARK, marked
from tests.reliability.commands import left_behind
from tests.scale.buildings import DEMO, demo_trends, in_parts

LONGEST = 60  # seconds that an ending may take on a busy machine


@pytest.fixture(scope="module")
def parts(tmp_path_factory):
    """The demo building's trends three times over, so that there are groups for several processes."""
    campus, trends = tmp_path_factory.mktemp("several") / "campus", demo_trends()
    campus.mkdir()
    for name in ("", "-east", "-west"):
        terminals = trends.terminals.copy()
        terminals["terminal"] = terminals["terminal"].cat.rename_categories(lambda tag, name=name: tag + name)
        handlers = no_air_handlers() if name else trends.air_handlers
        in_parts(
            Trends(terminals, handlers, trends.logging.rename(lambda tag, name=name: tag + name), trends.time_zone),
            campus / f"house{name}",
        )
    return campus


class Called:
    """The command as a shell starts it: with a process group, a room, a terminal and a temporary folder of its own."""

    def __init__(self, room: Path, parts: Path, *options: str):
        self.room, self.mark = room, os.urandom(8).hex()
        self.temporary = room / "temporary"
        self.temporary.mkdir()
        terminal, error = os.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "analyzer", "review", parts, "--site", DEMO / "site.toml", "--out", "review", *options],
            cwd=room, stdout=subprocess.PIPE, stderr=error, text=True, start_new_session=True,
            env=os.environ | {"PYTHONPATH": str(CHECKOUT), MARK: self.mark, "TMPDIR": str(self.temporary)},
            # A shell that runs the tests in the background has them ignore SIGINT, and what they start with them.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )  # fmt: skip
        os.close(error)
        self.terminal, self.said = open(terminal, "rb", buffering=0), ""  # noqa: SIM115 (for as long as it runs)

    def until(self, said: str) -> None:
        """Wait until the command says something on its way."""
        while said not in self.said:
            more = self._more()
            assert more, f"{said!r} was never said; it ended with {self.process.wait()}: {self.said}"

    def _more(self) -> str:
        try:
            more = self.terminal.read(1 << 16).decode()
        except OSError:  # what a terminal answers once nobody writes to it any more
            more = ""
        self.said += more
        return more

    def ended(self) -> tuple[str, list[str]]:
        """Wait for the end; return what it said on standard output, and the lines that stay on the terminal."""
        # Its workers hold the terminal open, too.
        watch = threading.Timer(LONGEST, os.killpg, (self.process.pid, signal.SIGKILL))
        watch.start()
        while self._more():
            pass
        out, _ = self.process.communicate()
        watch.cancel()
        last = [line.rpartition("\x1b[K")[2] for line in self.said.splitlines()]
        return out, [line for line in last if line and not re.match(r" *[\d.]+ s  ", line)]

    def ends_as_told(self, told: str = "interrupted; nothing was written") -> None:
        """Wait for the end; nothing but one sentence may come of it, which begins so."""
        out, lines = self.ended()
        assert self.process.returncode == 2 and len(lines) == 1 and out == "", (self.process.returncode, out, lines)
        assert lines[0].startswith(f"trendwright: {told}"), lines
        assert "Traceback" not in self.said and "Error" not in self.said, self.said
        assert not (self.room / "review").exists() and left_behind(self.room) == []
        deadline = time.monotonic() + LONGEST
        while (living := marked(self.mark)) and time.monotonic() < deadline:
            time.sleep(0.05)
        assert living == []
        assert list(self.temporary.iterdir()) == []

    def end(self) -> None:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        self.process.stdout.close()
        self.terminal.close()


@pytest.fixture
def called(tmp_path, parts):
    """Call the command with options; what still runs at the test's end is ended."""
    calls = []

    def call(*options: str) -> Called:
        calls.append(Called(tmp_path, parts, *options))
        return calls[-1]

    yield call
    for one in calls:
        one.end()


@pytest.mark.parametrize(
    ("said", "after"), [("judging", 0.0), ("judging", 0.5), ("judged", 0.0), ("writing the report", 0.0)]
)
def test_the_called_process_is_told_to_stop_while_its_workers_are_at_work(called, said, after):
    review = called("--workers", "2")
    review.until(said)
    time.sleep(after)
    review.process.send_signal(signal.SIGTERM)
    review.ends_as_told()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT], ids=lambda number: number.name)
def test_all_its_processes_are_told_to_stop_at_once(called, number):
    """As a terminal does on Ctrl-C, and a service's manager where it stops one."""
    review = called("--workers", "2")
    review.until("judged")
    os.killpg(review.process.pid, number)
    review.ends_as_told()


@pytest.mark.parametrize("said", ["judging", "judged"])
def test_a_review_on_a_cluster_is_interrupted_and_the_cluster_goes_on(called, said):
    pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")
    from tests.scale.loopback import cluster

    with cluster(1) as (address, workers):
        review = called("--scheduler", address)
        review.until(said)
        review.process.send_signal(signal.SIGINT)
        review.ends_as_told()
        assert workers[0].poll() is None
        from distributed import Client

        with Client(address, timeout="10s", set_as_default=False) as client:
            assert client.submit(sum, (1, 2)).result(timeout=LONGEST) == 3


@pytest.mark.parametrize("said", ["judging", "judged", "writing the report"])
def test_a_scheduler_that_dies_ends_a_review_in_one_sentence(called, said):
    pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")
    from tests.scale.loopback import cluster

    with cluster(1) as (address, workers):
        review = called("--scheduler", address)
        review.until(said)
        workers.scheduler.kill()
        review.ends_as_told(f"--scheduler: the scheduler at {address} was lost")


@pytest.mark.parametrize("said", ["judging", "writing the report"])
def test_what_a_killed_review_left_in_the_temporary_folder_goes_at_the_next_start(called, tmp_path, said):
    review = called("--workers", "2")
    review.until(said)
    review.process.kill()
    assert review.process.wait() == -signal.SIGKILL
    (lock,) = review.temporary.glob("trendwright-*.lock")
    assert sorted(review.temporary.iterdir()) == [lock.with_suffix(""), lock]
    in_use = tempfile.mkdtemp(prefix="trendwright-", dir=review.temporary)  # another's, which has just begun
    ended = subprocess.run(
        [sys.executable, "-m", "analyzer", "review", "nowhere", "--workers", "1"], cwd=tmp_path, capture_output=True,
        env=os.environ | {"PYTHONPATH": str(CHECKOUT), "TMPDIR": str(review.temporary)},
    )  # fmt: skip
    assert ended.returncode == 2
    assert [str(path) for path in review.temporary.iterdir()] == [in_use]


def test_the_folder_of_a_living_process_is_left_alone(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    with temporary_folder() as mine:
        (mine / "arrays").write_bytes(b"in use")
        call = [sys.executable, "-c", "from analyzer.temporary import clear_abandoned; clear_abandoned()"]
        subprocess.run(call, env=os.environ | {"PYTHONPATH": str(CHECKOUT), "TMPDIR": str(tmp_path)}, check=True)
        assert (mine / "arrays").read_bytes() == b"in use"
    assert list(tmp_path.iterdir()) == []
