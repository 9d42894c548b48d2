"""A review: normalized trends and a site in, verdicts and findings out, and everything that is handed over."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from analyzer import handover
from analyzer.checklist.items import items
from analyzer.contract import ContractCheck
from analyzer.crew import Alone, Crew
from analyzer.engine import Group, Rule, across, groups_of, read_rules
from analyzer.errors import ExportError, RuleError, nearest
from analyzer.findings import Answers, Results, read_answers
from analyzer.functional import response_limits
from analyzer.judged import JudgedGroup, Task, counted_up, judge_group, put_together, shown_in_group
from analyzer.memory import give_back
from analyzer.places import rule_book
from analyzer.signals.agreed import agree
from analyzer.signals.unlisted_holidays import with_unlisted_holidays
from analyzer.site import Site
from analyzer.site.excluded import check_tags
from analyzer.site.functional_tests import check_test_tags
from analyzer.trends import TrendSource

if TYPE_CHECKING:
    import altair as alt


@dataclass
class Review:
    """The outcome of a review.

    Attributes
    ----------
    results : Results
        Everything the report is made from.
    contract : ContractCheck, optional
        The check of the table's contract, where it is still under way.
    """

    results: Results
    contract: ContractCheck | None = None

    @property
    def verdicts(self) -> pd.DataFrame:
        """One row per terminal and applicable rule, as ``verdicts.csv`` holds them."""
        return self.results.verdicts

    @property
    def findings(self) -> pd.DataFrame:
        """One row per finding, ranked: as ``findings.csv``, with times as times and a column for each measure.

        ``from`` and ``to`` are moments in the site's time zone. A measure's column is its name with its unit, such as
        ``shortfall [%]``; a finding that does not have it is NaN there.
        """
        from analyzer.findings import findings_frame

        return findings_frame(self.results)

    def chart(self, terminal: str) -> alt.VConcatChart:
        """Return what a terminal's page draws as an Altair chart, for a notebook.

        Parameters
        ----------
        terminal : str
            The tag of a terminal, or of an air handler whose points are trended.

        Raises
        ------
        CallError
            There is no such terminal, or it has no trends.
        """
        from analyzer.report import terminal_chart

        return terminal_chart(self.results, terminal)

    def _repr_html_(self) -> str:
        """The summary and the first findings, as a notebook shows a review."""
        from analyzer.report import review_html

        return review_html(self.results)

    def write(
        self,
        folder: str | Path,
        *,
        answers: Answers | str | Path | None = None,
        crew: Crew | None = None,
        progress: Callable[[str], None] | None = None,
    ) -> Path:
        """Write the report and all tables into a folder, whole or not at all; return the report's index page.

        Parameters
        ----------
        folder : path
            A review that stands there is replaced; the answers in its issue log are carried on.
        answers : path or Answers, optional
            An issue log that was handed back, or what was read of it; it counts before what stands in the folder.
        crew : Crew, optional
            Who writes the terminals' pages; this process where not given.
        progress : callable, optional
            Called with a short sentence at each step.

        Raises
        ------
        CallError
            The folder cannot be written, or an issue log cannot be read.
        ContractError
            The trends break the normalized table's contract.
        """
        told = read_answers(answers) if isinstance(answers, str | Path) else answers
        return handover.write(
            self.results, Path(folder), answers=told, contract=self.contract, crew=crew, progress=progress
        )


def review(
    trends: TrendSource,
    site: Site | None = None,
    *,
    rules: dict[str, Rule] | None = None,
    contract: ContractCheck | None = None,
    crew: Crew | None = None,
    progress: Callable[[str], None] | None = None,
) -> Review:
    """Judge every terminal of the trends by the rule book.

    Terminals are read and judged in groups, so that memory is bounded by the group and not by the building.

    Parameters
    ----------
    trends : Trends or Dataset
        The normalized trends, as ``read_trends`` returns them.
    site : Site, optional
        The building; without one the tool judges what it can, and says what it assumed.
    rules : dict, optional
        The rule book, read earlier so that a mistake in it shows before the exports are read; read where not given.
    contract : ContractCheck, optional
        The check of the table's contract, started earlier so that it is ready by now. Where it is given it is not
        waited for: ``Review.write`` does that. Where not, one is made here, and waited for.
    crew : Crew, optional
        Who does the work; this process where not given.
    progress : callable, optional
        Called with a short sentence at each step.

    Returns
    -------
    Review

    Raises
    ------
    ContractError
        The trends break the normalized table's contract.
    ExportError
        They hold no value of any terminal.
    RuleError, SiteError
        A rule file, or the site's change to one, cannot be used.
    """
    site = site or Site(time_zone=trends.time_zone)
    if contract is None:
        with ContractCheck() as contract:
            done = review(trends, site, rules=rules, contract=contract, crew=crew, progress=progress)
            done.results.keeps(contract.outcome())
            return Review(done.results)
    if not trends.tags:
        raise _nothing_to_judge(trends)
    known_tags = {*trends.tags, *site.schedule.index}
    check_test_tags(site.file, site.functional_tests, known_tags)
    check_tags(site.file, site.excluded, known_tags)
    tags, workers, say = trends.tags, crew or Alone(), progress or (lambda _: None)
    site = with_unlisted_holidays(trends, site, workers)
    task = Task(trends, site, rule_book_of(site) if rules is None else rules)
    groups = groups_of(tags, trends.rows, site)
    if across(groups):
        say("comparing the terminals of each air handler")
        task = replace(task, agreed=agree(workers.each(shown_in_group, task, groups)))
        give_back()
    say(f"judging {len(tags)} terminals by {len(task.rules)} rules")
    judged, at_once = counted_up(_told(workers.each(judge_group, task, groups), groups, say))
    contract.take(trends)
    results = put_together(task, judged, at_once)
    del judged, at_once
    give_back()
    return Review(results, contract)


def _told(judged: Iterator[JudgedGroup], groups: list[Group], say: Callable[[str], None]) -> Iterator[JudgedGroup]:
    """Say how far the judging is as the groups come."""
    done, terminals = 0, sum(len(group.terminals) for group in groups)
    for group, outcome in zip(groups, judged, strict=True):
        yield outcome
        done += len(group.terminals)
        say(f"judged {done} of {terminals} terminals")


def _nothing_to_judge(trends: TrendSource) -> ExportError:
    aside = ", ".join(f"{count:,} {reason}" for reason, count in trends.ledger.set_aside.items()) or "none"
    return ExportError(
        None,
        f"the exports hold no value of a terminal that can be used (values rejected: {aside})",
        "Run 'trendwright draft' on them, and correct the points.csv that it writes.",
    )


def rule_book_of(site: Site) -> dict[str, Rule]:
    """Read the rule book of a site: the shipped rules and its own, with its changes.

    Raises
    ------
    RuleError, SiteError
        A rule file, or the site's change to one, cannot be used.
    """
    rules = read_rules([rule_book(), *([site.rules_folder] if site.rules_folder else [])], site)
    response_limits(site)  # a mistake in them shows before the exports are read
    known = [item.id for item in items()]
    for rule in rules.values():
        if unknown := [check for check in rule.site_checks if check not in known]:
            raise RuleError(
                rule.file, f"site_checks: there is nothing {unknown[0]!r} to look at{nearest(unknown[0], known)}",
                f"Name some of {', '.join(known)}.",
            )  # fmt: skip
    return rules
