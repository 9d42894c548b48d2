"""The schedule on the draft's page: read as it is, and a pair of tags that the user knows to be one terminal."""

from __future__ import annotations

import pytest

from analyzer.draft import draft
from analyzer.site import read_site

pytestmark = pytest.mark.browser

FILES = ("points.csv", "terminals.csv", "site.toml", "sources.csv")
SCHEDULE = """TAG,TYPE,MAX CFM,MIN CFM,HTG TYPE,WIDGET
VAV-1-1,SINGLE DUCT,400,120,ELECTRIC,a
TU-1-02,SERIES FAN POWERED,500,150,HOT WATER,b
VAV-7-07,SINGLE DUCT,600,180,NONE,<b>c</b>
"""
PAIR = "TU-1-02 and FPB-1-02 are one terminal"


@pytest.fixture(scope="module")
def room(tmp_path_factory):
    folder = tmp_path_factory.mktemp("scheduled")
    rows = [f"2026-01-26 {n // 12:02}:{n % 12 * 5:02},{200 + n},{300 + n}" for n in range(60)]
    head = "Time,VAV-1-01 SA FLOW (cfm),FPB-1-02 SA FLOW (cfm)"
    (folder / "trend.csv").write_text("\n".join([head, *rows]) + "\n")
    (folder / "m601.csv").write_text(SCHEDULE)
    draft([folder / "trend.csv"], None, folder / "draft", lambda line: None, [folder / "m601.csv"])
    return folder


@pytest.fixture
def visit(open_page, room):
    visit = open_page(accept_downloads=True)
    visit.go(room / "draft" / "index.html")
    yield visit
    visit.assert_clean()


def saved(page, folder) -> dict[str, bytes]:
    for name in FILES:
        with page.expect_download() as download:
            page.click(f'[data-save="{name}"]')
        download.value.save_as(folder / name)
    return {name: (folder / name).read_bytes() for name in FILES}


def test_unticked_all_four_files_are_the_drafted_ones(visit, room, tmp_path):
    assert saved(visit.page, tmp_path) == {name: (room / "draft" / name).read_bytes() for name in FILES}


def test_a_pair_that_is_ticked_is_one_terminal_with_its_sources(visit, tmp_path):
    page = visit.page
    before = page.locator("table.terminals tbody tr").count()
    page.get_by_role("checkbox", name=PAIR).check()
    assert page.locator("table.terminals tbody tr").count() == before - 1
    assert page.get_by_role("combobox", name="Kind of FPB-1-02").input_value() == "series"
    saved(page, tmp_path)
    site = read_site(tmp_path)
    assert sorted(site.schedule.index) == ["FPB-1-02", "VAV-1-01", "VAV-7-07"]
    row = site.schedule.loc["FPB-1-02"]
    assert (row["kind"], row["reheat"]) == ("series", "hot-water")
    assert (row["primary_max"], row["primary_min"]) == pytest.approx((500 * 0.47194745, 150 * 0.47194745), rel=1e-3)
    assert site.sources["FPB-1-02"]["primary_max"].whole == "m601.csv, C3"
    assert "TU-1-02" not in site.sources


def test_what_the_user_chose_himself_stays_and_unticking_takes_all_back(visit, room, tmp_path):
    page = visit.page
    page.get_by_role("combobox", name="Reheat of FPB-1-02").select_option("electric")
    page.get_by_role("checkbox", name=PAIR).check()
    assert page.get_by_role("combobox", name="Reheat of FPB-1-02").input_value() == "electric"
    assert page.get_by_role("combobox", name="Kind of FPB-1-02").input_value() == "series"
    page.get_by_role("checkbox", name=PAIR).uncheck()
    page.get_by_role("combobox", name="Reheat of FPB-1-02").select_option("")
    assert saved(page, tmp_path) == {name: (room / "draft" / name).read_bytes() for name in FILES}


def test_the_schedule_stands_beside_what_was_observed(visit):
    section = visit.page.locator("section#schedule")
    assert section.locator("table.beside tbody tr").count() == 3
    row = section.locator("table.beside tbody tr").filter(has_text="VAV-1-01")
    assert "188.779 L/s" in row.text_content()
    assert row.locator("td[title]").first.get_attribute("title") == "m601.csv, C2"
    section.locator("summary").click()
    columns = section.locator("details tbody tr").all_text_contents()
    assert any("WIDGET" in text and "not used" in text for text in columns)


def test_a_pair_is_ticked_with_the_keyboard(visit):
    box = visit.page.get_by_role("checkbox", name=PAIR)
    box.focus()
    visit.page.keyboard.press("Space")
    assert box.is_checked()


def test_all_four_go_into_a_folder(open_page, room):
    visit = open_page()
    visit.page.add_init_script(
        """window.written = {};
        window.showDirectoryPicker = async () => ({ name: "draft", getFileHandle: async (name) => ({
          createWritable: async () => ({ write: async (text) => { window.written[name] = text; }, close: async () => {} }) }) });"""
    )
    visit.go(room / "draft" / "index.html")
    visit.page.click("#save-all")
    visit.page.wait_for_function("Object.keys(window.written).length === 4")
    assert "All four are saved into the folder draft." in visit.page.text_content("#save-state")
    visit.assert_clean()


@pytest.mark.parametrize("width", [320, 390])
def test_a_phone_scrolls_down_only(open_page, room, width):
    visit = open_page(width=width, height=700)
    visit.go(room / "draft" / "index.html")
    visit.assert_scrolls_down_only()
    visit.assert_clean()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_an_accessibility_checker_has_nothing_to_say(open_page, room, width, scheme):
    visit = open_page(width=width, scheme=scheme, bypass_csp=True)
    visit.go(room / "draft" / "index.html")
    visit.page.locator("section#schedule summary").click()
    visit.assert_accessible()
