"""A review on a cluster of Dask, with a real scheduler and real worker processes on loopback."""

from __future__ import annotations

import os
import signal
import time
import weakref

import pytest

from analyzer.dataset import open_dataset
from analyzer.engine.groups import groups_of
from analyzer.errors import CallError
from tests.scale.buildings import demo_trends, in_parts, reviewed, told
from tests.scale.loopback import cluster

pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")

import analyzer.cluster
from analyzer.cluster import Cluster


def slowly(shared, item):
    """A piece of work that leaves time to lose a worker."""
    time.sleep(0.3)
    return shared * item


def test_what_a_lost_worker_had_is_done_by_another():
    with cluster(2) as (address, workers), Cluster(address) as crew:
        answers = crew.each(slowly, 10, range(8))
        assert next(answers) == 0
        workers[0].kill()
        assert list(answers) == [10, 20, 30, 40, 50, 60, 70]


class Used:
    """Something that cannot be sent to another worker once it was used, as templates that were compiled cannot."""

    def times(self, item: int) -> tuple[int, int]:
        self.seen = weakref.ref(self)
        time.sleep(0.3)
        return 10 * item, os.getpid()


def test_what_was_used_on_one_worker_is_there_on_another():
    with cluster(2) as (address, workers), Cluster(address) as crew:
        answers = list(crew.each(Used.times, Used(), range(12)))
    assert [answer for answer, _ in answers] == [10 * item for item in range(12)]
    assert len({pid for _, pid in answers}) == 2


@pytest.fixture(scope="module")
def dataset(tmp_path_factory):
    """The demo building's trends in parts."""
    return open_dataset(in_parts(demo_trends(), tmp_path_factory.mktemp("dataset") / "parts"))


@pytest.fixture(scope="module")
def alone(dataset, tmp_path_factory):
    """The review by this process: what it comes to, and its folder."""
    folder = tmp_path_factory.mktemp("alone") / "review"
    whole = reviewed(dataset)
    whole.write(folder)
    return told(whole), folder


@pytest.mark.parametrize("phase", ["comparing", "judging", "judged", "writing the report", None])
def test_a_review_during_which_a_worker_is_killed_comes_to_the_same(dataset, alone, tmp_path, monkeypatch, phase):
    monkeypatch.setattr(groups_of, "__defaults__", (10_000,))
    whole, folder = alone
    with cluster(2) as (address, workers), Cluster(address) as crew:

        def lose_a_worker(sentence: str) -> None:
            if phase and sentence.startswith(phase):
                workers[0].kill()

        done = reviewed(dataset, crew=crew, progress=lose_a_worker)
        done.write(tmp_path / "together", crew=crew, progress=lose_a_worker)
        assert (workers[0].poll() is None) == (phase is None)
    assert told(done) == whole
    pages = sorted(path.name for path in (folder / "terminals").iterdir())
    assert len(pages) > 40
    for page in pages:
        apart, together = (where / "terminals" / page for where in (folder, tmp_path / "together"))
        assert apart.read_text() == together.read_text()


def stopped(*processes) -> None:
    for process in processes:
        process.send_signal(signal.SIGSTOP)


def killed(*processes) -> None:
    for process in processes:
        process.kill()


@pytest.mark.parametrize(
    ("whom", "how", "told"),
    [
        ("workers", killed, r"tcp://\S+ has had no worker for 2 s\. See the workers' logs"),
        ("workers", stopped, r"no work came back from tcp://\S+ for 4 s\. See the workers' logs, restart them"),
        ("scheduler", stopped, r"no work came back from tcp://\S+ for 4 s\."),
        ("scheduler", killed, r"the scheduler at tcp://\S+ was lost\. See its log; start it"),
    ],
    ids=["workers killed", "workers stopped", "scheduler stopped", "scheduler killed"],
)
def test_where_nothing_moves_there_is_an_end_in_one_sentence(monkeypatch, whom, how, told):
    with cluster(2) as (address, workers), Cluster(address) as crew:
        answers = crew.each(slowly, 10, range(100))
        assert next(answers) == 0
        monkeypatch.setattr(analyzer.cluster, "NO_WORKER_SECONDS", 2.0)
        monkeypatch.setattr(analyzer.cluster, "STILL_SECONDS", 4.0 if how is stopped else 60.0)
        for name in ("_ANSWERED_WITHIN_SECONDS", "_FETCHED_WITHIN_SECONDS"):
            monkeypatch.setattr(analyzer.cluster, name, 1)
        how(*(workers if whom == "workers" else [workers.scheduler]))
        start = time.monotonic()
        with pytest.raises(CallError, match=told):
            list(answers)
        assert time.monotonic() - start < 20
    assert time.monotonic() - start < 40


def test_a_scheduler_that_does_not_answer_is_told_in_one_sentence(monkeypatch):
    monkeypatch.setattr(analyzer.cluster, "_ANSWERED_WITHIN_SECONDS", 1)
    with pytest.raises(CallError, match="no scheduler answers at tcp://127.0.0.1:9"):
        Cluster("tcp://127.0.0.1:9")


def test_a_scheduler_without_workers_is_told_in_one_sentence():
    with cluster(0) as (address, _), pytest.raises(CallError, match="has no worker"):
        Cluster(address)
