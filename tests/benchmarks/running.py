"""Start a measurement in a fresh process, watch its memory, and take what it tells."""

from __future__ import annotations

import json
import math
import os
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.clock import Spent, resident

TOP = Path(__file__).resolve().parents[2]


class DidNotFinish(Exception):
    """A measurement ended without telling anything; its words say why."""


@dataclass
class Outcome:
    """What a measurement told.

    Attributes
    ----------
    told : dict
    peak : int
        The most memory that it and all that it started held at once [bytes], sampled, and not less than the most that
        its own process held.
    """

    told: dict
    peak: int
    spent: dict[str, Spent] = field(default_factory=dict)

    def better(self, other: Outcome) -> Outcome:
        """Take the best of both."""
        best = {name: min(self.spent[name], other.spent[name], key=lambda spent: spent.wall) for name in self.spent}
        least = {name: min(self.spent[name].cpu, other.spent[name].cpu) for name in self.spent}
        spent = {name: Spent(best[name].wall, least[name]) for name in best}
        return Outcome(self.told, max(self.peak, other.peak), spent)


def run(job: str, **of) -> Outcome:
    """Do a job of ``tests.benchmarks.work`` in a fresh process.

    Raises
    ------
    DidNotFinish
        It failed, or the machine ended it for want of memory.
    """
    call = [sys.executable, "-m", "tests.benchmarks.work", json.dumps({"job": job, **of})]
    watched = watch(call)
    told = json.loads(watched.said.splitlines()[-1])
    runs = told.pop("runs")
    # The best of n runs: by the wall and by work, each by itself, for others disturb them differently.
    spent = {
        name: Spent(min(one[name]["wall"] for one in runs), min(one[name]["cpu"] for one in runs)) for name in runs[0]
    }
    return Outcome(told, max(watched.peak, told["peak"]), spent)


@dataclass
class Watched:
    """A command that has run: what it said, how long it took, and the most memory that it and its children held."""

    said: str
    spent: Spent
    peak: int


def watch(call: list[str], *, shared_once: bool = False, every: float = 0.05, most: float = math.inf) -> Watched:
    """Run a command to its end from the top of the checkout, and watch its memory.

    Parameters
    ----------
    call : list of str
    shared_once : bool
        Count memory that several processes share once.
    every : float
        How often to look [s].
    most : float
        Stop it when all its processes hold more than this [bytes].

    Raises
    ------
    DidNotFinish
        It failed, or was stopped.
    """
    begin, before = time.perf_counter(), _children()
    process = subprocess.Popen(
        call, cwd=TOP, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    peak = 0
    while True:
        try:
            said, complaint = process.communicate(timeout=every)
            break
        except subprocess.TimeoutExpired:
            peak = max(peak, resident(process.pid, shared_once=shared_once))
            if peak > most:
                _end(process)
                raise DidNotFinish(f"it was stopped when it held {peak / 1e9:.1f} GB") from None
        except BaseException:
            _end(process)
            raise
    spent = Spent(time.perf_counter() - begin, _children() - before)
    if process.returncode:
        last = complaint.strip().splitlines()[-1:] or [f"ended with status {process.returncode}"]
        raise DidNotFinish(last[0][:300])
    return Watched(said, spent, peak)


def _end(process: subprocess.Popen) -> None:
    """End a command and all that it has started."""
    os.killpg(process.pid, signal.SIGKILL)
    process.communicate()


def _children() -> float:
    times = os.times()
    return times.children_user + times.children_system
