"""Writes the pages and what they load: templates are compiled once, every page is one string."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from analyzer.crew import Crew
from analyzer.engine import groups_of
from analyzer.findings import Results
from analyzer.report import words
from analyzer.report.accounts import ledger_columns, limits_in_force
from analyzer.report.building import Building
from analyzer.report.finding_rows import FindingRows
from analyzer.report.frame import page_environment, write_assets, write_script
from analyzer.report.history_page import history_context, summary_context, summary_told
from analyzer.report.overview import index_context
from analyzer.report.terminal_page import TerminalPages
from analyzer.report.worst import WorstTerminals

LEDGER_COLUMNS = "ledger_columns.js"
RULES, HISTORY, SUMMARY = "rules.html", "history.html", "summary"


@dataclass(frozen=True)
class Sheaf:
    """Pages that are written together: of some terminals and air handlers, and whose trends are read for them."""

    places: tuple[str, ...]
    terminals: tuple[str, ...]
    air_handlers: tuple[str, ...]


class PageWriter:
    """Writes the pages of one sheaf after another; what all pages share is worked out once, where they are written."""

    def __init__(self, results: Results):
        self.results = results

    @cached_property
    def building(self) -> Building:
        """The results, looked up by terminal."""
        return Building(self.results)

    @cached_property
    def environment(self):
        """The templates, with what every page says."""
        return _environment(self.results)

    def pages(self, sheaf: Sheaf) -> list[tuple[str, str]]:
        """Return the name and the text of each page of a sheaf."""
        trends = self.results.trends.of(sheaf.terminals, sheaf.air_handlers)
        contexts, template = TerminalPages(self.building, trends), self.environment.get_template("terminal.html")
        places = [self.building.every_place[tag] for tag in sheaf.places]
        return [(place.page, template.render(contexts.context(place), root="../")) for place in places]


def write_terminal_pages(results: Results, folder: Path, crew: Crew, progress) -> None:
    """Write ``terminals/`` and ``assets/`` into a folder."""
    write_assets(folder / "assets")
    write_script(folder / "assets" / LEDGER_COLUMNS, "ledgerColumns", ledger_columns(results.trends.ledger))
    terminals = folder / "terminals"
    terminals.mkdir(exist_ok=True)
    building = Building(results)
    done, places = 0, len(building.every_place)
    for pages in crew.each(PageWriter.pages, PageWriter(results), _sheaves(building)):
        for name, text in pages:
            (terminals / name).write_text(text, encoding="utf-8")
        done += len(pages)
        if progress:
            progress(done, places)


def write_index(results: Results, folder: Path, tests: Sequence[dict] = ()) -> None:
    """Write ``index.html``, what it loads by part, and ``rules.html`` into a folder whose terminals' pages are written.

    Of the review's other files, those that lie there are linked; ``tests`` is what there is to say of each functional
    test, whose pages are written.
    """
    building = Building(results)
    rows, worst = FindingRows(building), WorstTerminals(building)
    for written in (rows, worst):
        written.write(folder / "assets")
    environment = _environment(results)
    rules = environment.get_template("rules.html").render(rules=limits_in_force(results), root="")
    (folder / RULES).write_text(rules, encoding="utf-8")
    if len(results.history) > 1:
        history = environment.get_template("history.html").render(history_context(building), root="")
        (folder / HISTORY).write_text(history, encoding="utf-8")
    context = index_context(building, rows, worst, folder, tests)
    index = environment.get_template("index.html").render(context, root="")
    (folder / "index.html").write_text(index, encoding="utf-8")


def write_summary(results: Results, folder: Path) -> None:
    """Write what is new since the review before: ``summary.json``, and ``summary.html``, which can be mailed."""
    told = json.dumps(summary_told(results), indent=1, ensure_ascii=False)
    (folder / f"{SUMMARY}.json").write_text(told, encoding="utf-8")
    page = _environment(results).get_template("summary.html").render(summary_context(results))
    (folder / f"{SUMMARY}.html").write_text(page, encoding="utf-8")


def _environment(results: Results):
    return page_environment(site=results.site, period=words.window(*results.period, results.site.time_zone))


def _sheaves(building: Building) -> Iterator[Sheaf]:
    """Sort the places into sheaves: those without trends, then group by group, air handlers with their terminals."""
    source = building.results.trends
    trended = set(source.tags)
    handlers = set(building.handler_places)
    without = tuple(tag for tag in building.places if tag not in trended)
    if without:
        yield Sheaf(without, (), ())
    for group in groups_of(source.tags, source.rows, building.results.site):
        own = tuple(tag for tag in group.air_handlers if tag in handlers)
        handlers -= {*own}
        yield Sheaf((*group.terminals, *own), group.terminals, group.air_handlers)
    if handlers:
        yield Sheaf(tuple(sorted(handlers)), (), tuple(sorted(handlers)))
