"""``python -m tests.mutants``: small changes to the core, and whether the tests of its room notice each.

What survives is printed with its file and line: a test is missing, or the change makes no difference.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.mutants.trying import SURVIVED, TESTS, Copy, drawn


def main(words: list[str]) -> int:
    """Try the mutants that were asked for; the exit status is 1 where one survived."""
    told = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__.partition("\n")[0])
    told.add_argument("--number", type=int, default=100, help="how many places are drawn (default 100)")
    told.add_argument("--seed", type=int, default=1, help="of the draw (default 1)")
    told.add_argument("--rooms", nargs="+", choices=list(TESTS), default=list(TESTS), help="of analyzer/ (default all)")
    told.add_argument(
        "--seconds", type=float, default=900, help="the longest that a room's tests may take (default 900)"
    )
    asked = told.parse_args(words)
    mutants = drawn(asked.number, asked.seed, tuple(asked.rooms))
    counted = Counter()
    with tempfile.TemporaryDirectory(prefix="trendwright-mutants-") as folder:
        copy = Copy(Path(folder))
        limits = {
            room: 3 * copy.seconds_of_sound(room, asked.seconds) + 30 for room in {mutant.room for mutant in mutants}
        }
        for number, mutant in enumerate(mutants, 1):
            outcome = copy.outcome(mutant, limits[mutant.room])
            counted[outcome] += 1
            print(f"{number} of {len(mutants)}  {outcome:<14}  {mutant}", flush=True)
    print(", ".join(f"{count} {outcome}" for outcome, count in sorted(counted.items())))
    return 1 if counted[SURVIVED] else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
