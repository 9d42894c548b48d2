"""The report at every size and in every scheme, on a phone and on paper, in a real Chromium."""

import json
import re

import pytest

from tests.report.invented_building import A_PAGE

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("name", ["index.html", "rules.html", f"terminals/{A_PAGE}"])
@pytest.mark.parametrize("width", [320, 390])
def test_a_phone_scrolls_down_only(open_page, report, name, width):
    visit = open_page(width=width, height=700)
    visit.go(report / name)
    visit.assert_scrolls_down_only()
    visit.assert_clean()


def test_on_a_phone_charts_come_first_and_their_axis_can_be_read(open_page, report):
    visit = open_page(width=390, height=844)
    visit.go(report / "terminals" / A_PAGE)
    page = visit.page
    top = {name: page.locator(f"#{name}").bounding_box()["y"] for name in ("charts", "findings")}
    assert top["charts"] < 844 and top["charts"] < top["findings"]
    assert page.locator(".at-a-glance a").count() == page.locator("article.finding").count()
    axis = page.locator('figure[data-panel="zone"] svg .role-axis-label text').all_text_contents()
    assert len([label for label in axis if "Jan" in label]) >= 3
    visit.assert_clean()


@pytest.mark.parametrize("name", ["worst-table", "causes", "findings"])
def test_on_a_phone_tables_are_lists(open_page, report, name):
    visit = open_page(width=390, height=844)
    visit.go(report / "index.html")
    table = visit.page.locator(f"table.{name}, table#{name}").first
    rows = table.locator("tbody tr")
    assert table.evaluate("t => t.scrollWidth <= t.parentElement.clientWidth")
    assert all(row.bounding_box()["width"] > 300 for row in rows.all()[:3])
    hours = rows.first.locator("td[data-label^=Fault]")
    assert hours.is_visible() and re.match(r"[\d,.]+\s*(h|min)?$", hours.inner_text())
    visit.assert_clean()


@pytest.mark.parametrize("width", [320, 390])
def test_on_a_phone_no_name_on_a_chart_is_cut_off(open_page, report, width):
    visit = open_page(width=width, height=844)
    visit.go(report / "terminals" / A_PAGE)
    names = visit.page.evaluate("""() => [...document.querySelectorAll('figure[data-panel="air"] svg')].flatMap((svg) => {
      const right = svg.getBoundingClientRect().right - 26;  // the plot's right edge
      return [...svg.querySelectorAll(".mark-text text")].filter((text) => text.textContent).map((text) =>
        [text.textContent, text.getBoundingClientRect().right - right]);
    })""")
    assert names
    assert all(beyond <= 0 for _, beyond in names), names
    visit.assert_clean()


def test_a_terminal_prints_its_charts_first_and_fits_two_pages(open_page, report, tmp_path):
    visit = open_page()
    visit.go(report / "terminals" / A_PAGE)
    pdf = visit.page.pdf(path=tmp_path / "page.pdf", format="Letter")
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) == 2
    visit.page.emulate_media(media="print")
    tops = [visit.page.locator(name).bounding_box()["y"] for name in ("#charts", "#findings", "#design", "#verdicts")]
    assert tops == sorted(tops)
    visit.assert_clean()


def test_a_terminals_page_leads_on_and_to_its_rules(terminal):
    page = terminal.page
    assert page.locator("a[rel=prev]").count() + page.locator("a[rel=next]").count() >= 1
    page.locator("article.finding a[href*='rules.html#']").first.click()
    page.wait_for_selector("html[data-drawn]")
    assert page.url.endswith("rules.html#primary-below-ventilation-minimum")
    assert page.locator("#primary-below-ventilation-minimum").is_visible()


def test_the_picture_marks_every_terminal_and_leads_to_it(index, report):
    page = index.page
    marks = page.locator("#picture-rows .mark")
    assert marks.count() == 14
    letters = dict(zip(marks.evaluate_all("m => m.map(x => x.title)"), marks.all_text_contents(), strict=True))
    assert letters["VAV-1-04: urgent"] == "U"
    assert all(text[0] == title.split(": ")[1][0].upper() for title, text in letters.items() if text in "UHML")
    assert page.locator(".picture-row").count() == 2
    page.select_option("#picture-by", "floor")
    assert page.locator(".picture-row p").all_text_contents()[0].startswith("floor 1")
    assert page.locator("#picture-rows .mark").count() == 14
    page.click('#picture-rows .mark[title="VAV-1-04: urgent"]')
    page.wait_for_selector("html[data-drawn]")
    assert page.text_content("h1") == "VAV-1-04"


def test_dark_is_dark(open_page, report):
    visit = open_page(scheme="dark")
    visit.go(report / "index.html")
    red = int(re.search(r"rgb\((\d+)", visit.page.evaluate("getComputedStyle(document.body).backgroundColor"))[1])
    assert red < 60
    visit.assert_clean()


def test_the_report_prints(open_page, report, tmp_path):
    for name, least, words in (
        ("index.html", 3, "The building at a glance"),
        (f"terminals/{A_PAGE}", 2, "Design vs. observed"),
    ):
        visit = open_page(scheme="dark")
        visit.go(report / name)
        path = tmp_path / "page.pdf"
        pdf = visit.page.pdf(path=path, format="A4")
        assert len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf)) >= least
        printed = visit.page.evaluate("() => [...document.querySelectorAll('h2')].map(h => h.textContent)")
        assert words in printed
        visit.assert_clean()


def test_scripts_are_held_to_a_strict_policy(report):
    for page in (report / "index.html", report / "terminals" / A_PAGE):
        text = page.read_text(encoding="utf-8")
        assert "default-src 'none'" in text
        assert "unsafe" not in text
        assert not re.search(r"<[^>]+\s(?:on\w+|style)=", text)
        assert not re.search(r"https?://", text)


def test_the_chart_specifications_match_the_vendored_runtime(report):
    import altair

    text = (report / "assets" / "chart_specifications.js").read_text(encoding="utf-8")
    specifications = json.loads(text.removeprefix("var chartSpecifications = ").rstrip().rstrip(";"))
    major = altair.SCHEMA_VERSION.split(".")[0]
    assert {s["$schema"].rsplit("/", 1)[1].split(".")[0] for s in specifications.values()} == {major}
    built_from = (report / "assets" / "vendor" / "README.md").read_text(encoding="utf-8")
    assert f"vega-lite@{major.removeprefix('v')}." in built_from


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("name", ["index.html", "rules.html", f"terminals/{A_PAGE}"])
def test_an_accessibility_checker_has_nothing_to_say(open_page, report, name, width, scheme):
    visit = open_page(width=width, scheme=scheme, bypass_csp=True)  # the checker is a script that the page forbids
    visit.go(report / name)
    visit.assert_accessible()
