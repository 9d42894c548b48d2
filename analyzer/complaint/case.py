"""A likely cause and the evidence for and against it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from analyzer.complaint.facts import Facts

# How much a sign says. Judgement: a verdict that stood at the time says most.
DECISIVE, STRONG, WEAK = 3.0, 2.0, 1.0


@dataclass
class Case:
    """One cause: what speaks for it, what against it, and what the trends cannot tell.

    ``rules`` are those whose finding is this cause. A cause that something decisive speaks against is ruled out.
    """

    facts: Facts
    cause: str
    rules: tuple[str, ...] = ()
    check: str = ""
    speaks_for: list[str] = field(default_factory=list)
    speaks_against: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    weight: float = 0.0
    ruled_out: bool = False

    def __post_init__(self):
        for rule in self.rules:
            self._take_verdict(rule)

    def _take_verdict(self, rule: str) -> None:
        finding = next((f for f in self.facts.standing if f["rule"] == rule), None)
        if finding:
            self.speaks_for.append(
                f"The rule “{finding['title']}” found this fault at that time ({finding['confidence']})."
            )
            self.weight += DECISIVE
            return
        other = next((f for f in self.facts.near_in_time if f["rule"] == rule), None)
        if other:
            self.speaks_for.append(f"The rule “{other['title']}” found this fault within a day of it.")
            self.weight += WEAK

    def sign(self, weight: float, holds: bool | None, if_so: str, if_not: str, missing: str = "") -> Case:
        """Weigh one sign; ``holds`` None means that the trends do not say, and ``missing`` what would.

        A sign without words on one side weighs nothing there.
        """
        if holds is None:
            if missing and missing not in self.unknown:
                self.unknown.append(missing)
        elif holds and if_so:
            self.speaks_for.append(if_so)
            self.weight += weight
        elif not holds and if_not:
            self.speaks_against.append(if_not)
            self.weight -= weight
            self.ruled_out |= weight >= DECISIVE
        return self


def over(value: float, limit: float) -> bool | None:
    """Tell whether a figure is over a limit; None where one of the two is not known."""
    return None if math.isnan(value) or math.isnan(limit) else value > limit


def no(truth: bool | None) -> bool | None:
    """Turn a truth round; what is unknown stays unknown."""
    return None if truth is None else not truth
