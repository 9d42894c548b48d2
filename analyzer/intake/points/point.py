"""One point of the exports, and all that is found out about it; it alone changes what it holds."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from analyzer.quantities import AIR_HANDLER, TERMINAL, Quantity


@dataclass
class Point:
    """One point: what it was found to be.

    Attributes
    ----------
    file, column : str
        Where it stands, as the file spells it.
    tag, quantity : str or None
        None where it was not recognised.
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
    owner : str or None
        What else than its name may hold its tag: a column of tags, the file's name.
    rival : bool
        It was not mapped since a likelier point measures the same.
    stages : bool
        Its name counts stages.
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
    owner: str | None = None
    rival: bool = False
    stages: bool = False
    low: float = math.nan
    high: float = math.nan

    @property
    def mapped(self) -> bool:
        return self.tag is not None and self.quantity is not None and not self.ignored

    @property
    def meaning(self) -> Quantity:
        return (AIR_HANDLER if self.air_handler else TERMINAL)[self.quantity]

    @property
    def key(self) -> tuple[bool, str, str]:
        """What it fills: table, tag and quantity."""
        return self.air_handler, self.tag, self.quantity
