"""``python -m tests.accuracy``: measure how often the rule book is right, and write ``docs/accuracy.md``."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from tests.accuracy.measure import measure
from tests.accuracy.page import page
from tests.accuracy.plan import whole_plan

PAGE = Path(__file__).resolve().parents[2] / "docs" / "accuracy.md"
SEED = 7200


def main() -> None:
    """Read the call, measure, write the page."""
    parser = argparse.ArgumentParser(prog="python -m tests.accuracy", description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED, help="the first of 30 seeds (default: %(default)s)")
    parser.add_argument("--out", type=Path, default=PAGE, help="the page (default: %(default)s)")
    call = parser.parse_args()
    measured = measure(whole_plan(call.seed), lambda said: print(said, flush=True))
    call.out.write_text(page(measured, date.today()), encoding="utf-8")
    print(call.out)


if __name__ == "__main__":
    main()
