"""``python -m tests.scale.losses [--workers N] [--schedulers N] [--seed K]``: a review on a cluster that loses one of its
processes at a random moment, again and again.

Where a worker is lost, the review comes to what one by this process comes to; where the scheduler is, it ends in one
sentence and leaves nothing behind. None may take longer than ``LONGEST``.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path

from analyzer.cluster import Cluster
from analyzer.dataset import open_dataset
from analyzer.engine.groups import groups_of
from analyzer.errors import CallError
from tests.scale.buildings import demo_trends, in_parts, reviewed, told
from tests.scale.loopback import cluster

TERMINALS, MOST_ROWS = 12, 5_000
LONGEST = 300.0  # seconds, on a machine under load


def main() -> None:
    """Run, and tell the counts; the first review that is lost, wrong or too long ends it."""
    parser = argparse.ArgumentParser(prog="python -m tests.scale.losses", description=__doc__)
    parser.add_argument("--workers", type=int, default=20, help="runs in which a worker is killed")
    parser.add_argument("--schedulers", type=int, default=5, help="runs in which the scheduler is killed")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    setattr(groups_of, "__defaults__", (MOST_ROWS,))  # noqa: B010 (as a test patches it)
    draw, counted = random.Random(given.seed), Counter()
    with tempfile.TemporaryDirectory() as folder:
        trends = demo_trends()
        dataset = open_dataset(in_parts(trends.of(trends.tags[:TERMINALS]), Path(folder) / "parts"))
        whole = reviewed(dataset)
        whole.write(Path(folder) / "alone")
        usual, _ = _run(dataset, Path(folder), None, 0.0)
        for number in range(given.workers + given.schedulers):
            whom = "worker" if number < given.workers else "scheduler"
            seconds, outcome = _run(dataset, Path(folder), whom, draw.random() * usual)
            right = outcome == (told(whole), _pages(Path(folder) / "alone"))
            if not (right or (whom == "scheduler" and isinstance(outcome, CallError))):
                raise SystemExit(
                    f"{whom} killed, run {number}: {outcome if isinstance(outcome, Exception) else 'differs'}"
                )
            usual = min(usual, seconds) if right else usual
            counted[f"{whom} killed: {'the same outcome' if right else 'one sentence'}"] += 1
            print(f"{number + 1}: {whom}, {seconds:.0f} s, {dict(counted)}", flush=True)


def _run(dataset, folder: Path, whom: str | None, after: float):
    """Review on a fresh cluster of two workers and kill one of its processes after a time; return how it ended."""
    out = folder / "together"
    with cluster(2) as (address, workers):
        begin = time.monotonic()
        victim = workers.scheduler if whom == "scheduler" else workers[0]
        timer = threading.Timer(after, victim.kill if whom else lambda: None)
        try:
            with Cluster(address) as crew:
                timer.start()
                done = reviewed(dataset, crew=crew)
                done.write(out, crew=crew)
            outcome = told(done), _pages(out)
        except CallError as error:
            if [path.name for path in folder.iterdir() if path.name not in ("alone", "parts", "together")]:
                raise SystemExit(f"left behind: {[*folder.iterdir()]}") from None
            outcome = error
        finally:
            timer.cancel()
        seconds = time.monotonic() - begin
        if seconds > LONGEST:
            raise SystemExit(f"{whom} killed after {after:.1f} s: it took {seconds:.0f} s")
        return seconds, outcome


def _pages(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text() for path in (folder / "terminals").iterdir()}


if __name__ == "__main__":
    main()
