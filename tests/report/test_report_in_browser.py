"""The report as a reader meets it: opened from the file system in a real Chromium."""

import re

import pytest

from analyzer.report import page_name, write_report
from tests.report.invented_building import A_PAGE, AWKWARD, invented_results

pytestmark = pytest.mark.browser


def _shown(page) -> list[str]:
    """The fault titles of the findings' visible rows."""
    return page.eval_on_selector_all("table.findings tbody tr:not([hidden]) b", "rows => rows.map(r => r.textContent)")


def _span(page) -> str:
    return page.text_content(".span-shown")


# ---- the index ----------------------------------------------------------------------------------------------------


def test_a_finding_is_reached_in_one_click_at_its_episode(index):
    page = index.page
    page.click("table.findings tbody tr:first-child a")
    page.wait_for_selector("html[data-drawn]")
    assert page.text_content("h1") == "VAV-1-04"
    assert page.text_content("article.chosen h3").strip().endswith("Outdoor air under the ventilation minimum")
    assert page.get_attribute('a[data-finding="0"][data-episode="0"]', "aria-current") == "true"
    assert _span(page).startswith("Tue 13 Jan, 16:00")  # the episode from 18:00 to 18:45, and two hours about it


def test_a_fault_in_the_matrix_leads_to_the_same_evidence(index):
    page = index.page
    assert page.locator("#matrix-grid tbody tr:not(.sum)").count() == 14
    page.click('#matrix-grid a[aria-label="VAV-1-04, Outdoor air under the ventilation minimum: fault, firm"]')
    page.wait_for_selector("html[data-drawn]")
    assert "rule=primary-below-ventilation-minimum" in page.url
    assert _span(page).startswith("Tue 13 Jan, 16:00")


def test_filters_narrow_the_findings_and_stand_in_the_address(index, report):
    page = index.page
    everything = len(_shown(page))
    page.select_option("select[name=severity]", "high")
    some = _shown(page)
    assert 0 < len(some) < everything
    assert "severity=high" in page.url
    assert page.text_content("#found") == f"{len(some)} of {everything} findings"
    page.select_option("select[name=rule]", "fan-short-cycling")
    assert set(_shown(page)) == {"Terminal fan short-cycles"}
    page.click("button[type=reset]")
    assert len(_shown(page)) == everything
    assert "#" not in page.url


def test_an_address_that_was_sent_shows_the_same_view(index, report):
    page = index.page
    index.go(report / "index.html", "#handler=AHU-2&impact=comfort&sort=hours")
    places = page.eval_on_selector_all("table.findings tbody tr:not([hidden]) small", "s => s.map(x => x.textContent)")
    assert any("AHU-2" in place for place in places)
    assert not any("AHU-1" in place for place in places)
    assert page.input_value("select[name=sort]") == "hours"
    assert "AHU-1" not in page.text_content("#matrix-grid tbody")


def test_search_looks_at_every_word(index):
    page = index.page
    page.fill("input[name=q]", "short-cycles ahu-1")
    assert set(_shown(page)) == {"Terminal fan short-cycles"}
    page.fill("input[name=q]", "no such thing")
    assert _shown(page) == []


def test_order_by_fault_hours(index):
    page = index.page
    page.select_option("select[name=sort]", "hours")
    hours = [
        float(h.split("\u202f")[0])
        for h in page.locator("table.findings tbody tr:not([hidden]) td:last-child").all_text_contents()
    ]
    assert hours == sorted(hours, reverse=True)
    assert hours[0] > hours[-1]


def test_only_terminals_with_a_fault(index):
    page = index.page
    page.check("#only-faults")
    rows = page.locator("#matrix-grid tbody tr:not(.sum)")
    assert 0 < rows.count() < 14
    for row in rows.all():
        assert row.locator(".cell.F, .cell.M").count() > 0


def test_an_air_handler_folds_and_unfolds_by_keyboard(index):
    page = index.page
    button = page.locator("#matrix-grid tr.sum button").first
    button.focus()
    page.keyboard.press("Enter")
    assert page.locator("#matrix-grid tr.sum button").first.get_attribute("aria-expanded") == "false"
    assert page.locator("#matrix-grid tbody tr:not(.sum)").count() == 7
    page.keyboard.press("Enter")
    assert page.locator("#matrix-grid tbody tr:not(.sum)").count() == 14


def test_the_ledger_opens_a_file_column_by_column(index):
    page = index.page
    page.click("details.columns summary")
    page.wait_for_selector("details.columns table tbody tr")
    assert "unmapped column 2,016" in page.text_content("details.columns")


def test_every_link_to_a_terminal_leads_to_a_page(index, report):
    links = index.page.eval_on_selector_all('a[href^="terminals/"]', "a => a.map(x => new URL(x.href).pathname)")
    from urllib.parse import unquote

    assert len(set(links)) == 14
    for link in set(links):
        assert (report / "terminals" / unquote(link).rsplit("/", 1)[1]).exists()


# ---- a terminal ---------------------------------------------------------------------------------------------------


def test_charts_are_drawn_with_the_terminals_trends(terminal):
    page = terminal.page
    panels = page.eval_on_selector_all("figure[data-panel]", "f => f.map(x => x.dataset.panel)")
    assert panels == ["episodes", "zone", "air", "position", "temperatures", "fan"]
    for panel in panels[1:]:
        lines = page.eval_on_selector_all(
            f'figure[data-panel="{panel}"] svg .mark-line path', "p => p.map(x => x.getAttribute('d') || '')"
        )
        assert max(map(len, lines)) > 500, panel
    text = page.eval_on_selector_all('figure[data-panel="air"] svg text', "t => t.map(x => x.textContent)")
    assert "maximum 763 cfm" in text
    assert any("minimum 212" in label and "ventilation min. 220 cfm" in label for label in text)
    assert page.locator('figure[data-panel="fan"] svg .mark-symbol path').count() > 50
    assert (
        page.locator('figure[data-panel="zone"] svg .mark-rect path').count() == 5 + 3
    )  # five working days, three episodes


def test_an_episode_in_the_words_zooms_all_charts_together(terminal):
    page = terminal.page
    whole = _span(page)
    page.click('a[data-finding="0"][data-episode="1"]')
    assert _span(page) != whole
    assert "episode=2" in page.url
    ticks = [
        page.eval_on_selector_all(
            f'figure[data-panel="{panel}"] svg .role-axis-label text', "t => t.map(x => x.textContent)"
        )
        for panel in ("zone", "air", "fan")
    ]
    hours = [[tick for tick in axis if re.fullmatch(r"\d\d:\d\d", tick)] for axis in ticks]
    assert len(hours[0]) >= 3
    assert hours[0] == hours[1] == hours[2]
    page.click('button[data-act="all"]')
    assert _span(page) == whole


def test_the_address_alone_opens_an_episode(terminal, report):
    terminal.go(report / "terminals" / A_PAGE, "#rule=primary-below-ventilation-minimum&episode=3")
    assert _span(terminal.page).startswith("Sat 17 Jan")
    terminal.go(report / "terminals" / A_PAGE, "#rule=no-such-rule&episode=99")
    assert _span(terminal.page).startswith("Mon 12 Jan, 00:00")


def test_hovering_reads_every_value_at_that_time(terminal):
    page = terminal.page
    box = page.locator('figure[data-panel="air"] .canvas svg').bounding_box()
    page.mouse.move(box["x"] + 300, box["y"] + 30)
    assert re.match(r"\w{3} \d+ Jan, \d\d:\d\d · (un)?occupied", page.text_content("#reading"))
    values = page.locator("#plots .value").all_text_contents()
    assert len(values) >= 9
    assert all(values)
    assert any(value.endswith("°F") for value in values) and any(value.endswith("cfm") for value in values)


def test_dragging_zooms_and_a_double_click_shows_all(terminal):
    page = terminal.page
    whole = _span(page)
    box = page.locator('figure[data-panel="zone"] .canvas svg').bounding_box()
    page.mouse.move(box["x"] + 200, box["y"] + 30)
    page.mouse.down()
    page.mouse.move(box["x"] + 400, box["y"] + 30, steps=4)
    page.mouse.up()
    assert _span(page) != whole
    page.mouse.dblclick(box["x"] + 300, box["y"] + 30)
    assert _span(page) == whole


def test_the_charts_answer_to_the_keyboard(terminal):
    page = terminal.page
    page.focus("#plots")
    page.keyboard.press("ArrowRight")
    first = page.text_content("#reading-aloud")
    page.keyboard.press("Shift+ArrowRight")
    assert first and page.text_content("#reading-aloud") != first
    assert "zone" in first
    whole = _span(page)
    page.keyboard.press("+")
    assert _span(page) != whole
    page.keyboard.press("0")
    assert _span(page) == whole


def test_values_shown_are_the_values_of_the_table(terminal):
    """The page's own numbers against the invented trends, at a row in the middle."""
    page = terminal.page
    results = invented_results(terminals=14, awkward=True)
    table = results.trends.terminals
    row = table[table["terminal"] == "VAV-1-04"].iloc[1000]
    origin = results.period[0].timestamp()
    told = page.evaluate(
        """at => {
          const data = JSON.parse(document.getElementById("trend-data").textContent);
          return Object.fromEntries(Object.entries(data.series).map(([name, packed]) =>
            [name, expandSeries(packed).filter((r) => r.v !== null && r.t <= at).pop().v]));
        }""",
        row["time"].timestamp() - origin,
    )
    assert told["zone_temp"] == pytest.approx(row["zone_temp"] * 1.8 + 32, abs=0.051)
    assert told["primary_flow"] == pytest.approx(row["primary_flow"] / 0.47194745, abs=0.51)
    assert told["fan_status"] == row["fan_status"]


@pytest.mark.parametrize("tag", AWKWARD)
def test_a_careless_tag_stays_text(open_page, report, tag):
    visit = open_page()
    visit.page.on("dialog", lambda dialog: pytest.fail(f"the page ran a script of the tag: {dialog.message}"))
    visit.go(report / "terminals" / page_name(tag))
    assert visit.page.text_content("h1") == tag
    assert visit.page.locator("h1 *").count() == 0
    visit.assert_clean()


def test_the_wall_clock_is_the_sites_over_a_clock_change(open_page, tmp_path):
    write_report(invented_results(terminals=1, days=3, start="2026-03-07"), tmp_path)
    visit = open_page()
    visit.go(tmp_path / "terminals" / "VAV-1-01.html")
    ticks = visit.page.evaluate(
        """() => {
          const data = JSON.parse(document.getElementById("trend-data").textContent);
          const clock = new WallClock(data.origin, data.clock);
          return [clock.ticks([24 * HOUR, 30 * HOUR], 7).labels, clock.read(25.5 * HOUR), clock.read(26 * HOUR)];
        }"""
    )
    # The night of 8 March: 02:00 does not exist.
    assert ticks == [
        ["Sun 8 Mar", "01:00", "03:00", "04:00", "05:00", "06:00", "07:00"],
        "Sun 8 Mar, 01:30",
        "Sun 8 Mar, 03:00",
    ]
    visit.assert_clean()
