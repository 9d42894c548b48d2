"""The ranked terminals on the index: in order, sortable, and the same whether they stand in the page or are loaded."""

import pytest

from analyzer.findings.ranked import ranked_terminals
from analyzer.report import write_report
from tests.report.invented_building import invented_results

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def results():
    return invented_results(terminals=60, days=1, minutes=60, more_rules=10)


@pytest.fixture
def index(open_page, results, tmp_path):
    write_report(results, tmp_path)
    visit = open_page()
    visit.go(tmp_path / "index.html")
    yield visit
    visit.assert_clean()


def _column(page, at: int) -> list[str]:
    return [text.split()[0] if text.split() else "" for text in
            page.locator(f"#worst-table tbody tr > :nth-child({at})").all_text_contents()]  # fmt: skip


def test_the_worst_terminals_stand_in_their_order(results, index):
    table = ranked_terminals(results)
    assert _column(index.page, 2) == table["terminal"].head(20).tolist()


def test_a_click_on_a_heading_orders_by_it_and_another_turns_it_round(results, open_page, tmp_path):
    write_report(results, tmp_path)
    visit = open_page(width=1600)
    visit.go(tmp_path / "index.html")
    page, found = visit.page, ranked_terminals(results).query("findings > 0")
    before = page.locator("#worst-table tbody").inner_text()
    page.click("#worst-table th[data-sort=terminal] button")
    page.wait_for_selector("th[data-sort=terminal][aria-sort=ascending]")
    assert _column(page, 2)[:2] == ["VAV-1-01", "VAV-1-02"]
    page.click("#worst-table th[data-sort=terminal] button")
    page.wait_for_selector("th[data-sort=terminal][aria-sort=descending]")
    assert _column(page, 2)[0] == max(found["terminal"])
    page.click("#worst-table th[data-sort=ventilation] button")
    page.wait_for_selector("th[data-sort=ventilation][aria-sort]")
    assert set(_column(page, 6)[:5]) == {"▮▮▮▮"} or set(_column(page, 6)[:5]) == {"urgent"}
    page.click("#worst-table th[data-sort=hours] button")
    page.wait_for_selector("th[data-sort=hours][aria-sort=ascending]")
    hours = [float(told) for told in _column(page, 4)]
    assert len(hours) > 2 and hours == sorted(hours, reverse=True)
    page.click("#worst-table th[data-sort=rank] button")
    page.wait_for_selector("th[data-sort=rank][aria-sort=ascending]")
    assert page.locator("#worst-table tbody").inner_text() == before


def test_all_of_them_are_shown_when_asked(results, index):
    page, found = index.page, ranked_terminals(results).query("findings > 0")
    page.click("#worst-more")
    page.wait_for_selector("#worst-more[hidden]", state="attached")
    assert page.locator("#worst-table tbody tr").count() == len(found)
