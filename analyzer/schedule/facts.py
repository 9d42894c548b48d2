"""What is read of schedules: values with their sources, what was set aside and why, and the account of cells."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from analyzer.schedule.meaning import DESIGN

RETESTED = "by a retest"


@dataclass(frozen=True)
class Source:
    """Where a value stands: ``place`` is "F17" or "row 17, column 6"; ``sheet`` may be "page 2" or blank."""

    file: str
    sheet: str
    place: str

    def __str__(self) -> str:
        return ", ".join(part for part in (self.file, self.sheet, self.place) if part)


@dataclass(frozen=True)
class Fact:
    """One value of one terminal.

    Attributes
    ----------
    tag, column : str
        As the schedule spells them.
    value : float or str
        SI, or a word.
    text : str
        As the cell has it.
    source : Source
    stage : str
        "design" or "final".
    report : bool
        It stands in a balancing report.
    note : str
        What was made of it: worked out, as above, one of several.
    """

    tag: str
    column: str
    value: float | str
    text: str
    source: Source
    stage: str = DESIGN
    report: bool = False
    note: str = ""

    @property
    def concluded(self) -> bool:
        """Whether it stands in no cell of its row, and gives way to what does."""
        return self.note.startswith(("by its", "by a note", "no fan"))

    @property
    def retested(self) -> bool:
        """Whether it replaces an earlier reading."""
        return RETESTED in self.note


@dataclass(frozen=True)
class Aside:
    """A cell that was read and not used, and why."""

    source: Source
    text: str
    why: str
    tag: str = ""
    heading: str = ""


@dataclass
class Account:
    """The cells of a file: each one is a value that was used, set aside, or no value at all."""

    file: str
    cells: int = 0
    used: int = 0
    set_aside: Counter[str] = field(default_factory=Counter)
    not_data: int = 0


@dataclass
class Kind:
    """A type of terminals: its key as spelled, where it stands, and its values, which bear the key as their tag."""

    key: str
    source: Source
    facts: list[Fact] = field(default_factory=list)


@dataclass
class Reading:
    """All that was read of schedules and balancing reports.

    ``types`` holds what is given once for a type, by its folded key; ``of_type`` what is said of a terminal's type.
    """

    facts: list[Fact] = field(default_factory=list)
    asides: list[Aside] = field(default_factory=list)
    accounts: list[Account] = field(default_factory=list)
    tags: dict[str, Source] = field(default_factory=dict)
    columns: list[tuple[str, str, str, str]] = field(default_factory=list)  # place, heading, taken as, unit
    assumptions: list[str] = field(default_factory=list)
    types: dict[str, Kind] = field(default_factory=dict)
    of_type: list[tuple[str, str, Source]] = field(default_factory=list)  # tag, its type, where that stands

    def add(self, other: Reading) -> None:
        """Take over what another reading holds."""
        self.facts += other.facts
        self.asides += other.asides
        self.accounts += other.accounts
        self.columns += other.columns
        self.of_type += other.of_type
        for key, kind in other.types.items():
            self.types.setdefault(key, kind)
        self.assumptions += [line for line in other.assumptions if line not in self.assumptions]
        for tag, source in other.tags.items():
            self.tags.setdefault(tag, source)
