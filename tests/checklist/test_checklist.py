"""The site checklist: every item has its place, every finding its items, and the sheet can be printed and ticked."""

import re
from dataclasses import replace

import pytest

from analyzer.checklist import CHECKLIST, fitting, write_checklist
from analyzer.checklist.items import items
from analyzer.engine.rule import AIR_HANDLER
from analyzer.errors import RuleError
from analyzer.places import rule_book
from analyzer.report.frame import write_assets
from analyzer.reviews import rule_book_of
from analyzer.site import Site
from analyzer.site.model import WORDS
from tests.report.invented_building import AWKWARD, invented_results

BOOK = rule_book_of(Site())


def test_every_item_names_kinds_that_there_are_and_has_an_id_of_its_own():
    assert len({item.id for item in items()}) == len(items())
    for item in items():
        assert set(item.kinds) <= set(WORDS["kind"]) and set(item.reheat) <= set(WORDS["reheat"])


def test_every_rule_whose_fault_someone_can_look_at_has_an_item():
    without = {name for name, rule in BOOK.items() if not rule.site_checks}
    assert without <= {name for name, rule in BOOK.items() if AIR_HANDLER in rule.applies_to}


@pytest.mark.parametrize(
    ("terminal", "word", "there"),
    [
        ({"kind": "parallel", "reheat": "electric"}, "Fan rotation", True),
        ({"kind": "single-duct", "reheat": "electric"}, "Fan rotation", False),
        ({"kind": "parallel"}, "Backdraft", True),
        ({"kind": "series"}, "Backdraft", False),
        ({"kind": "single-duct", "reheat": "hot-water"}, "Electric heater", False),
        ({"kind": "single-duct", "reheat": "hot-water"}, "air vented", True),
        ({"kind": "single-duct", "reheat": "none"}, "Discharge sensor", False),
        ({}, "Electric heater", True),  # nobody says what it is: look
        ({"kind": "series", "outdoor_air_inlet_min": 20.0}, "outdoor-air inlet", True),
        ({"kind": "series", "outdoor_air_inlet_min": float("nan")}, "outdoor-air inlet", False),
        ({"kind": "series", "distribution": "underfloor"}, "Underfloor", True),
    ],
)
def test_items_fit_what_a_terminal_is(terminal, word, there):
    assert any(word in item.look for item in fitting(terminal)) == there


def test_a_finding_calls_for_its_own_items():
    looks = [
        item.look for item in fitting({"kind": "series", "reheat": "electric"}, BOOK["fan-short-of-flow"].site_checks)
    ]
    assert any("Filter" in look for look in looks) and any("Fan rotation" in look for look in looks)
    assert not any("Electric heater" in look for look in looks)


def test_a_rule_that_calls_for_what_is_not_there_is_refused(tmp_path):
    text = (rule_book() / "starved-terminal.toml").read_text()
    (tmp_path / "room-left-open.toml").write_text(text.replace('"inlet-duct"', '"inlet-ducts"'))
    with pytest.raises(RuleError, match="site_checks: there is nothing 'inlet-ducts' to look at .did you mean"):
        rule_book_of(Site(rules_folder=tmp_path))


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sheet")
    write_checklist(invented_results(terminals=9, days=2, awkward=True), folder)
    write_assets(folder / "assets")
    return folder / CHECKLIST


def test_a_terminal_that_waits_for_a_cause_elsewhere_gets_no_visit(tmp_path):
    results = invented_results(terminals=9, days=2)
    tags = list(dict.fromkeys(finding.terminal for finding in results.findings if finding.scope == "terminal"))
    cause = next(finding.id for finding in results.findings if finding.terminal == tags[0])
    waits = [replace(own, under=cause) if own.terminal == tags[1] else own for own in results.findings]
    write_checklist(replace(results, findings=waits), tmp_path)
    page = (tmp_path / CHECKLIST).read_text("utf-8")
    assert f">{tags[0]}</a>" in page and f">{tags[1]}</a>" not in page
    assert re.search(rf"No visit before the fault elsewhere is corrected.*{tags[1]}", page)


def test_at_an_air_handler_its_next_steps_are_ticked(tmp_path):
    results = invented_results(terminals=9, days=2)
    steps = ("Read duct static pressure with a gauge.", "Compare fan speed with the balancing report.")
    own = replace(results.findings[0], terminal="AHU-9", scope="air_handler", under=None, next_steps=steps)
    write_checklist(replace(results, findings=[own]), tmp_path)
    page = (tmp_path / CHECKLIST).read_text("utf-8")
    assert all(f'<th scope="row" colspan="2">{step}</th>' in page for step in steps)
    assert "No check at the terminal" not in page


def test_names_stay_text(sheet):
    page = sheet.read_text("utf-8")
    assert AWKWARD[0] not in page and "&lt;b&gt;VAV" in page


@pytest.mark.browser
def test_the_sheet_is_ticked_on_screen_and_on_paper(sheet, open_page):
    visit = open_page(width=390)
    visit.page.goto(sheet.as_uri())
    assert visit.page.evaluate("document.documentElement.scrollWidth") <= 390
    box = visit.page.locator("input[type=checkbox]").first
    box.check()
    assert box.is_checked()
    assert visit.page.locator("article.stop").count() > 3
    assert visit.page.pdf(format="A4").startswith(b"%PDF")
    visit.assert_clean()


@pytest.mark.browser
def test_the_sheet_is_open_to_everyone(sheet, open_page):
    visit = open_page()
    visit.page.goto(sheet.as_uri())
    visit.assert_accessible()
