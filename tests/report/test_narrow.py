"""Nothing is cut off: titles in the first table, tables on a phone, the words on stretches that were not judged."""

from dataclasses import replace

import pandas as pd
import pytest

from analyzer.report import write_report
from analyzer.site.model import Exclusion
from tests.report.invented_building import A_PAGE, invented_results

pytestmark = pytest.mark.browser

LONG = "Minimum airflow setpoint differs from the schedule and from the balancing report"
PHONE = {"width": 390, "height": 844}
# The words of a chart that lie beyond its plot, within a panel of a terminal's page.
WORDS_OUTSIDE = """() => [...document.querySelectorAll('figure[data-panel="zone"] svg text')]
    .filter((text) => /left out/.test(text.textContent))
    .map((text) => [text.textContent, text.getBoundingClientRect(), text.closest("svg").getBoundingClientRect()])
    .filter(([, own, all]) => own.left < all.left + 50 || own.right > all.right - 20).map(([words]) => words)"""
WORDS = """() => [...document.querySelectorAll('figure[data-panel="zone"] svg text')]
    .map((text) => text.textContent).filter((words) => /left out/.test(words))"""


@pytest.fixture(scope="module")
def results():
    plain = invented_results(terminals=30, days=2, minutes=60)
    end = plain.period[1].tz_convert(plain.site.time_zone)
    window = Exclusion(
        end - pd.Timedelta(hours=4),
        end - pd.Timedelta(hours=1),
        "functional test of the heating sequence on the whole floor",
        (),
    )
    site = replace(plain.site, excluded=(window,))
    return replace(plain, site=site, findings=[replace(found, title=LONG) for found in plain.findings])


@pytest.fixture(scope="module")
def report(results, tmp_path_factory):
    folder = tmp_path_factory.mktemp("narrow")
    write_report(results, folder)
    return folder


@pytest.mark.parametrize("width", [1280, 1100, 900, 390])
def test_no_title_of_the_first_table_is_cut(open_page, report, width):
    visit = open_page(width=width)
    visit.go(report / "index.html")
    cut = "(cells) => cells.filter((cell) => cell.scrollWidth > cell.clientWidth).length"
    titles = visit.page.locator("#worst-table .what")
    assert LONG in titles.first.inner_text()
    assert titles.evaluate_all(cut) == 0
    visit.assert_scrolls_down_only()


@pytest.mark.parametrize("table", ["#worst-table", "#handlers .scroll", "#ledger .scroll"])
def test_a_table_scrolls_sideways_on_no_phone(open_page, report, table):
    visit = open_page(**PHONE)
    visit.go(report / "index.html")
    assert visit.page.locator(table).first.evaluate("(box) => box.scrollWidth <= box.clientWidth")


@pytest.mark.parametrize(
    ("width", "told"),
    [(390, "left out"), (1280, "left out: functional test of the heating sequence on the whole floor")],
)
def test_the_words_on_a_stretch_that_was_left_out_lie_within_the_chart(open_page, report, width, told):
    visit = open_page(width=width)
    visit.go(report / "terminals" / A_PAGE)
    assert set(visit.page.evaluate(WORDS)) == {told}
    assert visit.page.evaluate(WORDS_OUTSIDE) == []


def test_a_terminal_whose_finding_harms_no_one_says_what_it_harms(open_page, results, tmp_path):
    findings = [replace(found, impact="data", severity="medium") for found in results.findings]
    write_report(replace(results, findings=findings), tmp_path)
    visit = open_page()
    visit.go(tmp_path / "index.html")
    assert "data, medium" in visit.page.locator("#worst-table tbody tr").first.inner_text()
