"""A scheduler and workers of Dask, as processes of their own on this machine."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import threading
from contextlib import contextmanager


def started(*command: str, said: str) -> tuple[subprocess.Popen, str]:
    """Start a process of Dask and wait until it says something; return it and what it said."""
    process = subprocess.Popen(
        [sys.executable, "-m", "distributed.cli." + command[0], *command[1:]],
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, env=os.environ | {"PYTHONPATH": os.getcwd()},
    )  # fmt: skip
    for line in process.stderr:
        if found := re.search(said, line):
            # What it says later has to be read as well: a process stops where its pipe is full.
            threading.Thread(target=_read_to_its_end, args=(process.stderr,), daemon=True).start()
            return process, found[0]
    raise AssertionError(f"{command} ended with {process.wait()}")


def _read_to_its_end(stream) -> None:
    with stream:
        for _ in stream:
            pass


class Workers(list):
    """The workers' processes, and the scheduler's."""

    scheduler: subprocess.Popen


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
