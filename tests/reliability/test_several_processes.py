"""A review by several processes that is told to stop: status 2, one sentence, no process and nothing half-written left."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from analyzer.trends import Trends, no_air_handlers
from tests.reliability.commands import CHECKOUT, MARK, left_behind, marked
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
    """The command as a shell starts it: with a process group, a room and a folder for temporary files of its own."""

    def __init__(self, room: Path, parts: Path, *options: str):
        self.room, self.mark = room, os.urandom(8).hex()
        self.temporary = room / "temporary"
        self.temporary.mkdir()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "analyzer", "review", parts, "--site", DEMO / "site.toml", "--out", "review", *options],
            cwd=room, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
            env=os.environ | {"PYTHONPATH": str(CHECKOUT), MARK: self.mark, "TMPDIR": str(self.temporary)},
        )  # fmt: skip

    def until(self, said: str) -> None:
        """Wait until the command says something on its way."""
        for line in self.process.stderr:
            if said in line:
                return
        raise AssertionError(f"{said!r} was never said; it ended with {self.process.wait()}")

    def ends_as_told(self, told: str = "interrupted; nothing was written") -> None:
        """Wait for the end; nothing but one sentence may come of it, which begins so."""
        out, err = self.process.communicate(timeout=LONGEST)
        (own,) = [line for line in err.splitlines() if line.startswith("trendwright: ")]
        assert self.process.returncode == 2 and own.startswith(f"trendwright: {told}"), err
        assert "Traceback" not in err and "Error" not in err and out == "", err
        assert not (self.room / "review").exists() and left_behind(self.room) == []
        deadline = time.monotonic() + LONGEST
        while (living := marked(self.mark)) and time.monotonic() < deadline:
            time.sleep(0.05)
        assert living == []
        assert list(self.temporary.iterdir()) == []

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.communicate()


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
