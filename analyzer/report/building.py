"""The building as the pages need it: which terminals there are, where they stand, and what was judged of each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from analyzer.engine import NOT_ASSIGNED
from analyzer.findings import BUILDING_SCOPE, SEVERITIES, TERMINAL_SCOPE, Finding, Results
from analyzer.report import words
from analyzer.report.names import natural_key, page_name

AIR_HANDLER = "air-handler"
NO_HANDLER = NOT_ASSIGNED
# One letter per verdict, in the order in which a reader should look at them.
VERDICT_LETTERS = {"F": "fault, firm", "M": "fault, marginal", "N": "not judged", "C": "clear", "-": "does not apply"}


@dataclass(frozen=True)
class Place:
    """A terminal and where it stands; or an air handler, whose kind is ``AIR_HANDLER``.

    The kind is as scheduled, or inferred from the terminal's points, or None.
    """

    terminal: str
    page: str
    kind: str | None
    air_handler: str
    floor: str | None
    zone: str | None
    schedule: dict
    kind_scheduled: bool = True

    @property
    def kind_told(self) -> str:
        """Its kind in words."""
        return "air handler" if self.kind == AIR_HANDLER else words.kind_told(self.kind, self.kind_scheduled)


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
        self.trended = set(results.trends.tags)
        judged = set(results.verdicts["terminal"].unique())
        together = (judged & self._handler_tags) - self.trended - set(self._schedule)
        self.places = {tag: self._place(tag) for tag in sorted((self.trended | judged) - together, key=natural_key)}
        self.handler_places = {tag: self._handler_place(tag) for tag in sorted(together, key=natural_key)}

    def _place(self, terminal: str) -> Place:
        row = self._schedule.get(terminal, {})
        word = {name: row.get(name) if isinstance(row.get(name), str) else None for name in ("kind", "floor", "zone")}
        handler = row.get("air_handler")
        handler = handler if isinstance(handler, str) and handler else NO_HANDLER
        scheduled = word["kind"] is not None
        word["kind"] = self.results.kind_of(terminal) or None
        return Place(terminal, page_name(terminal), air_handler=handler, schedule=row, kind_scheduled=scheduled, **word)

    def _handler_place(self, tag: str) -> Place:
        return Place(tag, page_name(tag), AIR_HANDLER, air_handler=tag, floor=None, zone=None, schedule={})

    @cached_property
    def every_place(self) -> dict[str, Place]:
        """Terminals, and the air handlers that were judged themselves."""
        return self.places | self.handler_places

    @cached_property
    def _handler_tags(self) -> set[str]:
        scheduled = self.results.site.schedule["air_handler"].dropna().unique()
        return {*self.results.trends.air_handler_tags, *scheduled, NO_HANDLER}

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
        groups: dict[str, list[Place]] = {handler: [] for handler in self.air_handlers}
        for place in self.places.values():
            groups[place.air_handler].append(place)
        return groups

    @cached_property
    def scheduled_without_trends(self) -> list[str]:
        """Terminals that are scheduled, and of which no export speaks."""
        return sorted(set(self._schedule) - self.trended, key=natural_key)

    @cached_property
    def counted(self) -> list[Finding]:
        """The findings that are counted by rule: each fault once, without those that tell what many terminals share."""
        return [
            finding
            for finding in self.results.findings
            if finding.scope == TERMINAL_SCOPE
            or (finding.rule in self.results.rules and AIR_HANDLER in self.results.rules[finding.rule].applies_to)
        ]

    @cached_property
    def findings_of(self) -> dict[str, list[Finding]]:
        """The findings of each terminal, ranked."""
        found: dict[str, list[Finding]] = {}
        for finding in self.results.findings:
            found.setdefault(finding.terminal, []).append(finding)
        return found

    @cached_property
    def worst_of(self) -> dict[str, str]:
        """The most severe severity found at each terminal that has a finding."""
        return {
            terminal: min((finding.severity for finding in found), key=SEVERITIES.index)
            for terminal, found in self.findings_of.items()
        }

    @cached_property
    def requests_of(self) -> dict[str, list[dict]]:
        """What is asked for of each terminal, as ``Results.requests`` holds it."""
        asked: dict[str, list[dict]] = {}
        for row in self.results.requests.to_dict("records"):
            for terminal in row["terminal"]:
                asked.setdefault(terminal, []).append(row)
        return asked

    @cached_property
    def by_id(self) -> dict[str, Finding]:
        """The findings by their id."""
        return {finding.id: finding for finding in self.results.findings}

    def title_of(self, found: str | None) -> str:
        """Name the finding from which another follows; nothing where there is none."""
        finding = self.by_id.get(found or "")
        if finding is None:
            return ""
        if finding.scope == BUILDING_SCOPE:
            return finding.title
        # What stands for an air handler that is not known is no place.
        if finding.title.endswith(f" of {finding.terminal}"):  # "9 of 9 terminals of RTU-2" says where
            return finding.title
        return f"{finding.title}, {'' if finding.terminal == NO_HANDLER else 'at '}{finding.terminal}"

    def root_of(self, finding: Finding) -> Finding | None:
        """Return the last of the findings that one follows from by way of others; None where it follows from none."""
        root = self.by_id.get(finding.under or "")
        passed = {finding.id}
        while root is not None and root.under in self.by_id and root.id not in passed:
            passed.add(root.id)
            root = self.by_id[root.under]
        return root

    def told_under(self, finding: Finding) -> str:
        """Name what a finding follows from, and where that follows from another, the root as well; "" for a root."""
        root = self.root_of(finding)
        told = self.title_of(finding.under)
        return told if root is None or root.id == finding.under else f"{told}; root: {self.title_of(root.id)}"

    @cached_property
    def letters(self) -> np.ndarray:
        """A letter of ``VERDICT_LETTERS`` for each terminal (rows, in order) and rule (columns, in order)."""
        return self._letters(self.places)

    @cached_property
    def handler_letters(self) -> np.ndarray:
        """The same for the air handlers that were judged themselves."""
        return self._letters(self.handler_places)

    def _letters(self, places: dict[str, Place]) -> np.ndarray:
        verdicts = self.results.verdicts
        letters = np.full((len(places), len(self.results.rules)), "-")
        row = pd.Index(list(places)).get_indexer(verdicts["terminal"])
        column = pd.Index(list(self.results.rules)).get_indexer(verdicts["rule"])
        firm = (verdicts["confidence"] != "marginal").to_numpy()
        verdict = verdicts["verdict"].to_numpy()
        letter = np.select(
            [(verdict == "fault") & firm, verdict == "fault", verdict == "clear", verdict == "not-judged"],
            ["F", "M", "C", "N"],
            "-",
        )
        known = (row >= 0) & (column >= 0)
        letters[row[known], column[known]] = letter[known]
        return letters

    @cached_property
    def verdicts_of(self) -> dict[str, dict[str, dict]]:
        """The verdicts of each terminal, by rule."""
        verdicts: dict[str, dict[str, dict]] = {terminal: {} for terminal in self.every_place}
        for row in self.results.verdicts.to_dict("records"):
            verdicts[row["terminal"]][row["rule"]] = row
        return verdicts
