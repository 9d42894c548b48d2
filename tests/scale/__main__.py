"""``python -m tests.scale [--terminals N] [--weeks W] [--layouts L ...]``: the memory of a review of a building's year.

The proportional set size of all processes together (a page that several share counts once), looked at every
second; beside it the most that the called process and any other had at a time.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.clock import descendants, resident_of
from tests.scale.years import LAYOUTS, faulty_week, write_year

_EVERY = 1.0  # seconds; to look takes the kernel up to a tenth of one


def main() -> None:
    """Write each layout, review it, and tell the figures."""
    parser = argparse.ArgumentParser(prog="python -m tests.scale", description=__doc__)
    parser.add_argument("--terminals", type=int, default=500)
    parser.add_argument("--weeks", type=int, default=52)
    parser.add_argument("--layouts", nargs="+", choices=LAYOUTS, default=list(LAYOUTS))
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--folder", type=Path, help="keep what is written here, and take it from here the next time")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        for layout in given.layouts:
            place = (given.folder or Path(folder)) / f"{given.terminals}-{given.weeks}-{layout}"
            if not place.exists():
                write_year(faulty_week(), given.terminals, given.weeks, layout, place)
            print(f"{place.name}: {watched(place, given.workers)}", flush=True)
            if given.folder is None:
                shutil.rmtree(place)


def watched(place: Path, workers: int) -> str:
    """Review a building and tell the most memory, how long it took, and how many findings there are."""
    with tempfile.TemporaryDirectory() as out:
        call = [sys.executable, "-m", "analyzer", "review", place / "dataset", "--site", place / "site.toml"]
        begin, most, own, others = time.perf_counter(), 0, 0, 0
        process = subprocess.Popen([*call, "--out", f"{out}/review", "--workers", str(workers), "-q"],
                                   stdout=subprocess.PIPE, text=True)  # fmt: skip
        while process.poll() is None:
            looked = time.perf_counter()
            held = {one: resident_of(one, shared_once=True) for one in [process.pid, *descendants(process.pid)]}
            most, own = max(most, sum(held.values())), max(own, held.pop(process.pid))
            others = max(others, *held.values(), 0)
            time.sleep(max(0.2, _EVERY - (time.perf_counter() - looked)))
        seconds = time.perf_counter() - begin
        said = process.stdout.read()
        if process.returncode:
            raise SystemExit(f"{place}: ended with status {process.returncode}")
        found = next(line for line in said.splitlines() if line.startswith("findings"))
        return (
            f"{most / 1e9:.2f} GB in all, the called process {own / 1e9:.2f}, another at most {others / 1e9:.2f}; "
            f"{seconds:.0f} s; {found}"
        )


if __name__ == "__main__":
    main()
