"""Names that carry markup, formulas, paths and signs for a terminal, from exports to everything that is handed over."""

import csv
import html.parser
import json
import os
import re

import openpyxl
import pytest

from analyzer.places import rule_book
from tests.hostile.running import run

# Each harms someone in its own way: markup in pages, a formula in a spreadsheet, a path, a template, a terminal.
TAGS = [
    "<img src=x onerror=harm()>",
    "</script><script>harm()</script>",
    "=cmd|'/c calc'!A1",
    "+1+1",
    "@SUM(A1)",
    "../../up",
    "/etc/passwd",
    "CON",
    "vav-1",
    "VAV-1",
    "ⅤAV-1",  # a Roman numeral five
    "{{7*7}}{% raw %}",
    "T" * 300,
    "\x1b[31mred",
]
RISKY = ("=", "+", "-", "@", "\t", "\r")
SITE = """
[site]
name = "<script>harm()</script>=1+1"
time_zone = "America/Chicago"
units = "ip"
terminals = "terminals.csv"
rules = "mine"
[setpoints]
heating = "70 degF"
cooling = "74 degF"
"""


@pytest.fixture(scope="module")
def room(runner, tmp_path_factory):
    """A review, a second one, their comparison, a complaint's page and a draft, all of hostile names."""
    room = tmp_path_factory.mktemp("names")
    exports = room / "exports"
    (exports / "mine").mkdir(parents=True)
    with (exports / "<b onclick=harm()>week.csv").open("w", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["Time"] + [f"{tag} {point}" for tag in TAGS for point in ("ZN-T (degF)", "<i>unknown</i>")])
        for n in range(2 * 96):
            stamp = f"2026-01-{12 + n // 96:02} {n % 96 // 4:02}:{n % 4 * 15:02}"
            rows.writerow([stamp] + [60 + n % 3, n] * len(TAGS))
    with (exports / "terminals.csv").open("w", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["terminal", "kind", "air_handler", "zone", "floor"])
        rows.writerows(
            [tag, "single-duct", "<u onload=harm()>=AH", f"=zone <s>{n}</s>", "@3"] for n, tag in enumerate(TAGS)
        )
    rule = (rule_book() / "zone-too-cold.toml").read_text()
    rule = re.sub(r'(?m)^(seen|retest|title) = "', r'\1 = "=<q onclick=harm()>', rule)
    (exports / "mine" / "own-cold.toml").write_text(rule)
    (exports / "site.toml").write_text(SITE)
    for call in (
        ["review", "exports", "--out", "before", "-q"],
        ["review", "exports", "--out", "now", "-q"],
        ["compare", "before", "now", "-q"],
        ["complaint", "now", "--terminal", TAGS[0], "--at", "2026-01-12 12:00", "--out", "complaint.html"],
        ["draft", "exports", "--out", "draft", "-q"],
    ):
        ran = run(runner, room, *call)
        assert ran["status"] == 0, ran["err"]
        assert "\x1b" not in ran["out"] + ran["err"]
    return room


class _Markup(html.parser.HTMLParser):
    """Gather the elements and attributes of a page that none of ours has."""

    OURS = {"onclick", "onload", "onerror"}

    def __init__(self):
        super().__init__()
        self.strange: list[str] = []

    def handle_starttag(self, tag, attributes):
        if tag in ("img", "q", "i", "s") or any(name in self.OURS for name, _ in attributes):
            self.strange.append(f"{tag} {attributes}")


def test_no_name_becomes_markup_in_any_page(room):
    pages = sorted(room.rglob("*.html"))
    assert len(pages) > 2 * len(TAGS)
    for page in pages:
        markup = _Markup()
        markup.feed(page.read_text("utf-8"))
        assert markup.strange == [], page.name
        assert "<script>harm()" not in page.read_text("utf-8")


def test_every_page_stays_in_its_folder_and_each_tag_has_one(room):
    assert sorted(path.name for path in room.iterdir()) == [
        "before", "comparison", "complaint.html", "draft", "exports", "now",
    ]  # fmt: skip
    assert len(list((room / "now" / "terminals").glob("*.html"))) >= len(TAGS)
    names = [path.name.casefold() for path in (room / "now").rglob("*")]
    assert all(re.fullmatch(r"[ -~]{1,120}", name) for name in names)


def test_no_cell_of_a_table_is_a_formula(room):
    tables = [path for path in room.rglob("*.csv") if "exports" not in path.parts]
    assert len(tables) > 8
    for path in tables:
        with path.open(newline="", encoding="utf-8-sig") as file:
            for row in csv.reader(file):
                risky = [cell for cell in row if cell.startswith(RISKY) and not re.fullmatch(r"[-+][\d.]+", cell)]
                assert risky == [], f"{path.relative_to(room)}: {risky[:3]}"


def test_no_cell_of_a_workbook_is_a_formula(room):
    for path in room.rglob("*.xlsx"):
        for sheet in openpyxl.load_workbook(path).worksheets:
            for row in sheet.iter_rows():
                assert [cell.value for cell in row if cell.data_type == "f"] == [], path


def test_what_was_found_keeps_the_names_as_they_are(room):
    told = json.loads((room / "now" / "findings.json").read_text("utf-8"))
    assert {TAGS[0], TAGS[1], TAGS[2]} <= {finding["terminal"] for finding in told["findings"]}


@pytest.mark.browser
def test_nothing_of_it_runs_in_a_browser_and_nothing_is_fetched(room, open_page):
    visit = open_page()
    shown = [room / "now" / "index.html", room / "comparison" / "index.html", room / "complaint.html"]
    shown += [room / "draft" / "index.html"]
    shown += sorted((room / "now" / "terminals").glob("*.html"), key=os.path.getsize)[:4]
    visit.page.add_init_script("window.harm = () => { window.harmed = true }")
    for page in shown:
        visit.page.goto(page.as_uri())
        visit.page.wait_for_load_state("load")
        assert visit.page.evaluate("window.harmed") is None, page
    visit.assert_clean()


def test_a_draft_with_such_names_is_read_back_as_it_was_meant(room, runner):
    ran = run(runner, room, "review", "exports", "--site", "draft/site.toml", "--out", "drafted", "-q")
    assert ran["status"] == 0, ran["err"]
    judged = (room / "drafted" / "verdicts.csv").read_text("utf-8")
    assert "\n'=cmd|'/c calc'!A1," in judged and "\n'+1+1," in judged
