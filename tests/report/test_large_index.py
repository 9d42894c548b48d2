"""The index of 5,000 terminals: it opens at once, counts and finds every finding, and shows the worst terminals first."""

import re
import time

import pytest

from analyzer.report.building import Building
from analyzer.report.finding_rows import MOST_SHOWN
from analyzer.report.frame import write_assets
from analyzer.report.pages import write_index
from tests.report.invented_building import invented_results

pytestmark = pytest.mark.browser

TERMINALS = 5000
OPENS_IN, FINDS_IN = 2.0, 0.5  # s, as the design promises them


@pytest.fixture(scope="module")
def results():
    return invented_results(terminals=TERMINALS, days=1, minutes=60, more_rules=30, air_handlers=100)


@pytest.fixture(scope="module")
def folder(results, tmp_path_factory):
    folder = tmp_path_factory.mktemp("large")
    write_assets(folder / "assets")
    write_index(results, folder)
    return folder


@pytest.fixture
def index(open_page, folder):
    visit = open_page()
    visit.go(folder / "index.html")
    yield visit
    visit.assert_clean()


def _settled(page) -> str:
    page.wait_for_selector("table.findings:not([aria-busy])")
    return page.text_content("#found")


def test_it_opens_in_time(open_page, folder):
    open_page().go(folder / "index.html")  # the browser's own start is not the page's
    seconds = []
    for _ in range(3):
        visit, start = open_page(), time.perf_counter()
        visit.go(folder / "index.html")
        _settled(visit.page)
        seconds.append(time.perf_counter() - start)
        visit.assert_clean()
    assert min(seconds) < OPENS_IN, seconds  # the quickest: others work on this machine too


def test_filters_count_every_finding(results, index):
    page = index.page
    whole = len(results.findings)
    assert whole > 20_000
    assert _settled(page) == f"{whole:,} findings, the first {MOST_SHOWN} shown"
    for rule in ("fan-short-cycling", "spare-rule-30"):
        own = sum(finding.rule == rule for finding in results.findings)
        page.select_option("select[name=rule]", rule)
        assert _settled(page).startswith(f"{own:,} of {whole:,} findings")
        assert page.locator("table.findings tbody tr").count() == min(own, MOST_SHOWN)


SEARCH = """async (words) => {
  const input = document.querySelector("input[name=q]"), table = document.querySelector("table.findings");
  const start = performance.now();
  input.value = words;
  input.dispatchEvent(new Event("input", { bubbles: true }));
  while (table.hasAttribute("aria-busy")) await new Promise((done) => setTimeout(done, 1));
  return (performance.now() - start) / 1000;
}"""


def test_any_finding_is_found_in_time(results, open_page, folder):
    """The first search of a page that was just opened, and those after it; the quickest of several, as above."""
    building, first, later = Building(results), [], []
    for at in (0, len(results.findings) // 3, len(results.findings) // 2, -1):
        visit, wanted = open_page(), results.findings[at]
        visit.go(folder / "index.html")
        words = f"{wanted.terminal} {wanted.title} {building.places[wanted.terminal].air_handler}"
        first.append(visit.page.evaluate(SEARCH, words))
        assert visit.page.locator("table.findings tbody tr").count() < 20
        assert wanted.summary in visit.page.text_content("table.findings tbody")
        later += [visit.page.evaluate(SEARCH, other) for other in ("floor 3 spare rule number 7", words)]
        visit.assert_clean()
    assert min(first) < FINDS_IN, first
    assert min(later) < FINDS_IN, later


def test_more_findings_are_shown_when_asked(index):
    page = index.page
    page.click("#more button")
    _settled(page)
    assert page.locator("table.findings tbody tr").count() == 2 * MOST_SHOWN
    ranks = page.locator("table.findings tbody td:first-child").all_text_contents()
    assert ranks == [str(rank) for rank in range(1, 2 * MOST_SHOWN + 1)]


def test_a_row_that_is_loaded_reads_as_one_that_stands_in_the_page(index):
    page = index.page
    inner = "rows => rows.map(row => row.innerHTML.replace(/ role=\"[a-z]+\"/g, '').replace(/\\s+/g, ' '))"
    written = page.eval_on_selector_all("table.findings tbody tr", inner)
    page.evaluate("document.querySelector('table.findings tbody').replaceChildren()")
    drawn = page.evaluate(
        """async () => {
          const script = document.createElement("script");
          script.src = "assets/findings.js";
          await new Promise((done) => { script.onload = done; document.head.append(script); });
        }"""
    )
    assert drawn is None
    _settled(page)
    page.wait_for_selector(f"table.findings tbody tr:nth-child({MOST_SHOWN})")
    again = page.eval_on_selector_all("table.findings tbody tr", inner)
    assert [re.sub(r"\s*</td>", "</td>", row) for row in again] == [
        re.sub(r"\s*</td>", "</td>", row) for row in written
    ]


def test_the_twenty_worst_are_on_the_first_screen(index):
    page = index.page
    rows = page.locator("#worst-table tbody tr")
    assert rows.count() == 20
    box = rows.nth(19).bounding_box()
    assert box["y"] + box["height"] < page.viewport_size["height"]
