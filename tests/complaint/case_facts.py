"""Labelled cases of causes as data: a day at one terminal, a complaint, and what has to lead.

A case file is named after its cause. ``[base]`` holds what its cases share; each ``[[case]]`` holds, over it, the keys of
a rule's case (``tests/rules/case_trends.py``) and:

at              local time of the first day, "14:00" where not given
feels           "cold" or "warm"
expect          "leads", "another leads" (``leader`` names it) or "not told": named with what is not known
weighs          what speaks for the cause less what speaks against it: 3 a decisive sign or an active finding, 2 a
                strong sign, 1 a weak one; with "ruled out" where a decisive one speaks against it
active          rules whose finding stood at that time
without         trends of the base that were not logged
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import pandas as pd

from analyzer.complaint.facts import Facts
from analyzer.signals import Scene
from analyzer.site import Site
from analyzer.trends import Trends
from tests.rules.case_trends import START, TERMINAL_TAG, Case, site_of, trends_of

FOLDER = Path(__file__).parent / "cases"
_OWN = {"at", "feels", "expect", "weighs", "leader", "active", "without", "not_known"}


@dataclass(frozen=True)
class MadeReview:
    """What the facts ask of a stored review, made of a case."""

    site: Site
    whole: Trends
    findings: dict[str, dict]

    @cached_property
    def terminals(self) -> list[str]:
        return list(self.whole.logging.index)

    def schedule(self, terminal: str) -> dict:
        return self.site.schedule.to_dict("index")[terminal]

    def air_handler(self, terminal: str) -> str | None:
        return self.schedule(terminal)["air_handler"]

    def trends(self, terminals: list[str]) -> Trends:
        return self.whole

    def scene(self, trends: Trends) -> Scene:
        return Scene(trends, self.site)


@dataclass(frozen=True)
class Labelled:
    """One labelled case of one cause."""

    cause: str
    told: dict

    def __str__(self) -> str:
        return f"{self.cause}: {self.told['name']}"


def labelled(file: Path) -> list[Labelled]:
    """Return the cases of one file."""
    told = tomllib.loads(file.read_text("utf-8"))
    return [Labelled(file.stem, _over(told.get("base", {}), case)) for case in told["case"]]


def all_labelled() -> list[Labelled]:
    """Return every case of every cause."""
    return [case for file in sorted(FOLDER.glob("*.toml")) for case in labelled(file)]


def _over(base: dict, case: dict) -> dict:
    merged = base | case
    for name in ("schedule", "trends", "air_handler"):
        if name in base or name in case:
            merged[name] = {
                key: value
                for key, value in (base.get(name, {}) | case.get(name, {})).items()
                if key not in case.get("without", [])
            }
    return merged


def facts_of(case: Labelled) -> Facts:
    """Return the facts of a case at the time of its complaint."""
    own = Case(case.cause, {key: value for key, value in case.told.items() if key not in _OWN})
    hour, minute = map(int, case.told.get("at", "14:00").split(":"))
    moment = START + pd.Timedelta(hours=hour, minutes=minute)
    stood = [{"from": (moment - pd.Timedelta("2h")).isoformat(), "to": moment.isoformat()}]
    findings = {
        rule: {"rule": rule, "title": rule, "terminal": TERMINAL_TAG, "confidence": "firm", "episodes": stood}
        for rule in case.told.get("active", [])
    }
    return Facts(MadeReview(site_of(own), trends_of(own), findings), TERMINAL_TAG, moment)
