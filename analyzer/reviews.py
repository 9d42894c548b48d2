"""A review: normalized trends and a site in, verdicts and findings out, and everything that is handed over."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from analyzer import handover
from analyzer.contract import ContractCheck
from analyzer.engine.building import judge_building
from analyzer.engine.rule import Rule
from analyzer.engine.rulebook import read_rules
from analyzer.findings.answers import Answers, read_answers
from analyzer.findings.findings import collect_building
from analyzer.findings.heating import heating_capability
from analyzer.findings.results import Results
from analyzer.places import rule_book
from analyzer.request import trend_request
from analyzer.signals import Scene
from analyzer.site import Site
from analyzer.trends import Trends


@dataclass
class Review:
    """The outcome of a review.

    Attributes
    ----------
    results : Results
        Everything the report is made from.
    """

    results: Results

    @property
    def verdicts(self) -> pd.DataFrame:
        """One row per terminal and applicable rule, as ``verdicts.csv`` holds them."""
        return self.results.verdicts

    @property
    def findings(self) -> pd.DataFrame:
        """One row per finding, ranked, as ``findings.csv`` holds them."""
        from analyzer.findings.tables import findings_table

        return findings_table(self.results)

    def write(
        self,
        folder: str | Path,
        *,
        answers: Answers | str | Path | None = None,
        progress: Callable[[str], None] | None = None,
    ) -> Path:
        """Write the report and all tables into a folder, whole or not at all; return the report's index page.

        Parameters
        ----------
        folder : path
            A review that stands there is replaced; the answers in its issue log are carried on.
        answers : path or Answers, optional
            An issue log that was handed back, or what was read of it; it counts before what stands in the folder.
        progress : callable, optional
            Called with a short sentence at each step.

        Raises
        ------
        CallError
            The folder cannot be written, or an issue log cannot be read.
        """
        told = read_answers(answers) if isinstance(answers, str | Path) else answers
        return handover.write(self.results, Path(folder), answers=told, progress=progress)


def review(
    trends: Trends,
    site: Site | None = None,
    *,
    rules: dict[str, Rule] | None = None,
    contract: ContractCheck | None = None,
    progress: Callable[[str], None] | None = None,
) -> Review:
    """Judge every terminal of the trends by the rule book.

    Parameters
    ----------
    trends : Trends
        The normalized trends, as ``read_trends`` returns them.
    site : Site, optional
        The building; without one the tool judges what it can, and says what it assumed.
    rules : dict, optional
        The rule book, read earlier so that a mistake in it shows before the exports are read; read where not given.
    contract : ContractCheck, optional
        The check of the table's contract, started earlier so that it is ready by now; one is started where not given.
    progress : callable, optional
        Called with a short sentence at each step.

    Returns
    -------
    Review

    Raises
    ------
    ContractError
        The trends break the normalized table's contract.
    RuleError, SiteError
        A rule file, or the site's change to one, cannot be used.
    """
    site = site or Site(time_zone=trends.time_zone)
    if contract is None:
        with ContractCheck() as contract:
            return review(trends, site, rules=rules, contract=contract, progress=progress)
    rules = rule_book_of(site) if rules is None else rules
    contract.take(trends)
    scene = Scene(trends, site)
    judgement = judge_building(scene, rules, progress)
    results = Results(
        site=site,
        trends=trends,
        rules=rules,
        verdicts=judgement.verdicts,
        findings=collect_building(scene, rules, judgement),
        requests=trend_request(judgement.gaps, rules),
        in_force=pd.DataFrame(
            {name: scene.value(name) for name in ("occupied", "heating_setpoint", "cooling_setpoint")}
        ),
        heating=heating_capability(scene, rules),
        assumptions=[*site.assumptions, *trends.ledger.assumptions, *scene.notes],
    )
    # What the report needs is loaded while the contract is still being checked.
    handover.load()
    results.contract = trends.ledger.contract = contract.outcome()
    return Review(results)


def rule_book_of(site: Site) -> dict[str, Rule]:
    """Read the rule book of a site: the shipped rules and its own, with its changes.

    Raises
    ------
    RuleError, SiteError
        A rule file, or the site's change to one, cannot be used.
    """
    return read_rules([rule_book(), *([site.rules_folder] if site.rules_folder else [])], site)
