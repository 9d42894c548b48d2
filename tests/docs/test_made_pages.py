"""The pages that follow from the code are what the command makes now, and each is complete."""

import re

import pytest

from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.site.model import SCHEDULE
from analyzer.site.site_file import SiteFile
from tests.make_docs.case_figure import figure_of
from tests.make_docs.columns import COLUMNS
from tests.make_docs.pages import DOCS, pages
from tests.make_docs.rule_page import HEADINGS
from tests.make_docs.site_page import EXAMPLE

RULES = sorted(read_rules([rule_book()]))
PAGES = pages()
LARGEST_CHART = 40_000  # bytes


@pytest.mark.parametrize("name", sorted(PAGES))
def test_page_is_what_the_command_makes_now(name):
    file = DOCS / name
    assert file.exists(), f"run python -m tests.make_docs: {name} is missing"
    assert file.read_text(encoding="utf-8") == PAGES[name], f"run python -m tests.make_docs: {name} is out of date"


def test_no_page_or_chart_is_left_of_a_rule_that_is_gone():
    there = {file.name for file in (DOCS / "rules").iterdir()}
    assert there == {"index.md", "fixed-figures.md", *(f"{name}{end}" for name in RULES for end in (".md", ".svg"))}


@pytest.mark.parametrize("rule", RULES)
def test_rule_has_every_heading_with_something_under_it(rule):
    parts = re.split(r"^## (.+)\n", PAGES[f"rules/{rule}.md"], flags=re.MULTILINE)[1:]
    assert tuple(parts[::2]) == HEADINGS
    assert all(len(text.split()) > 3 for text in parts[1::2])


@pytest.mark.parametrize("rule", RULES)
def test_chart_is_small_and_draws_the_fault(rule):
    drawn = (DOCS / "rules" / f"{rule}.svg").read_text(encoding="utf-8")
    assert len(drawn.encode()) < LARGEST_CHART
    assert drawn.startswith("<svg ") and drawn.rstrip().endswith("</svg>")
    assert "#FBE7C6" in drawn, "no hours of fault are shaded"
    assert "http" not in drawn.replace("http://www.w3.org/", "")


@pytest.mark.parametrize("rule", ["flow-sensor-drift", "fan-short-cycling", "air-handler-common-cause"])
def test_figure_shows_the_fault_within_its_hours_and_a_limit(rule):
    figure = figure_of(rule)
    begin, end = figure.span
    assert all(until > begin and since < end for since, until in figure.episodes)
    lines = [line for panel in figure.panels for line in panel.lines]
    assert any(line.limit for line in lines) and any(not line.limit for line in lines)


def test_every_rule_is_in_the_index():
    assert set(re.findall(r"\]\(([a-z0-9-]+)\.md\) \|", PAGES["rules/index.md"])) == set(RULES)


def test_every_column_of_the_schedule_has_its_meaning():
    assert list(COLUMNS) == list(SCHEDULE)


def test_the_example_site_file_is_one(tmp_path):
    from analyzer.reviews import rule_book_of
    from analyzer.site import read_site

    (tmp_path / "site.toml").write_text(EXAMPLE)
    (tmp_path / "terminals.csv").write_text("terminal,kind\nVAV-1-01,series\n")
    (tmp_path / "points.csv").write_text("file,column\n")
    (tmp_path / "my-rules").mkdir()
    site = read_site(tmp_path / "site.toml")
    assert [window.why for window in site.excluded] == ["balancing", "functional test, heating sequence"]
    assert [test.steps for test in site.functional_tests] == [("heating", "minimum")]
    assert set(site.policy) == {"heating", "cooling"}
    book = rule_book_of(site)
    assert book["fan-short-cycling"].limits["starts_per_hour"].value == 6
    assert "setpoints-too-close" not in book
    assert set(re.findall(r"^\[+(\w+)", EXAMPLE, re.MULTILINE)) == set(SiteFile.model_fields)
