"""Writes the pages and the table of functional tests into a review's folder; nothing where the site file names none."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from analyzer.engine import Limit, groups_of
from analyzer.findings import Results, neutralised
from analyzer.functional.charts import TestCharts
from analyzer.functional.limits import response_limits
from analyzer.functional.page import page_context
from analyzer.functional.table import FUNCTIONAL_TESTS, Outcome, counts, frame, outcomes, without_trends
from analyzer.report import functional_test_page, natural_key, page_environment, words
from analyzer.report.trend_box import TrendBox
from analyzer.site.model import FunctionalTest

MOST_CHARTS = 40  # terminals of one test that are drawn; the table has all
_TEMPLATES = Path(__file__).resolve().parent / "templates"


@dataclass(frozen=True)
class TestOutcome:
    """What came of one test: every outcome, and the charts by terminal."""

    test: FunctionalTest
    found: list[Outcome]
    charts: dict[str, TrendBox]


def write_functional_tests(results: Results, folder: Path) -> list[dict[str, Any]]:
    """Write a page a test and ``functional_tests.csv``; return what the index says of each test.

    Raises
    ------
    RuleError, SiteError
        The limits cannot be used.
    """
    site = results.site
    if not site.functional_tests:
        return []
    limits = response_limits(site)
    environment = page_environment(_TEMPLATES, site=site, period=words.window(*results.period, site.time_zone))
    template = environment.get_template("functional_test.html")
    judged = [_judged(results, test, limits) for test in site.functional_tests]
    for number, own in enumerate(judged, 1):
        context = page_context(results, own.test, own.found, own.charts, limits)
        (folder / functional_test_page(number)).write_text(template.render(context, root=""), encoding="utf-8")
    neutralised(frame([(own.test, own.found) for own in judged])).to_csv(folder / FUNCTIONAL_TESTS, index=False)
    return [_told(number, own, site.time_zone) for number, own in enumerate(judged, 1)]


def _judged(results: Results, test: FunctionalTest, limits: dict[str, Limit]) -> TestOutcome:
    """Judge one test, group by group of its terminals."""
    source, site = results.trends, results.site
    tags = tuple(tag for tag in source.tags if not test.terminals or tag in test.terminals)
    found = without_trends(test, list(source.tags))
    charts: dict[str, TrendBox] = {}
    for group in groups_of(tags, source.rows, site) if tags else ():
        trends = source.of(group.terminals, {*group.air_handlers})
        here = outcomes(trends, site, test, limits)
        found += here
        drawn = sorted({own.terminal for own in here}, key=natural_key)[: MOST_CHARTS - len(charts)]
        maker = TestCharts(trends, site, results.period) if drawn else None
        for tag in drawn:
            box = maker and maker.of(test, tag, [own for own in here if own.terminal == tag])
            if box:
                charts[tag] = box
    return TestOutcome(test, sorted(found, key=lambda own: natural_key(own.terminal)), charts)


def _told(number: int, own: TestOutcome, zone: str) -> dict[str, Any]:
    count = counts(own.found)
    return {
        "page": functional_test_page(number),
        "name": own.test.name,
        "window": words.window(own.test.start, own.test.end, zone),
        "terminals": len({outcome.terminal for outcome in own.found}),
        "pass": count["pass"],
        "fail": count["fail"],
        "not_judged": count["not judged"],
    }
