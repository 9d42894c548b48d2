"""Writes the pages and what they load: templates are compiled once, every page is one string."""

from __future__ import annotations

import shutil
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from analyzer.findings.results import Results
from analyzer.report import words
from analyzer.report.accounts import ledger_columns
from analyzer.report.building import Building
from analyzer.report.charts import chart_specifications
from analyzer.report.overview import index_context
from analyzer.report.terminal_page import TerminalPages

_HERE = Path(__file__).resolve().parent


def write_pages(results: Results, folder: Path, progress) -> None:
    """Write the whole report into a folder; see ``analyzer.report.write_report``."""
    building = Building(results)
    environment = _environment(results)
    _write_assets(folder / "assets", results)
    terminals = folder / "terminals"
    terminals.mkdir(exist_ok=True)
    template, pages = environment.get_template("terminal.html"), TerminalPages(results, building)
    for done, place in enumerate(building.places.values(), start=1):
        (terminals / place.page).write_text(template.render(pages.context(place), root="../"), encoding="utf-8")
        if progress:
            progress(done, len(building.places))
    index = environment.get_template("index.html").render(index_context(building), root="")
    (folder / "index.html").write_text(index, encoding="utf-8")


def _environment(results: Results) -> Environment:
    environment = Environment(
        loader=FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(
        site=results.site,
        period=words.window(*results.period, results.site.time_zone),
        plural=words.plural,
    )
    return environment


def _write_assets(folder: Path, results: Results) -> None:
    shutil.copytree(_HERE / "assets", folder, dirs_exist_ok=True)
    _write_script(folder / "chart_specifications.js", "chartSpecifications", chart_specifications())
    _write_script(folder / "ledger_columns.js", "ledgerColumns", ledger_columns(results.trends.ledger))


def _write_script(path: Path, name: str, value) -> None:
    path.write_text(f"var {name} = {words.embedded(value)};\n", encoding="utf-8")
