"""Exports of a few lines each, written where a test wants them and read at once."""

from __future__ import annotations

from pathlib import Path

from analyzer.intake import read_exports
from analyzer.site import Site
from analyzer.trends import Trends


def read(folder: Path, files: dict[str, str], site: Site | None = None) -> Trends:
    """Write files (by their paths below a folder) and read the folder."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return read_exports([folder], site or Site())


def values(trends: Trends, tag: str, quantity: str, *, table: str = "terminals") -> list[float]:
    """Return what a terminal (or an air handler) reads, the empty cells left out."""
    frame = getattr(trends, table)
    return frame[frame.iloc[:, 0] == tag][quantity].dropna().round(3).tolist()


def tags(trends: Trends) -> list[str]:
    """Return the terminals that were found."""
    return sorted(trends.terminals["terminal"].unique())


def said(trends: Trends) -> str:
    """Return all that was assumed."""
    return " ".join(trends.ledger.assumptions)
