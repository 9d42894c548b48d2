"""The building as the pages need it: which terminals there are, where they stand, and what was judged of each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from analyzer.findings.results import Finding, Results
from analyzer.report.names import natural_key, page_name

NO_HANDLER = "no air handler given"
# One letter per verdict, in the order in which a reader should look at them.
VERDICT_LETTERS = {"F": "fault, firm", "M": "fault, marginal", "N": "not judged", "C": "clear", "-": "does not apply"}


@dataclass(frozen=True)
class Place:
    """A terminal and where it stands."""

    terminal: str
    page: str
    kind: str | None
    air_handler: str
    floor: str | None
    zone: str | None
    schedule: dict


class Building:
    """A review's results, looked up by terminal.

    Parameters
    ----------
    results : Results
    """

    no_handler = NO_HANDLER
    natural = staticmethod(natural_key)

    def __init__(self, results: Results):
        self.results = results
        self.trended = {tag: i for i, tag in enumerate(results.trends.terminals["terminal"].cat.categories)}
        judged = set(results.verdicts["terminal"].unique())
        tags = sorted(set(self.trended) | judged, key=natural_key)
        self.places = {tag: self._place(tag) for tag in tags}

    def _place(self, terminal: str) -> Place:
        row = self._schedule.get(terminal, {})
        word = {name: row.get(name) if isinstance(row.get(name), str) else None for name in ("kind", "floor", "zone")}
        handler = row.get("air_handler")
        handler = handler if isinstance(handler, str) and handler else NO_HANDLER
        return Place(terminal, page_name(terminal), air_handler=handler, schedule=row, **word)

    @cached_property
    def _schedule(self) -> dict[str, dict]:
        return self.results.site.schedule.to_dict("index")

    @cached_property
    def air_handlers(self) -> list[str]:
        """Every air handler that a terminal hangs on, in natural order."""
        return sorted(
            {place.air_handler for place in self.places.values()}, key=lambda h: (h == NO_HANDLER, natural_key(h))
        )

    @cached_property
    def by_air_handler(self) -> dict[str, list[Place]]:
        """The terminals of each air handler, in natural order."""
        groups = {handler: [] for handler in self.air_handlers}
        for place in self.places.values():
            groups[place.air_handler].append(place)
        return groups

    @cached_property
    def scheduled_without_trends(self) -> list[str]:
        """Terminals that are scheduled, and of which no export speaks."""
        return sorted(set(self._schedule) - set(self.trended), key=natural_key)

    @cached_property
    def findings_of(self) -> dict[str, list[Finding]]:
        """The findings of each terminal, ranked."""
        found: dict[str, list[Finding]] = {}
        for finding in self.results.findings:
            found.setdefault(finding.terminal, []).append(finding)
        return found

    @cached_property
    def letters(self) -> np.ndarray:
        """A letter of ``VERDICT_LETTERS`` for each terminal (rows, in order) and rule (columns, in order)."""
        verdicts = self.results.verdicts
        letters = np.full((len(self.places), len(self.results.rules)), "-")
        row = pd.Index(list(self.places)).get_indexer(verdicts["terminal"])
        column = pd.Index(list(self.results.rules)).get_indexer(verdicts["rule"])
        firm = (verdicts["confidence"] != "marginal").to_numpy()
        verdict = verdicts["verdict"].to_numpy()
        letter = np.select(
            [(verdict == "fault") & firm, verdict == "fault", verdict == "clear", verdict == "not-judged"],
            ["F", "M", "C", "N"],
            "-",
        )
        known = column >= 0
        letters[row[known], column[known]] = letter[known]
        return letters

    @cached_property
    def verdicts_of(self) -> dict[str, dict[str, dict]]:
        """The verdicts of each terminal, by rule."""
        verdicts: dict[str, dict[str, dict]] = {terminal: {} for terminal in self.places}
        for row in self.results.verdicts.to_dict("records"):
            verdicts[row["terminal"]][row["rule"]] = row
        return verdicts
