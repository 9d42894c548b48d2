"""``python -m tests.scale.air_handlers [--number N] [--weeks W]``: the memory in which air handlers are judged.

A building of air handlers with one terminal each, in monthly folders, is judged by this process alone, and nothing
written. Told is the most memory that it held up to when the terminals are judged, and from then on.
"""

from __future__ import annotations

import argparse
import os
import tempfile
from pathlib import Path

import analyzer
from analyzer import reviews
from analyzer.contract import ContractCheck
from analyzer.dataset import open_dataset
from analyzer.memory import give_back, look_for_garbage_seldom, reuse_memory
from tests.benchmarks.building import TILE
from tests.benchmarks.clock import highest_resident, resident_of
from tests.scale.years import faulty_week, write_year


def main() -> None:
    """Write the building, judge it, and tell the figures."""
    parser = argparse.ArgumentParser(prog="python -m tests.scale.air_handlers", description=__doc__)
    parser.add_argument("--number", type=int, default=20, help=f"air handlers, {TILE} at the most")
    parser.add_argument("--weeks", type=int, default=52)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        child = os.fork()  # what it takes to write the building is no part of the figures
        if child == 0:
            write_year(faulty_week(each=1), given.number, given.weeks, "monthly", Path(folder))
            os._exit(0)
        assert os.waitpid(child, 0)[1] == 0
        print(judged(Path(folder)))


def judged(place: Path) -> str:
    """Judge a building, and tell the most memory before its groups are put together, and while they are."""
    look_for_garbage_seldom()
    reuse_memory()
    plain, told = reviews.put_together, []

    def watched(*groups):
        give_back()
        told.append(f"terminals judged: {highest_resident() / 1e6:.0f} MB at the most")
        told.append(f"{resident_of(os.getpid()) / 1e6:.0f} MB held then")
        Path("/proc/self/clear_refs").write_text("5")  # the most that was held is counted anew
        results = plain(*groups)
        told.append(f"air handlers judged and all put together: {highest_resident() / 1e6:.0f} MB at the most")
        return results

    reviews.put_together = watched
    site = analyzer.read_site(place / "site.toml")
    with ContractCheck() as contract:
        done = reviews.review(open_dataset(place / "dataset"), site, contract=contract)
    return f"{'; '.join(told)}; {len(done.results.findings)} findings"


if __name__ == "__main__":
    main()
