"""The open data sets in ``shared/field``, read as a user would: a site file, a schedule and a point list beside them.

The folder lies beside the checkout and is not shipped; where it is missing the tests are skipped, and say so.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import analyzer
from analyzer.site import Site
from analyzer.trends import Trends

FIELD = Path(__file__).resolve().parents[3] / "shared" / "field"
POINT_HEADINGS = "file,column,terminal,quantity,unit,states,ignore"

needs_field_data = pytest.mark.skipif(
    not FIELD.is_dir(), reason=f"the open data sets are not at hand: there is no folder {FIELD}"
)


def described(folder: Path, *, site: str, terminals: str, points: str) -> Site:
    """Write a site file, a schedule and a point list into a folder, and read them."""
    (folder / "site.toml").write_text(f'[site]\nterminals = "terminals.csv"\npoints = "points.csv"\n{site}', "utf-8")
    (folder / "terminals.csv").write_text(terminals, "utf-8")
    (folder / "points.csv").write_text(f"{POINT_HEADINGS}\n{points}", "utf-8")
    return analyzer.read_site(folder / "site.toml")


def trends_of(exports: list[Path], site: Site) -> Trends:
    """Read the exports of a data set."""
    return analyzer.read_trends(exports, site)


def verdict_table(trends: Trends, site: Site):
    """Return the verdicts, one row a terminal and rule."""
    return analyzer.review(trends, site).verdicts.set_index(["terminal", "rule"])


def left_out(columns: list[str], wanted: str) -> str:
    """Return point list lines that leave out every column of an export that the wanted lines do not name."""
    named = {line.split(",")[1] for line in wanted.splitlines()}
    return "".join(f",{column},,,,,yes\n" for column in columns if column not in named)
