"""A likely cause and the evidence for and against it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from analyzer.complaint.cause import WEIGHTS
from analyzer.complaint.facts import Facts


@dataclass
class Case:
    """One cause: what speaks for it, what against it, and what the trends cannot tell.

    ``rules`` are those whose finding is this cause, ``elsewhere`` such findings of the air handler. A cause that
    something decisive speaks against is ruled out.
    """

    facts: Facts
    cause: str
    rules: tuple[str, ...] = ()
    id: str = ""
    speaks_for: list[str] = field(default_factory=list)
    speaks_against: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    weight: float = 0.0
    ruled_out: bool = False
    untold: bool = False
    found: bool = False
    elsewhere: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        for rule in self.rules:
            self._take_verdict(rule)

    def _take_verdict(self, rule: str) -> None:
        finding = next((f for f in self.facts.standing if f["rule"] == rule and self._reaches_it(f)), None)
        if finding:
            self.speaks_for.append(
                f"The rule “{finding['title']}” found this fault{self._at(finding)} at that time "
                f"({finding['confidence']})."
            )
            self.weight += WEIGHTS["decisive"]
            self.found = True
            if self._at(finding):
                self.elsewhere.append(f"{finding['terminal']}: {finding['title']}")
            return
        other = next((f for f in self.facts.near_in_time if f["rule"] == rule and self._reaches_it(f)), None)
        if other:
            self.speaks_for.append(f"The rule “{other['title']}” found this fault{self._at(other)} within a day of it.")
            self.weight += WEIGHTS["weak"]

    def _reaches_it(self, finding: dict[str, Any]) -> bool:
        """Whether a finding is one of this terminal, by readings that are right.

        Of an air handler's the terminal is among those that show it, or none is.
        """
        if self.facts.rests_on_a_wrong_reading(finding):
            return False
        shown = finding.get("terminals") or [self.facts.terminal]
        return not self._at(finding) or self.facts.terminal in shown

    def _at(self, finding: dict[str, Any]) -> str:
        """Say where a finding is, if not at the terminal itself."""
        return "" if finding["terminal"] == self.facts.terminal else f" at {finding['terminal']}"

    @property
    def is_likely(self) -> bool:
        """Whether more speaks for it than against, nothing rules it out, and what it rests on is known."""
        return self.weight > 0 and not self.ruled_out and (self.found or not self.untold)

    def sign(self, weight: str, holds: bool, sentence: str) -> Case:
        """Weigh one sign, for or against; without a sentence it weighs nothing."""
        if sentence and holds:
            self.speaks_for.append(sentence)
            self.weight += WEIGHTS[weight]
        elif sentence:
            self.speaks_against.append(sentence)
            self.weight -= WEIGHTS[weight]
            self.ruled_out |= weight == "decisive"
        return self

    def lacks(self, names: list[str], *, essential: bool = False) -> None:
        """Note what is not known, each once; without what is essential only a rule's finding makes a cause likely."""
        self.untold |= essential
        self.unknown += [name for name in names if name not in self.unknown]
