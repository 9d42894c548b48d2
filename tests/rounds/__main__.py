"""``python -m tests.rounds [--terminals N] [--weeks W]``: a campus laid into a store and reviewed week by week.

Every week's exports are written as CSV, laid into the store and its last week reviewed, by the command as a user calls it.
At the end the history is held against the reviews, and against the faults that were there.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pandas as pd

from tests.rounds.campus import as_found, marks_of, seeded, stories_told, write_week, wrong_rows


def main() -> int:
    """Do it, tell the figures, and leave with status 1 where the history contradicts the reviews."""
    parser = argparse.ArgumentParser(prog="python -m tests.rounds", description=__doc__)
    parser.add_argument("--terminals", type=int, default=2000)
    parser.add_argument("--weeks", type=int, default=12)
    parser.add_argument("--folder", type=Path, help="keep the store and the review here")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        room = given.folder or Path(folder)
        room.mkdir(parents=True, exist_ok=True)
        story = seeded(given.weeks)
        for week in range(given.weeks):
            exports = room / f"week-{week + 1:02}"
            write_week(week, given.terminals, story, exports)
            site = ["--site", exports / "site.toml"]
            laid = timed(room, "normalize", exports / "exports", *site, "--into", "store", "-q")
            judged = timed(room, "review", "store", *site, "--last", "1w", "--out", "review", "-q")
            print(f"week {week + 1}: laid into the store in {laid:.0f} s, reviewed in {judged:.0f} s", flush=True)
            shutil.rmtree(exports)
        told = as_found(room / "review")
        marks = marks_of(told)
        rounds = pd.read_csv(room / "review" / "rounds.csv", keep_default_na=False)
        wrong = wrong_rows(marks, told, rounds)
        right, every, others = stories_told(story, marks, given.terminals)
    print(
        f"{len(told)} reviews, {len(marks)} findings in their history, {len(wrong)} told otherwise than by the reviews"
    )
    print(f"{right} of {every} seeded faults told in exactly their weeks")
    for line in others[:20]:
        print(f"  {line}")
    return 1 if wrong else 0


def timed(room: Path, *call: object) -> float:
    """Run the command; return how long it took [s]."""
    begin = time.perf_counter()
    subprocess.run([sys.executable, "-m", "analyzer", *map(str, call)], cwd=room, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begin


if __name__ == "__main__":
    sys.exit(main())
