"""One point of the exports, and all that is found out about it; it alone changes what it holds."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from analyzer.intake.words.units import unit_of
from analyzer.quantities import AIR_HANDLER, TERMINAL, Quantity


@dataclass
class Point:
    """One point: what it was found to be.

    Attributes
    ----------
    file, column : str
        Where it stands, as the file spells it.
    tag, quantity : str or None
        None where it was not recognized.
    air_handler : bool
    unit, unit_from : str or None
        The unit's spelling and what told it: 'header', 'units row', 'unit column', 'point list', 'cells', 'values' or
        'assumption'; None where nothing did.
    assumed : str
        Why that unit was taken where no file told it.
    unknown_unit : str or None
        What the file tells and nobody knows.
    certainty : str
        'point list', 'sure', 'likely' or 'guess'.
    states : dict
        Codes of a multi-state point, lower case, to 0 or 1.
    ignored : bool
        The point list says to leave it out.
    why : str
        Why it was not mapped.
    spelled : str
        Its tag as the exports spell it.
    owner : str or None
        What else than its name may hold its tag: a column of tags, the file's name.
    rival : bool
        It was not mapped since a likelier point measures the same.
    stages : bool
        Its name counts stages.
    words : tuple of str
        The words of its name without the tag: the same at every terminal of its kind.
    passed_over : tuple of str
        Those of its words that the vocabulary does not know: it was read by the others.
    measured : bool
        Its name says that it is measured, not commanded; of a setpoint that it is in force.
    contradicted : str
        Of what its export says two things, where it was left out for that.
    low, high : float
        The least and the greatest number that its cells hold, as the file spells them; NaN where nobody looked.
    """

    file: str
    column: str
    tag: str | None = None
    quantity: str | None = None
    air_handler: bool = False
    unit: str | None = None
    unit_from: str | None = None
    assumed: str = ""
    unknown_unit: str | None = None
    certainty: str = "guess"
    strength: int = 0
    states: dict[str, float] = field(default_factory=dict)
    ignored: bool = False
    why: str = ""
    spelled: str = ""
    owner: str | None = None
    rival: bool = False
    stages: bool = False
    words: tuple[str, ...] = ()
    passed_over: tuple[str, ...] = ()
    measured: bool = False
    contradicted: str = ""
    low: float = math.nan
    high: float = math.nan

    @property
    def mapped(self) -> bool:
        return self.tag is not None and self.quantity is not None and not self.ignored

    @property
    def meaning(self) -> Quantity:
        assert self.quantity is not None, "a point that is not mapped has no meaning"
        return (AIR_HANDLER if self.air_handler else TERMINAL)[self.quantity]

    def take_unit(self, unit: str, told_by: str, assumed: str = "") -> None:
        """Take a unit, what told it, and why it was taken where no file did."""
        self.unit, self.unit_from, self.assumed = unit, told_by, assumed

    def meet_unknown_unit(self, unit: str) -> None:
        """Take note of a unit that the file tells and nobody knows."""
        self.unknown_unit = unit

    def means(self, quantity: str) -> None:
        """Take it for another quantity."""
        self.quantity = quantity

    def belongs_to(self, tag: str) -> None:
        """Give it to another terminal or air handler of its kind."""
        self.tag = tag

    def belongs_to_none(self, why: str) -> None:
        """Leave it out, since nobody is known whose it is."""
        self.tag, self.why = None, why

    def give_up(self, why: str, *, rival: bool = False) -> None:
        """Leave it out, and say why; ``rival`` where a likelier point measures the same."""
        self.quantity, self.why, self.rival = None, why, rival

    def contradict(self, why: str) -> None:
        """Leave it out, since the export says two things of it; what the point list says of it holds."""
        self.give_up(why)
        self.contradicted, self.unit, self.unit_from = why, None, None

    def bound(self, low: float, high: float) -> None:
        """Take note of the least and the greatest number of its cells."""
        self.low, self.high = low, high

    def correct(self, terminal: str, air_handler: bool | None, quantity: str, states: dict[str, float]) -> None:
        """Put the point list's word over what was found; an empty word says nothing.

        Parameters
        ----------
        air_handler : bool or None
            None where neither the terminal nor the quantity tells.
        """
        self.certainty, self.states, self.why, self.contradicted = "point list", states, "", ""
        self.tag, self.quantity = terminal or self.tag, quantity or self.quantity
        self.air_handler = self.air_handler if air_handler is None else air_handler
        if self.quantity is None:
            self.why = "the point list names no quantity"
        elif self.unit and unit_of(self.unit, self.meaning.dimension) is None:
            self.unit = self.unit_from = None

    def ignore(self) -> None:
        """Leave it out as the point list says."""
        self.certainty, self.why, self.ignored, self.contradicted = "point list", "", True, ""

    @property
    def key(self) -> tuple[bool, str, str]:
        """What it fills: table, tag and quantity."""
        assert self.tag is not None and self.quantity is not None, "a point that is not mapped fills nothing"
        return self.air_handler, self.tag, self.quantity
