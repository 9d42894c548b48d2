"""What a cause of complaints is, once its file was read: its signs, their weights, limits and words."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from analyzer.engine import Expression, Limit

# How much a sign says. Judgement: a finding that was active at the time says most.
WEIGHTS = {"decisive": 3.0, "strong": 2.0, "weak": 1.0}
FEELS = ("cold", "warm")


@dataclass(frozen=True)
class Sign:
    """One thing that the trends show for or against a cause.

    It is asked where ``only_when`` holds. Where ``when`` is true, ``say`` speaks for the cause, and where it is false
    ``otherwise`` speaks against it, each with the sign's weight; a side without words weighs nothing.
    """

    when: Expression
    weight: str
    say: str = ""
    otherwise: str = ""
    only_when: Expression | None = None


@dataclass(frozen=True)
class Derived:
    """A figure that a cause works out for its conditions and sentences, of SI values."""

    name: str
    expression: Expression
    dimension: str


@dataclass(frozen=True)
class Cause:
    """One cause, as its file says it.

    ``feels`` are the complaints it can explain, ``rules`` those whose finding is this cause.
    """

    id: str
    file: Path
    title: str
    feels: tuple[str, ...]
    applies_to: tuple[str, ...]
    only_with: tuple[str, ...]
    rules: tuple[str, ...]
    signs: tuple[Sign, ...]
    limits: dict[str, Limit] = field(default_factory=dict)
    figures: dict[str, Derived] = field(default_factory=dict)
    caution: str | None = None

    @property
    def values(self) -> dict[str, float]:
        """Its limits' values (SI) by name, as signals take them for parameters."""
        return {name: limit.value for name, limit in self.limits.items()}
