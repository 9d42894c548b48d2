"""One measurement in a process of its own: ``python -m tests.benchmarks.work JOB``, JSON in and JSON out.

Imports come before the clock: the same work is done once on a tiny export first, in the same shape, so that whatever
is loaded on first use is there, and other processes that take part are started.
"""

from __future__ import annotations

import gc
import json
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path

from tests.benchmarks.clock import Clock, highest_resident

LARGEST = 25


def main() -> None:
    """Do the job that the call describes, print what came of it."""
    job = json.loads(sys.argv[1])
    told = JOBS[job.pop("job")](**job)
    print(json.dumps(told | {"peak": highest_resident()}))


def bare(files: list[str], repeats: int) -> dict:
    """Read files as barely as their library can, one after the other, and keep none."""
    import pandas as pd
    import pyarrow.parquet as pq

    def read(path):
        return len(pd.read_csv(path)) if path.endswith(".csv") else pq.read_table(path).num_rows

    read(min(files, key=lambda path: Path(path).stat().st_size))
    runs = []
    for _ in range(repeats):
        with Clock() as clock:
            rows = sum(read(path) for path in files)
        runs.append({"read": asdict(clock.spent)})
    return {"rows": rows, "runs": runs}


def review(folder: str, warm: str, repeats: int, workers: int) -> dict:
    """From exports to verdicts and findings, by this process or by several that have started before.

    ``read``: exports to the normalized table; of a stored one, only where its rows stand. ``judge``: the table to
    verdicts and findings by the whole rule book. The data contract, checked beside it, is left out.
    """
    from analyzer.crew import crew_of
    from analyzer.memory import reuse_memory

    reuse_memory()  # as the command does
    runs = []
    with crew_of(workers) as crew:
        _reviewed(Path(warm), crew)
        for _ in range(repeats):
            gc.collect()
            counts, spent = _reviewed(Path(folder), crew)
            runs.append({name: asdict(one) for name, one in spent.items()})
    return counts | {"runs": runs}


class _Unchecked:
    """Stands in the place of the data contract's check, so that a process that imports for seconds disturbs no clock."""

    def take(self, rows) -> None:
        pass


def _reviewed(folder: Path, crew):
    import analyzer
    from analyzer.reviews import review as review_all

    site, spent = analyzer.read_site(folder / "site.toml"), {}
    with Clock() as clock:
        trends = _trends(folder, site)
    spent["read"] = clock.spent
    with Clock() as clock:
        outcome = review_all(trends, site, contract=_Unchecked(), crew=crew)
    spent["judge"] = clock.spent
    counts = {"rows": int(trends.rows.sum()), "verdicts": len(outcome.verdicts)}
    return counts | {"findings": len(outcome.results.findings)}, spent


def _trends(folder: Path, site):
    """Read exports; of a table that was normalized before, look where its rows stand, as the command does."""
    import analyzer

    stored = folder / "trends.parquet"
    return analyzer.open_trends(stored) if stored.exists() else analyzer.read_trends(folder / "exports", site)


def in_pandas(folder: str, warm: str, repeats: int) -> dict:
    """The four card rules in a pandas notebook, from the normalized table."""
    from tests.benchmarks import in_pandas as notebook

    def judged(at: Path, site):
        return notebook.judge(*notebook.read(at), site.schedule, site.time_zone)

    return _yardstick(judged, folder, warm, repeats)


def in_polars(folder: str, warm: str, repeats: int) -> dict:
    """The four card rules in polars, from the normalized table."""
    from tests.benchmarks import in_polars as expert

    def judged(at: Path, site):
        return expert.judge(at, site.schedule, site.time_zone)

    return _yardstick(judged, folder, warm, repeats)


def _yardstick(judged, folder: str, warm: str, repeats: int) -> dict:
    from analyzer import read_site

    judged(Path(warm), read_site(Path(warm) / "site.toml"))
    site, runs = read_site(Path(folder) / "site.toml"), []
    for _ in range(repeats):
        gc.collect()
        with Clock() as clock:
            verdicts = judged(Path(folder), site)
        runs.append({"judge": asdict(clock.spent)})
    return {"verdicts": len(verdicts), "runs": runs}


def report(folder: str, warm: str, repeats: int) -> dict:
    """Everything that a review hands over, written into a folder."""
    _written(Path(warm))
    return {"runs": [{"report": asdict(_written(Path(folder)))} for _ in range(repeats)]}


def _written(folder: Path):
    import analyzer

    site = analyzer.read_site(folder / "site.toml")
    outcome = analyzer.review(_trends(folder, site), site)
    with tempfile.TemporaryDirectory() as out, Clock() as clock:
        outcome.write(Path(out) / "review")
    return clock.spent


def shares(folder: str, warm: str, repeats: int) -> dict:
    """Where the time of a whole review goes, its report included."""
    import analyzer
    from tests.benchmarks.shares import Shares

    _written(Path(warm))
    with Clock() as clock, Shares() as found, tempfile.TemporaryDirectory() as out:
        site = analyzer.read_site(Path(folder) / "site.toml")
        analyzer.review(_trends(Path(folder), site), site).write(Path(out) / "review")
    counted = {name: getattr(found, name).most_common(LARGEST) for name in ("rooms", "files", "signals", "rules")}
    return counted | {"runs": [{"all": asdict(clock.spent)}], "repeats": repeats}


JOBS = {"bare": bare, "review": review, "pandas": in_pandas, "polars": in_polars, "report": report, "shares": shares}

if __name__ == "__main__":
    main()
