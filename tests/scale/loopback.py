"""A scheduler and workers of Dask, as processes of their own on this machine."""

from __future__ import annotations

import os
import re
import threading
from contextlib import contextmanager

from tests.loaded.server import Process, Server

# Loaded once: what a scheduler, a worker and a piece of work of a review import.
DASK = Server(
    "distributed.cli.dask_scheduler", "distributed.cli.dask_worker", "pandas", "pyarrow.parquet", "jinja2",
    "analyzer.cluster", "analyzer.reviews", "analyzer.report.pages",
)  # fmt: skip


def started(*command: str, said: str) -> tuple[Process, str]:
    """Start a process of Dask and wait until it says something; return it and what it said."""
    end, their_end = os.pipe()
    nowhere = os.open(os.devnull, os.O_RDWR)
    process = Process(DASK.address, f"distributed.cli.{command[0]}", command[1:], [nowhere, nowhere, their_end])
    for one in (their_end, nowhere):
        os.close(one)
    lines = open(end, encoding="utf-8", errors="replace")  # noqa: SIM115 (read to its end by the thread)
    for line in lines:
        if found := re.search(said, line):
            # What it says later has to be read as well: a process stops where its pipe is full.
            threading.Thread(target=_read_to_its_end, args=(lines,), daemon=True).start()
            return process, found[0]
    raise AssertionError(f"{command} ended and never said {said!r}")


def _read_to_its_end(stream) -> None:
    with stream:
        for _ in stream:
            pass


class Workers(list):
    """The workers' processes, and the scheduler's."""

    scheduler: Process


@contextmanager
def cluster(workers: int):
    """Run a scheduler and its workers; yield the scheduler's address and the workers' processes."""
    processes = []
    try:
        scheduler, address = started(
            "dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", said=r"tcp://127\.0\.0\.1:\d+"
        )
        processes.append(scheduler)
        for _ in range(workers):
            worker, _ = started(
                "dask_worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard", said="Registered to"
            )
            processes.append(worker)
        started_ones = Workers(processes[1:])
        started_ones.scheduler = scheduler
        yield address, started_ones
    finally:
        for process in reversed(processes):
            process.kill()
            process.wait()
