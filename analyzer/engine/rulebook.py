"""The rule book: one TOML file a rule, read, checked and put in order."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True)
class Limit:
    """A number of a rule that a user may want to move. ``value`` is SI; ``unit`` and ``shown`` are as the file says."""

    name: str
    value: float
    unit: str
    dimension: str
    shown: str
    source: str
    reason: str = ""
    accuracy: str | None = None
    moved: bool = False


@dataclass(frozen=True)
class Text:
    """The words of a rule."""

    seen: str
    why_it_matters: str
    likely_causes: tuple[str, ...]
    next_steps: tuple[str, ...]
    retest: str
    looks_like: tuple[str, ...]
    context: str
    caution: str | None = None


@dataclass(frozen=True)
class Rule:
    """One rule, as its file says it."""

    id: str
    file: Path
    title: str
    impact: str
    severity: str
    applies_to: tuple[str, ...]
    needs: tuple[str, ...]
    text: Text
    limits: dict[str, Limit] = field(default_factory=dict)
