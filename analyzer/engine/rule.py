"""What a rule is, once its file was read: its conditions, limits, measures and words."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Literal, get_args

import numpy as np

from analyzer.engine.expressions import Expression
from analyzer.engine.wording import KINDS, REHEATS, Forms, Passage, Text, Wording, forms

AIR_HANDLER = "air-handler"
Severity = Literal["urgent", "high", "medium", "low"]
Impact = Literal["safety", "ventilation", "comfort", "energy", "equipment", "data"]
SEVERITIES: tuple[Severity, ...] = get_args(Severity)
IMPACTS: tuple[Impact, ...] = get_args(Impact)
# Who does the work of a finding: the first, then the next. Common practice, no source.
CREWS = ("controls", "balancing", "mechanical", "design", "operation")
THEN = ", then "
# By impact, where a rule does not say.
_BY_IMPACT = {"safety": "controls, then mechanical", "ventilation": "controls, then balancing"}
# Where a rule asks for no hours at all, a verdict still takes some.
LEAST_HOURS = 1e-9


@dataclass(frozen=True)
class Limit:
    """A number of a rule that a user may want to move. ``value`` is SI; ``unit`` and ``shown`` are as the file says.

    ``lowest`` and ``highest`` (SI) are between what it may be moved; ``allowed`` says so in the unit of the file.
    ``accuracy`` names the sensor, and ``uncertainty`` how far what is held against the limit can be off for other
    reasons; both move the limit where a fault is to stand firm.
    """

    name: str
    value: float
    unit: str
    dimension: str
    shown: str
    source: str
    reason: str = ""
    accuracy: str | None = None
    moved: bool = False
    uncertainty: Expression | None = None
    lowest: float = -math.inf
    highest: float = math.inf
    allowed: str = ""

    def check(self, value: float, shown: str) -> None:
        """Refuse a value outside the limit's range: with it, nothing would be a fault, or everything.

        Raises
        ------
        ValueError
            The message says what is allowed.
        """
        slack = 1e-9 * max(abs(value), 1.0)  # of the conversion between units
        if not self.lowest - slack <= value <= self.highest + slack:
            raise ValueError(f"{shown} is outside the range of this limit; allowed are {self.allowed}")


@dataclass(frozen=True)
class MeasureRule:
    """A figure that a finding reports: an expression, taken over the rows of its episodes.

    A total of power is energy; ``priced_as`` says what it is bought as, and the finding then has a measure ``cost``;
    ``where_unknown`` is what a sentence has in place of a figure that is not known; a sentence is not said where it is
    empty. ``label`` names it in tables, with its statistic. ``of`` makes it the share of another expression's sum: it
    agrees with the two means printed beside it. ``when`` leaves out rows in which it does not hold: a figure that is
    known in none of them is not told.
    """

    name: str
    expression: Expression
    take: str
    dimension: str
    unit: str
    ranks: bool
    priced_as: str | None = None
    where_unknown: str = ""
    label: str = ""
    of: Expression | None = None
    when: Expression | None = None


@dataclass(frozen=True)
class Evidence:
    """A sentence that a finding says where its condition held for most of the fault, at terminals that it fits."""

    when: Expression
    passage: Passage

    @property
    def say(self) -> str:
        """Its words."""
        return self.passage.say


@dataclass(frozen=True)
class Graded:
    """Another severity and impact, lesser or greater, where a condition held for most of the fault."""

    when: Expression
    severity: str
    impact: str


def who_acts(rule: Rule | None, impact: str) -> str:
    """Return who is proposed to act on a finding first, for the reader to correct: as its rule says, else by impact."""
    return (rule and rule.who_acts) or _BY_IMPACT.get(impact, "controls")


@dataclass(frozen=True)
class Rule:
    """One rule, as its file says it; times in seconds.

    ``follows_from`` names the rules that explain it, ``follows_impact`` those that do so only where their finding has
    this impact, ``follows_unless`` those that do not where the finding has this measure of its own. ``who_acts`` names
    who is proposed to act first, ``site_checks`` what to look at on site, by the ids of the site checklist, and
    ``complaints`` the causes of complaints that its finding is.
    """

    id: str
    file: Path
    impact: str
    severity: str
    applies_to: tuple[str, ...]
    only_with: tuple[str, ...]
    follows_from: tuple[str, ...]
    needs: tuple[str, ...]
    needs_one_of: tuple[tuple[str, ...], ...]
    better_with: tuple[str, ...]
    judged_when: Expression
    fault_when: Expression
    lasting: float
    fault_hours_at_least: float
    judged_hours_at_least: float
    longest_interval: float
    best_interval: float | None
    wording: Wording
    limits: dict[str, Limit] = field(default_factory=dict)
    measures: dict[str, MeasureRule] = field(default_factory=dict)
    evidence: tuple[Evidence, ...] = ()
    shared_as: str = "air_handler"
    stands: bool = False
    explains_when_low: bool = True
    explains: tuple[str, ...] = ()
    who_acts: str | None = None
    site_checks: tuple[str, ...] = ()
    complaints: tuple[str, ...] = ()
    follows_impact: dict[str, str] = field(default_factory=dict)
    follows_unless: dict[str, str] = field(default_factory=dict)
    terminals_by: str | None = None
    milder: tuple[Graded, ...] = ()
    graver: tuple[Graded, ...] = ()
    fault_share_at_least: float = 0.0

    @property
    def title(self) -> str:
        """Its fault in a few words."""
        return self.text.title

    @cached_property
    def text(self) -> Text:
        """Its words as they stand for every terminal that it applies to."""
        return self.wording.fitted(self.forms)

    @cached_property
    def forms(self) -> Forms:
        """What the terminals may be to which it applies; of one that judges air handlers, those on them."""
        kinds = [kind for kind in KINDS if kind in self.applies_to] or KINDS
        with_fan = [kind for kind in kinds if kind != "single-duct"] if "fan" in self.only_with else kinds
        if "electric-heat" in self.only_with:
            return forms(with_fan, ("electric",))
        return forms(with_fan, REHEATS[1:] if "reheat" in self.only_with else REHEATS)

    @property
    def grades(self) -> dict[str, Graded]:
        """Its other severities by name, in the order in which they are asked for: the graver ones first."""
        named = {"graver": self.graver, "milder": self.milder}
        return {f"{name} {number}": grade for name, own in named.items() for number, grade in enumerate(own, 1)}

    @property
    def looks_for_common_faults(self) -> bool:
        """Whether it judges air handlers by faults that many of their terminals have at once."""
        return "share_at_fault" in self.names

    @property
    def names(self) -> frozenset[str]:
        """Every name that its two conditions use, limits apart."""
        return (self.judged_when.names | self.fault_when.names) - set(self.limits)

    @property
    def values(self) -> dict[str, float]:
        """Its limits' values by name, as signals take them for parameters."""
        return {name: limit.value for name, limit in self.limits.items()}

    @property
    def least_fault_hours(self) -> float:
        """So many hours of fault make a fault verdict."""
        return max(self.fault_hours_at_least, LEAST_HOURS)

    def least_fault_of(self, judged_hours: np.ndarray) -> np.ndarray:
        """So many hours of fault make a fault verdict where so many were judged: in a long log a share of them."""
        return np.maximum(self.least_fault_hours, self.fault_share_at_least * judged_hours)

    @property
    def least_judged_hours(self) -> float:
        """So many judged hours make a verdict."""
        return max(self.judged_hours_at_least, LEAST_HOURS)
