"""``python -m tests.fuzz [--runs N] [--seconds S] [--seed K]``: try mutated inputs, and keep what fails."""

from __future__ import annotations

import argparse
import sys
import traceback
from pathlib import Path

from tests.fuzz.campaign import keep, run
from tests.fuzz.mutate import mutated
from tests.fuzz.trying import WHOLE_REVIEW_EVERY, try_one


def main() -> int:
    """Run, tell the counts, and leave with status 1 where something failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--runs", type=int, default=100_000, help="inputs to try at most")
    parser.add_argument("--seconds", type=float, default=60, help="how long to go on at most")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, default=Path("fuzz-failures"), help="the folder for inputs that fail")
    parser.add_argument("--only", type=int, help="try one input of the seed again, in this process")
    given = parser.parse_args()
    if given.only is not None:
        name, files = mutated(given.seed, given.only)
        print(f"{name}: {try_one(files, whole=given.only % WHOLE_REVIEW_EVERY == 0)}")
        return 0
    found = run(given.seed, runs=given.runs, seconds=given.seconds)
    print(
        f"seed {found.seed}: {found.inputs} inputs, "
        + ", ".join(f"{n} {kind}" for kind, n in sorted(found.counted.items()))
    )
    for place, outcome in zip(keep(given.keep, found), found.failures, strict=True):
        print(f"{place}: {outcome}")
    return 1 if found.failures else 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        traceback.print_exc(limit=1)
        sys.exit(2)
