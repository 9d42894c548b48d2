"""Figures and names that the hand-written documents quote are those of the code; links lead somewhere."""

import re
from pathlib import Path

import pytest

from analyzer.airside.air import SPECIFIC_HEAT
from analyzer.intake import files, limits
from analyzer.intake.point_list import COLUMNS
from analyzer.ledger import REASONS
from analyzer.quantities import AIR_HANDLER, TERMINAL
from analyzer.signals import flow_drift
from analyzer.signals.scene import HOLD_INTERVALS

HOME = Path(__file__).parents[2]
WRITTEN = [HOME / "README.md", HOME / "DEVELOPERS.md", HOME / "CHANGELOG.md", *sorted((HOME / "docs").rglob("*.md"))]
EXPORTS = (HOME / "docs" / "exports.md").read_text(encoding="utf-8")
METHOD = (HOME / "docs" / "method.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", [*TERMINAL, *AIR_HANDLER, *COLUMNS, "file"])
def test_exports_page_names_every_quantity_and_column(name):
    assert f"`{name}`" in EXPORTS


def test_exports_page_names_every_reason_of_the_ledger():
    told = " ".join(EXPORTS.split())
    assert ", ".join(REASONS) in told


def test_exports_page_names_every_suffix():
    for group in (files.TEXT, files.PARQUET, files.WORKBOOK, {".gz", ".zip"}):
        assert all(re.search(rf"{re.escape(suffix)}\b", EXPORTS) for suffix in group)
    assert all(name in EXPORTS for name in files.OWN_NAMES)


def test_exports_page_tells_the_limits_as_they_are():
    assert f"| an archive or workbook, unpacked | {limits.LARGEST_UNPACKED // limits.MEBIBYTE:,} MiB |" in EXPORTS
    assert f"| files in one archive | {limits.MOST_ARCHIVE_MEMBERS:,} |" in EXPORTS
    assert f"| one line of text | {limits.LONGEST_LINE // limits.MEBIBYTE} MiB |" in EXPORTS
    assert f"| columns of one file | {limits.MOST_COLUMNS:,} |" in EXPORTS
    assert limits.HOLD_LIMIT_HOURS == 24 and "for at most 24\nhours" in EXPORTS
    assert limits.EVENT_GRID_SECONDS == 300 and "one of 5 minutes" in EXPORTS


def test_method_page_quotes_the_figures_of_the_code():
    assert SPECIFIC_HEAT == 1006 and "cp = 1006" in METHOD
    assert HOLD_INTERVALS == 3 and "at most three\nintervals" in METHOD
    for value, words in (
        (flow_drift.BALANCING, "10 % (ASHRAE 111"),
        (flow_drift.SPARE, "35 % upwards"),
        (flow_drift.LEAKAGE, "10 % leakage"),
        (flow_drift.SCATTER, "5 % scatter"),
    ):
        assert words.startswith(f"{value:.0%}".replace("%", " %")) and words in METHOD
    assert flow_drift.COIL_OFF_FOR == 1200 and "coil off 20 minutes" in METHOD
    assert flow_drift.LEAST_SPREAD == 5 and flow_drift.LEAST_SHARE == 0.15


@pytest.mark.parametrize("document", WRITTEN, ids=lambda file: file.name)
def test_every_link_leads_somewhere(document):
    for link in re.findall(r"\]\(([^)#]+)", document.read_text(encoding="utf-8")):
        if not link.startswith(("http:", "https:", "mailto:")):
            assert (document.parent / link).exists(), link


@pytest.mark.parametrize("page", sorted((HOME / "docs").glob("*.md")), ids=lambda file: file.name)
def test_every_page_is_in_the_index_and_the_index_in_the_readme(page):
    index = (HOME / "docs" / "README.md").read_text(encoding="utf-8")
    assert page.name == "README.md" or f"({page.name})" in index, f"docs/README.md does not lead to {page.name}"
    assert "(docs/README.md)" in (HOME / "README.md").read_text(encoding="utf-8")
