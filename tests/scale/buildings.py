"""A small building made from the demo's trends, stored in parts, and what its review comes to as a whole."""

from __future__ import annotations

from pathlib import Path

import analyzer
from analyzer.dataset import write_dataset
from analyzer.findings.tables import findings_told, verdicts_table
from analyzer.places import demo_exports
from analyzer.reviews import Review, review
from analyzer.trends import Trends

DEMO = demo_exports()


def demo_site():
    """The demo building's site."""
    return analyzer.read_site(DEMO / "site.toml")


def demo_trends() -> Trends:
    """The demo building's trends, normalized."""
    return analyzer.read_trends(DEMO / "parquet", demo_site())


def in_parts(trends: Trends, folder: Path, rows: int = 20_000) -> Path:
    """Store trends as a dataset of files of so many rows."""
    folder.mkdir()
    write_dataset(trends, folder, rows)
    return folder


def told(done: Review) -> dict:
    """What a review writes of its judgement, to be compared with another's."""
    results = done.results
    return {
        "verdicts": verdicts_table(results).to_dict("list"),
        "findings": findings_told(results),
        "requests": results.requests.to_dict("list"),
        "heating": results.heating.round(3).to_csv(),
        "counts": results.completeness.counts.to_dict("list"),
        "notes": [note for note in results.assumptions if "normalized before" not in note],
    }


def reviewed(trends, **how) -> Review:
    """Review the demo building's trends, wherever they are."""
    return review(trends, demo_site(), **how)
