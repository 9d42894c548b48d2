"""Writes the pages and what they load: templates are compiled once, every page is one string."""

from __future__ import annotations

from pathlib import Path

from analyzer.findings.results import Results
from analyzer.report import words
from analyzer.report.accounts import ledger_columns
from analyzer.report.building import Building
from analyzer.report.frame import page_environment, write_assets, write_script
from analyzer.report.overview import index_context
from analyzer.report.terminal_page import TerminalPages


def write_pages(results: Results, folder: Path, progress) -> None:
    """Write the whole report into a folder; see ``analyzer.report.write_report``."""
    building = Building(results)
    site = results.site
    environment = page_environment(site=site, period=words.window(*results.period, site.time_zone))
    write_assets(folder / "assets")
    write_script(folder / "assets" / "ledger_columns.js", "ledgerColumns", ledger_columns(results.trends.ledger))
    terminals = folder / "terminals"
    terminals.mkdir(exist_ok=True)
    template, pages = environment.get_template("terminal.html"), TerminalPages(results, building)
    places = building.every_place.values()
    for done, place in enumerate(places, start=1):
        (terminals / place.page).write_text(template.render(pages.context(place), root="../"), encoding="utf-8")
        if progress:
            progress(done, len(places))
    index = environment.get_template("index.html").render(index_context(building, folder), root="")
    (folder / "index.html").write_text(index, encoding="utf-8")
