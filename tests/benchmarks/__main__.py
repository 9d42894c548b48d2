"""``python -m tests.benchmarks``: measure how fast trendwright is and how much memory it takes.

Without an option it measures everything that a machine with two cores does in a quarter of an hour and writes
docs/performance.md. Synthetic exports are generated into a cache folder the first time they are needed (about 3 GB).
Run it on a machine that does nothing else; where that cannot be had, --clock cpu judges by CPU seconds.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from datetime import date
from pathlib import Path

from tests.benchmarks.cache import fingerprint
from tests.benchmarks.measuring import PARTS, Measuring, cells
from tests.benchmarks.page import page
from tests.benchmarks.plan import SHAPES, SIZES, SPANS, Store
from tests.benchmarks.reach import aims

PAGE = Path(__file__).resolve().parents[2] / "docs" / "performance.md"
CACHE = Path("/tmp/trendwright-benchmarks")
QUICK = {"terminals": [50], "spans": ["week"], "rounds": 1, "parts": ["table", "yardsticks", "command"]}


def main() -> None:
    """Read the call, measure, print the aims, write the page."""
    call = _call()
    start, load = time.monotonic(), os.getloadavg()[0]

    def say(sentence: str) -> None:
        print(f"{time.monotonic() - start:6.0f} s  {sentence}", flush=True)

    store = Store(call.cache / fingerprint(), say)
    measuring = Measuring(store, cells(call.terminals, call.spans, call.shapes), call.rounds, call.all, say)
    for part in call.parts:
        measuring.part(part)
    told = page(measuring.measured, date.today(), call.clock, _spelled(), load)
    _show(measuring.measured, call.clock)
    if call.out:
        call.out.write_text(told, "utf-8")
        print(f"written: {call.out}")
    else:
        print(f"\n{told}")


def _call() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument(
        "--terminals",
        type=int,
        nargs="+",
        default=list(SIZES),
        metavar="N",
        help=f"sizes of building (default: {SIZES})",
    )
    parser.add_argument(
        "--spans",
        nargs="+",
        choices=list(SPANS),
        default=list(SPANS),
        help="a week every 5 minutes, a month every minute (default: both)",
    )
    parser.add_argument(
        "--shapes", nargs="+", choices=list(SHAPES), default=list(SHAPES), help="how the exports come (default: all)"
    )
    parser.add_argument("--parts", nargs="+", choices=PARTS, default=list(PARTS), help="what to measure (default: all)")
    parser.add_argument(
        "--rounds", type=int, default=2, help="how often each line is measured; the best counts (default: %(default)s)"
    )
    parser.add_argument("--all", action="store_true", help="also lines that are left out for the time they take")
    parser.add_argument("--quick", action="store_true", help="about a minute: 50 terminals, a week; no page is written")
    parser.add_argument(
        "--profile",
        action="store_true",
        help="only say where the time goes: a week of 500 terminals, or of --terminals",
    )
    parser.add_argument(
        "--clock",
        choices=("wall", "cpu"),
        default="wall",
        help="by which seconds the aims are judged (default: %(default)s)",
    )
    parser.add_argument(
        "--cache", type=Path, default=CACHE, help="where the exports are generated (default: %(default)s)"
    )
    parser.add_argument(
        "--out", type=Path, help=f"the page to write (default: {PAGE.name} in docs for a whole run, else none)"
    )
    call = parser.parse_args()
    whole = set(call.parts) == set(PARTS) and not call.quick and not call.profile
    if call.quick:
        vars(call).update(QUICK)
    if call.profile:
        call.parts, call.spans = ["shares"], ["week"]
    if call.out is None and whole and call.terminals == list(SIZES) and call.shapes == list(SHAPES):
        call.out = PAGE
    return call


def _spelled() -> str:
    told = list(sys.argv[1:])
    if "--out" in told:  # where the page was first written is of no use to a reader
        at = told.index("--out")
        del told[at : at + 2]
    return " ".join(["python -m tests.benchmarks", *told])


def _show(measured, clock: str) -> None:
    words = {True: "met    ", False: "NOT MET", None: "-      "}
    print()
    for aim in aims(measured, clock):
        print(f"{words[aim.met]}  {aim.what}: {aim.figure}")
    for sentence in measured.skipped:
        print(f"-        {sentence}")


if __name__ == "__main__":
    main()
