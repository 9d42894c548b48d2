"""A review on a cluster of Dask, with a real scheduler and real worker processes on loopback."""

from __future__ import annotations

import signal
import time

import pytest

from analyzer.dataset import open_dataset
from analyzer.engine.groups import groups_of
from analyzer.errors import CallError
from tests.scale.buildings import demo_trends, in_parts, reviewed, told
from tests.scale.loopback import cluster

pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")

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


def test_a_review_during_which_a_worker_is_killed_comes_to_the_same(tmp_path, monkeypatch):
    dataset = open_dataset(in_parts(demo_trends(), tmp_path / "parts"))
    monkeypatch.setattr(groups_of, "__defaults__", (10_000,))
    whole = reviewed(dataset)
    whole.write(tmp_path / "alone")
    with cluster(2) as (address, workers), Cluster(address) as crew:

        def lose_a_worker(sentence: str) -> None:
            if sentence.startswith("judged"):
                workers[0].kill()

        done = reviewed(dataset, crew=crew, progress=lose_a_worker)
        done.write(tmp_path / "together", crew=crew)
        assert workers[0].wait() == -signal.SIGKILL
    assert told(done) == told(whole)
    pages = sorted(path.name for path in (tmp_path / "alone" / "terminals").iterdir())
    assert len(pages) > 40
    for page in pages:
        alone, together = (tmp_path / folder / "terminals" / page for folder in ("alone", "together"))
        assert alone.read_text() == together.read_text()


def test_a_scheduler_that_does_not_answer_is_told_in_one_sentence():
    with pytest.raises(CallError, match="no scheduler answers at tcp://127.0.0.1:9"):
        Cluster("tcp://127.0.0.1:9")


def test_a_scheduler_without_workers_is_told_in_one_sentence():
    with cluster(0) as (address, _), pytest.raises(CallError, match="has no worker"):
        Cluster(address)
